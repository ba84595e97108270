import type { Problem, ProblemCode } from '../../model/problems.js';
import type { Check, CheckDocs, Failed, Severity } from '../define.js';

export type ProblemOf<C extends ProblemCode> = Extract<Problem, { code: C }>;

/** A check of the group "Text and meaning": the model finds the problem while reading the text, the check puts it into words. */
export interface TextCheck<C extends ProblemCode = ProblemCode> extends Check {
  readonly code: C;
  readonly word: (
    problem: ProblemOf<C>,
  ) => Omit<Failed, 'verdict' | 'subject' | 'place' | 'use'> & Partial<Pick<Failed, 'use'>>;
}

/** Declares a check that puts one kind of problem into words. */
export function defineTextCheck<C extends ProblemCode>(check: {
  readonly id: C;
  readonly severity: Severity;
  readonly since: string;
  readonly docs: CheckDocs;
  readonly word: TextCheck<C>['word'];
}): TextCheck {
  return { ...check, group: 'text', code: check.id, judge: () => [] } as unknown as TextCheck;
}
