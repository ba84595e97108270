import type { Analysis, Finding } from '../../analyse/types.js';
import { inPeopleUnits } from '../../glossary/units-text.js';
import type { System } from '../../model/types.js';
import type { Mark, Note } from './drawing.js';

/** What faces need of a finding. The one place that reads the fields of findings for drawings and sheets. */
export interface ShownFinding {
  readonly id: string;
  readonly severity: Finding['severity'];
  readonly subject: string;
  /** One sentence: what is wrong, by how much. */
  readonly headline: string;
  readonly why?: string;
  readonly rule?: string;
  readonly assumes: readonly string[];
  /** Set where another finding leads that has the same cause. */
  readonly isFollowing: boolean;
  /** Ids of the findings that follow this one, with the things they are of. */
  readonly also: readonly string[];
  readonly accepted?: Finding['accepted'];
}

/** The findings of a design as they are shown, each with those that follow it. */
function shown(findings: readonly Finding[]): ShownFinding[] {
  return findings.map((each) => {
    const { check, severity, subject, headline, why, rule, assumes, cause, accepted } = each;
    const also = findings.filter((other) => other.cause?.check === check && other.cause.subject === subject);
    return {
      id: check,
      severity,
      subject,
      headline: inPeopleUnits(headline),
      ...(why === undefined ? {} : { why: inPeopleUnits(why) }),
      ...(rule === undefined ? {} : { rule }),
      assumes,
      isFollowing: cause !== undefined,
      also: also.map((other) =>
        other.subject === subject ? other.check : `${other.check} of ${thingOf(other.subject)}`,
      ),
      ...(accepted ? { accepted } : {}),
    };
  });
}

const isOf = (design: string, subject: string): boolean => subject === design || subject.startsWith(`${design}.`);

/** Everything found of one design; of a variant also what it shares with its base. */
export function findingsOf(analysis: Analysis, { name }: System): readonly ShownFinding[] {
  return shown([...analysis.findings, ...analysis.repeated].filter(({ subject }) => isOf(name, subject)));
}

/** Id of the finding that only lists what was not checked: questions say the same thing by thing. */
const MISSING_FACT = 'missing-fact';
const MOST_MARKS = 2;

/** The name of the thing that something is said of: `Feed` of `Site.Feed.length`. */
export const thingOf = (subject: string): string => subject.split('.')[1] ?? '';

/** Marks of every thing, by its name: errors and warnings, and how many checks were not carried out. */
export function marksOf(analysis: Analysis, system: System): ReadonlyMap<string, readonly Mark[]> {
  const open = new Map<string, number>();
  for (const { subject } of analysis.questions)
    if (isOf(system.name, subject)) open.set(thingOf(subject), (open.get(thingOf(subject)) ?? 0) + 1);
  const found = new Map<string, Set<string>>();
  for (const { id, severity, subject, accepted } of findingsOf(analysis, system)) {
    if (accepted || severity === 'info' || id === MISSING_FACT) continue;
    const own = found.get(thingOf(subject)) ?? new Set();
    found.set(thingOf(subject), own.add(`${severity} ${id}`));
  }
  const marks = new Map<string, readonly Mark[]>();
  for (const name of new Set([...found.keys(), ...open.keys()])) {
    const ids = [...(found.get(name) ?? [])].sort();
    const own = ids.slice(0, MOST_MARKS).map((each): Mark => {
      const [severity, id] = each.split(' ') as ['error' | 'warning', string];
      return { severity, text: id };
    });
    const rest = ids.length - own.length;
    const last = own.at(-1);
    if (rest > 0 && last) own[own.length - 1] = { ...last, text: `${last.text} and ${rest} more` };
    const count = open.get(name) ?? 0;
    marks.set(name, [...own, ...(count > 0 ? [{ severity: 'unchecked', text: `${count} not checked` } as const] : [])]);
  }
  return marks;
}

/** The list below the drawing: errors first, in the order of the text within each. */
export function notesOf(analysis: Analysis, system: System): readonly Note[] {
  const rank = { error: 0, warning: 1, info: 2, unchecked: 3 } as const;
  return findingsOf(analysis, system)
    .filter(
      ({ severity, accepted, id, isFollowing }) =>
        severity !== 'info' && !accepted && id !== MISSING_FACT && !isFollowing,
    )
    .map(({ id, severity, subject, headline, also }): Note => ({
      severity,
      id,
      subject: subject.slice(system.name.length + 1) || system.name,
      text: also.length > 0 ? `${headline} (also: ${also.join(', ')})` : headline,
    }))
    .sort((a, b) => rank[a.severity] - rank[b.severity]);
}
