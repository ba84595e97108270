import type { AstNode } from 'langium';
import type { RequirementResult, Use } from '../checks/define.js';
import { shareOf } from '../checks/verdicts.js';
import type { Derivation, Place } from '../derivation/index.js';
import { isArithmetic, isGroup, isLogic } from '../grammar/generated/ast.js';
import { isCondition } from '../model/lower/evaluated.js';
import type { DesignValues, LoweredDesign } from '../model/lower/lower.js';
import { placeOfNode } from '../model/lower/place.js';
import type { Problem, ProblemFacts } from '../model/problems.js';
import type { Requirement } from '../model/types.js';
import { asStated } from './stated.js';
import { isPast } from './waivers.js';

/** What lacks for a requirement of a scenario until that has been played. */
export const NOT_PLAYED = 'what only simulating its scenario gives';

/** On which side of the right side the left one must stay. */
const SENSES: Readonly<Record<string, 'at-most' | 'at-least'>> = {
  '<': 'at-most',
  '<=': 'at-most',
  '>': 'at-least',
  '>=': 'at-least',
};

const SIGNS: readonly string[] = ['<', '<=', '>', '>=', '==', '!='];

/** The left side and the sign of a condition that is a single comparison. */
function comparedIn(node: AstNode): { readonly left: string; readonly sign: string } | undefined {
  if (!isArithmetic(node) || !SIGNS.includes(node.operator)) return undefined;
  return { left: node.left.$cstNode?.text ?? '', sign: node.operator };
}

/**
 * What a condition uses of the limit that decides it: of comparisons joined by `and` the tightest, by `or` the one with most in hand. Nothing may
 * fall below zero that is required to be zero, so that is a limit from above; other equalities, `not` and conditions by name have none.
 */
function useIn(node: AstNode, condition: Derivation): Use | undefined {
  if (isGroup(node)) return node.inner && useIn(node.inner, condition);
  const [left, right] = condition.inputs;
  if (!left || !right) return undefined;
  if (isLogic(node)) {
    const [one, other] = [node.left && useIn(node.left, left), node.right && useIn(node.right, right)];
    if (!one || !other) return node.operator === 'and' ? (one ?? other) : undefined;
    return shareOf(one) >= shareOf(other) === (node.operator === 'and') ? one : other;
  }
  if (!isArithmetic(node) || typeof left.value !== 'object' || typeof right.value !== 'object') return undefined;
  const isNothing = node.operator === '==' && right.value.value === 0 && left.value.low >= 0;
  const sense = isNothing ? 'at-most' : SENSES[node.operator];
  return sense && { value: left, limit: right, sense };
}

/** Works out one requirement of a design; what is wrong with its text goes to `reported`. */
export function judgeRequirement(
  design: LoweredDesign,
  requirement: Requirement,
  values: DesignValues,
  reported: Problem[],
  today: string,
): RequirementResult {
  const { system } = design;
  const common = {
    design: system.name,
    text: requirement.text,
    place: requirement.place,
    ...(requirement.scenario ? { scenario: requirement.scenario } : {}),
    ...(requirement.reason ? { reason: requirement.reason } : {}),
  };
  const condition = design.conditionOf(requirement);
  if (!condition) return { ...common, undecided: 'no condition stands here', isFaulty: true };
  if (isPast(requirement.until, today)) return { ...common, undecided: `it was asked for until ${requirement.until}` };
  const before = reported.length;
  const report = (node: AstNode, facts: ProblemFacts, at?: Place): void => {
    const place = at ?? (node.$cstNode ? placeOfNode(node, requirement.place.uri) : requirement.place);
    reported.push({ ...facts, place, subject: system.name });
  };
  const value = design.evaluate(condition, values, report);
  if (!isCondition(value) && reported.length === before)
    report(condition, {
      code: 'wrong-type',
      what: 'what stands after `require`',
      expected: 'a condition such as Bank.energy >= 20 kWh',
      text: requirement.text,
      proposals: [],
    });
  if (reported.length > before) return { ...common, undecided: 'its text is faulty', isFaulty: true };
  if (value.kind === 'pending') {
    if (value.missing.includes(NOT_PLAYED))
      return { ...common, undecided: 'its scenario has not been simulated', isWaiting: true };
    const facts = asStated(system, [...new Set(value.missing)]);
    return { ...common, undecided: `missing ${facts.join(', ')}`, missing: facts };
  }
  if (value.kind === 'bad') return { ...common, undecided: value.reason };
  if (value.kind !== 'known' || typeof value.derivation.value !== 'boolean')
    return { ...common, undecided: 'it is no condition' };
  const { derivation } = value;
  const [left, right] = derivation.inputs;
  const compared = comparedIn(condition);
  const use = useIn(condition, derivation);
  return {
    ...common,
    holds: derivation.value as boolean,
    ...(left ? { left } : {}),
    ...(right ? { right } : {}),
    ...(use ? { use } : {}),
    ...(compared ? { compared } : {}),
  };
}
