import type { System } from '../model/types.js';
import { CLASSES, type DiffClass, type Line } from './types.js';

/** Kinds of lines as they follow each other within a class. */
const ORDER: readonly Line['kind'][] = [
  'unreadable',
  'gone',
  'requirement',
  'finding',
  'unchecked',
  'margin',
  'total',
  'looser',
  'basis',
  'origin',
  'accept',
  'reading',
  'checked',
];

export const rankOf = (lineClass: DiffClass): number => CLASSES.indexOf(lineClass);

/** Use after the change, to four digits: of two that are equal a requirement leads. */
const usedAfter = (line: Line): number => ('use' in line && line.use ? Number(line.use[1].toPrecision(4)) : 0);

/** The worst first; of lines in hand the one with the least left. */
export const ranked = (lines: readonly Line[]): Line[] =>
  lines
    .map((line, index) => ({ line, index }))
    .sort(
      (a, b) =>
        rankOf(a.line.class) - rankOf(b.line.class) ||
        (a.line.class === 'less' ? usedAfter(b.line) - usedAfter(a.line) : 0) ||
        ORDER.indexOf(a.line.kind) - ORDER.indexOf(b.line.kind) ||
        a.index - b.index,
    )
    .map(({ line }) => line);

/** Classes in which one thing has one line; what is on trust, and how it runs, is told each by itself. */
const FOLDED: ReadonlySet<DiffClass> = new Set(['fails', 'less', 'better']);

/**
 * One thing, one line: what else is worse of it stands under the worst. Bars and switches that carry the current of a run with less of
 * their rating in use than it say nothing that the run does not say.
 */
export function folded(lines: readonly Line[], system: System): Line[] {
  const kept: Line[] = [];
  for (const line of ranked(lines)) {
    const lead = FOLDED.has(line.class) && kept.find((each) => leads(each, line, system));
    if (lead) kept[kept.indexOf(lead)] = { ...lead, also: [...lead.also, line] } as Line;
    else kept.push(line);
  }
  return kept;
}

function leads(lead: Line, line: Line, system: System): boolean {
  const isBetter = line.class === 'better';
  if (!FOLDED.has(lead.class) || (lead.class === 'better') !== isBetter) return false;
  // A new error is never folded under another of the same thing: each needs its own mend, unless it is on the same value.
  if (line.class === 'fails' && line.kind !== 'finding') return false;
  // What a variant has less of than its base stands with the same thing of the base.
  const [root, ...rest] = line.subject.split('.');
  const isOfVariant = line.class === 'less' && root !== undefined && rest.length > 0 && !isThing(root, system);
  if (isOfVariant && lead.subject === rest.join('.')) return true;
  if (lead.subject === line.subject && lead.subject !== system.name)
    return line.class !== 'fails' || (lead.kind === 'finding' && line.kind === 'finding' && isSameValue(lead, line));
  return line.kind === 'margin' && lead.kind === 'margin' && isCopy(lead, line, system);
}

const isThing = (name: string, { instances, runs, links, controls }: System): boolean =>
  [...instances, ...runs, ...links, ...controls].some((thing) => thing.name === name);

type FindingLine = Extract<Line, { readonly kind: 'finding' }>;

const isSameValue = (one: FindingLine, other: FindingLine): boolean =>
  one.values !== undefined &&
  one.values.after === other.values?.after &&
  one.limit === other.limit &&
  one.severity === other.severity;

type MarginLine = Extract<Line, { readonly kind: 'margin' }>;

/** Whether a line is of gear that carries the same current as a run, or as its device, with less of its rating in use. */
function isCopy(lead: MarginLine, line: MarginLine, system: System): boolean {
  const gear = system.instances.find(({ name }) => name === line.subject);
  if (!gear || line.label !== 'rating' || line.use[1] > lead.use[1]) return false;
  const runs = system.runs.filter((run) =>
    [run.from, ...run.through, ...run.to].some(({ instance }) => instance === gear),
  );
  const isAlong = runs.some(
    (run) => run.name === lead.subject || run.through.some(({ instance }) => instance.name === lead.subject),
  );
  const isDevice = runs.some((run) =>
    run.through.some(({ instance }) => instance === gear && gear.properties.has('class')),
  );
  return isAlong && !isDevice;
}
