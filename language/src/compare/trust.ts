import { type Accept, type Reading } from '../model/types.js';
import { basisText } from '../checks/verdicts.js';
import type { Sides } from './side.js';
import type { DesignEdit, Line, LineBase, PropertyChange } from './types.js';

const frame = (subject: string, place: LineBase['place'], causes: readonly string[] = []): Omit<LineBase, 'class'> => ({
  subject,
  causes,
  ...(place ? { place } : {}),
  also: [],
  variants: [],
});

/** What rests on somebody's word more, or less, than before. */
export function trustLines(sides: Sides, edits: readonly DesignEdit[]): Line[] {
  return [...originLines(edits), ...acceptLines(sides), ...readingLines(sides, edits), ...basisLines(sides, edits)];
}

/** Facts that are assumed where they were stated, and the other way round. */
function originLines(edits: readonly DesignEdit[]): Line[] {
  const changes = edits.flatMap((edit) => {
    const own: PropertyChange[] = edit.property === undefined ? [] : [{ ...edit, property: edit.property }];
    return [...own, ...edit.properties].map((each) => ({ edit, ...each }));
  });
  return changes.flatMap(({ edit, property, before, after }): Line[] => {
    if (!before || !after || (before.origin === 'assumed') === (after.origin === 'assumed')) return [];
    const isAssumed = after.origin === 'assumed';
    return [
      {
        ...frame(edit.subject, after.place ?? edit.place, [edit.id]),
        class: isAssumed ? 'trust' : 'better',
        kind: 'origin',
        property,
        before,
        after,
      },
    ];
  });
}

function acceptLines({ before, after, renamed }: Sides): Line[] {
  const subjectOf = ({ subject }: Accept, name: (each: string) => string): string => {
    if (subject === undefined) return after.name;
    const [root, ...rest] = subject.split('.');
    return [name(root!), ...rest].join('.');
  };
  const keyOf = (accept: Accept, name: (each: string) => string): string =>
    `${accept.check}\n${subjectOf(accept, name)}`;
  const was = new Map(before.design.system.accepts.map((each) => [keyOf(each, renamed), each]));
  const lines: Line[] = [];
  for (const accept of after.design.system.accepts) {
    const key = keyOf(accept, (name) => name);
    const old = was.get(key);
    was.delete(key);
    const change = !old
      ? 'new'
      : isLonger(old.until, accept.until)
        ? 'longer'
        : old.reason !== accept.reason || old.until !== accept.until
          ? 'changed'
          : undefined;
    if (!change) continue;
    lines.push({
      ...frame(
        subjectOf(accept, (name) => name),
        accept.place,
      ),
      class: 'trust',
      kind: 'accept',
      check: accept.check,
      change,
      ...(accept.reason ? { reason: accept.reason } : {}),
      ...(accept.until ? { until: accept.until } : {}),
    });
  }
  for (const accept of was.values())
    lines.push({
      ...frame(subjectOf(accept, renamed), undefined),
      class: 'better',
      kind: 'accept',
      check: accept.check,
      change: 'gone',
    });
  return lines;
}

/** Whether a waiver holds longer than before; without a date it holds for good. */
const isLonger = (before: string | undefined, after: string | undefined): boolean =>
  before !== undefined && (after === undefined || after > before);

/** Readings that were taken before the thing they were taken at was changed. */
function readingLines({ before, after, renamed }: Sides, edits: readonly DesignEdit[]): Line[] {
  const keyOf = ({ subject, date }: Reading, name: (each: string) => string): string =>
    `${subject
      .split('.')
      .map((step, index) => (index === 0 ? name(step) : step))
      .join('.')}\n${date ?? ''}`;
  const old = new Set(before.design.system.readings.map((each) => keyOf(each, renamed)));
  const now = new Set(after.design.system.readings.map((each) => keyOf(each, (name) => name)));
  const lines: Line[] = [];
  for (const reading of after.design.system.readings) {
    if (!old.has(keyOf(reading, (name) => name))) continue;
    const moving = edits.filter(
      ({ subject, isPlayed, kind }) => isPlayed && subject === reading.of && kind !== 'added',
    );
    if (moving.length === 0) continue;
    lines.push({
      ...frame(
        reading.subject,
        reading.place,
        moving.map(({ id }) => id),
      ),
      class: 'trust',
      kind: 'reading',
      property: `${reading.of}.${moving[0]!.property ?? 'part'}`,
      ...(reading.date ? { date: reading.date } : {}),
    });
  }
  for (const reading of before.design.system.readings) {
    const key = keyOf(reading, renamed);
    if (now.has(key)) continue;
    lines.push({
      ...frame(key.split('\n')[0]!, undefined),
      class: 'trust',
      kind: 'gone',
      what: 'reading',
      text: `${reading.subject}${reading.date ? ` on ${reading.date}` : ''}`,
    });
  }
  return lines;
}

function basisLines({ before, after }: Sides, edits: readonly DesignEdit[]): Line[] {
  const ids = edits.filter(({ kind }) => kind === 'basis').map(({ id }) => id);
  if (ids.length === 0) return [];
  const [was, is] = [before.design.system, after.design.system];
  return [
    {
      ...frame(after.name, is.basis.place, ids),
      class: 'trust',
      kind: 'basis',
      values: { before: basisText(was.basis), after: basisText(is.basis) },
    },
  ];
}
