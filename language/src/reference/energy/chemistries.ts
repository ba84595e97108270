import type { Source } from '../../derivation/index.js';
import chemistriesJson from './chemistries.json' with { type: 'json' };
import cycleLifeJson from './cycle-life.json' with { type: 'json' };
import openCircuitJson from './open-circuit-voltage.json' with { type: 'json' };
import chargeRateJson from './charge-rate-by-temperature.json' with { type: 'json' };
import lithiumCapacityJson from './lithium-capacity-by-temperature.json' with { type: 'json' };
import leadCapacityJson from './lead-capacity-by-rate.json' with { type: 'json' };
import leadFactorJson from './lead-temperature-factor.json' with { type: 'json' };
import { type Point, type Provenance, type SourcedRow, type Table, asTable, onCurve, tableSource } from './table.js';

/** Names of the battery chemistries as the language writes them. */
export const CHEMISTRY_NAMES = ['lfp', 'nmc', 'flooded', 'agm', 'gel'] as const;
export type ChemistryName = (typeof CHEMISTRY_NAMES)[number];

/** Both ends of a span; the unit is that of the field it stands in. */
export interface Span {
  readonly from: number;
  readonly to: number;
}

/** Usual figures of one battery chemistry. Voltages are V per cell at 25 °C, rates in C, temperatures in °C. */
export interface Chemistry {
  readonly name: ChemistryName;
  readonly title: string;
  readonly family: 'lithium' | 'lead';
  readonly nominal: number;
  /** Window of the absorption (constant-voltage) set point. */
  readonly absorb: Span;
  /** Absorption set points below this leave the bank undercharged. */
  readonly absorbLeast: number;
  /** Highest voltage a cell may see while charging (equalisation included). */
  readonly chargeMost: number;
  readonly float: Span | null;
  readonly equalise: Span | null;
  /** Where electronic protection usually opens: low and high; null where there is usually none. */
  readonly protection: Span | null;
  readonly alarmLow: number;
  /** Usual inverter cut-off. */
  readonly cutOff: Span;
  readonly reconnect: Span;
  /** Usual voltage at which a generator is started. */
  readonly generatorStart: number;
  readonly chargeRate: { readonly least: number | null; readonly usual: number; readonly most: number };
  /** Current at which charging ends, in C. */
  readonly tail: number;
  /** State of charge from which the charge current falls. */
  readonly taperFrom: number;
  /** Ampere-hours out for each ampere-hour in. */
  readonly chargeEfficiency: number;
  /** Cell temperature. */
  readonly chargeTemperature: Span;
  readonly dischargeTemperature: Span;
  /** Where voltage says next to nothing about the state of charge: volts and states of charge; null where voltage serves. */
  readonly flat: (Span & { readonly chargeFrom: number; readonly chargeTo: number }) | null;
  /** Temperature compensation of charge voltages, mV per kelvin and cell. */
  readonly compensation: { readonly allowed: boolean; readonly coefficient: number };
  readonly equaliseAllowed: 'usual' | 'maker only' | 'never';
  /** Gives off hydrogen while charging. */
  readonly gases: boolean;
  /** Usual Peukert exponents. */
  readonly peukert: Span;
}

interface ChemistryTable extends Table<Chemistry> {
  readonly exceptions: readonly {
    readonly fields: readonly string[];
    readonly chemistries: readonly string[];
    readonly provenance: Provenance;
    readonly standard: string;
  }[];
}

const chemistries = asTable<ChemistryTable>(chemistriesJson);
const cycleLife =
  asTable<Table<{ chemistry: string; points: readonly { depth: number; from: number; to: number }[] }>>(cycleLifeJson);
const openCircuit = asTable<Table<SourcedRow & { chemistry: string; points: readonly Point[] }>>(openCircuitJson);
const chargeRates = asTable<Table<{ from: number | null; to: number | null; rate: number }>>(chargeRateJson);
const lithiumCapacity = asTable<Table<{ temperature: number; capacity: number }>>(lithiumCapacityJson);
const leadCapacity = asTable<
  Table<{ hours: number; capacity: readonly number[] }> & { temperatures: readonly number[] }
>(leadCapacityJson);
const leadFactor = asTable<Table<{ temperature: number; factor: number }>>(leadFactorJson);

export const CHEMISTRIES: readonly Chemistry[] = chemistries.rows;

/** The figures of a chemistry by its name in the language; undefined for an unknown name. */
export const chemistry = (name: string): Chemistry | undefined => CHEMISTRIES.find((row) => row.name === name);

/** Where a field of the chemistry table comes from. */
export function chemistrySource(name: string, field: keyof Chemistry): Source {
  const own = chemistries.exceptions.find((row) => row.fields.includes(field) && row.chemistries.includes(name));
  return own ? { standard: own.standard, provenance: own.provenance } : tableSource(chemistries);
}

