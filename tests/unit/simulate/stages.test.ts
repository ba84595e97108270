import { describe, expect, test } from 'vitest';
import { type ScenarioResult, columnsOfSignal, numberIn } from '../../../language/src/index.js';
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

describe('a charger that equalises', () => {
  /** Vented lead on the grid, full at the start; the grid may be away for a time. Invented. */
  const lead = (charger: string, scenario: string): string => `design D {
    grid Mains { voltage: 230 V   rating: 16 A }
    charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 29.4 V   float: 27 V   equalise: 31.2 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes   ${charger} }
    battery Bank { chemistry: flooded   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah   resistance: 6 mohm }
    run Post: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
    run Feed: Rect.dc -> Bank { size: 25 mm2   length: 1 m }
    scenario Weeks { from: 2027-03-01   soc(Bank): 90 %   temperature(Bank): 25 degC   ${scenario} }
  }`;
  const played = async (charger: string, scenario: string): Promise<ScenarioResult> => {
    const { scenarios } = await analyseText(lead(charger, scenario));
    const found = scenarios[0]!.played;
    if (found.kind !== 'played') throw new Error(JSON.stringify(found));
    return found.result;
  };
  /** h for which the bus is held above absorption. */
  const hoursAbove = (result: ScenarioResult): number => {
    const of = columnsOfSignal(result, 'voltage')[0]!.of;
    const found = result.measure({ what: 'timeAbove', signal: { kind: 'of', signal: 'voltage', of }, limit: 31.1 });
    return found.kind === 'known' ? numberIn(found.derivation, 'h') : NaN;
  };
  const starts = (result: ScenarioResult): number[] =>
    result.events.filter(({ what }) => what === 'equalise').map(({ time }) => time / 86_400);

  test('holds its voltage for its time at the first end of absorption after its interval', async () => {
    // The grid is away for an hour each fifth day, so that it absorbs anew.
    const away = 'lost(Mains): 120 h .. 121 h, 240 h .. 241 h, 360 h .. 361 h, 480 h .. 481 h';
    const result = await played('equaliseInterval: 9 d   equaliseTime: 2 h', `duration: 21 d   ${away}`);
    const found = starts(result);
    expect(found).toHaveLength(2);
    expect(found[0]! - 241 / 24).toBeGreaterThan(0);
    expect(found[0]! - 241 / 24).toBeLessThan(0.2);
    expect(found[1]! - 481 / 24).toBeLessThan(0.2);
    expect(hoursAbove(result)).toBeCloseTo(4, 1);
    expect(Math.abs(result.totals[0]!.balance.residual)).toBeLessThan(1e-6 * result.totals[0]!.balance.fromSources);
  });

  test('never does so by itself where no interval is stated', async () => {
    const result = await played('', 'duration: 3 d');
    expect([starts(result), hoursAbove(result)]).toEqual([[], 0]);
  });

  test('begins again what the loss of its supply breaks off', async () => {
    const whole = starts(await played('equaliseInterval: 0 d   equaliseTime: 4 h', 'duration: 1 d'));
    expect(whole).toHaveLength(1);
    const hour = Math.ceil(whole[0]! * 24);
    const lost = `duration: 2 d   lost(Mains): ${hour + 1} h .. ${hour + 2} h`;
    const broken = await played('equaliseInterval: 1 h   equaliseTime: 4 h', lost);
    expect(starts(broken)).toHaveLength(2);
    // A part before the loss, and the whole of it afterwards.
    expect(hoursAbove(broken)).toBeGreaterThan(4.5);
    expect(hoursAbove(broken)).toBeLessThan(6.1);
  });

  test('needs its voltage and its time', async () => {
    const { scenarios } = await analyseText(lead('equaliseInterval: 30 d', 'duration: 1 d'));
    expect(scenarios[0]!.played).toMatchObject({ kind: 'missing', missing: ['equaliseTime of Rect'] });
  });
});
