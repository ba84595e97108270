import { quantileOf } from './quantile.js';
import { Recorder } from './recorder.js';
import type { Runs } from './runs.js';
import { sampled } from './series.js';
import type { Spread, SpreadColumn } from './types.js';

/** Runs that are played again at most: with so many the quantiles at 5 % and 95 % hardly move any more. */
const MOST_RUNS = 200;
/** Intervals at which the runs are held beside each other. */
const INTERVALS = 480;
const QUANTILES = { low: 0.05, middle: 0.5, high: 0.95 } as const;

/** Where the runs of a scenario lie over time. They are played again when it is first asked for, and what came of it is kept. */
export function spreading(runs: Runs): () => Generator<number, Spread> {
  let kept: Spread | undefined;
  return function* () {
    return (kept ??= yield* spreadOf(runs));
  };
}

function* spreadOf(runs: Runs): Generator<number, Spread> {
  const { plan, scenario } = runs;
  const count = Math.min(scenario.runs, MOST_RUNS);
  const interval = plan.duration / INTERVALS;
  const shown = plan.signals.flatMap(({ name, of, signal }, at) =>
    signal === 'soc' || signal === 'voltage' ? [{ name, of, signal, at }] : [],
  );
  const recorder = new Recorder(shown.map(({ at }) => at));
  // By column, and by run: its values at steady intervals.
  const samples: Float64Array[][] = shown.map(() => []);
  for (let run = 0; run < count; run += 1) {
    recorder.clear();
    const pieces = runs.recording(run, recorder);
    for (let piece = pieces.next(); !piece.done; piece = pieces.next()) yield (run + piece.value) / count;
    shown.forEach(({ at }, column) =>
      samples[column]!.push(sampled(recorder, recorder.column(at), interval, plan.duration)),
    );
  }
  const points = samples[0]?.[0]?.length ?? 0;
  return {
    runs: count,
    time: Float64Array.from({ length: points }, (_, at) => at * interval),
    columns: shown.map(({ name, of, signal }, column): SpreadColumn => {
      const quantiles = {
        low: new Float64Array(points),
        middle: new Float64Array(points),
        high: new Float64Array(points),
      };
      for (let at = 0; at < points; at += 1) {
        const sorted = samples[column]!.map((own) => own[at]!).sort((left, right) => left - right);
        for (const key of ['low', 'middle', 'high'] as const) quantiles[key][at] = quantileOf(sorted, QUANTILES[key]);
      }
      return { name, of, signal, ...quantiles };
    }),
  };
}
