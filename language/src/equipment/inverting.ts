/** What an inverter draws from its bus for what it gives. */
import { constant, leaf, type Named, type Term } from './formula/index.js';

export const INVERTER_FACTS = {
  rated: leaf('rated', 'power', 'P_rated'),
  efficiency: leaf('efficiency', 'ratio', 'η'),
  idle: leaf('idle', 'power', 'P_0'),
  /** Share of the time in which it is switched on. */
  onShare: leaf('onShare', 'ratio', 's_on'),
  /** Part of the loss at full load beside idle that grows with the load; the rest grows with its square. */
  linearPart: leaf('linearPart', 'ratio', 'a'),
  /** Alternating power it gives. */
  output: leaf('output', 'power', 'P_out'),
} as const;

const { rated, efficiency, idle, onShare, linearPart, output } = INVERTER_FACTS;
const ONE = constant(1);
const NOTHING = constant(0, 'power');

/** Loss at its rating beside what it draws without load. */
const LOSS_AT_FULL: Named = rated
  .times(ONE.over(efficiency).minus(ONE))
  .minus(idle)
  .atLeast(NOTHING)
  .named('loss at full load beside idle', 'P_v', 'W');

/** Loss by W and by W² of output: the straight and the square part of the curve through the loss at full load. */
export const LINEAR_LOSS: Term = LOSS_AT_FULL.times(linearPart).over(rated);
export const QUADRATIC_LOSS: Term = LOSS_AT_FULL.times(ONE.minus(linearPart)).over(rated).over(rated);

/** Power it draws from its bus. */
export const INVERTER_INPUT: Named = output
  .plus(idle.times(onShare))
  .plus(output.times(LINEAR_LOSS))
  .plus(output.times(output).times(QUADRATIC_LOSS))
  .named('power from the bus', 'P_dc', 'W');
