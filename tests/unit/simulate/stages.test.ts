import { describe, expect, test } from 'vitest';
import { columnsOfSignal } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/* The stages of a charger on the grid, with figures that can be followed by hand. The design is an invention. */

const site = (charger: string, { load = 10, link = '', lost = '' } = {}): string => `design D {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 20 mohm }
  load Fan { power: ${load * 56} W   supply: dc }
  run Post: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 1 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 1 m }
  ${link}
  scenario Day { from: 2027-03-01   duration: 1 d   soc(Bank): 70 %   temperature(Bank): 25 degC   ${lost}
    require unserved == 0 kWh
  }
}
`;

interface Course {
  /** h at which the charger first holds its absorption voltage, and first gives less than it. */
  readonly absorbs: number;
  readonly floats: number;
  /** A of the charger just before it floats. */
  readonly last: number;
}

async function course(text: string): Promise<Course> {
  const { scenarios, findings } = await analyseText(text);
  const [scenario] = scenarios;
  if (scenario?.played.kind !== 'played') throw new Error(findings.map(({ told }) => told).join('\n'));
  const { series } = scenario.played.result;
  const volts = columnsOfSignal({ series }, 'voltage')[0]!.values;
  const amperes = columnsOfSignal({ series }, 'current').find(({ of }) => of.name === 'Rect')!.values;
  const absorbs = volts.findIndex((each) => each > 55.99);
  const floats = volts.findIndex((each, at) => at > absorbs && absorbs >= 0 && each < 55.9);
  return {
    absorbs: series.time[absorbs]! / 3600,
    floats: floats < 0 ? Infinity : series.time[floats]! / 3600,
    last: amperes[floats < 0 ? amperes.length - 1 : floats - 1]!,
  };
}

describe('absorption', () => {
  test('ends after its time, whatever the current', async () => {
    // 12 A of load keep the charger above its tail of 10 A for ever.
    const { absorbs, floats } = await course(site('absorbTime: 2 h', { load: 12 }));
    expect(floats - absorbs).toBeCloseTo(2, 2);
    expect((await course(site('', { load: 12 }))).floats).toBe(Infinity);
  });

  test('ends when the current has stayed below the tail for the tail time', async () => {
    // Alone it takes the usual tail of lithium, 5 % of 200 Ah: 10 A.
    const usual = await course(site('', { load: 0.1 }));
    const stated = await course(site('tailCurrent: 4 A', { load: 0.1 }));
    const held = await course(site('tailTime: 30 min', { load: 0.1 }));
    expect(usual.last).toBeLessThanOrEqual(10.01);
    expect(stated.last).toBeLessThanOrEqual(4.01);
    expect(stated.floats).toBeGreaterThanOrEqual(usual.floats);
    // The curve is drawn by steps of some minutes.
    expect(held.floats - usual.floats).toBeGreaterThan(25 / 60);
    expect(held.floats - usual.floats).toBeLessThan(45 / 60);
  });

  test('is judged by the current of the bank while its link is heard, by its own when it is lost', async () => {
    const link = 'link Can: Bank -> Rect { medium: can   timeOut: 10 s }';
    expect((await course(site('', { load: 12, link }))).floats).toBeLessThan(24);
    expect((await course(site('lostLink: defaults', { load: 12, link, lost: 'lost(Can): always' }))).floats).toBe(
      Infinity,
    );
  });
});

describe('a charger that floats', () => {
  test('absorbs again when the voltage has fallen below where it is told to', async () => {
    // A pump of an hour takes more than the charger gives; the bank falls to its rest.
    const pumped = (charger: string): string =>
      site(charger, { load: 0.1 }).replace(
        'design D {',
        'design D { load Pump { power: 3.4 kW   supply: dc   profile: { 20:00..21:00: 100 % } }   run Branch: Bank -> Pump { size: 35 mm2   length: 1 m }',
      );
    const again = async (charger: string): Promise<boolean> => {
      const { scenarios } = await analyseText(pumped(charger));
      const played = scenarios[0]!.played;
      if (played.kind !== 'played') throw new Error(JSON.stringify(played));
      const volts = columnsOfSignal(played.result, 'voltage')[0]!.values;
      const { time } = played.result.series;
      return volts.some((each, at) => time[at]! > 21.1 * 3600 && each > 55.9);
    };
    expect(await again('rebulk: 53.5 V')).toBe(true);
    expect(await again('rebulk: 48 V')).toBe(false);
  });
});
