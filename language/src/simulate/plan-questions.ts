import type { RegulatorPlan, SourcePlan } from './plan.js';

/*
 * What the engine asks of a plan. The words of a plan are numbers' own: `prepare` has put what a thing can do into them, and a source of
 * the plan is no instance that could be asked.
 */

/** Turns, burns fuel and is loaded after it has started, as a generating set. */
// eslint-disable-next-line no-restricted-syntax -- the plan's own word: a source of the plan is no instance
export const isSetPlan = ({ kind }: Pick<SourcePlan, 'kind'>): boolean => kind === 'generator';

/** Takes what it gives from an alternating-current supply. */
// eslint-disable-next-line no-restricted-syntax -- the plan's own word: a regulator of the plan is no instance
export const isFedByAlternating = ({ kind }: Pick<RegulatorPlan, 'kind'>): boolean => kind === 'charger';
