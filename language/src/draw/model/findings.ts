import { alsoText, foldedFindings } from '../../analyse/folding.js';
import { isOfDesign, withoutDesign } from '../../analyse/subjects.js';
import type { Analysis, Finding } from '../../analyse/types.js';
import type { System } from '../../model/types.js';
import type { Mark, Note } from './drawing.js';

/** Everything found of one design; of a variant also what it shares with its base. */
export function findingsOf(analysis: Analysis, { name }: System): readonly Finding[] {
  return [...analysis.findings, ...analysis.repeated].filter(({ subject }) => isOfDesign(subject, name));
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
    if (isOfDesign(subject, system.name)) open.set(thingOf(subject), (open.get(thingOf(subject)) ?? 0) + 1);
  const found = new Map<string, Set<string>>();
  for (const { check, severity, subject, accepted } of findingsOf(analysis, system)) {
    if (accepted || severity === 'info' || check === MISSING_FACT) continue;
    const own = found.get(thingOf(subject)) ?? new Set();
    found.set(thingOf(subject), own.add(`${severity} ${check}`));
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
  const told = findingsOf(analysis, system).filter(
    ({ severity, accepted, check }) => severity !== 'info' && !accepted && check !== MISSING_FACT,
  );
  return foldedFindings(told)
    .map(({ finding, folded }): Note => {
      const { check, severity, subject, headline } = finding;
      const also = alsoText(finding, folded);
      return {
        severity,
        id: check,
        subject: withoutDesign(subject) || system.name,
        text: also === '' ? headline : `${headline} (also: ${also})`,
      };
    })
    .sort((a, b) => rank[a.severity] - rank[b.severity]);
}
