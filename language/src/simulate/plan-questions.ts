import type { RegulatorPlan, SourcePlan } from './plan.js';

/* What the engine asks of a plan: `prepare` has put what a thing can do into its words. */

/** Turns, burns fuel and is loaded after it has started, as a generating set. */
export const isSetPlan = ({ kind }: Pick<SourcePlan, 'kind'>): boolean => kind === 'set';

/** Takes what it gives from an alternating-current supply. */
export const isFedByAlternating = ({ supply }: Pick<RegulatorPlan, 'supply'>): boolean => supply === 'alternating';
