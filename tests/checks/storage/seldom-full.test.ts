import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

/** A bank of 24 V · 200 Ah with a load of 24 W, and a grid that charges it while it is there. Invented. */
const site = (scenario: string, chemistry = 'agm'): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 28.8 V   float: 27 V   efficiency: 92 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: ${chemistry}   voltage: 12 V   cells: ${chemistry === 'lfp' ? 4 : 6}   series: 2   capacity: 200 Ah   resistance: 4 mohm   cellTemperature: 20 degC }
  load Radio { power: 2 W   supply: dc   profile: always }
  run Cord: Mains -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Winter { ${scenario} }
}`;
const head = 'from: 2027-01-10   sun: none';
const told = async (text: string): Promise<string[]> =>
  findingsOf(await analyseText(text), 'seldom-full').map(({ headline }) => headline);
const requirements = async (text: string): Promise<unknown[]> =>
  (await analyseText(text)).requirements.map(({ holds, undecided }) => holds ?? undecided);

describe('time since the last full charge', () => {
  it('counts from the start where a bank starts below full', async () => {
    const text = site(`${head}   duration: 10 d   soc(Bank): 80 %   lost(Mains): always
      require timeSinceFull(Bank) == 10 d`);
    expect(await requirements(text)).toEqual([true]);
  });

  it('is the longest stretch between two full charges, found within a step', async () => {
    // Full at the start; 2 W and self-discharge take 6 Ah (3 %) in some 2 to 3 days, then the grid comes back on day 12.
    const text = site(`${head}   duration: 20 d   soc(Bank): 100 %   lost(Mains): 0 h .. 288 h
      require timeSinceFull(Bank) == longestBelow(soc(Bank), 97 %)
      require timeSinceFull(Bank) > 9 d
      require timeSinceFull(Bank) < 11 d`);
    const analysis = await analyseText(text);
    expect(analysis.requirements.map(({ holds }) => holds).slice(1)).toEqual([true, true]);
    const [same] = analysis.requirements;
    expect(same!.left!.value).toMatchObject({
      value: expect.closeTo((same!.right!.value as { value: number }).value, 1) as number,
    });
  });

  it('is nothing while it is held full', async () => {
    const text = site(`${head}   duration: 5 d   soc(Bank): 100 %
      require timeSinceFull(Bank) == 0 s`);
    expect(await requirements(text)).toEqual([true]);
  });

  it('may be asked of banks alone', async () => {
    const text = site(`${head}   duration: 5 d   soc(Bank): 100 %   require timeSinceFull(Rect) == 0 s`);
    expect(findingsOf(await analyseText(text), 'wrong-type')).toHaveLength(1);
  });
});

describe('seldom-full', () => {
  it('finds lead-acid that is not full for longer than the interval of the design', async () => {
    const dark = (days: number): string => `${head}   duration: ${days} d   soc(Bank): 90 %   lost(Mains): always`;
    expect(await told(site(dark(14)))).toEqual([]);
    expect(await told(site(dark(15)))).toEqual(['In Winter Bank is not full for 15 d; 14 d at most']);
    expect(await told(site(dark(15)).replace('site {', 'fullChargeInterval: 30 d\n  site {'))).toEqual([]);
  });

  it('passes a bank that is charged to the end now and then', async () => {
    expect(
      await told(site(`${head}   duration: 30 d   soc(Bank): 90 %   lost(Mains): 1 h .. 300 h, 330 h .. 600 h`)),
    ).toEqual([]);
  });

  it('is about lead-acid alone', async () => {
    const text = site(`${head}   duration: 20 d   soc(Bank): 90 %   lost(Mains): always`, 'lfp');
    expect(await told(text)).toEqual([]);
  });

  it('leaves it to a requirement where there is one, and names what lacks', async () => {
    const dark = `${head}   duration: 20 d   soc(Bank): 90 %   lost(Mains): always`;
    expect(await told(site(`${dark}   require timeSinceFull(Bank) <= 25 d`))).toEqual([]);
    expect(askedBy(await analyseText(site(dark.replace('from: 2027-01-10', ''))), 'seldom-full')).toEqual([
      'from of Winter',
    ]);
  });
});
