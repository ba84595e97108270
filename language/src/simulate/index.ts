import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import { BooksOpen, Cancelled, EndlessSwitching } from './engine-types.js';
import { Engine } from './engine.js';
import { finished } from './finished.js';
import { prepare } from './prepare.js';
import { Recorder } from './recorder.js';
import { formatSpan, scenarioResult, seriesOf } from './result.js';
import { type RunRecord, extremesNow, laterExtremes, measureKey, measured, totalsOf } from './run-record.js';
import type { PlayOptions, Played, ScenarioEvent, Series } from './types.js';

export * from './types.js';
export { finished } from './finished.js';
export { NEVER, formatSpan, meanOf, measureTitle, quantileOf } from './result.js';
export { type Against, type ComparedColumn, type ComparedSum, compareLog } from './against.js';
export { type MeasuredLog, readLog } from './log.js';
export { offsetOf } from './prepare-sun.js';
export { type Stretch, clockTime, columnsOfSignal, csvRows, midnights, sampled, stretchesOf } from './series.js';

/** s at which the sun is taken; a weather file may bring more of it. Between, it goes along straight lines. */
const RESOLUTION = 300;
const RESOLUTION_OF_FILES = 60;

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
  const { plan, positionOf } = prepared;
  const records: RunRecord[] = [];
  let series: Series | undefined;
  let events: readonly ScenarioEvent[] = [];
  let recorder: Recorder | undefined;
  try {
    for (let run = 0; run < scenario.runs; run += 1) {
      // The series of the first run is kept; the others share one recorder.
      if (run < 2) recorder = new Recorder(plan.signals.length);
      const engine = new Engine(plan, {
        resolution: options.resolution ?? (plan.sun.mode === 'file' ? RESOLUTION_OF_FILES : RESOLUTION),
        seed: scenario.seed,
        run,
        isRandom: true,
        recorder: recorder!,
        ...(options.cancelled ? { cancelled: options.cancelled } : {}),
        ...(options.progress ? { progress: (share) => options.progress!((run + share) / scenario.runs) } : {}),
      });
      const pieces = engine.playing();
      let piece = pieces.next();
      for (; !piece.done; piece = pieces.next()) yield (run + piece.value) / scenario.runs;
      const outcome = piece.value;
      const recorded = outcome.recorder;
      const extremes = run === 0 ? laterExtremes(recorded) : extremesNow(recorded, plan.signals.length);
      const totals = totalsOf(plan, outcome);
      const asked = (options.measures ?? []).map(
        (measure) =>
          [
            measureKey(measure),
            measured(measure, { totals, extremes, days: outcome.days }, positionOf, recorded, plan),
          ] as const,
      );
      records.push({
        totals,
        extremes,
        measured: new Map(asked),
        ...(run === 0 ? { days: outcome.days } : {}),
      });
      if (run === 0) {
        series = seriesOf(plan, recorded);
        ({ events } = outcome);
      }
    }
  } catch (error) {
    if (error instanceof Cancelled) return { kind: 'cancelled' };
    if (error instanceof EndlessSwitching)
      return {
        kind: 'refused',
        reason: `${formatSpan(error.time)} after its start rules, cut-offs or protections switch without end`,
      };
    if (error instanceof BooksOpen)
      return { kind: 'refused', reason: `the energy of the simulation does not add up: ${error.message}` };
    throw error;
  }
  options.progress?.(1);
  const { assumptions } = prepared;
  const result = scenarioResult({
    scenario,
    plan,
    assumptions,
    positionOf,
    series: series!,
    events,
    records,
    seed: scenario.seed,
  });
  return { kind: 'played', result };
}
