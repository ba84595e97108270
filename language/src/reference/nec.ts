/** Tables of the National Electrical Code (NFPA 70) on conductors, their protection and grounding. */
import adjustmentFile from './nec/adjustment-310-15.json' with { type: 'json' };
import impedanceFile from './nec/alternating-current-impedance-table-9.json' with { type: 'json' };
import ambientFile from './nec/ambient-correction-310-15.json' with { type: 'json' };
import ampacityFile from './nec/ampacity-310-16.json' with { type: 'json' };
import propertiesFile from './nec/conductor-properties-table-8.json' with { type: 'json' };
import cordAdjustmentFile from './nec/cord-adjustment-400-5-a-3.json' with { type: 'json' };
import electrodeFile from './nec/electrode-conductors-250-66.json' with { type: 'json' };
import directElectrodeFile from './nec/electrode-conductors-250-166.json' with { type: 'json' };
import placesFile from './nec/ground-fault-places-210-8.json' with { type: 'json' };
import groundingFile from './nec/equipment-grounding-250-122.json' with { type: 'json' };
import cordsFile from './nec/flexible-cords-400-5-a-1.json' with { type: 'json' };
import powerCablesFile from './nec/power-cables-400-5-a-2.json' with { type: 'json' };
import rulesFile from './nec/rules.json' with { type: 'json' };
import smallFile from './nec/small-conductors-240-4-d.json' with { type: 'json' };
import ratingsFile from './nec/standard-ratings-240-6.json' with { type: 'json' };
import { type Column, type Metal, type SizedRow, type Table, type TableRow, typed } from './table.js';

/** Ampacity by metal and conductor temperature (°C). */
export interface AmpacityRow extends SizedRow {
  readonly copper?: Column;
  readonly aluminium?: Column;
}
export interface AmpacityTable extends Table<AmpacityRow> {
  /** Ambient the table is made for, °C. */
  readonly base: number;
  /** Insulation temperatures of the columns, °C. */
  readonly columns: readonly number[];
  /** Smallest size for general wiring. */
  readonly smallest: Readonly<Partial<Record<Metal, string>>>;
}

/** Correction factors in ambient bands: the factor of a band holds up to and including `upTo` °C. */
export interface AmbientRow extends TableRow {
  readonly upTo: number;
  readonly [column: string]: number | string | undefined;
}
export interface AmbientTable extends Table<AmbientRow> {
  readonly base: number;
  readonly columns: readonly number[];
  readonly columnProvenance?: Readonly<Record<string, 'published'>>;
  /** Its bands are two places, not a scale: what lies between them is worked out with the equation. */
  readonly isTwoPlaces?: boolean;
}

/** Factor by number of conductors; no `to` means without end. */
export interface CountRow extends TableRow {
  readonly from: number;
  readonly to?: number;
  readonly factor: number;
}
export interface CountTable extends Table<CountRow> {
  /** The table applies from this voltage on. */
  readonly fromVoltage?: number;
}

/** Resistance of one strand form by metal and coating. */
export interface StrandResistance {
  readonly copper?: number;
  readonly aluminium?: number;
}
export interface ConductorPropertiesRow extends SizedRow {
  readonly circularMils: number;
  readonly solid?: StrandResistance;
  readonly stranded?: StrandResistance;
  /** Inches, stranded conductor. */
  readonly overallDiameter?: number;
}
export interface ConductorProperties extends Table<ConductorPropertiesRow> {
  readonly temperature: number;
  readonly temperatureCoefficient: Readonly<Record<Metal, number>>;
  readonly fineStrandedFactor: number;
}

/** Resistance by metal of the conductor, and reactance, in one kind of conduit; ohm per 1000 ft. */
export interface ConduitImpedance {
  readonly copper?: number;
  readonly aluminium?: number;
  readonly reactance: number;
}
/** The conduits that the table tells apart. */
export const CONDUITS = ['pvc', 'aluminium', 'steel'] as const;
export type Conduit = (typeof CONDUITS)[number];
export interface ImpedanceRow extends SizedRow, Readonly<Record<Conduit, ConduitImpedance>> {}

export interface RatingRow extends TableRow {
  readonly rating: number;
  readonly devices?: string;
  /** Edition from which breakers have it too. */
  readonly breakersFrom?: string;
}

export interface SmallConductorRow extends SizedRow {
  readonly copper?: number;
  readonly aluminium?: number;
}

export interface GroundingRow extends TableRow {
  readonly upTo: number;
  readonly copper: string;
  readonly aluminium: string;
}

export interface ElectrodeRow extends TableRow {
  readonly upTo: Readonly<Partial<Record<Metal, string>>>;
  readonly copper: string;
  readonly aluminium: string;
}

/** Grounding electrode conductors of direct current: as large as the largest conductor, between two sizes. */
export interface DirectElectrodeRow extends TableRow {
  readonly metal: Metal;
  readonly least: string;
  readonly most: string;
}

/** A place whose receptacles need ground-fault protection. */
export interface GroundFaultPlace extends TableRow {
  readonly place: string;
  readonly section: string;
  readonly text: string;
  /** The edition from which it counts; every one stored here where it says none. */
  readonly from?: string;
  /** Largest rating it counts for, A. */
  readonly upTo?: number;
}

export interface CordRow extends SizedRow {
  readonly A: number;
  readonly B: number;
}

export interface PowerCableRow extends SizedRow {
  readonly D: Column;
  readonly E: Column;
  readonly F: Column;
}

/** A number that stands in the text of a standard. */
export interface RuleRow extends TableRow {
  readonly rule: string;
  /** What the number is, in the words of derivations. */
  readonly name: string;
  readonly value: number;
  /** Unit of the value; none for plain numbers. */
  readonly unit?: string;
  readonly section: string;
  readonly text: string;
  /** The standard of the row, where it is not that of its table. */
  readonly standard?: string;
}

export const necAmpacity = typed<AmpacityTable>(ampacityFile);
export const necAmbient = typed<AmbientTable>(ambientFile);
export const necAdjustment = typed<CountTable>(adjustmentFile);
export const necProperties = typed<ConductorProperties>(propertiesFile);
export const necImpedance = typed<Table<ImpedanceRow>>(impedanceFile);
export const necRatings = typed<Table<RatingRow>>(ratingsFile);
export const necSmallConductors = typed<Table<SmallConductorRow>>(smallFile);
export const necGrounding = typed<Table<GroundingRow>>(groundingFile);
export const necElectrode = typed<Table<ElectrodeRow>>(electrodeFile);
export const necDirectElectrode = typed<Table<DirectElectrodeRow>>(directElectrodeFile);
export const necGroundFaultPlaces = typed<Table<GroundFaultPlace>>(placesFile);
export const necCords = typed<Table<CordRow> & { readonly base: number }>(cordsFile);
export const necPowerCables = typed<Table<PowerCableRow> & { readonly base: number; readonly columns: number[] }>(
  powerCablesFile,
);
export const necCordAdjustment = typed<CountTable>(cordAdjustmentFile);
export const necRules = typed<Table<RuleRow>>(rulesFile);
