import type { Result } from '../derivation/index.js';
import type { Measure, OverRuns } from '../model/measures.js';
import type { Instance, Scenario } from '../model/types.js';
import type { Extremes } from './extremes.js';
import type { RunsBeside } from './runs-beside.js';

export type { Measure, OverRuns, SumMeasure } from '../model/measures.js';

/** A file beside the design that is there and could not be read: why, in words that follow on its name. */
export interface UnreadText {
  readonly unread: string;
}

/** How a scenario is played. Nothing here changes what a design means; only how finely it is looked at, and who may stop it. */
export interface PlayOptions {
  /** Asked now and then; the play ends as soon as it answers true. */
  readonly cancelled?: () => boolean;
  /** Told the share that is done, 0 to 1. */
  readonly progress?: (share: number) => void;
  /** Longest step, and the interval at which sun and series are taken, in s; 60 unless said. Events are found to the microsecond at any. */
  readonly resolution?: number;
  /** Text of a weather file by the path that the scenario gives; undefined when there is none. */
  readonly weatherText?: (path: string) => string | UnreadText | undefined;
  /**
   * What will be asked of a scenario of several runs besides the totals and extremes that are always kept. The series of all but the first
   * run are not kept, so times below a limit and first times must be asked for beforehand.
   */
  readonly measures?: readonly Measure[];
  /** Others that play some of the runs. */
  readonly beside?: RunsBeside;
}

/** One thing shown over time. Values are in coherent SI and stand for the times of `Series.time`; between them they run straight. */
export interface Column {
  /** `soc(Bank)`, `power(Genset)`. */
  readonly name: string;
  readonly of: Instance;
  readonly signal: 'soc' | 'voltage' | 'current' | 'power';
  /** Unit of the values: `1`, `V`, `A` or `W`. */
  readonly unit: '1' | 'V' | 'A' | 'W';
  readonly extremes: Extremes;
  readonly values: Float64Array;
}

/**
 * What was recorded of one run: every step, so that time stands twice where something jumps. The charge of banks is kept, and what
 * requirements look at over time; whoever reads another column has the run played once more.
 */
export interface Series {
  /** Seconds from the start, never falling. */
  readonly time: Float64Array;
  readonly columns: readonly Column[];
  /** Has all columns kept, piece by piece, for whoever must not wait while they are read: yields the share that is done. */
  readonly completing: () => Generator<number, void>;
  /** Bytes of what is kept. */
  readonly bytes: number;
}

/** Something that happened, with its time in s from the start. */
export interface ScenarioEvent {
  readonly time: number;
  /** `start` and `stop` of a generator, `trip` and `restart` of an inverter, `open` and `close` of a bank's protection, … */
  readonly what:
    | 'start'
    | 'loaded'
    | 'stop'
    | 'out of fuel'
    | 'tank empty'
    | 'refilled'
    | 'equalise'
    | 'trip'
    | 'restart'
    | 'open'
    | 'close'
    | 'shed'
    | 'restored'
    | 'stalled'
    | 'overload'
    | 'lost'
    | 'back';
  readonly of: string;
}

/** Where the energy of one run came from and went, in J. `residual` is what the books do not close by. */
export interface EnergyBalance {
  readonly fromSources: number;
  readonly toLoads: number;
  readonly lost: number;
  /** Heat of diversion loads, which hold what water drives while no bus takes it. */
  readonly diverted: number;
  readonly stored: number;
  /** `fromSources − toLoads − lost − diverted − stored`. */
  readonly residual: number;
}

/** Sums of one run, in coherent SI, by the name of the thing. */
export interface RunTotals {
  /** Of machines: an outlet that is not the first has the times and the fuel of its machine. */
  readonly runTime: ReadonlyMap<string, number>;
  readonly starts: ReadonlyMap<string, number>;
  /** m³; without the sets whose fuel is not known. */
  readonly fuel: ReadonlyMap<string, number>;
  /** m³ and s: the least left in each tank that is filled at stated times alone, and when it was first empty; infinite where it never was. */
  readonly fuelLeft: ReadonlyMap<string, number>;
  readonly timeToEmpty: ReadonlyMap<string, number>;
  /** Longest time without a stop. */
  readonly longestRun: ReadonlyMap<string, number>;
  /** Longest time in s for which a bank was not full, or since the start. */
  readonly timeSinceFull: ReadonlyMap<string, number>;
  readonly cycles: ReadonlyMap<string, number>;
  /** The first outlet of its machine, for each other. */
  readonly machines: ReadonlyMap<string, string>;
  /** J, by load. */
  readonly unserved: ReadonlyMap<string, number>;
  readonly shed: ReadonlyMap<string, number>;
  /** J, by array and driven source: what no bus took, that of diversion loads included. */
  readonly curtailed: ReadonlyMap<string, number>;
  /** J, by source and load. */
  readonly energy: ReadonlyMap<string, number>;
  /** The seven days in which each is worst: the most running time (s) of a machine, the least energy (J) of an array or driven source, the most that all loads lacked. */
  readonly worstWeek: {
    readonly runTime: ReadonlyMap<string, number>;
    readonly energy: ReadonlyMap<string, number>;
    readonly unserved: number;
  };
  readonly balance: EnergyBalance;
  /** Steps taken, for benches. */
  readonly steps: number;
}

/** Where the runs of a scenario lie over time, at the times of `Spread.time`: the quantiles 0.05, 0.5 and 0.95 over the runs, in coherent SI. */
export interface SpreadColumn {
  readonly name: string;
  readonly of: Instance;
  readonly signal: 'soc' | 'voltage';
  readonly low: Float64Array;
  readonly middle: Float64Array;
  readonly high: Float64Array;
}

/** How the banks fare in all runs of a scenario. */
export interface Spread {
  /** Runs that it is of: all, or the first of very many. */
  readonly runs: number;
  /** s from the start, at steady intervals. */
  readonly time: Float64Array;
  readonly columns: readonly SpreadColumn[];
}

/** A played scenario. */
export interface ScenarioResult {
  readonly scenario: Scenario;
  /** Local date and time of day (s after midnight) at which it starts. */
  readonly start: { readonly date: string; readonly timeOfDay: number };
  /** s. */
  readonly duration: number;
  /** Defaults that were taken and what is left out, one sentence each. */
  readonly assumptions: readonly string[];
  /** Of the first run. */
  readonly series: Series;
  /** Of the first run. */
  readonly events: readonly ScenarioEvent[];
  /** Of every run. */
  readonly totals: readonly RunTotals[];
  /** Where the runs lie over time, for whoever asks: they are played once more, piece by piece. Absent where there is one run. */
  readonly spread?: () => Generator<number, Spread>;
  /**
   * The value of a measure with its derivation. Over several runs it is the range from the lowest to the highest, so that a requirement
   * holds only if it holds in each; with `over` it is a quantile (0 to 1) over the runs, or their mean.
   */
  readonly measure: (measure: Measure, over?: OverRuns) => Result;
}

/** What became of a play. */
export type Played =
  | { readonly kind: 'played'; readonly result: ScenarioResult }
  /** Facts that lack, each named as a designer understands it: `resistance of Bank`. */
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | {
      readonly kind: 'refused';
      readonly reason: string;
      /** Whether what is wrong stands in its text and is found there. */ readonly isFaulty?: boolean;
    }
  | { readonly kind: 'cancelled' };
