import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const line = (facts: string, rating = 40, basis = 'nec 2023', watts = 4000): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 240 V   rating: 400 A   neutralBond: bonded }
  breaker B1 { rating: ${rating} A   ${basis === 'iec' ? 'curve: B' : ''} }
  load Heater { power: ${watts} W }
  run Line: Mains -> B1 -> Heater { ${facts}   length: 2 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'earth-conductor');

describe('earth-conductor', () => {
  // NEC Table 250.122 by the device: to 20 A 12 AWG, to 60 A 10 AWG, to 100 A 8 AWG, to 200 A 6 AWG copper.
  it.each([
    [20, '12 AWG', '12 AWG', '14 AWG'],
    [60, '6 AWG', '10 AWG', '12 AWG'],
    [100, '3 AWG', '8 AWG', '10 AWG'],
    [200, '3/0 AWG', '6 AWG', '8 AWG'],
  ])('reads the row of a %i A device on %s', async (rating, size, enough, small) => {
    // The smallest line conductors that suit the device: no increase, the row alone counts.
    const text = (earth: string): string =>
      line(`size: ${size}   type: THHN   earth: ${earth}`, rating, 'nec 2023', rating * 150);
    expect(await findings(text(enough))).toEqual([]);
    const [finding] = await findings(text(small));
    expect(lacking(finding?.told, '250.122')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe(`Change ground of Line to ${enough}`);
  });

  // Computed vector of 250.122(B): 40 A, 8 AWG made 6 AWG: 10 AWG becomes 8 AWG (16 497 circular mils).
  it('raises it with the phases, in proportion to the smallest size that would do', async () => {
    const text = (earth: string): string => line(`size: 6 AWG   type: THHN   earth: ${earth}`);
    expect(await findings(text('8 AWG'))).toEqual([]);
    const [finding] = await findings(text('10 AWG'));
    // The size that the headline names is the one that the change gives it.
    expect(finding?.headline).toContain('at least 8 AWG');
    expect(finding?.fixes[0]?.title).toBe('Change ground of Line to 8 AWG');
    expect(lacking(finding?.told, /made 6 AWG where 8 AWG would do.*250\.122\(B\)/)).toEqual([]);
    expect(numberIn(finding!.numbers.needed!, 'kcmil')).toBeCloseTo(16.51, 1);
    expect(await afterFix(text('10 AWG'), 'earth-conductor', finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('counts the device before a run that has none of its own among what the lines must suit', async () => {
    // 100 A before 3 AWG: 4 AWG (85 A, next size up 90 A) would not do, though 4 kW ask for far less: no increase.
    const feeder = (earth: string): string => `design Hut {
  grid Mains { voltage: 240 V   rating: 400 A   neutralBond: bonded }
  breaker Main { rating: 100 A }
  breaker B1 { rating: 20 A }
  bus Entry {}
  bus Panel {}
  load Heater { power: 4 kW   continuous: no }
  run Service: Mains -> Main -> Entry { size: 3 AWG   type: THHN   length: 2 m   earth: 3 AWG }
  run Feeder: Entry -> Panel { size: 3 AWG   type: THHN   length: 2 m   earth: ${earth} }
  run Line: Panel -> B1 -> Heater { size: 12 AWG   type: THHN   length: 2 m   earth: 12 AWG }
}
`;
    expect(await findings(feeder('8 AWG'))).toEqual([]);
    const [finding] = await findings(feeder('10 AWG'));
    expect(finding?.fixes[0]?.title).toBe('Change ground of Feeder to 8 AWG');
  });

  // NEC Tables 310.16 (75 °C: 1 AWG 130 A, 1/0 AWG 150 A, 2/0 AWG 175 A) and 250.122 (200 A: 6 AWG). 240.4(B) lets 150 A protect 1 AWG, yet the usual
  // circuit of 150 A is 1/0 AWG with 6 AWG (common practice, no source).
  it('only warns where the lines may be that large for the sake of their own ampacity', async () => {
    const text = (size: string, earth = '6 AWG'): string =>
      line(`size: ${size}   type: THHN   terminals: 75 degC   earth: ${earth}`, 150, 'nec 2023', 15000);
    expect(await findings(text('1 AWG'))).toEqual([]);
    const [usual] = await findings(text('1/0 AWG'));
    expect(usual?.severity).toBe('warning');
    expect(lacking(usual?.told, 'no increase if its own ampacity is to reach the rating')).toEqual([]);
    expect(await findings(text('1/0 AWG', '4 AWG'))).toEqual([]);
    const [larger] = await findings(text('2/0 AWG'));
    expect(larger?.severity).toBe('error');
    // The table alone is never a matter of reading.
    expect((await findings(text('1/0 AWG', '8 AWG')))[0]?.severity).toBe('error');
  });

  // 250.122(B), 2017 and later: what ambient and bundling ask for is no increase.
  it('counts the corrections of the conductors before it speaks of an increase', async () => {
    // 8 AWG, 90 °C, at 45 °C with nine conductors: 55 A · 0.87 · 0.7 = 33.5 A, too little for 40 A; 6 AWG: 75 A · 0.609 = 45.7 A.
    expect(await findings(line('size: 6 AWG   type: THHN   earth: 10 AWG   ambient: 45 degC   conductors: 9'))).toEqual(
      [],
    );
  });

  it('never asks for more than the line conductors (250.122(A))', async () => {
    expect(await findings(line('size: 10 AWG   type: THHN   earth: 10 AWG', 15, 'nec', 1000))).toEqual([]);
  });

  // IEC 60364-5-54 Table 54.2: to 16 mm² the line itself, to 35 mm² 16 mm², above half of it.
  it.each([
    ['16 mm2', '16 mm2', '10 mm2'],
    ['35 mm2', '16 mm2', '10 mm2'],
    ['50 mm2', '25 mm2', '16 mm2'],
  ])('reads the table of iec for %s', async (size, enough, small) => {
    const text = (earth: string): string =>
      line(`size: ${size}   type: H07V-R   method: C   earth: ${earth}`, 63, 'iec');
    expect(await findings(text(enough))).toEqual([]);
    const [finding] = await findings(text(small));
    expect(lacking(finding?.told, '543.1.2')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe(`Change earth of Line to ${enough}`);
  });

  it('asks for it on alternating current, but not of cords, metal raceways and direct current', async () => {
    expect(askedBy(await analyseText(line('size: 8 AWG   type: THHN')), 'earth-conductor')).toEqual(['earth of Line']);
    expect(askedBy(await analyseText(line('size: 8 AWG   type: THHN   metalRaceway: yes')), 'earth-conductor')).toEqual(
      [],
    );
    expect(askedBy(await analyseText(line('size: 6 AWG   type: SOOW')), 'earth-conductor')).toEqual([]);
    const bank = `design Van {
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 800 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   EARTH }
}
`;
    expect(askedBy(await analyseText(bank.replace('EARTH', '')), 'earth-conductor')).toEqual([]);
    expect(await findings(bank.replace('EARTH', 'earth: 12 AWG'))).toHaveLength(1);
  });

  it('takes the device before a run that has none, and says what lacks', async () => {
    const text = (grid: string): string => `design Hut {
  grid Mains { voltage: 240 V   ${grid}   neutralBond: bonded }
  load Heater { power: 4 kW }
  run Line: Mains -> Heater { size: 3 AWG   type: THHN   length: 2 m   earth: 10 AWG }
}
`;
    const [finding] = await findings(text('rating: 100 A'));
    expect(lacking(finding?.told, '100 A')).toEqual([]);
    expect(askedBy(await analyseText(text('')), 'earth-conductor')).toEqual(['an overcurrent device before Line']);
  });

  it('has no table for small craft and says so where an earth conductor is stated', async () => {
    const analysis = await analyseText(line('size: 8 AWG   earth: 10 AWG', 40, 'craft'));
    expect(analysis.questions.find(({ check }) => check === 'earth-conductor')?.isRefused).toBe(true);
    expect(askedBy(await analyseText(line('size: 8 AWG   earth: 8 AWG', 40, 'craft')), 'earth-conductor')).toEqual([]);
    expect(askedBy(await analyseText(line('size: 8 AWG', 40, 'craft')), 'earth-conductor')).toEqual(['earth of Line']);
  });
});
