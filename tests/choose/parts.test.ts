import { describe, expect, it } from 'vitest';
import { bestOf, chooseText } from '../helpers/choose.js';

/** Invented chargers, of which the cheaper one is the larger. */
const PARTS = `part charger Small { input: 100..140 V   output: 44..58 V   maximumCurrent: 20 A   efficiency: 93 %   powerFactor: 0.98   price: 400 EUR }
part charger Middle { input: 100..140 V   output: 44..58 V   maximumCurrent: 40 A   efficiency: 93 %   powerFactor: 0.98   price: 300 EUR }
part charger Wide { input: 100..140 V   output: 20..30 V   maximumCurrent: 40 A   efficiency: 93 %   powerFactor: 0.98   price: 100 EUR }
`;

const hut = (part: string, more = ''): string => `${PARTS}
design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  charger Rect : ${part} { absorb: 56 V   float: 54 V }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  ${more}
}
`;

describe('a part', () => {
  it('is the cheapest of those in reach that the checks let stand', async () => {
    const [design] = await chooseText(hut('?'));
    const [answer] = design!.answers;
    // The one for 24 V costs least and cannot be set to 56 V.
    expect(Object.fromEntries(answer!.values)).toEqual({ 'Hut.Rect.part': 'Middle' });
    expect(answer!.price).toMatchObject({ price: 300, unit: 'EUR' });
  });

  it('is one of those that are named', async () => {
    expect(await bestOf(hut('? of Sm*'))).toEqual({ 'Rect.part': 'Small' });
    const [design] = await chooseText(hut('? of Nothing*'));
    expect(design!.answers).toEqual([]);
    expect(design!.questions.map(({ path }) => path)).toEqual(['Hut.Rect.part']);
  });
});
