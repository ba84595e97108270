/** Tables of IEC 60364, IEC 60228 and their national copies on conductors and protection. */
import airFile from './iec/ambient-air-b-52-14.json' with { type: 'json' };
import groundFile from './iec/ambient-ground-b-52-15.json' with { type: 'json' };
import openCopperPvcFile from './iec/ampacity-b-52-10.json' with { type: 'json' };
import openCopperXlpeFile from './iec/ampacity-b-52-12.json' with { type: 'json' };
import twoPvcFile from './iec/ampacity-b-52-2.json' with { type: 'json' };
import twoXlpeFile from './iec/ampacity-b-52-3.json' with { type: 'json' };
import threePvcFile from './iec/ampacity-b-52-4.json' with { type: 'json' };
import threeXlpeFile from './iec/ampacity-b-52-5.json' with { type: 'json' };
import flexibleCordsFile from './iec/flexible-cords-4f3a.json' with { type: 'json' };
import resistanceFile from './iec/conductor-resistance-60228.json' with { type: 'json' };
import breakerTripFile from './iec/breaker-trip-60898-1.json' with { type: 'json' };
import breakerEnergyFile from './iec/breaker-energy-60898-1.json' with { type: 'json' };
import fuseConventionalFile from './iec/fuse-conventional-60269.json' with { type: 'json' };
import fuseGatesFile from './iec/fuse-gates-60269-1.json' with { type: 'json' };
import fuseMeltingFile from './iec/fuse-melting-60269-1.json' with { type: 'json' };
import fuseOperatingFile from './iec/fuse-operating-60269-2.json' with { type: 'json' };
import fuseTimesFile from './iec/fuse-times-60269-2.json' with { type: 'json' };
import groupingFile from './iec/grouping-b-52-17.json' with { type: 'json' };
import overloadFile from './iec/overload-433.json' with { type: 'json' };
import powerCircuitsFile from './iec/power-circuits-524.json' with { type: 'json' };
import protectiveFile from './iec/protective-conductor-54-2.json' with { type: 'json' };
import rubberSixtyFile from './iec/rubber-cables-4f1a.json' with { type: 'json' };
import rubberNinetyFile from './iec/rubber-cables-4f2a.json' with { type: 'json' };
import rulesFile from './iec/rules.json' with { type: 'json' };
import shortTimeFile from './iec/short-time-43a.json' with { type: 'json' };
import ratingsFile from './iec/standard-ratings.json' with { type: 'json' };
import voltageDropFile from './iec/voltage-drop-g-52.json' with { type: 'json' };
import type { AmbientTable, RatingRow, RuleRow, StrandResistance } from './nec.js';
import { type Column, type Metal, type SizedRow, type Table, type TableRow, areaOfSize, typed } from './table.js';

/** Reference methods of installation of IEC 60364-5-52 Table B.52.1. */
export const IEC_METHODS = ['A1', 'A2', 'B1', 'B2', 'C', 'D1', 'D2', 'E', 'F', 'G'] as const;
export type IecMethod = (typeof IEC_METHODS)[number];
export const isInGround = (method: IecMethod): boolean => method === 'D1' || method === 'D2';

export interface IecAmpacityRow extends SizedRow {
  readonly copper?: Column;
  readonly aluminium?: Column;
}
/** Cells of a table that were compared with a public copy; the others are from memory. */
export interface ConfirmedCells {
  readonly metal: Metal;
  readonly columns: readonly string[];
  readonly from: string;
  readonly to: string;
}
export interface IecAmpacityTable extends Table<IecAmpacityRow> {
  readonly insulation: number;
  /** Loaded conductors; undefined where the column name carries it. */
  readonly loaded?: number;
  readonly published?: readonly ConfirmedCells[];
}

export const IEC_AMPACITY: readonly IecAmpacityTable[] = [
  typed<IecAmpacityTable>(twoPvcFile),
  typed<IecAmpacityTable>(twoXlpeFile),
  typed<IecAmpacityTable>(threePvcFile),
  typed<IecAmpacityTable>(threeXlpeFile),
  typed<IecAmpacityTable>(openCopperPvcFile),
  typed<IecAmpacityTable>(openCopperXlpeFile),
];

/** The table and column of an installation method. G stands for three spaced conductors and is used for two as well. */
export function iecAmpacityColumn(
  method: IecMethod,
  insulation: number,
  loaded: number,
): { table: IecAmpacityTable; column: string } | undefined {
  const open = method === 'E' || method === 'F' || method === 'G';
  const table = IEC_AMPACITY.find(
    (candidate) => candidate.insulation === insulation && candidate.loaded === (open ? undefined : loaded),
  );
  return table && { table, column: open && method !== 'G' ? `${method}${loaded}` : method };
}

/** The provenance of one cell of an ampacity table. */
export function cellRow(table: IecAmpacityTable, size: string, metal: Metal, column: string): TableRow {
  const area = areaOfSize(size);
  const confirmed = table.published?.some(
    (cells) =>
      cells.metal === metal &&
      cells.columns.includes(column) &&
      areaOfSize(cells.from) <= area &&
      area <= areaOfSize(cells.to),
  );
  return { provenance: confirmed ? 'published' : table.provenance };
}

