import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, findingsOf } from '../helpers/analyse.js';

/* What would change the base of a variant that stands in another file is said in the variant instead, and tried there. */

const base = `design Base {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 2 kW   supply: dc   minimumVoltage: 40 V }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   terminals: 75 degC }
}
`;
const ID = 'run-ampacity';
const bigger = (body: string) => ({
  'variant.watt': `use "./base.watt"\n\nvariant Bigger of Base ${body}\n`,
  'base.watt': base,
});

describe('a fault of a variant whose base stands in another file', () => {
  // 4 kW at 40 V, the least of 16 cells, are 100 A; NEC Table 310.16 at 75 °C: 3 AWG 100 A, of which 125 % of a lasting load ask 125 A: 1 AWG.
  it.each([
    ['on one line', '{ Heater.power = 4 kW }', '{ Heater.power = 4 kW   Line.size = 1 AWG   F1.rating = 125 A }'],
    [
      'on several lines',
      '{\n  Heater.power = 4 kW\n}',
      '{\n  Heater.power = 4 kW\n  Line.size = 1 AWG\n  F1.rating = 125 A\n}',
    ],
    [
      'beside what the variant says of it already',
      '{ Heater.power = 4 kW   F1.rating = 100 A }',
      '{ Heater.power = 4 kW   F1.rating = 125 A   Line.size = 1 AWG }',
    ],
  ])('is mended in the variant, %s', async (_how, body, mended) => {
    const files = bigger(body);
    const [finding] = findingsOf(await analyseText(files), ID);
    const [fix] = finding!.fixes;
    expect(fix?.title).toBe('Change size of Line to 1 AWG and rating of F1 to 125 A');
    const after = applyFix(files['variant.watt'], fix!);
    expect(after).toBe(files['variant.watt'].replace(body, mended));
    const left = (await analyseText({ ...files, 'variant.watt': after })).findings;
    expect(left.filter(({ severity }) => severity === 'error').map(({ message }) => message)).toEqual([]);
  });

  it('is mended with lines that end as in its file', async () => {
    const text = bigger('{\n  Heater.power = 4 kW\n}')['variant.watt'].replace(/\n/g, '\r\n');
    const [finding] = findingsOf(await analyseText({ 'variant.watt': text, 'base.watt': base }), ID);
    expect(applyFix(text, finding!.fixes[0]!)).toContain('\r\n  Line.size = 1 AWG\r\n  F1.rating = 125 A\r\n}\r\n');
  });

  it('is told to stand elsewhere where it takes more than properties of things', async () => {
    const files = {
      'variant.watt': 'use "./base.watt"\n\nvariant Far of Base { Line.length = 4 m }\n',
      'base.watt': base.replace('@ 100 mm', '@ 1.5 m'),
    };
    const [finding] = findingsOf(await analyseText(files), 'run-unprotected');
    expect(finding?.answer.obstacles.map(({ kind }) => kind)).toContain('elsewhere');
    for (const fix of finding!.fixes)
      expect(
        findingsOf(
          await analyseText({ ...files, 'variant.watt': applyFix(files['variant.watt'], fix) }),
          'run-unprotected',
        ),
      ).toEqual([]);
  });
});
