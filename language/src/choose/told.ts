import type { Analysis, Finding } from '../analyse/types.js';
import type { Place } from '../derivation/index.js';
import type { Use } from '../checks/index.js';
import { keyOf, standing } from '../propose/proof.js';
import { type PriceOf, priceOf } from './price.js';

/** What an analysis says about one thing by one check. */
export interface Told {
  readonly errors: number;
  readonly warnings: number;
  /** Whether a calculation does not hold, so that the check could not be made. */
  readonly isRefused: boolean;
  /** Whether it hangs on the marking of terminals that nobody has read: what holds on worse terminals too is better. */
  readonly isUnmarked: boolean;
  /** All of it, the numbers included: two that are alike say the same. */
  readonly content: string;
  readonly findings: readonly Finding[];
  /** Where places of the findings stand in the text as it is written. */
  readonly written: Written;
  /** What all things cost together, where that is what is told. */
  readonly price?: PriceOf;
}

/** Under which the price of all things is told. */
export const PRICE_KEY = 'price of-all';

/** What an analysis says, by check and thing. */
export type Said = ReadonlyMap<string, Told>;

export const NOTHING_TOLD: Told = {
  errors: 0,
  warnings: 0,
  isRefused: false,
  isUnmarked: false,
  content: '',
  findings: [],
  written: (place) => place,
};

/** Follows from what others say: a question is asked once for each thing. */
const DERIVED: ReadonlySet<string> = new Set(['missing-fact', 'not-evaluated']);

interface Gathered {
  readonly content: string[];
  readonly findings: Finding[];
  isRefused: boolean;
  isUnmarked: boolean;
}

const numbers = ({ value, limit }: Use): string =>
  [value.value, limit.value].map((each) => numberText(each)).join(' of ');

const numberText = (value: unknown): string =>
  typeof value === 'object' && value !== null && 'value' in value ? String(value.value) : String(value);

/** A finding by check and thing; of requirements, of which a design has several, by where they stand in the text as it is written. */
export const keyIn = (finding: Finding, written: Written): string =>
  finding.check === REQUIREMENT ? requirementKey(finding, written) : keyOf(finding);

export const REQUIREMENT = 'requirement-failed';

/** Where a place in the text of a trial stands in the text as it is written. */
export type Written = (place: Place) => Place;

export const requirementKey = ({ subject, place }: Pick<Finding, 'subject' | 'place'>, written: Written): string =>
  `${keyOf({ check: REQUIREMENT, subject })} ${written(place).offset}`;

/** What an analysis says, gathered by check and thing. */
export function saidBy(analysis: Analysis, written: Written): Said {
  const gathered = new Map<string, Gathered>();
  const at = (key: string): Gathered => {
    let found = gathered.get(key);
    if (!found) gathered.set(key, (found = { content: [], findings: [], isRefused: false, isUnmarked: false }));
    return found;
  };
  for (const finding of standing(analysis)) {
    if (DERIVED.has(finding.check)) continue;
    const entry = at(keyIn(finding, written));
    entry.findings.push(finding);
    entry.content.push(`${finding.severity} ${finding.message}${finding.use ? ` ${numbers(finding.use)}` : ''}`);
  }
  for (const key of analysis.passed) at(keyOf(key)).content.push('passed');
  for (const margin of analysis.margins) at(keyOf(margin)).content.push(`uses ${numbers(margin.use)}`);
  for (const question of analysis.questions) {
    const entry = at(keyOf(question));
    entry.isRefused ||= question.isRefused === true;
    entry.isUnmarked ||= question.isOfMarking === true;
    entry.content.push(`asks ${question.missing.join(', ')}`);
  }
  const price = priceOf(analysis);
  const priced =
    price.price > 0
      ? [[PRICE_KEY, { ...NOTHING_TOLD, content: `${price.unpriced} ${price.price}`, price }] as const]
      : [];
  return new Map<string, Told>([
    ...priced,
    ...[...gathered].map(([key, { content, findings, isRefused, isUnmarked }]) => {
      const count = (severity: string): number =>
        findings.reduce((sum, each) => sum + Number(each.severity === severity), 0);
      const told: Told = {
        errors: count('error'),
        warnings: count('warning'),
        isRefused,
        isUnmarked,
        content: content.length === 1 ? content[0]! : content.sort().join('\n'),
        findings,
        written,
      };
      return [key, told] as const;
    }),
  ]);
}

/** The check of a key made by `keyOf`. */
export const checkOf = (key: string): string => key.slice(0, key.indexOf(' '));

/** The thing of a key. */
export const subjectOf = (key: string): string => key.split(' ')[1] ?? '';

/** Keys of which two analyses say something different. */
export function differing(one: Said, other: Said): string[] {
  const keys = new Set([...one.keys(), ...other.keys()]);
  return [...keys].filter((key) => one.get(key)?.content !== other.get(key)?.content);
}
