import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, findingsOf } from '../../helpers/analyse.js';

/** Eight cells of 2.5 V: 1600 W are 80 A at 20 V; the cables are next to nothing. */
const cabin = (rating: string, resistance = '10 mohm', third = ''): string => `design Cabin {
  battery A { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: ${resistance} }
  battery B { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: ${resistance} }
  bus Bar {}
  load Heater { power: 1.6 kW   supply: dc   minimumVoltage: 20 V }
  fuse Fa { rating: ${rating} }
  run FromA: A -> Fa @ 100 mm -> Bar { size: 2 AWG   length: 1 mm }
  run FromB: B -> Bar { size: 2 AWG   length: 1 mm }
  ${third}
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m }
}
`;
async function currentOf(text: string, name: string) {
  const { designs } = await analyseText(text);
  const { context } = designs[0]!;
  const found = context.quantity(
    context.system.runs.find((run) => run.name === name)!,
    'current',
  );
  return found.kind === 'known' ? found.derivation : expect.fail(JSON.stringify(found));
}

describe('current between banks', () => {
  it('is that with one of two out: the other carries all', async () => {
    const current = await currentOf(cabin('110 A'), 'FromA');
    expect(numberIn(current, 'A')).toBeCloseTo(80, 6);
    expect(current.notes.join()).toContain('B out');
  });

  const third =
    'battery C { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10..30 mohm }\n  run FromC: C -> Bar { size: 2 AWG   length: 1 mm }';

  it('is all of it for the last of three, when the others are out', async () => {
    const current = await currentOf(cabin('110 A', '10..30 mohm', third), 'FromA');
    expect(numberIn(current, 'A')).toBeCloseTo(80, 6);
    expect(current.notes.join()).toContain('B and C out');
  });

  it('mixes the ends of their resistances: of three, one out, a new one beside an aged one', async () => {
    // The last alone gives no more than its protection lets through.
    const text = cabin('110 A', '10..30 mohm', third).replaceAll(
      'capacity: 100 Ah',
      'capacity: 100 Ah   maximumDischarge: 50 A',
    );
    const current = await currentOf(text, 'FromA');
    // With one out 80 A · 30/(10 + 30) = 60 A, by the current divider; evenly shared it would be 40 A.
    expect(numberIn(current, 'A')).toBeCloseTo(60, 1);
    expect(current.notes.join()).toContain('at the high end of its resistance');
    expect(current.notes.join()).toContain('out: full or empty before the others');
  });

  it('makes a fuse hold with one of them out', async () => {
    const text = cabin('60 A');
    const [finding] = findingsOf(await analyseText(text), 'protection-continuous');
    expect(finding?.fixes[0]?.title).toContain('rating of Fa to 100 A');
    expect((await afterFix(text, 'protection-continuous', finding!.fixes[0]!)).left).toEqual([]);
  });
});
