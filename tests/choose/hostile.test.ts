import { describe, expect, it } from 'vitest';
import { Effort } from '../../language/src/index.js';
import { analyseText, findingsOf } from '../helpers/analyse.js';
import { chooseText } from '../helpers/choose.js';

const many = (count: number, text: (index: number) => string): string =>
  Array.from({ length: count }, (_, index) => text(index)).join('\n');

describe('what nobody would write', () => {
  it.each([
    ['a hole for a name', 'design ? { load L { power: ? } }'],
    ['a hole for a kind', 'design D { ? L { power: ? } }'],
    ['a hole of an unknown class', 'design D { fuse F { class: ? of NoSuchClass*   rating: ? } }'],
    ['a hole of an unknown kind', 'design D { gizmo G : ? { power: ? } }'],
    ['a range that rests on itself', 'design D { let a = ? in a..a\n load L { power: ? in a..a } }'],
    ['a range turned round', 'design D { fuse F { rating: ? in 100 A..20 A } }'],
    ['a range of another dimension', 'design D { fuse F { rating: ? in 1 V..2 V } }'],
    ['a range of ranges', 'design D { fuse F { rating: ? in (? in 1 A..2 A)..(? in 3 A..4 A) } }'],
    ['a range without an end', 'design D { fuse F { rating: ? in 20 A.. } }'],
    ['an endless range', 'design D { charger C { currentLimit: ? in 0 A..1e12 A } }'],
    ['a range below zero', 'design D { run R: A -> B { length: ? in -5 m..-1 m } }'],
    [
      'holes in sums and tables',
      'design D { generator G { rated: ? + 1 kW   consumption: { 25 %: ?, 50 %: 2 L/h } } }',
    ],
    ['a hole in a requirement', 'design D { require ? < 5\n require soc(?) > 3 }'],
    ['a hole in a reading', 'design D { reading ? = ? }'],
    ['a hole in a variant of nothing', 'variant V of Nothing { A.b = ? }'],
    ['holes in rules', 'design D { control C of ? { start when ? < ?   stop when soc(B) ? } }'],
    ['a hole assumed', 'design D { load L { power: assumed ? } }'],
  ])('%s is told and stops nothing', async (_, text) => {
    for (const { answers } of await chooseText(text, { effort: new Effort(500) }))
      expect(answers.length).toBeLessThan(2);
    await analyseText(text);
  });

  it('hundreds of holes end with an answer or without one, after what may be tried', async () => {
    const text = `design D {
  basis: iec
  battery Bank : Lfp48V280Ah { }
${many(150, (index) => `  load L${index} { power: 10 W   supply: dc }\n  run R${index}: Bank -> L${index} { size: ?   length: ? }`)}
}`;
    const effort = new Effort(3000);
    const [design] = await chooseText(text, { effort });
    expect(design!.open).toHaveLength(300);
    expect(effort.isSpent).toBe(true);
    expect(design!.isSought).toBe(false);
    expect(design!.answers).toEqual([]);
  });
});

describe('what narrows a hole', () => {
  const finds = async (written: string, check: string): Promise<number> =>
    findingsOf(await analyseText(`design D { fuse F { ${written} } }`), check).length;

  it('is checked at its place', async () => {
    expect(await finds('rating: ? in 100 A..20 A', 'value-out-of-range')).toBe(1);
    expect(await finds('rating: ? in 1 V..2 V', 'wrong-dimension')).toBeGreaterThan(0);
    expect(await finds('class: ? in 1 A..2 A', 'wrong-type')).toBe(1);
    expect(await finds('rating: ? of library', 'wrong-type')).toBe(1);
    expect(await finds('rating: ? in 20 A..100 A   class: ? of library', 'wrong-type')).toBe(0);
  });
});
