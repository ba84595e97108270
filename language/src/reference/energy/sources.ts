import type { Source } from '../../derivation/index.js';
import chargerClassesJson from './charger-classes.json' with { type: 'json' };
import coldModuleJson from './cold-module-voltage.json' with { type: 'json' };
import engineDeratingJson from './engine-derating.json' with { type: 'json' };
import fuelDieselJson from './fuel-diesel.json' with { type: 'json' };
import fuelDieselSmallJson from './fuel-diesel-small.json' with { type: 'json' };
import fuelFactorsJson from './fuel-factors.json' with { type: 'json' };
import fuelNaturalGasJson from './fuel-natural-gas.json' with { type: 'json' };
import fuelPetrolJson from './fuel-petrol.json' with { type: 'json' };
import fuelPropaneJson from './fuel-propane.json' with { type: 'json' };
import generatorPracticeJson from './generator-practice.json' with { type: 'json' };
import heatingValuesJson from './heating-values.json' with { type: 'json' };
import inverterLossJson from './inverter-loss.json' with { type: 'json' };
import lockedRotorJson from './locked-rotor-code-letters.json' with { type: 'json' };
import moduleCoefficientsJson from './module-coefficients.json' with { type: 'json' };
import modulePracticeJson from './module-practice.json' with { type: 'json' };
import necFactorsJson from './nec-source-factors.json' with { type: 'json' };
import { type Provenance, type SourcedRow, type Table, asTable, rowSource, tableSource } from './table.js';

/** Fuels as the language writes them. */
export const FUELS = ['petrol', 'diesel', 'propane', 'naturalGas'] as const;
export type Fuel = (typeof FUELS)[number];

/** Kinds of chargers and rectifiers with their usual efficiency and power factor. */
export interface ChargerClass {
  readonly kind: string;
  readonly title: string;
  readonly efficiency: number;
  readonly efficiencyFrom: number;
  readonly efficiencyTo: number;
  readonly powerFactor: number;
  readonly powerFactorFrom: number;
  readonly powerFactorTo: number;
}

const chargerClasses = asTable<Table<ChargerClass>>(chargerClassesJson);
export const CHARGER_CLASSES: readonly ChargerClass[] = chargerClasses.rows;
export const CHARGER_CLASS_SOURCE: Source = tableSource(chargerClasses);
export const chargerClass = (kind: string): ChargerClass | undefined =>
  CHARGER_CLASSES.find((row) => row.kind === kind);

const practice = asTable<Table<SourcedRow & { fact: string; value: number; unit: string }>>(generatorPracticeJson);

/** Names of the generator practice numbers. */
export const GENERATOR_PRACTICE = [
  'altitude-loss',
  'altitude-step',
  'altitude-start',
  'temperature-loss',
  'temperature-step',
  'temperature-start',
  'clean-share',
  'light-load',
  'running-share-of-surge',
  'transient-reactance',
  'dip-contactor',
  'dip-motor-start',
  'waveform-distortion-electronics',
  'waveform-distortion-conventional',
  'waveform-distortion-inverter',
  'governor-droop',
  'steady-voltage-band',
  'mechanical-efficiency',
  'alternator-altitude-loss',
  'alternator-altitude-step',
  'alternator-altitude-start',
  'alternator-temperature-loss',
  'alternator-temperature-step',
  'alternator-temperature-start',
] as const;
export type GeneratorPractice = (typeof GENERATOR_PRACTICE)[number];

/** A number of generator practice in its unit (`1` for plain numbers), with its source. */
export function generatorPractice(fact: GeneratorPractice): {
  readonly value: number;
  readonly unit: string;
  readonly source: Source;
} {
  const row = practice.rows.find((candidate) => candidate.fact === fact)!;
  return { value: row.value, unit: row.unit, source: rowSource(row) };
}

const fuelFactors = asTable<Table<{ fuel: Fuel; factor: number; from: number; to: number }>>(fuelFactorsJson);
/** Share of the petrol rating an engine gives on another fuel, with the span published figures cover. */
export function fuelFactor(fuel: Fuel): {
  readonly factor: number;
  readonly from: number;
  readonly to: number;
  readonly source: Source;
} {
  const { factor, from, to } = fuelFactors.rows.find((row) => row.fuel === fuel)!;
  return { factor, from, to, source: tableSource(fuelFactors) };
}

const engines =
  asTable<Table<{ engine: string; title: string; pressureExponent: number; temperatureExponent: number }>>(
    engineDeratingJson,
  );
export const ENGINES = ['diesel', 'turboDiesel', 'cooledTurboDiesel', 'sparkIgnition'] as const;
export type Engine = (typeof ENGINES)[number];
/** Exponents of the pressure and temperature ratios of ISO 3046-1 for a kind of engine. */
export function engineExponents(engine: Engine): {
  readonly pressure: number;
  readonly temperature: number;
  readonly source: Source;
} {
  const row = engines.rows.find((candidate) => candidate.engine === engine)!;
  return { pressure: row.pressureExponent, temperature: row.temperatureExponent, source: tableSource(engines) };
}