export interface GroupingRow extends TableRow {
  readonly layout: string;
  readonly title: string;
  readonly methods: readonly string[];
  readonly factors: readonly number[];
}
export interface GroupingTable extends Table<GroupingRow> {
  readonly counts: readonly number[];
}

export interface ResistanceRow extends SizedRow {
  readonly solid?: StrandResistance;
  readonly stranded?: StrandResistance;
  readonly flexible?: StrandResistance;
}

export interface ShortTimeRow extends TableRow {
  readonly insulation: string;
  readonly upTo?: number;
  /** Conductor temperatures before and after the fault, °C. */
  readonly initial: number;
  readonly final: number;
  readonly copper?: number;
  readonly aluminium?: number;
}

export interface ProtectiveRow extends TableRow {
  readonly upTo?: number;
  readonly share?: number;
  readonly area?: number;
}

export interface OverloadRow extends TableRow {
  readonly device: string;
  /** Holds up to and including this rating, A. */
  readonly upTo?: number;
  /** Holds below this rating, A. */
  readonly below?: number;
  /** Conventional operating current over rated current, I2/In. */
  readonly operating: number;
}

/** Currents (A) that open a general-purpose fuse within a time. */
export interface FuseTimeRow extends TableRow {
  readonly rating: number;
  readonly fiveSeconds: number;
  readonly fourTenths?: number;
  readonly oneTenth?: number;
}

export interface BreakerTripRow extends TableRow {
  readonly curve: string;
  /** Multiples of the rating at which the magnet surely holds, and surely trips. */
  readonly holds: number;
  readonly trips: number;
}

/** I²t of general-purpose fuses by rating, A²s. */
export interface FuseEnergyRow extends TableRow {
  readonly rating: number;
  readonly most: number;
  readonly least?: number;
}

/** Let-through of a miniature breaker by its rated breaking capacity (A) and energy-limiting class, A²s by curve. */
export interface BreakerEnergyRow extends TableRow {
  readonly upTo: number;
  readonly breaking: number;
  readonly class: number;
  readonly B: number;
  readonly C: number;
}

export interface RubberRow extends SizedRow {
  readonly 2: number;
  readonly 3?: number;
}
export type RubberTable = Table<RubberRow> & { readonly insulation: number; readonly base: number };

export const iecAmbientAir = typed<AmbientTable>(airFile);
export const iecAmbientGround = typed<AmbientTable>(groundFile);
export const iecGrouping = typed<GroupingTable>(groupingFile);
export const iecResistance = typed<Table<ResistanceRow> & { readonly temperature: number }>(resistanceFile);
export const iecShortTime = typed<
  Table<ShortTimeRow> & { readonly longestTime: number; readonly shortestTime: number }
>(shortTimeFile);
export const iecProtective = typed<Table<ProtectiveRow>>(protectiveFile);
export const iecOverload = typed<Table<OverloadRow> & { readonly overloadLimit: number }>(overloadFile);
export const iecRules = typed<Table<RuleRow>>(rulesFile);
export const iecRatings = typed<Table<RatingRow>>(ratingsFile);
export const iecPowerCircuits =
  typed<Table<TableRow & { readonly metal: Metal; readonly size: string }>>(powerCircuitsFile);
/** Voltage drop advised, in percent of nominal, by who supplies the installation. */
export interface VoltageDropRow extends TableRow {
  readonly supply: string;
  readonly lighting: number;
  readonly other: number;
}
export const iecVoltageDrop = typed<Table<VoltageDropRow> & { readonly reactance: number }>(voltageDropFile);
export const iecRubberCables: readonly RubberTable[] = [
  typed<RubberTable>(rubberSixtyFile),
  typed<RubberTable>(rubberNinetyFile),
];
/** Flexible cords too small for the rubber-cable tables. */
export const iecSmallCords = typed<RubberTable>(flexibleCordsFile);
export const iecFuseTimes = typed<Table<FuseTimeRow>>(fuseTimesFile);
export const iecFuseGates = typed<Table<FuseTimeRow>>(fuseGatesFile);
/** Conventional fusing current of gPV and gBat fuses. */
export const iecFuseConventional = typed<
  Table<TableRow & { readonly upTo: number; readonly seconds: number }> & { readonly certain: number }
>(fuseConventionalFile);
/** Pre-arcing I²t at 0.01 s. */
export const iecFuseMelting = typed<Table<FuseEnergyRow>>(fuseMeltingFile);
/** Operating I²t; `smallest` stands for ratings below the table. */
export const iecFuseOperating = typed<Table<FuseEnergyRow> & { readonly smallest: number }>(fuseOperatingFile);
/** `halfWave`: s in which a breaker opens above its magnetic trip. */
export const iecBreakerEnergy = typed<Table<BreakerEnergyRow> & { readonly halfWave: number }>(breakerEnergyFile);
export const iecBreakerTrip = typed<
  Table<BreakerTripRow> & { readonly openingTime: number; readonly directCurrentFactor: number }
>(breakerTripFile);
