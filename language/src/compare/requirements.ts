import type { RequirementResult } from '../checks/define.js';
import { isReading, shareOf } from '../checks/verdicts.js';
import type { Causes } from './causes.js';
import { sameDerived, textMeaning } from './meaning.js';
import { numberOf, shown } from './shown.js';
import type { Sides } from './side.js';
import { MARGIN, isLess, isMore } from './margin-rules.js';
import type { Line, LineOf, RequirementOutcome } from './types.js';

/** What a requirement compares: its left side, how, and its right side, as written. */
interface Compared {
  readonly left: string;
  readonly sign: string;
  readonly right: string;
}

/** Splits a requirement at its comparison; undefined where none stands outside of brackets. */
export function comparedIn(text: string): Compared | undefined {
  let depth = 0;
  for (let at = 0; at < text.length; at += 1) {
    const character = text[at]!;
    if (character === '(') depth += 1;
    else if (character === ')') depth -= 1;
    const sign = depth === 0 ? /^(?:<=|>=|==|!=|<|>)/.exec(text.slice(at))?.[0] : undefined;
    if (sign) return { left: text.slice(0, at).trim(), sign, right: text.slice(at + sign.length).trim() };
  }
  return undefined;
}

const outcomeOf = ({ holds }: RequirementResult): RequirementOutcome =>
  holds === undefined ? 'open' : holds ? 'holds' : 'fails';

/** Share of its limit that a requirement has in use; undefined where it has none that numbers tell. */
export function useOf({ use }: RequirementResult): number | undefined {
  const [value, limit] = [use && numberOf(use.value), use && numberOf(use.limit)];
  if (!use || value === undefined || limit === undefined || !(value > 0) || !(limit > 0)) return undefined;
  return isReading(use.value) ? undefined : shareOf(use);
}

interface Matched {
  readonly before?: RequirementResult;
  readonly after?: RequirementResult;
}

/** Pairs requirements by what they say, then by what they watch: a moved bound is one that changed, not one gone and one new. */
function matched({ before, after, renamed }: Sides): Matched[] {
  const left = [...before.requirements];
  const scenarioOf = ({ scenario }: RequirementResult, name = (each: string): string => each): string =>
    scenario === undefined ? '' : name(scenario);
  const take = (isOne: (each: RequirementResult) => boolean): RequirementResult | undefined => {
    const at = left.findIndex(isOne);
    return at < 0 ? undefined : left.splice(at, 1)[0];
  };
  const same = (name: string): string => name;
  const watched = (text: string, name: (each: string) => string): string => {
    const compared = comparedIn(text);
    return compared ? textMeaning(`${compared.left} ${compared.sign}`, name) : textMeaning(text, name);
  };
  const isExact = (one: RequirementResult, other: RequirementResult): boolean =>
    scenarioOf(one, renamed) === scenarioOf(other) && textMeaning(one.text, renamed) === textMeaning(other.text, same);
  const exact = after.requirements.map((each) => ({ before: take((one) => isExact(one, each)), after: each }));
  const pairs = exact.map(({ before: one, after: each }): Matched => {
    const was =
      one ??
      take(
        (other) =>
          scenarioOf(other, renamed) === scenarioOf(each) && watched(other.text, renamed) === watched(each.text, same),
      );
    return was ? { before: was, after: each } : { after: each };
  });
  return [...pairs, ...left.map((each): Matched => ({ before: each }))];
}

/** Whether a bound was moved so that more is allowed. */
function isLooser(before: RequirementResult, after: RequirementResult): boolean {
  if (!before.right || !after.right || sameDerived(before.right, after.right)) return false;
  const [was, is] = [numberOf(before.right), numberOf(after.right)];
  if (was === undefined || is === undefined) return false;
  return after.use?.sense === 'at-most' ? is > was : after.use?.sense === 'at-least' && is < was;
}

