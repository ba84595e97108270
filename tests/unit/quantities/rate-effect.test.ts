import { expect, test } from 'vitest';
import { valueOf } from '../../helpers/quantities.js';

const UNIT =
  'chemistry: agm   voltage: 12 V   cells: 6   capacity: 200 Ah   resistance: 3 mohm   reserve: 0 %   cellTemperature: 25 degC';
const RATE = 'capacityTime: 20 h   peukert: 1.25';

const design = (facts: string, load: string, more = ''): string => `design D {
  battery Bank { ${UNIT}   ${facts} }
  bus Dc {}
  load Fan { power: ${load}   supply: dc   profile: always }
  run Feed: Bank -> Dc
  run Line: Dc -> Fan
  ${more}
}
`;

/** Battery-monitor manual p. 27, example 1: 200 Ah rated at 20 h with an exponent of 1.25 give 67 % at 50 A. */
test('a lead bank lasts shorter above the current at which it is rated, as a published example has it', async () => {
  expect(Number(await valueOf(design(RATE, '600 W'), 'Bank', 'autonomyTime', 'h'))).toBeCloseTo((200 * 0.67) / 50, 1);
});

test('no longer below it, and as long as ever where it states no exponent', async () => {
  expect(await valueOf(design(RATE, '60 W'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(40, 9);
  expect(await valueOf(design('', '600 W'), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(4, 9);
});

test('each of two banks counts with its own share of the current', async () => {
  const other = `battery Other { ${UNIT}   ${RATE} }\n  run OtherFeed: Other -> Dc`;
  const alone = Number(await valueOf(design(RATE, '300 W'), 'Bank', 'autonomyTime', 'h'));
  expect(await valueOf(design(RATE, '600 W', other), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(alone, 9);
});
