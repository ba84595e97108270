import { DIMENSIONS, type Dimension } from '../quantity/index.js';
import type { Comparison, Signal } from './conditions.js';
import type { Instance } from './types.js';
import { kindsThat, mayBurnFuel, maySupply, mayStore, mayUse, mayBeCurtailed } from '../equipment/index.js';

/** What adds up over a scenario. */
export type SumMeasure =
  /** Of a generator: time with the engine turning (s), number of starts, fuel burnt (m³). */
  | { readonly what: 'runTime' | 'starts' | 'fuel'; readonly of: Instance }
  /** Of a bank: charge drawn over its capacity. */
  | { readonly what: 'cycles'; readonly of: Instance }
  /**
   * Energy (J) that loads wanted by their profiles and did not get, that arrays could have given and nobody took, and that loads did not
   * get because a control of the design switched them off (which does not count as unserved). Of one thing, or of all.
   */
  | { readonly what: 'unserved' | 'curtailed' | 'shed'; readonly of?: Instance }
  /** Energy (J) a source gave, a load got. */
  | { readonly what: 'energy'; readonly of: Instance };

/** Something a played scenario is asked for. */
export type Measure =
  | SumMeasure
  /** A sum over the seven days in a row in which it is worst. */
  | { readonly what: 'worstWeek'; readonly sum: SumMeasure }
  /** Of a generator: the longest time (s) for which its engine turns without a stop. */
  | { readonly what: 'longestRun'; readonly of: Instance }
  /** Of a generator with a tank that is not filled whenever it is empty: the least fuel left (m³), and the time (s) at which it is first empty. */
  | { readonly what: 'fuelLeft' | 'timeToEmpty'; readonly of: Instance }
  /** Of a bank: the longest time (s) since it was last full, or since the start. */
  | { readonly what: 'timeSinceFull'; readonly of: Instance }
  /** Extremes, mean over time and last value of a signal. */
  | { readonly what: 'min' | 'max' | 'mean' | 'last'; readonly signal: Signal }
  /** How long (s) a signal is below or above a limit in coherent SI. */
  | { readonly what: 'timeBelow' | 'timeAbove'; readonly signal: Signal; readonly limit: number }
  /** How long (s) it is so without a break. */
  | { readonly what: 'longestBelow' | 'longestAbove'; readonly signal: Signal; readonly limit: number }
  /** Time (s) from the start at which a comparison first holds. */
  | { readonly what: 'firstTime'; readonly comparison: Comparison };

/** A word by which a requirement asks for a measure. */
export interface MeasureWord {
  readonly what: Measure['what'];
  /** What stands in the brackets: a thing, nothing or a thing, a signal, a signal and a limit, a comparison, or a result that adds up. */
  readonly takes: 'thing' | 'thing or nothing' | 'signal' | 'signal and limit' | 'comparison' | 'sum';
  /** Kinds of things that fit; empty for signals. */
  readonly kinds: readonly string[];
  /** What comes of it; undefined where it is that of the signal. */
  readonly dimension: Dimension | undefined;
  readonly doc: string;
}

const SETS = kindsThat(mayBurnFuel);