/** What has become of the requirements of a design. */
export function requirementLines(sides: Sides, causes: Causes): Line[] {
  return matched(sides).flatMap(({ before, after }): Line[] => {
    if (!after) return [goneLine(before!, sides)];
    if (!before) return newLine(after, sides);
    const lines: Line[] = [];
    const isLoosened = isLooser(before, after);
    if (isLoosened)
      lines.push({
        ...frame(after, sides),
        class: 'trust',
        kind: 'looser',
        text: after.text,
        before: before.text,
      });
    const line = changedLine(before, after, sides, causes);
    // That more is allowed makes nothing better: what held before and holds now has its line already.
    const isByLimit = isLoosened && line?.class === 'better' && outcomeOf(before) === 'holds';
    return line && !isByLimit ? [...lines, line] : lines;
  });
}

/** The thing a requirement is on, where its left side begins with one: `GenCord.current`. */
function subjectOf({ text, scenario }: RequirementResult, { after }: Sides): string {
  const name = /^([\p{L}_][\p{L}\p{N}_-]*)\s*\./u.exec(comparedIn(text)?.left ?? '')?.[1];
  const { instances, runs } = after.design.system;
  const isThing = name !== undefined && [...instances, ...runs].some((thing) => thing.name === name);
  return isThing ? name : (scenario ?? after.name);
}

const frame = (
  requirement: RequirementResult,
  sides: Sides,
): Pick<Line, 'subject' | 'causes' | 'place' | 'also' | 'variants'> => ({
  subject: subjectOf(requirement, sides),
  causes: [],
  place: requirement.place,
  also: [],
  variants: [],
});

const goneLine = (requirement: RequirementResult, sides: Sides): Line => ({
  class: 'trust',
  kind: 'gone',
  what: 'requirement',
  text: `${requirement.text}${requirement.scenario ? ` in ${requirement.scenario}` : ''}`,
  subject: sides.after.name,
  causes: [],
  also: [],
  variants: [],
});

function newLine(requirement: RequirementResult, sides: Sides): LineOf<'requirement'>[] {
  const after = outcomeOf(requirement);
  if (requirement.isFaulty || requirement.isWaiting) return [];
  return [
    {
      ...frame(requirement, sides),
      class: after === 'fails' ? 'fails' : after === 'open' ? 'trust' : 'edits',
      kind: 'requirement',
      text: requirement.text,
      ...(requirement.scenario ? { scenario: requirement.scenario } : {}),
      ...sidesText(undefined, requirement),
      outcome: ['none', after],
    },
  ];
}

function sidesText(
  before: RequirementResult | undefined,
  after: RequirementResult,
): Pick<LineOf<'requirement'>, 'before' | 'after' | 'limit'> {
  const limit = after.right;
  return {
    ...(before?.left ? { before: shown(before.left, limit) } : {}),
    ...(after.left ? { after: shown(after.left, limit) } : {}),
    ...(limit ? { limit: shown(limit) } : {}),
  };
}

function changedLine(
  before: RequirementResult,
  after: RequirementResult,
  sides: Sides,
  causes: Causes,
): LineOf<'requirement'> | undefined {
  const outcome = [outcomeOf(before), outcomeOf(after)] as const;
  const [was, is] = [useOf(before), useOf(after)];
  const use = was !== undefined && is !== undefined ? ([was, is] as const) : undefined;
  const lineClass =
    outcome[0] !== outcome[1]
      ? outcome[1] === 'holds'
        ? ('better' as const)
        : ('fails' as const)
      : outcome[1] === 'fails' && use && use[1] > use[0] * (1 + MARGIN.least)
        ? ('fails' as const)
        : outcome[1] === 'holds' && use && isLess(...use)
          ? ('less' as const)
          : outcome[1] === 'holds' && use && isMore(...use)
            ? ('better' as const)
            : undefined;
  if (!lineClass) return undefined;
  // A play has no derivation: any edit that it may follow may have moved it.
  const isPlayed = after.scenario !== undefined;
  const moved = isPlayed ? causes.played : causes.of([before.left, before.right], [after.left, after.right]);
  return {
    ...frame(after, sides),
    class: lineClass,
    kind: 'requirement',
    text: after.text,
    ...(after.scenario ? { scenario: after.scenario } : {}),
    ...sidesText(before, after),
    ...(use ? { use } : {}),
    outcome,
    causes: moved,
    ...(isPlayed ? { isAnyOf: true } : {}),
  };
}