/** Rest voltage of one cell by state of charge, with its source; undefined for an unknown chemistry. */
export function openCircuitCurve(
  name: string,
): { readonly points: readonly Point[]; readonly source: Source } | undefined {
  const row = openCircuit.rows.find((candidate) => candidate.chemistry === name);
  return row && { points: row.points, source: { standard: row.source, provenance: row.provenance } };
}

/** Rest voltage of one cell in V at a state of charge from 0 to 1; undefined outside or for an unknown chemistry. */
export function openCircuitVoltage(name: string, stateOfCharge: number): number | undefined {
  const curve = openCircuitCurve(name);
  return curve && onCurve(curve.points, stateOfCharge);
}

/** State of charge (0 to 1) at a rest voltage of one cell in V; undefined outside the curve. */
export function stateOfChargeAt(name: string, voltage: number): number | undefined {
  const curve = openCircuitCurve(name);
  return (
    curve &&
    onCurve(
      curve.points.map(([charge, volts]) => [volts, charge] as const),
      voltage,
    )
  );
}

/** Slope of the rest-voltage curve of one cell at a state of charge, in V per unit of charge; undefined outside the curve. */
export function openCircuitSlope(name: string, stateOfCharge: number): number | undefined {
  const points = openCircuitCurve(name)?.points;
  if (!points || stateOfCharge < 0 || stateOfCharge > 1) return undefined;
  const above = Math.max(
    1,
    points.findIndex(([charge]) => charge >= stateOfCharge),
  );
  const [x0, y0] = points[above - 1]!;
  const [x1, y1] = points[above]!;
  return (y1 - y0) / (x1 - x0);
}

/** Largest charge rate in C at a cell temperature in °C, by a published lithium iron phosphate data sheet. */
export function lithiumChargeRateAt(temperature: number): { readonly rate: number; readonly source: Source } {
  const row = chargeRates.rows.find(({ to }) => to === null || temperature < to)!;
  return { rate: row.rate, source: tableSource(chargeRates) };
}

/** °C from which on another charge rate holds, ascending. */
export const lithiumChargeSteps = (): readonly number[] => chargeRates.rows.flatMap(({ to }) => to ?? []);

/** Share of the 25 °C capacity a lithium iron phosphate battery gives at a cell temperature in °C (−20 to 45). */
export function lithiumCapacityAt(
  temperature: number,
): { readonly capacity: number; readonly source: Source } | undefined {
  const capacity = onCurve(
    lithiumCapacity.rows.map((row) => [row.temperature, row.capacity] as const),
    temperature,
  );
  return capacity === undefined ? undefined : { capacity, source: tableSource(lithiumCapacity) };
}

/** Share of the 25 °C capacity a lead-acid battery gives at a temperature in °C (−9.4 to 35) when discharged in `hours` (0.25 to 20). */
export function leadCapacityAt(
  temperature: number,
  hours: number,
): { readonly capacity: number; readonly source: Source } | undefined {
  const atHours = leadCapacity.rows.map((row): Point | undefined => {
    const capacity = onCurve(
      leadCapacity.temperatures.map((t, index) => [t, row.capacity[index]!] as const),
      temperature,
    );
    return capacity === undefined ? undefined : [row.hours, capacity];
  });
  const points = atHours.filter((point) => point !== undefined);
  if (points.length !== atHours.length) return undefined;
  const capacity = onCurve(points, hours);
  return capacity === undefined ? undefined : { capacity, source: tableSource(leadCapacity) };
}

/** Coldest and warmest electrolyte temperature in °C of the IEEE 485 table. */
export const LEAD_FACTOR_SPAN: readonly [number, number] = [
  Math.min(...leadFactor.rows.map((row) => row.temperature)),
  Math.max(...leadFactor.rows.map((row) => row.temperature)),
];

/** Cell size factor of IEEE 485 at an electrolyte temperature in °C; undefined outside −3.9 to 51.7 °C. */
export function leadTemperatureFactor(
  temperature: number,
): { readonly factor: number; readonly source: Source } | undefined {
  const factor = onCurve(
    leadFactor.rows.map((row) => [row.temperature, row.factor] as const),
    temperature,
  );
  return factor === undefined ? undefined : { factor, source: tableSource(leadFactor) };
}

/** Cycles to 80 % of capacity by depth of discharge, as low and high figures, with their source. */
export function cycleLifePoints(name: string):
  | {
      readonly points: readonly { readonly depth: number; readonly from: number; readonly to: number }[];
      readonly source: Source;
    }
  | undefined {
  const row = cycleLife.rows.find((candidate) => candidate.chemistry === name);
  return row && { points: row.points, source: tableSource(cycleLife) };
}
