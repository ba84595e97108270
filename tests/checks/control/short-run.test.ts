import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

/** A hut that is dark: 512 W from 280 Ah at 48 V, a 60 A charger on the set. */
const dark = (rules: string, hours: number, more = '', settings = ''): string => `design D {
  ${settings}
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L   powerFactor: 1   ${more} }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 512 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset { ${rules} }
  scenario Dark { from: 2027-01-10   duration: ${hours} h   sun: none   soc(Bank): 50 % }
}`;
const pair = (from: number, to: number): string => `start when soc(Bank) < ${from} %   stop when soc(Bank) > ${to} %`;
const told = async (text: string): Promise<string[]> =>
  findingsOf(await analyseText(text), 'short-run').map(({ told }) => told);

describe('short-run', () => {
  // About 50 A are left for the bank: each percent of 280 Ah takes about 3.4 min.
  it.each([
    [pair(49, 54), 1],
    [pair(49, 57), 0],
  ])('%s: %i', async (rules, count) => {
    expect(await told(dark(rules, 5))).toHaveLength(count);
  });

  it('says how short and when', async () => {
    const [message] = await told(dark(pair(49, 51), 5));
    expect(
      /^In Dark Genset runs for only \d+(\.\d+)? (s|min);.*at 2027-01-10 0\d:\d\d, and \d more short runs/.test(
        message ?? '',
      ),
    ).toBe(true);
    expect(lacking(message, 'minimumRun: 20 min')).toEqual([]);
  });

  it('counts the warm-up, and takes the least run from the design', async () => {
    expect(await told(dark(pair(49, 54), 5, 'warmUp: 10 min'))).toHaveLength(0);
    expect(await told(dark(pair(49, 57), 5, '', 'leastRun: 1 h'))).toHaveLength(1);
  });

  it('does not take a run that the end of the scenario cuts off for a short one', async () => {
    // The first start comes after 2.8 Ah at 10 A: a good quarter of an hour.
    expect(await told(dark(pair(49, 90), 0.4))).toEqual([]);
  });

  it('counts the starts of a day', async () => {
    const often = dark(`${pair(49, 51)}   minimumRun: 20 min`, 24);
    const [message] = await told(often);
    expect(lacking(message, /starts \d+ times within a day from 2027-01-10 00:\d\d on; 6 are the most/)).toEqual([]);
    expect(await told(often.replace('design D {', 'design D { mostStarts: 48'))).toEqual([]);
  });
});
