import { type Derivation, deriveQuantity } from '../derivation/index.js';
import {
  DIMENSIONS,
  type Dimension,
  DimensionMismatch,
  NotFinite,
  quantity,
  range,
  siQuantity,
  unit,
} from '../quantity/index.js';
import { propertyOf } from '../equipment/index.js';
import type { DesignContext } from '../model/context.js';
import { knownValue, pending } from '../model/lower/evaluated.js';
import type { DesignValues } from '../model/lower/lower.js';
import type { Measure, OverRuns } from '../model/measures.js';
import type { Scenario, System } from '../model/types.js';
import type { Proof } from '../proof/index.js';
import {
  type PlayOptions,
  type Played,
  type RunRecord,
  type RunsBeside,
  NEVER,
  measureTitle,
  playingScenario,
  runsOf,
} from '../simulate/index.js';
import { contentOf, contentText } from './content.js';
import { fromResult } from './design-values.js';
import type { ProjectRules } from './project-rules.js';
import { NOT_PLAYED } from './requirements.js';
import { asStated } from './stated.js';

const YEAR = 365.25 * 86400;

/** Years that a scenario may cover, all its runs together, before it is refused, unless its project says otherwise. */
const MOST_YEARS = 250;

/** Bytes of series that are kept of played scenarios. */
const MOST_KEPT = 200e6;

/** Proofs that are kept: those of the last designs. */
const MOST_PROOFS = 60;

/** Proofs of rules by all that they rest on. Forgets the oldest. */
class ProofCache {
  private readonly kept = new Map<string, Proof>();

  get(content: string): Proof | undefined {
    return this.kept.get(content);
  }

  keep(content: string, proof: Proof): void {
    this.kept.delete(content);
    this.kept.set(content, proof);
    if (this.kept.size > MOST_PROOFS) this.kept.delete(this.kept.keys().next().value!);
  }
}

/** Results of plays by all that they rest on, so that an edit elsewhere does not play them again. Forgets the oldest. */
export class ScenarioCache {
  readonly proofs = new ProofCache();
  private readonly kept = new Map<string, Played>();

  get(content: string): Played | undefined {
    const played = this.kept.get(content);
    if (!played) return undefined;
    this.kept.delete(content);
    this.kept.set(content, played);
    return played;
  }

  keep(content: string, played: Played): void {
    if (played.kind === 'cancelled') return;
    this.kept.set(content, played);
    let bytes = [...this.kept.values()].reduce((sum, each) => sum + size(each), 0);
    for (const [oldest, each] of this.kept) {
      if (bytes <= MOST_KEPT || oldest === content) break;
      this.kept.delete(oldest);
      bytes -= size(each);
    }
  }
}

/** Bytes of the series of a play, with some for everything else. */
function size(played: Played): number {
  if (played.kind !== 'played') return 1000;
  return 100_000 + played.result.series.bytes;
}

/** What a scenario of a design is asked for, noted while its requirements are worked out for the first time. */
export class AskedMeasures {
  readonly measures: Measure[] = [];

  constructor(private readonly scenario: Scenario) {}

  /** The values of the design, where what is asked of the scenario is noted and left open. */
  valuesFrom(values: DesignValues): DesignValues {
    const measure = (asked: Measure, dimension: Dimension) => {
      this.measures.push(asked);
      return pending(dimension, NOT_PLAYED);
    };
    return { ...values, scenario: { name: this.scenario.name, measure } };
  }
}

/** The values of a design with the results of a scenario. */
export function playedValues(values: DesignValues, scenario: Scenario, played: Played): DesignValues {
  const measure = (asked: Measure, dimension: Dimension, over?: OverRuns) => {
    switch (played.kind) {
      case 'played': {
        const result = played.result.measure(asked, over);
        return result.kind === 'refused' && result.argument === NEVER
          ? knownValue(afterTheEnd(measureTitle(asked), result.reason, played.result.duration))
          : fromResult(result);
      }
      case 'missing':
        return pending(dimension, ...played.missing);
      case 'refused':
        return { kind: 'bad', reason: `${scenario.name} cannot be simulated: ${played.reason}` } as const;
      case 'cancelled':
        return pending(dimension, NOT_PLAYED);
    }
  };
  return { ...values, scenario: { name: scenario.name, measure } };
}

/**
 * What happens never, or in some run never, comes after the end of the scenario: anywhere from its end to the longest time a scenario may
 * last. So a requirement that it come late holds up to the duration, and one that it come early fails.
 */
