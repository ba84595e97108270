import type * as ast from '../../grammar/generated/ast.js';
import { DIMENSIONS, type Dimension } from '../../quantity/index.js';
import { MEASURES, quantileWord } from '../measures.js';
import { type Evaluated, pending } from './evaluated.js';

/** Signals that control rules watch, with the dimension of each. They have a value only while time runs. */
export const STATE_SIGNALS: ReadonlyMap<string, Dimension> = new Map([
  ['soc', DIMENSIONS.ratio],
  ['voltage', DIMENSIONS.voltage],
  ['current', DIMENSIONS.current],
  ['power', DIMENSIONS.power],
  ['temperature', DIMENSIONS.temperature],
]);

/** The condition that a supply of alternating current is away: `lost(Mains)`. */
export const LOST = 'lost';

/** Conditions on what the management of a bank lets happen: `mayCharge(Bank)`. */
export const PERMISSIONS = ['mayCharge', 'mayDischarge'] as const;
export const isPermission = (name: string): name is (typeof PERMISSIONS)[number] =>
  (PERMISSIONS as readonly string[]).includes(name);

/** The condition that a set is on duty among several that take turns by days: `onDuty(SetA, SetB, 7 d)`. */
export const ON_DUTY = 'onDuty';

/** Words that are conditions by themselves, with what each says. */
export const CONDITION_WORDS: ReadonlyMap<string, string> = new Map([
  [LOST, 'a condition: a supply is away'],
  ...PERMISSIONS.map((name) => [name, 'a condition: what the management of a bank lets happen'] as const),
  [ON_DUTY, 'a condition: the first set is on duty among those named, which take turns of some days'],
]);
export const isConditionWord = (name: string): boolean => CONDITION_WORDS.has(name);

/** The dimension of what rules compare: that of a state, of the clock, or of what rules alone ask for. */
export const signalDimension = (signal: string): Dimension =>
  STATE_SIGNALS.get(signal) ?? CLOCK_SIGNALS.get(signal) ?? (signal === RUN_TIME ? DIMENSIONS.time : DIMENSIONS.ratio);

/** The time for which a set has turned, in rules: `runTime(SetA) < runTime(SetB)`. */
export const RUN_TIME = 'runTime';

/** What a played scenario yields, by the word that asks for it; undefined dimensions are those of the signal. */
export const SCENARIO_RESULTS: ReadonlyMap<string, Dimension> = new Map(
  [...MEASURES.values()].flatMap(({ what, dimension, takes }) =>
    dimension && takes !== 'signal' ? [[what, dimension] as const] : [],
  ),
);

/** Signals of the clock: the time of day since midnight, and the day of what is played, the first being 1. */
export const CLOCK_SIGNALS: ReadonlyMap<string, Dimension> = new Map([
  ['hour', DIMENSIONS.time],
  ['day', DIMENSIONS.ratio],
]);

/** Words that stand for a signal or a scenario's result without an argument. */
export const PLAIN_SIGNALS: ReadonlyMap<string, Dimension> = new Map([
  ...[...MEASURES.values()].flatMap(({ what, dimension, takes }) =>
    dimension && takes === 'thing or nothing' ? [[what, dimension] as const] : [],
  ),
  ...CLOCK_SIGNALS,
]);

/** The type of a call that only a running scenario can answer: `soc(Bank)`, `runTime(Genset)`; undefined when the call is none of these. */
export function typeSignalCall(call: ast.Call, given: readonly { value: Evaluated }[]): Evaluated | undefined {
  const name = call.function ?? '';
  // `p95(runTime(Genset))` is of the dimension of what it is taken of, as are `mean`, `last` and `worstWeek`.
  if (quantileWord(name) !== undefined || name === 'mean' || name === 'last' || name === 'worstWeek')
    return given[0]?.value.kind === 'pending' || given[0]?.value.kind === 'bad' ? given[0].value : undefined;
  const dimension = isConditionWord(name) ? 'condition' : (STATE_SIGNALS.get(name) ?? SCENARIO_RESULTS.get(name));
  if (!dimension) return undefined;
  // `voltage` and the like are also names of ordinary values; as a call they need a thing.
  const first = given[0]?.value;
  if (!first) return undefined;
  if (first.kind !== 'thing' && first.kind !== 'pending') return first.kind === 'bad' ? first : undefined;
  return pending(dimension, `${name}(${first.kind === 'thing' ? first.name : '…'}), which only a scenario gives`);
}