/** Fuel rates by rated power in kW and load; `rate` runs along `loads`, in `unit`. */
export interface FuelTable extends Table<{ readonly rated: number; readonly rate: readonly number[] }> {
  readonly loads: readonly number[];
  readonly unit: string;
}
export const FUEL_DIESEL = asTable<FuelTable>(fuelDieselJson);
export const FUEL_DIESEL_SMALL = asTable<FuelTable>(fuelDieselSmallJson);
export const FUEL_NATURAL_GAS = asTable<FuelTable>(fuelNaturalGasJson);
export const FUEL_PROPANE = asTable<FuelTable>(fuelPropaneJson);
/** Straight lines in L/h: `noLoad` per kW of rating and `perOutput` per kW of output. */
export const FUEL_PETROL = asTable<
  Table<{ waveform: string; title: string; noLoad: number; perOutput: number }> & { readonly spread: number }
>(fuelPetrolJson);

const heatingValues = asTable<Table<{ fuel: Fuel; gross: number; unit: string }>>(heatingValuesJson);
/** Gross heating value of a fuel: 1000 Btu per `gal` or `ft3`. */
export function heatingValue(fuel: Fuel): {
  readonly value: number;
  readonly per: 'gal' | 'ft3';
  readonly source: Source;
} {
  const row = heatingValues.rows.find((candidate) => candidate.fuel === fuel)!;
  return { value: row.gross, per: row.unit.endsWith('ft3') ? 'ft3' : 'gal', source: tableSource(heatingValues) };
}

const inverterLoss =
  asTable<Table<{ kind: string; idle: number; linear: number; quadratic: number }>>(inverterLossJson);
export const INVERTER_KINDS = ['highFrequency', 'lowFrequency'] as const;
export type InverterKind = (typeof INVERTER_KINDS)[number];
/** Loss coefficients of an inverter per unit of its rating. */
export function inverterLossOf(kind: InverterKind): {
  readonly idle: number;
  readonly linear: number;
  readonly quadratic: number;
  readonly source: Source;
} {
  const { idle, linear, quadratic } = inverterLoss.rows.find((row) => row.kind === kind)!;
  return { idle, linear, quadratic, source: tableSource(inverterLoss) };
}

const lockedRotor = asTable<Table<{ letter: string; from: number; to: number | null }>>(lockedRotorJson);
export const CODE_LETTERS = [
  'A',
  'B',
  'C',
  'D',
  'E',
  'F',
  'G',
  'H',
  'J',
  'K',
  'L',
  'M',
  'N',
  'P',
  'R',
  'S',
  'T',
  'U',
  'V',
] as const;
export type CodeLetter = (typeof CODE_LETTERS)[number];
/** Locked-rotor band of a motor code letter in kVA per horsepower; `to` is null for the open-ended letter V. */
export function lockedRotorBand(letter: CodeLetter): {
  readonly from: number;
  readonly to: number | null;
  readonly source: Source;
} {
  const { from, to } = lockedRotor.rows.find((row) => row.letter === letter)!;
  return { from, to, source: tableSource(lockedRotor) };
}

const necFactors =
  asTable<Table<{ rule: string; clause: string; factor: number; provenance: Provenance }>>(necFactorsJson);
export type NecSourceRule =
  | 'module-maximum-current'
  | 'module-continuous'
  | 'module-protection'
  | 'generator-conductor'
  | 'generator-conductor-overload-prevented';
/** A factor the NEC sets for circuits of sources, with its clause. */
export function necSourceFactor(rule: NecSourceRule): { readonly factor: number; readonly source: Source } {
  const row = necFactors.rows.find((candidate) => candidate.rule === rule)!;
  return {
    factor: row.factor,
    source: {
      standard: necFactors.standard,
      ...(necFactors.edition ? { edition: necFactors.edition } : {}),
      table: row.clause,
      provenance: row.provenance,
    },
  };
}

const coldModule = asTable<Table<{ from: number; to: number; factor: number }>>(coldModuleJson);
/** The coldest temperature in °C for which NEC Table 690.7(A) has a factor. */
export const COLDEST_MODULE_TEMPERATURE: number = Math.min(...coldModule.rows.map((row) => row.from));
/**
 * Factor of NEC Table 690.7(A) at a temperature in °C: the colder band between two bands, 1 from 25 °C up, undefined below −40 °C.
 */
export function coldModuleFactor(
  temperature: number,
): { readonly factor: number; readonly source: Source } | undefined {
  const source = tableSource(coldModule);
  const warmest = Math.max(...coldModule.rows.map((row) => row.to));
  if (temperature > warmest) return { factor: 1, source };
  const row = coldModule.rows.find(({ from }) => temperature >= from);
  return row && { factor: row.factor, source };
}

interface CoefficientSpan {
  readonly from: number;
  readonly to: number;
}
/** Usual temperature coefficients of modules in percent per kelvin, most negative first. */
export const MODULE_COEFFICIENTS =
  asTable<Table<{ readonly type: string; readonly openCircuit: CoefficientSpan; readonly power: CoefficientSpan }>>(
    moduleCoefficientsJson,
  );

const modulePractice = asTable<Table<SourcedRow & { fact: string; value: number; unit: string }>>(modulePracticeJson);
/** Number of practice with modules: `cell-rise`, K of a cell above the air in full sun where no nominal operating temperature is stated. */
export function modulePracticeFact(fact: 'cell-rise'): { readonly value: number; readonly source: Source } {
  const row = modulePractice.rows.find((candidate) => candidate.fact === fact)!;
  return { value: row.value, source: rowSource(row) };
}
