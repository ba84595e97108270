import type { Causes } from './causes.js';
import { isLess, isMore } from './margin-rules.js';
import { limitText, usedTexts } from './shown.js';
import { type Sides, keyed, thingAfter, thingBefore } from './side.js';
import type { LineOf, LoadUse } from './types.js';
import type { Judged } from './uses.js';

/** A use on both sides, of one check and thing. */
export interface UsePair {
  readonly before: LoadUse;
  readonly after: LoadUse;
  /** The key of the thing that was judged, which may be a run with the device in it. */
  readonly subject: string;
}

const judgedOf = ({ findings, margins }: Sides['before']): readonly Judged[] => [...margins, ...findings];

/** Every limit that is judged on both sides. */
export function usePairs(sides: Sides): UsePair[] {
  const rows = (side: Sides['before'], nameOf: (subject: string) => string, renamed: (name: string) => string) =>
    keyed(
      judgedOf(side).flatMap((judged) => {
        const use = side.useOf(judged);
        return use ? [{ use, subject: nameOf(judged.subject), thing: renamed(use.thing) }] : [];
      }),
      ({ use, subject, thing }) => [use.check, use.label, subject, thing].join('\n'),
    );
  const before = rows(sides.before, (subject) => thingBefore(subject, sides), sides.renamed);
  const after = rows(
    sides.after,
    (subject) => thingAfter(subject, sides),
    (name) => name,
  );
  return [...after].flatMap(([key, { use, subject }]) => {
    const was = before.get(key)?.use;
    return was ? [{ before: was, after: use, subject }] : [];
  });
}

/** Limits that still hold with less, or more, in hand than before. */
export function marginLines(pairs: readonly UsePair[], causes: Causes): LineOf<'margin'>[] {
  return pairs.flatMap(({ before, after }): LineOf<'margin'>[] => {
    if (after.isChoice) return [];
    const isWorse = isLess(before.use, after.use) && after.use <= 1 + 1e-9;
    const isBetter = isMore(before.use, after.use) && before.use <= 1 + 1e-9;
    if (!isWorse && !isBetter) return [];
    return [
      {
        class: isWorse ? 'less' : 'better',
        kind: 'margin',
        subject: after.thing,
        check: after.check,
        label: after.label,
        values: usedTexts(before, after),
        limits: { before: limitText(before), after: limitText(after) },
        use: [before.use, after.use],
        causes: causes.of([before.demand, before.capacity], [after.demand, after.capacity]),
        ...(after.place ? { place: after.place } : {}),
        also: [],
        variants: [],
      },
    ];
  });
}
