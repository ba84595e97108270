import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import { finished } from './finished.js';
import { prepare } from './prepare.js';
import { scenarioResult } from './result.js';
import type { RunRecord } from './run-record.js';
import { Runs, whyUnplayed } from './runs.js';
import { type AllRuns, playingAll } from './runs-beside.js';
import type { PlayOptions, Played } from './types.js';

export * from './types.js';
export { finished } from './finished.js';
export { quantileOf } from './quantile.js';
export type { RunRecord } from './run-record.js';
export type { RunElsewhere, RunsBeside } from './runs-beside.js';
export { NEVER, formatSpan, meanOf, measureTitle } from './result.js';
export { type Against, type ComparedColumn, type ComparedSum, compareLog } from './against.js';
export { type MeasuredLog, readLog } from './log.js';
export { type LogOver, logAgainst } from './log-against.js';
export { offsetOf } from './prepare-sun.js';
export { type Stretch, clockTime, columnsOfSignal, csvRows, midnights, sampled, stretchesOf } from './series.js';

/**
 * Plays a scenario of a design: executes its control rules over time on an energy model of its sources, converters, banks and loads. The
 * same design, scenario, weather text and resolution give the same numbers.
 */
export function playScenario(context: DesignContext, scenario: Scenario, options: PlayOptions = {}): Played {
  return finished(playingScenario(context, scenario, options));
}

/** Plays a scenario piece by piece: yields the share that is done (0 to 1), so that its caller can do other things in between. */
export function* playingScenario(
  context: DesignContext,
  scenario: Scenario,
  options: PlayOptions = {},
): Generator<number, Played> {
  const prepared = prepare(context, scenario, options);
  if (prepared.kind !== 'ready') return prepared;
  const runs = new Runs(prepared, scenario, options);
  let all: AllRuns;
  try {
    all = yield* playingAll(runs, scenario.runs, options.beside);
  } catch (error) {
    const why = whyUnplayed(error);
    if (why) return why;
    throw error;
  }
  options.progress?.(1);
  const { first, records } = all;
  return { kind: 'played', result: scenarioResult({ runs, records, course: first.course, events: first.events }) };
}

/** The runs of a scenario one by one, for whoever plays them beside another; undefined where it cannot be played. */
export function runsOf(
  context: DesignContext,
  scenario: Scenario,
  options: PlayOptions,
): ((run: number) => RunRecord) | undefined {
  const prepared = prepare(context, scenario, options);
  if (prepared.kind !== 'ready') return undefined;
  const runs = new Runs(prepared, scenario, options);
  return (run) => finished(runs.playing(run)).record;
}