function afterTheEnd(name: string, reason: string, duration: number): Derivation {
  const longest = propertyOf('scenario', 'duration')?.type;
  // Behind the end, not at it.
  const end = siQuantity(duration * (1 + 1e-7), DIMENSIONS.time, unit('d'));
  const latest =
    longest?.type === 'quantity' && longest.maximum !== undefined ? quantity(longest.maximum, longest.unit) : end;
  return deriveQuantity(name, range(end, latest), { governing: [{ kind: 'notWithinScenario' }], notes: [reason] });
}

/** A scenario whose text is wrong is not played: what came of it would be of another one than is meant. */
const FAULTY: Played = { kind: 'refused', reason: 'its text has errors', isFaulty: true };

export interface PlayTask {
  readonly context: DesignContext;
  readonly system: System;
  readonly scenario: Scenario;
  readonly measures: readonly Measure[];
  /** Whether its text or that of one of its requirements is wrong. */
  readonly isFaulty: boolean;
}

/** A scenario of several runs, and the text that is the same wherever the same runs are played. */
export interface RunsAsked {
  readonly design: string;
  readonly scenario: string;
  readonly runs: number;
  readonly content: string;
}

/** Asks others to play some of the runs of a scenario; undefined where nobody does. */
export type AskForRuns = (asked: RunsAsked) => RunsBeside | undefined;

/** The runs of a scenario one by one. */
export interface PlayableRuns {
  /** As in `RunsAsked`. */
  readonly content: string;
  readonly play: (run: number) => RunRecord;
}

/** The runs of a scenario for whoever plays them beside another; undefined where it cannot be played. */
export function runsOfTask(
  { context, system, scenario, measures, isFaulty }: PlayTask,
  { weatherText }: Pick<PlayOptions, 'weatherText'>,
  alive: () => void,
): PlayableRuns | undefined {
  const options = weatherText ? { weatherText } : {};
  const play = isFaulty ? undefined : runsOf(context, scenario, { ...options, measures, progress: alive });
  return play && { content: contentFor(system, scenario, measures, options), play };
}

/** Plays a scenario, or takes its result from the cache. Yields the share that is done. */
export function* playing(
  { context, system, scenario, measures, isFaulty }: PlayTask,
  options: Pick<PlayOptions, 'weatherText' | 'cancelled'> & {
    readonly project?: ProjectRules;
    readonly runsBeside?: AskForRuns;
  },
  cache: ScenarioCache | undefined,
): Generator<number, Played> {
  if (isFaulty) return FAULTY;
  const asks = scenario.runs > 1 ? options.runsBeside : undefined;
  const content = (cache ?? asks) && contentFor(system, scenario, measures, options);
  const kept = content === undefined ? undefined : cache?.get(content);
  if (kept) return kept;
  const time = (scenario.duration ?? 0) * scenario.runs;
  const most = options.project?.scenarioYears ?? MOST_YEARS;
  if (time > most * YEAR) {
    const years = Number((time / YEAR).toPrecision(3));
    return { kind: 'refused', reason: `its runs cover ${years} years in all; at most ${most} are simulated here` };
  }
  yield 0;
  const beside = asks?.({ design: system.name, scenario: scenario.name, runs: scenario.runs, content: content! });
  const outcome = yield* finitely<Played>(
    playingScenario(context, scenario, { ...options, measures, ...(beside ? { beside } : {}) }),
    (why) => why,
  );
  const played = outcome.kind === 'missing' ? { ...outcome, missing: asStated(system, outcome.missing) } : outcome;
  if (content !== undefined) cache?.keep(content, played);
  return played;
}

const TOO_LARGE = { kind: 'refused', reason: 'its values are too large to calculate with' } as const;

/** A play or a proof whose numbers outgrow what can be calculated with is refused. */
export function* finitely<T>(pieces: Generator<number, T>, refuse: (why: typeof TOO_LARGE) => T): Generator<number, T> {
  try {
    return yield* pieces;
  } catch (error) {
    if (!(error instanceof NotFinite || error instanceof DimensionMismatch)) throw error;
    return refuse(TOO_LARGE);
  }
}

/** The result of a scenario as far as it is known without playing. */
export const keptPlay = (
  { system, scenario, measures, isFaulty }: PlayTask,
  options: Pick<PlayOptions, 'weatherText'>,
  cache: ScenarioCache,
): Played | undefined => (isFaulty ? FAULTY : cache.get(contentFor(system, scenario, measures, options)));

function contentFor(
  system: System,
  scenario: Scenario,
  measures: readonly Measure[],
  { weatherText }: Pick<PlayOptions, 'weatherText'>,
): string {
  const beside = scenario.weather === undefined ? '' : (weatherText?.(scenario.weather) ?? '');
  const weather = typeof beside === 'object' ? beside.unread : beside;
  // Of several runs only what was asked for is kept.
  const asked = scenario.runs > 1 ? contentText(measures) : '';
  return `${contentOf(system, scenario)}\n${asked}\n${weather}`;
}
