import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type NewDesign, designText, loadOf } from '../../extension/src/new-design.js';
import { findCheck } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';

const ANSWERS: NewDesign = {
  name: 'NewDesign',
  voltage: 48,
  sources: ['grid', 'generator', 'solar', 'alternator'],
  loads: ['Heater 1.2 kW', 'Kühlschrank 60 W', 'Lights', 'Heater 500 W'],
  basis: 'nec',
  place: { altitude: 300, coldest: -10, warmest: 35 },
};

describe('a new design', () => {
  test('is what was answered, with a hole for what was not', () => {
    const text = designText(ANSWERS);
    expect(text).toContain('basis: nec');
    expect(text).toContain('site { altitude: 300 m   ambient: -10..35 degC }');
    expect(text).toContain('load Heater { power: 1.2 kW   supply: dc }');
    expect(text).toContain('load Kuhlschrank { power: 60 W   supply: dc }');
    expect(text).toContain('load Lights { power: ?   supply: dc }');
    expect(text).toContain('load Heater2 { power: 500 W   supply: dc }');
    expect(text).toContain('voltage: 51.2 V   cells: 16');
    expect(designText({ ...ANSWERS, voltage: undefined, place: undefined })).toMatch(/battery Bank \{[^}]*voltage: \?/);
    expect(designText({ ...ANSWERS, place: undefined })).not.toContain('site');
  });

  test('can be read whatever was answered: only what lacks is found in its text', async () => {
    const answers = fc.record({
      name: fc.constant('NewDesign'),
      voltage: fc.constantFrom(12, 24, 48, undefined) as fc.Arbitrary<NewDesign['voltage']>,
      sources: fc.subarray(['grid', 'generator', 'solar', 'alternator'] as const) as fc.Arbitrary<NewDesign['sources']>,
      loads: fc.array(
        fc.oneof(
          fc.constantFrom('Heater 1.2 kW', 'bank', 'run 5 W', '12 V lamp', 'Bank 3 kW'),
          fc.string({ unit: 'grapheme', maxLength: 12 }),
        ),
        { maxLength: 4 },
      ),
      basis: fc.constantFrom('nec', 'iec', 'craft') as fc.Arbitrary<NewDesign['basis']>,
      place: fc.option(fc.constant({ altitude: 2000, coldest: -30, warmest: 40 }), { nil: undefined }),
    });
    await fc.assert(
      fc.asyncProperty(answers, async (each) => {
        const { findings } = await analyseText(designText(each));
        const ofText = findings.filter(
          ({ check, severity }) => severity === 'error' && findCheck(check)?.group === 'text',
        );
        expect(ofText.map(({ message }) => message)).toEqual([]);
      }),
      { numRuns: 40 },
    );
  });
});

test.each([
  ['Heater 1.2 kW', { name: 'Heater', power: '1.2 kW' }],
  ['Heater 1,2kw', { name: 'Heater', power: '1.2 kW' }],
  ['water pump 300W', { name: 'WaterPump', power: '300 W' }],
  ['Fridge', { name: 'Fridge', power: '?' }],
  ['', { name: 'Load1', power: '?' }],
])('the load %o is %o', (typed, load) => {
  expect(loadOf(typed, 0)).toEqual(load);
});
