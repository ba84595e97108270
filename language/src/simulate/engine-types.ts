import type { DaySums, RunSums } from './day-sums.js';
import type { DirectSide } from './direct-side.js';
import type { ExtremesSoFar } from './extremes.js';
import type { Recorder } from './recorder.js';
import type { TankOutcome } from './tanks.js';
import type { EnergyBalance, ScenarioEvent } from './types.js';

/** What the energy books may be open by, over all energy that went through. */
export const BALANCE_TOLERANCE = 1e-6;

export interface EngineOptions {
  /** s. */
  readonly resolution: number;
  readonly seed: number;
  /** Which of several runs; each has random numbers of its own. */
  readonly run: number;
  /** Whether weather and outages vary by random numbers. */
  readonly isRandom: boolean;
  readonly cancelled?: () => boolean;
  readonly progress?: (share: number) => void;
  /** What keeps the rows; one of all columns unless said. */
  readonly recorder?: Recorder;
  /** What follows the extremes of all columns, if anybody asks for them. */
  readonly extremes?: ExtremesSoFar;
  /** Looks on whenever everything has settled that switches at an instant: time and time of day (s), and the direct-current side. */
  readonly watch?: (time: number, timeOfDay: number, direct: DirectSide) => void;
  /** How many times the usual tolerances of steps and books are enough; 1 unless said. What only asks which way things go needs no digits. */
  readonly looseness?: number;
  /** Longest step in s where nothing happens; 900 unless said. What happens must not depend on it. */
  readonly longestStep?: number;
  /** Longest step in s that is tried first where something has switched; 900 unless said. What happens must not depend on it. */
  readonly firstStep?: number;
  /** How closely in s the moment is found at which something switches within a step; a microsecond unless said. */
  readonly closeness?: number;
}

/** What a run leaves; sums in coherent SI by position in the plan. */
export interface Outcome extends RunSums {
  readonly recorder: Recorder;
  readonly events: readonly ScenarioEvent[];
  /** The same sums at the start, at each midnight and at the end. */
  readonly days: DaySums;
  /** s, by bank: the longest time since it was full. */
  readonly sinceFull: Float64Array;
  readonly tanks: readonly TankOutcome[];
  readonly balance: EnergyBalance;
  /** J through all books, what the balance is measured against. */
  readonly throughput: number;
  readonly steps: number;
}

/** The engine gives up: rules or protections switch without end at one time. */
export class EndlessSwitching extends Error {
  constructor(readonly time: number) {
    super('switches without end');
  }
}

/** The energy books do not close: a fault of the engine, never of a design. */
export class BooksOpen extends Error {}

export class Cancelled extends Error {}