const words: readonly MeasureWord[] = [
  {
    what: 'runTime',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.time,
    doc: 'Time for which the engine of a generator turns: `runTime(Genset)`.',
  },
  {
    what: 'starts',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.ratio,
    doc: 'How often a generator starts: `starts(Genset)`.',
  },
  {
    what: 'fuel',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.volume,
    doc: 'Fuel a generator burns: `fuel(Genset)`.',
  },
  {
    what: 'cycles',
    takes: 'thing',
    kinds: kindsThat(mayStore),
    dimension: DIMENSIONS.ratio,
    doc: 'Charge drawn from a bank over its capacity: `cycles(Bank)`.',
  },
  {
    what: 'unserved',
    takes: 'thing or nothing',
    kinds: kindsThat(mayUse),
    dimension: DIMENSIONS.energy,
    doc: 'Unserved energy: what loads wanted by their profiles beyond what was served: `unserved`, or of one load `unserved(Pump)`.',
  },
  {
    what: 'shed',
    takes: 'thing or nothing',
    kinds: kindsThat(mayUse),
    dimension: DIMENSIONS.energy,
    doc: 'Shed energy: what loads wanted while a control had switched them off: `shed`, or of one load `shed(Pump)`.',
  },
  {
    what: 'curtailed',
    takes: 'thing or nothing',
    kinds: kindsThat(mayBeCurtailed),
    dimension: DIMENSIONS.energy,
    doc: 'Energy that arrays and turbines could have given and no bus took, that of diversion loads included: `curtailed`, or of one array `curtailed(Array)`.',
  },
  {
    what: 'energy',
    takes: 'thing',
    kinds: kindsThat(maySupply, mayUse),
    dimension: DIMENSIONS.energy,
    doc: 'Energy a source gave or a load was served: `energy(Genset)`.',
  },
  {
    what: 'min',
    takes: 'signal',
    kinds: [],
    dimension: undefined,
    doc: 'Lowest value of a signal: `min(soc(Bank))`.',
  },
  {
    what: 'max',
    takes: 'signal',
    kinds: [],
    dimension: undefined,
    doc: 'Highest value of a signal: `max(power(Inv))`.',
  },
  {
    what: 'mean',
    takes: 'signal',
    kinds: [],
    dimension: undefined,
    doc: 'Mean of a signal over time: `mean(power(Inv))`.',
  },
  {
    what: 'last',
    takes: 'signal',
    kinds: [],
    dimension: undefined,
    doc: 'Value of a signal at the end: `last(soc(Bank))`.',
  },
  {
    what: 'timeBelow',
    takes: 'signal and limit',
    kinds: [],
    dimension: DIMENSIONS.time,
    doc: 'How long a signal is below a limit: `timeBelow(soc(Bank), 20 %)`.',
  },
  {
    what: 'timeAbove',
    takes: 'signal and limit',
    kinds: [],
    dimension: DIMENSIONS.time,
    doc: 'How long a signal is above a limit: `timeAbove(voltage(Bank), 57 V)`.',
  },
  {
    what: 'longestBelow',
    takes: 'signal and limit',
    kinds: [],
    dimension: DIMENSIONS.time,
    doc: 'Longest time without a break for which a signal is below a limit: `longestBelow(soc(Bank), 30 %)`.',
  },
  {
    what: 'longestAbove',
    takes: 'signal and limit',
    kinds: [],
    dimension: DIMENSIONS.time,
    doc: 'Longest time without a break for which a signal is above a limit: `longestAbove(power(Inv), 3 kW)`.',
  },
  {
    what: 'longestRun',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.time,
    doc: 'Longest time for which the engine of a generator turns without a stop: `longestRun(Genset)`.',
  },
  {
    what: 'fuelLeft',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.volume,
    doc: 'Least fuel left in the tank of a generator: `fuelLeft(Genset)`. Needs a tank that is filled at stated times (`refilled`, `refillInterval`).',
  },
  {
    what: 'timeToEmpty',
    takes: 'thing',
    kinds: SETS,
    dimension: DIMENSIONS.time,
    doc: 'Time from the start until the tank of a generator is first empty: `timeToEmpty(Genset)`.',
  },
  {
    what: 'timeSinceFull',
    takes: 'thing',
    kinds: kindsThat(mayStore),
    dimension: DIMENSIONS.time,
    doc: 'Longest time for which a bank is not full, that is below 97 % of charge; counted from the start where it starts so: `timeSinceFull(Bank)`.',
  },
  {
    what: 'worstWeek',
    takes: 'sum',
    kinds: [],
    dimension: undefined,
    doc: 'A result over the seven days in a row, from midnight to midnight, in which it is worst: the least energy of arrays, turbines and loads, the most of all else: `worstWeek(runTime(Genset))`.',
  },
  {
    what: 'firstTime',
    takes: 'comparison',
    kinds: [],
    dimension: DIMENSIONS.time,
    doc: 'Time from the start until a comparison first holds: `firstTime(soc(Bank) < 20 %)`.',
  },
];

/** The measures by the word that asks for them. */
export const MEASURES: ReadonlyMap<string, MeasureWord> = new Map(words.map((word) => [word.what, word]));

/** The words of results that add up. */
export const isSumWord = (word: MeasureWord): boolean => SUMS.has(word.what);
const SUMS: ReadonlySet<string> = new Set<SumMeasure['what']>([
  'runTime',
  'starts',
  'fuel',
  'cycles',
  'unserved',
  'shed',
  'curtailed',
  'energy',
]);

/** What is taken over the runs of a scenario: a quantile as a share, or their mean. */
export type OverRuns = number | 'mean';

/** The share of `p95`: a quantile over the runs of a scenario; undefined for any other word. */
export function quantileWord(word: string): number | undefined {
  const match = /^p(0?[1-9]|[1-9]\d)$/.exec(word);
  return match ? Number(match[1]) / 100 : undefined;
}
