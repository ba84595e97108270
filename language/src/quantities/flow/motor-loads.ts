import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Instance, Run, System } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import type { QuantityContext } from '../define.js';
import { fullLoadCurrent, motorOf } from '../demand/motors.js';
import { termOf } from '../worst.js';
import { type Loading, isLoadings, loadingsOf } from './loading.js';

/** A motor among what a conductor carries. */
export interface MotorLoad {
  readonly motor: Instance;
  /** What it is counted with in the design current, A. */
  readonly part: Derivation;
  readonly isLasting: boolean;
  /** One motor: its full-load current, or what it draws by its power where that is more. */
  readonly each: Derivation;
  /** How many of them. */
  readonly count: number;
}

const MOTORS = query<System, readonly Instance[]>('the motors of a design');

export const motorsOf = (context: QuantityContext): readonly Instance[] =>
  context.kept(MOTORS, context.system, () => context.system.instances.filter(motorOf));

/** The motors among what a conductor carries. */
export function motorsIn(loading: Loading, context: QuantityContext): MotorLoad[] {
  return motorsOf(context).flatMap((motor): MotorLoad[] => {
    const part = termOf(loading.whole, motor);
    if (!part) return [];
    const pieces = context.maybe(motor, 'count');
    const count = pieces ? numberIn(pieces, '') : 1;
    const drawn = derive(`current of one ${motor.name}`, numberIn(part, 'A') / count, 'A', { inputs: [part] });
    const full = fullLoadCurrent(motor, loading.source, context);
    const each =
      full?.kind === 'known' && numberIn(full.derivation, 'A') >= numberIn(drawn, 'A') ? full.derivation : drawn;
    return [{ motor, part, isLasting: termOf(loading.continuous, motor) !== undefined, each, count }];
  });
}

/** What the conductors of motors and other loads need: 125 % of the largest motor and 100 % of the others (NEC 430.22, 430.24). */
export function withMotors(motors: readonly MotorLoad[], others: Derivation, factor: Derivation): Derivation {
  const largest = motors.reduce((so, next) => (numberIn(next.each, 'A') > numberIn(so.each, 'A') ? next : so));
  const all = motors.reduce((sum, { each, count }) => sum + count * numberIn(each, 'A'), 0);
  const most = numberIn(largest.each, 'A');
  return derive('required ampacity', numberIn(others, 'A') + all + (numberIn(factor, '') - 1) * most, 'A', {
    symbol: 'I',
    formula: 'factor · Ilargest + Imotors + Iothers',
    inputs: [
      { ...largest.each, symbol: 'Ilargest' },
      derive('full-load currents of the other motors', all - most, 'A', {
        symbol: 'Imotors',
        inputs: motors.map(({ each }) => each),
      }),
      { ...others, symbol: 'Iothers' },
      { ...factor, symbol: 'factor' },
    ],
    ...(factor.source ? { source: factor.source } : {}),
  });
}

const MOTOR_NEEDS = query<Run, { readonly need: Derivation | undefined }>(
  'what motors need of the conductors of a run',
);

/**
 * Ampacity that the conductors of motors must have after correction (NEC 430.22, 430.24), other loads counted with what they draw; undefined
 * where a run feeds no motor.
 */
export const motorAmpacity = (run: Run, context: QuantityContext): Derivation | undefined =>
  context.kept(MOTOR_NEEDS, run, () => ({ need: findMotorAmpacity(run, context) })).need;

function findMotorAmpacity(run: Run, context: QuantityContext): Derivation | undefined {
  const loadings = context.system.basis.practice === 'nec' ? loadingsOf(run, context) : [];
  if (!isLoadings(loadings)) return undefined;
  let worst: Derivation | undefined;
  for (const loading of loadings) {
    const motors = motorsIn(loading, context);
    if (motors.length === 0) continue;
    const drawn = motors.reduce((sum, { part }) => sum + numberIn(part, 'A'), 0);
    const others = derive('other loads', Math.max(0, numberIn(loading.whole, 'A') - drawn), 'A', {
      inputs: [loading.whole, ...motors.map(({ part }) => part)],
    });
    const need = withMotors(motors, others, ruleValue('nec', 'motorConductor'));
    if (!worst || numberIn(need, 'A') > numberIn(worst, 'A')) worst = need;
  }
  return worst;
}
