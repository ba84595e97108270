import type { Fix } from '../checks/define.js';
import type { Finding } from '../analyse/types.js';

/** Why a change that would end a finding, or seemed to, is not offered. */
export type Obstacle =
  /** No check knows a way of mending it that could be written down. */
  | { readonly kind: 'no-way' }
  /** The finding stands all the same. */
  | { readonly kind: 'stays'; readonly title: string }
  /** Another finding would come of it. */
  | {
      readonly kind: 'brings';
      readonly title: string;
      readonly check: string;
      readonly subject: string;
      readonly message: string;
    }
  /** It rests on facts that are missing and could make it worse. */
  | {
      readonly kind: 'open';
      readonly title: string;
      readonly check: string;
      readonly subject: string;
      readonly missing: readonly string[];
    }
  /** It would undo what another finding asks for. */
  | { readonly kind: 'undoes'; readonly title: string; readonly check: string; readonly subject: string }
  /** No conductors of the usual sizes carry it: at a higher bank voltage the current would be smaller. */
  | { readonly kind: 'current'; readonly subject: string }
  /** What is to be changed is written in another file. */
  | { readonly kind: 'elsewhere'; readonly title: string };

/** What can be done about a finding: every change is tried on the whole design before it stands here. */
export interface Answer {
  /** What costs least first. */
  readonly proposals: readonly Fix[];
  /** What stands in the way of the ways that are not offered. */
  readonly obstacles: readonly Obstacle[];
  /** Whether every way was tried; else the effort that was allowed was spent before. */
  readonly isSought: boolean;
}

/** A finding with what can be done about it. */
export interface AnsweredFinding extends Finding {
  readonly fixes: readonly Fix[];
  readonly obstacles: readonly Obstacle[];
  readonly fixesSought: boolean;
}

export const UNSOUGHT: Answer = { proposals: [], obstacles: [], isSought: false };

export const answered = (finding: Finding, answer: Answer = UNSOUGHT): AnsweredFinding => ({
  ...finding,
  fixes: answer.proposals,
  obstacles: answer.proposals.length > 0 ? [] : answer.obstacles,
  fixesSought: answer.isSought,
});

/** Why nothing is offered, as a sentence; undefined where nothing is known to stand in the way. */
export function obstacleText(obstacles: readonly Obstacle[]): string | undefined {
  const [first] = [...obstacles].sort((left, right) => RANK.indexOf(left.kind) - RANK.indexOf(right.kind));
  switch (first?.kind) {
    case undefined:
      return undefined;
    case 'no-way':
      return 'no setting, rating, class or size is known that removes this';
    case 'stays':
      return `no change removes this: "${first.title}" is not enough`;
    case 'brings':
      return `no change removes this: ${first.check} on ${first.subject} prevents "${first.title}"`;
    case 'open':
      return `no change is sure to remove this: "${first.title}" rests on ${first.missing.join(', ')}, which is missing`;
    case 'undoes':
      return `no change removes this: "${first.title}" would undo what ${first.check} on ${first.subject} needs`;
    case 'current':
      return `no conductors of the usual sizes carry it, alone or in parallel: a higher bank voltage would lower the current of ${first.subject}`;
    case 'elsewhere':
      return `"${first.title}" changes another file, in which it was not tried`;
  }
}

/** The obstacle that says most comes first. */
const RANK: readonly Obstacle['kind'][] = ['brings', 'open', 'undoes', 'current', 'elsewhere', 'stays', 'no-way'];
