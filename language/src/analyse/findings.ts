import { type Check, type Failed, NO_LIMIT, findCheck } from '../checks/index.js';
import type { TraceStep } from '../checks/define.js';
import type { TextCheck } from '../checks/text/problem-check.js';
import { type Practice, inWordsOf } from '../glossary/basis-words.js';
import { inPeopleUnits } from '../glossary/units-text.js';
import type { Problem } from '../model/problems.js';
import { assumptionsOf } from './assumptions.js';
import type { Finding } from './types.js';

/** Problems of reading a text, put into words by the checks of the group "Text and meaning". */
export function wordProblems(problems: readonly Problem[]): Finding[] {
  return problems.flatMap((problem) => {
    const check = findCheck(problem.code) as TextCheck | undefined;
    if (!check) return [];
    const worded = check.word(problem as never);
    return [
      finding(check, { verdict: 'failed', subject: problem.subject, place: problem.place, use: NO_LIMIT, ...worded }),
    ];
  });
}

/** What a check found, with everything any face shows of it. */
export function finding(check: Check, failed: Failed): Finding {
  return {
    check: check.id,
    severity: failed.severity ?? check.severity,
    place: failed.place,
    subject: failed.subject,
    ...fieldsOf(check, failed),
    numbers: failed.numbers ?? {},
    sources: [...check.docs.sources, ...(failed.sources ?? [])],
    related: (failed.related ?? []).map((each) => ({ ...each, text: inPeopleUnits(each.text) })),
    ...(failed.trace ? { trace: failed.trace.map(inUnits) } : {}),
    ...(failed.curve ? { curve: failed.curve } : {}),
    ways: failed.fixes ?? [],
  };
}

const inUnits = ({ event, state }: TraceStep): TraceStep => ({
  event: inPeopleUnits(event),
  state: Object.fromEntries(Object.entries(state).map(([of, text]) => [of, inPeopleUnits(text)])),
});

/** The fields in which a finding is told. */
function fieldsOf(check: Check, failed: Failed) {
  const { assumes = [], use, numbers = {} } = failed;
  const told = (text: string | undefined): string => (text ? inPeopleUnits(text) : '');
  const [headline, why, rule, consequence, advice] = [
    failed.headline,
    failed.why,
    failed.rule,
    failed.consequence,
    failed.advice,
  ].map(told) as [string, string, string, string, string];
  return {
    headline,
    ...(why ? { why } : {}),
    ...(rule ? { rule } : {}),
    assumes: [...new Set([...assumes, ...assumptionsOf(Object.values(numbers))].map(told))],
    ...(consequence ? { consequence } : {}),
    ...(advice ? { advice } : {}),
    ...(use === NO_LIMIT ? {} : { use }),
    ...(check.formerly ? { formerly: check.formerly } : {}),
    message: messageText(headline, why),
  };
}

/** `BankFeed carries 138 A; 4 AWG has an ampacity of 85 A: on battery alone.` */
export function messageText(headline: string, why?: string): string {
  const text = why ? `${headline}: ${why}` : headline;
  return /[.?!…]$/.test(text) ? text : `${text}.`;
}

/** A finding in the words of the practice that its design follows. Names of properties, which assumptions are told by, stay as they are. */
export function spokenIn(practice: Practice, finding: Finding): Finding {
  const told = (text: string): string => inWordsOf(practice, text);
  const headline = told(finding.headline);
  const why = finding.why === undefined ? undefined : told(finding.why);
  return {
    ...finding,
    headline,
    ...(why === undefined ? {} : { why }),
    ...(finding.rule === undefined ? {} : { rule: told(finding.rule) }),
    ...(finding.consequence === undefined ? {} : { consequence: told(finding.consequence) }),
    ...(finding.advice === undefined ? {} : { advice: told(finding.advice) }),
    message: messageText(headline, why),
    related: finding.related.map(({ place, text }) => ({ place, text: told(text) })),
  };
}

/** Findings in the order of the text, errors first at one place. */
const RANK = { error: 0, warning: 1, info: 2 } as const;

export function sorted(findings: readonly Finding[]): Finding[] {
  return [...findings].sort(
    (a, b) =>
      a.place.offset - b.place.offset ||
      RANK[a.severity] - RANK[b.severity] ||
      (a.check < b.check ? -1 : a.check > b.check ? 1 : 0) ||
      (a.subject < b.subject ? -1 : a.subject > b.subject ? 1 : 0),
  );
}

/** A variant repeats most of its base: the same words at the same place are said once. */
export function unique(findings: readonly Finding[]): Finding[] {
  const seen = new Set<string>();
  return findings.filter((each) => {
    const key = `${each.check} ${each.place.uri} ${each.place.offset} ${each.place.end} ${each.message}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

/** The message, behind the name of the variant that it is found in: `Variant BigBank: …`. */
export const messageWithVariant = ({ variant, message }: Finding): string =>
  variant === undefined ? message : `Variant ${variant}: ${message}`;

/** What a finding says of a thing, without the name of the design: the same for a variant and its base where nothing has changed. */
function sayingOf({ check, severity, subject, message, numbers }: Finding, design: string): string {
  const values = Object.entries(numbers).map(([name, { value }]) =>
    typeof value === 'object' ? `${name} ${value.low} ${value.high}` : `${name} ${value}`,
  );
  const thing = subject.startsWith(design) ? subject.slice(design.length) : subject;
  return [check, severity, thing, ...(values.length > 0 ? values : [message])].join('\n');
}

/** Tells what a variant adds to the findings of its base from what it repeats. */
export function besideBase(
  findings: readonly Finding[],
  variant: string,
  base: { readonly name: string; readonly findings: readonly Finding[] } | undefined,
): { readonly own: readonly Finding[]; readonly repeated: readonly Finding[] } {
  const said = new Set((base?.findings ?? []).map((each) => sayingOf(each, base!.name)));
  const own: Finding[] = [];
  const repeated: Finding[] = [];
  for (const each of findings) (said.has(sayingOf(each, variant)) ? repeated : own).push({ ...each, variant });
  return { own, repeated };
}
