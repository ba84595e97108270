import type { Signal } from '../model/conditions.js';
import type { Scenario } from '../model/types.js';
import { Course } from './course.js';
import { BooksOpen, Cancelled, EndlessSwitching } from './engine-types.js';
import type { EngineOptions } from './engine-types.js';
import { Engine } from './engine.js';
import { ExtremesSoFar } from './extremes.js';
import type { Plan } from './plan.js';
import type { Prepared } from './prepare.js';
import { Recorder } from './recorder.js';
import { type RunRecord, measureKey, measured, signalsOverTime, totalsOf } from './run-record.js';
import { formatSpan } from './result.js';
import type { PlayOptions, Played, ScenarioEvent } from './types.js';

/** s at which the sun is taken; a weather file may bring more of it. Between, it goes along straight lines. */
const RESOLUTION = 600;
const RESOLUTION_OF_FILES = 60;
/** Longest step where nothing happens, in s: whoever reads a course over time reads straight lines between its rows. */
const LONGEST_STEP = 6 * 3600;

/** What is left of one run. */
export interface PlayedRun {
  readonly record: RunRecord;
  readonly events: readonly ScenarioEvent[];
  readonly course: Course;
}

/** The runs of a scenario, each of which can be played by itself: what comes of one does not depend on the others. */
export class Runs {
  readonly plan: Plan;
  readonly positionOf: (signal: Signal) => number | undefined;
  readonly assumptions: readonly string[];
  /** What is recorded of every run: what its measures look at over time; and of the first, the charge of the banks. */
  private readonly overTime: readonly number[];
  private readonly charges: readonly number[];
  private shared: Recorder | undefined;

  constructor(
    { plan, positionOf, assumptions }: Extract<Prepared, { kind: 'ready' }>,
    readonly scenario: Scenario,
    private readonly options: PlayOptions,
  ) {
    [this.plan, this.positionOf, this.assumptions] = [plan, positionOf, assumptions];
    const signals = (options.measures ?? []).flatMap(signalsOverTime);
    this.overTime = [...new Set(signals.flatMap((signal) => positionOf(signal) ?? []))];
    this.charges = plan.signals.flatMap(({ signal }, at) => (signal === 'soc' ? [at] : []));
  }

  /** Plays one run piece by piece: yields the share of it that is done. Throws what `whyUnplayed` knows. */
  *playing(run: number): Generator<number, PlayedRun> {
    const { plan, options, positionOf } = this;
    const extremes = new ExtremesSoFar(plan.signals.length);
    const watched = {
      extremes,
      ...(options.cancelled ? { cancelled: options.cancelled } : {}),
      ...(options.progress ? { progress: this.progressOf(run) } : {}),
    };
    const outcome = yield* this.engine(run, this.recorderFor(run), watched).playing();
    const { recorder, days, events } = outcome;
    const kept = { totals: totalsOf(plan, outcome), extremes: extremes.all, days };
    const asked = (options.measures ?? []).map(
      (measure) => [measureKey(measure), measured(measure, kept, positionOf, recorder, plan)] as const,
    );
    const { totals } = kept;
    const record = { totals, extremes: kept.extremes, measured: new Map(asked), ...(run === 0 ? { days } : {}) };
    const course = new Course(recorder, plan.signals.length, (all) => this.engine(run, all).playing());
    return { record, events, course };
  }

  /** Plays one run once more for what is asked of it over time, by positions among the signals: yields the share of it that is done. */
  *recording(run: number, recorder: Recorder): Generator<number, void> {
    yield* this.engine(run, recorder).playing();
  }

  private progressOf(run: number): (share: number) => void {
    const { progress } = this.options;
    return (share) => progress?.((run + share) / this.scenario.runs);
  }

  /** The recorder of the first run is kept; the others share one, since nobody looks at it once they are over. */
  private recorderFor(run: number): Recorder {
    if (run === 0) return new Recorder([...new Set([...this.charges, ...this.overTime])]);
    return (this.shared ??= new Recorder(this.overTime));
  }

  private engine(run: number, recorder: Recorder, watched: Partial<EngineOptions> = {}): Engine {
    const { plan, options, scenario } = this;
    return new Engine(plan, {
      resolution: options.resolution ?? (plan.sun.mode === 'file' ? RESOLUTION_OF_FILES : RESOLUTION),
      longestStep: LONGEST_STEP,
      seed: scenario.seed,
      run,
      isRandom: true,
      recorder,
      ...watched,
    });
  }
}

/** What is said of a play that could not be played to its end; undefined for what is a fault of the program. */
export function whyUnplayed(error: unknown): Exclude<Played, { kind: 'played' }> | undefined {
  if (error instanceof Cancelled) return { kind: 'cancelled' };
  if (error instanceof EndlessSwitching)
    return {
      kind: 'refused',
      reason: `${formatSpan(error.time)} after its start rules, cut-offs or protections switch without end`,
    };
  if (error instanceof BooksOpen)
    return { kind: 'refused', reason: `the energy of the simulation does not add up: ${error.message}` };
  return undefined;
}
