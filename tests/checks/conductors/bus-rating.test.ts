import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

const ID = 'bus-rating';
const bank = 'battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 300 Ah   protectionLow: 40 V }';
/** Two loads of 100 A and 50 A at the lowest 40 V of the bank, two chargers of 80 A and 60 A. */
const barn = (rating: string, extra = ''): string => `design Barn {
  ${bank}
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  charger Left { input: 180..264 V   currentLimit: 80 A   absorb: 56 V }
  charger Right { input: 180..264 V   currentLimit: 60 A   absorb: 56 V }
  bus Bar { ${rating} }
  load Mill { power: 4 kW   supply: dc   minimumVoltage: 40 V }
  load Saw { power: 2 kW   supply: dc   minimumVoltage: 40 V }
  run Main: Bank -> Bar { size: 2/0 AWG   length: 1 m }
  run ToMill: Bar -> Mill { size: 4 AWG   length: 3 m }
  run ToSaw: Bar -> Saw { size: 6 AWG   length: 3 m }
  run FromLeft: Left.dc -> Bar { size: 4 AWG   length: 1 m }
  run FromRight: Right.dc -> Bar { size: 4 AWG   length: 1 m }
  run InLeft: Mains -> Left.ac { size: 6 mm2   length: 1 m }
  run InRight: Mains -> Right.ac { size: 6 mm2   length: 1 m }
  ${extra}
}
`;
const findings = async (...texts: Parameters<typeof barn>) => findingsOf(await analyseText(barn(...texts)), ID);

describe(ID, () => {
  it('adds up what draws, and what charges, and takes the larger', async () => {
    expect(await valueOf(barn(''), 'Bar', 'current', 'A')).toBeCloseTo(150, 9);
    const strong = barn('').replace('currentLimit: 80 A', 'currentLimit: 120 A');
    expect(await valueOf(strong, 'Bar', 'current', 'A')).toBeCloseTo(180, 9);
  });

  it('passes at the sum and fails above it', async () => {
    expect(await findings('rating: 150 A')).toEqual([]);
    const text = barn('rating: 149 A');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '150 A meet in Bar')).toEqual([]);
    expect(lacking(finding?.told, 'everything draws')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Choose Bar with a rating of 150 A');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('names the state in which it charges most', async () => {
    const text = barn('rating: 150 A').replace('currentLimit: 80 A', 'currentLimit: 120 A');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, 'with Mains connected; everything charges')).toEqual([]);
  });

  it('solves the network where banks stand on two sides', async () => {
    // Two like banks over like cables give 75 A each to 150 A of load: 150 A go through the bar.
    const text = barn(
      '',
      'battery Second { chemistry: lfp   voltage: 51.2 V   capacity: 300 Ah   protectionLow: 40 V   resistance: 5 mohm }',
    )
      .replace('protectionLow: 40 V }\n  grid', 'protectionLow: 40 V   resistance: 5 mohm }\n  grid')
      .replace('  bus Bar', '  run Other: Second -> Bar { size: 2/0 AWG   length: 1 m }\n  bus Bar');
    expect(await valueOf(text, 'Bar', 'current', 'A')).toBeCloseTo(150, 6);
  });

  it('takes the most loaded leg of the run that feeds a panel', async () => {
    const house = (rating: string): string => `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  bus Panel { rating: ${rating} }
  load Stove { power: 4.8 kW   voltage: 240 V }
  load Kettle { power: 1.2 kW   voltage: 120 V   legs: L1 }
  run Feed: Mains -> Panel { size: 4 AWG   length: 3 m }
  run LineA: Panel -> Stove { size: 10 AWG   length: 3 m }
  run LineB: Panel -> Kettle { size: 12 AWG   length: 3 m }
}
`;
    // 4.8 kW / 240 V + 1.2 kW / 120 V = 30 A on L1.
    expect(findingsOf(await analyseText(house('30 A')), ID)).toEqual([]);
    expect(lacking(findingsOf(await analyseText(house('29 A')), ID)[0]?.told, '30 A meet in Panel')).toEqual([]);
  });

  it('asks for its rating and for facts of what meets there', async () => {
    expect(askedBy(await analyseText(barn('')), ID)).toEqual(['rating of Bar']);
    expect(askedBy(await analyseText(barn('rating: 200 A').replace('power: 2 kW', '')), ID)).toEqual(['power of Saw']);
  });
});
