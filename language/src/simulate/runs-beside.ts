import { Cancelled } from './engine-types.js';
import type { RunRecord } from './run-record.js';
import type { PlayedRun, Runs } from './runs.js';

/** What came of a run that was played elsewhere; no record where it could not be played. */
export interface RunElsewhere {
  readonly run: number;
  readonly record?: RunRecord;
}

/** Others that play runs of one scenario while its own player does: the same runs of the same design, so that who plays which changes nothing. */
export interface RunsBeside {
  /** The next run that nobody has begun, of those after the first; undefined when all are begun. */
  readonly take: () => number | undefined;
  /** What has come in since it was last asked, waiting a moment for it or not; undefined where nothing more will come. */
  readonly arrived: (waits: boolean) => readonly RunElsewhere[] | undefined;
  /** Nothing more is wanted. */
  readonly end: () => void;
}

/** Nobody else. */
function alone(count: number): RunsBeside {
  let next = 1;
  return { take: () => (next < count ? next++ : undefined), arrived: () => undefined, end: () => undefined };
}

export interface AllRuns {
  readonly first: PlayedRun;
  readonly records: readonly RunRecord[];
}

/**
 * Plays the runs of a scenario: yields the share that is done. Throws what the first of them throws that cannot be played, whoever plays it:
 * `whyUnplayed` knows it.
 */
export function* playingAll(
  runs: Pick<Runs, 'playing'>,
  count: number,
  beside: RunsBeside = alone(count),
): Generator<number, AllRuns> {
  const records: (RunRecord | undefined)[] = Array.from({ length: count });
  let done = 0;
  /** The first run that could not be played: none behind it counts. */
  let end = count;
  let why: unknown;
  const fails = (run: number, error?: unknown): void => {
    if (run >= end) return;
    [end, why] = [run, error];
  };
  function* own(run: number): Generator<number, PlayedRun | undefined> {
    try {
      const pieces = runs.playing(run);
      let piece = pieces.next();
      for (; !piece.done; piece = pieces.next()) yield Math.min(1, (done + piece.value) / count);
      records[run] = piece.value.record;
      done += 1;
      return piece.value;
    } catch (error) {
      if (run === 0 || error instanceof Cancelled) throw error;
      fails(run, error);
      return undefined;
    }
  }
  const receive = (waits: boolean): boolean => {
    const arrived = beside.arrived(waits);
    for (const { run, record } of arrived ?? []) {
      records[run] = record;
      if (record) done += 1;
      else fails(run);
    }
    return arrived !== undefined;
  };
  const missing = (): number => {
    for (let run = 1; run < end; run += 1) if (!records[run]) return run;
    return end;
  };
  try {
    const first = yield* own(0);
    for (let run = beside.take(); run !== undefined && run < end; run = beside.take()) {
      yield* own(run);
      receive(false);
    }
    for (;;) {
      // Others finish what they have begun; what they never will is played here.
      while (missing() < end) {
        if (!receive(true)) yield* own(missing());
        yield Math.min(1, done / count);
      }
      if (end === count) return { first: first!, records: records as RunRecord[] };
      if (why !== undefined) throw why;
      // Why another could not play it is found by playing it here.
      const lost = end;
      end = count;
      yield* own(lost);
    }
  } finally {
    beside.end();
  }
}
