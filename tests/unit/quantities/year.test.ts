import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/derivation/index.js';
import { analyseText } from '../../helpers/analyse.js';
import { derivationOf } from '../../helpers/quantities.js';

const CLEARNESS = [0.38, 0.44, 0.46, 0.47, 0.48, 0.5, 0.53, 0.52, 0.5, 0.43, 0.36, 0.33];
const DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

const valueOf = async (
  ...[text, thing, name, unit]: readonly [...Parameters<typeof derivationOf>, string]
): Promise<number> => numberIn(await derivationOf(text, thing, name), unit);

/** An invented relay station: an array and a stream feed a bank, a radio draws from it; a set stands by. */
const relay = (more = '', set = ''): string => `design Relay {
  site { latitude: 47 deg   longitude: 8 deg   altitude: 900 m   ambient: 10 degC
    clearness: { ${CLEARNESS.map((value, at) => `${at + 1}: ${value}`).join(', ')} } }
  solar Array { power: 400 W   openCircuitVoltage: 24 V   shortCircuitCurrent: 11 A   tilt: 60 deg   azimuth: 180 deg   powerCoefficient: -0.35 %/K   noct: 45 degC }
  chargeController Box { tracking: mppt   absorb: 14.2 V   efficiency: 96 %   maximumCurrent: 40 A }
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 200 Ah   resistance: 5 mohm   cellTemperature: 20 degC }
  load Radio { power: 60 W   supply: dc   profile: always }
  run Line: Array -> Box.solar { size: 6 mm2   length: 5 m }
  run Out: Box.dc -> Bank { size: 10 mm2   length: 2 m }
  run Feed: Bank -> Radio { size: 2.5 mm2   length: 2 m }
  ${more}
  ${set}
}
`;

describe('days and years without playing', () => {
  it('of an array are those of its months', async () => {
    const day = await derivationOf(relay(), 'Array', 'dailyEnergy');
    const months = DAYS.map((_, month) => numberIn(day.parts[`month${month + 1}`]!, 'Wh'));
    expect(numberIn(day, 'Wh')).toBe(Math.min(...months));
    const year = months.reduce((sum, energy, month) => sum + energy * DAYS[month]!, 0);
    expect(await valueOf(relay(), 'Array', 'yearlyEnergy', 'Wh')).toBeCloseTo(year, 6);
    // 400 W in the plane of 60° on the northern edge of the Alps: 900 to 1300 kWh a kilowatt (common practice, no source), 14 % lost to dirt, heat and mismatch.
    expect(year / 400).toBeGreaterThan(800);
    expect(year / 400).toBeLessThan(1300);
  });

  it('of an array follow the sky, the mount and the tilt that are stated', async () => {
    const year = (text: string): Promise<number> => valueOf(text, 'Array', 'yearlyEnergy', 'Wh');
    const sky = (word: string): Promise<number> =>
      year(relay().replace('altitude: 900 m', `altitude: 900 m   sky: ${word}`));
    const usual = await year(relay());
    expect(await sky('hayDavies')).toBe(usual);
    // A steep array that faces the sun gets less from a sky that is the same everywhere.
    expect(await sky('isotropic')).toBeLessThan(usual);
    expect(Math.abs((await sky('perez')) / usual - 1)).toBeLessThan(0.1);
    const mounted = (facts: string): Promise<number> => year(relay().replace('tilt: 60 deg   azimuth: 180 deg', facts));
    const winter = await mounted('azimuth: 180 deg   tiltByMonth: { 1: 65 deg, 4: 20 deg, 10: 65 deg }');
    const [steep, flat] = [
      await mounted('azimuth: 180 deg   tilt: 65 deg'),
      await mounted('azimuth: 180 deg   tilt: 20 deg'),
    ];
    expect(winter).toBeGreaterThan(Math.max(steep, flat));
    // Two settings a year gain some 4 % on the best fixed one, following the sun about one axis and about two some 14 and 30 % (a typical year of Denver); less in dull places.
    expect(winter / Math.max(steep, flat)).toBeLessThan(1.12);
    const [one, two] = [
      await mounted('tilt: 0 deg   azimuth: 180 deg   mount: oneAxis'),
      await mounted('mount: twoAxes'),
    ];
    expect(one).toBeGreaterThan(flat);
    expect(two).toBeGreaterThan(one);
    expect(two / Math.max(steep, flat)).toBeLessThan(1.45);
  });

  it('of a spread that no days can have are refused', async () => {
    const { context } = (
      await analyseText(relay().replace('altitude: 900 m', 'altitude: 900 m   clearnessSpread: { 1: 0.5 }'))
    ).designs[0]!;
    const array = context.system.instances.find(({ name }) => name === 'Array')!;
    expect(context.quantity(array, 'dailyEnergy')).toMatchObject({ kind: 'refused' });
  });

  it('of a load are its profile, every day', async () => {
    expect(await valueOf(relay(), 'Radio', 'yearlyEnergy', 'Wh')).toBe(60 * 24 * 365);
  });

  it('of a bank balance what is brought and what is taken, month by month', async () => {
    const text = relay();
    const year = await derivationOf(text, 'Bank', 'yearlyBalance');
    const brought = numberIn(year.parts['brought']!, 'Wh');
    const taken = numberIn(year.parts['taken']!, 'Wh');
    expect(numberIn(year, 'Wh')).toBeCloseTo(brought - taken, 9);
    expect(brought).toBeCloseTo(0.96 * (await valueOf(text, 'Array', 'yearlyEnergy', 'Wh')), 6);
    // 60 W by day and night, over the charge efficiency of the chemistry, which is a few hundredths below 1.
    expect(taken).toBeGreaterThan(60 * 8760);
    expect(taken).toBeLessThan((60 * 8760) / 0.93);
    const day = await derivationOf(text, 'Bank', 'dailyBalance');
    const months = DAYS.map((_, month) => numberIn(day.parts[`month${month + 1}`]!, 'Wh'));
    expect(numberIn(day, 'Wh')).toBe(Math.min(...months));
    expect(months.reduce((sum, energy, month) => sum + energy * DAYS[month]!, 0)).toBeCloseTo(brought - taken, 6);
    const lacking = months.reduce((sum, energy, month) => sum + Math.max(0, -energy) * DAYS[month]!, 0);
    expect(lacking).toBeGreaterThan(0);
    expect(numberIn(year.parts['lacking']!, 'Wh')).toBeCloseTo(lacking, 6);
  });

  it('of a turbine are what its water gives by day and night, and count in the balance', async () => {
    const turbine = `hydro Turbine { head: 40 m   flow: 3 L/s   ecologicalFlow: 1 L/s   designFlow: 6 L/s   penstock: plastic   penstockLength: 200 m
      penstockDiameter: 90 mm   turbineEfficiency: 65 %   generatorEfficiency: 80 %   voltage: 14 V   currentLimit: 20 A   heldBy: freewheel }
    run Wire: Turbine -> Bank { size: 35 mm2   length: 10 m }`;
    const text = relay(turbine);
    // 20 A at 12.8 V: the water has more.
    expect(await valueOf(text, 'Turbine', 'dailyEnergy', 'Wh')).toBeCloseTo(20 * 12.8 * 24, 6);
    expect(await valueOf(text, 'Turbine', 'yearlyEnergy', 'Wh')).toBeCloseTo(20 * 12.8 * 8760, 5);
    const [alone, both] = await Promise.all(
      [relay(), text].map((each) => valueOf(each, 'Bank', 'yearlyBalance', 'Wh')),
    );
    expect(both! - alone!).toBeCloseTo(20 * 12.8 * 8760, 4);
  });

  it('say what they leave out, and what lacks', async () => {
    const set = `generator Genset { rated: 2 kW   voltage: 230 V   fuel: diesel   burn: { 0 %: 0.2 L/h, 100 %: 0.9 L/h } }
    charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 14.2 V   efficiency: 90 %   powerFactor: 0.98 }
    run Cord: Genset -> Rect.ac { size: 2.5 mm2   length: 5 m }
    run In: Rect.dc -> Bank { size: 10 mm2   length: 2 m }`;
    const text = relay('', set);
    expect((await derivationOf(text, 'Bank', 'yearlyBalance')).notes).toContain(
      'without Rect: what is missing they have to bring',
    );
    const [power, time] = await Promise.all([
      valueOf(text, 'Genset', 'meanPower', 'W'),
      valueOf(text, 'Genset', 'dailyRunTime', 'h'),
    ]);
    expect(await valueOf(text, 'Genset', 'dailyEnergy', 'Wh')).toBeCloseTo(power! * time!, 6);
    const { context } = (await analyseText(relay().replace(/clearness: \{[^}]*\}/, ''))).designs[0]!;
    const bank = context.system.instances.find(({ name }) => name === 'Bank')!;
    expect(context.quantity(bank, 'yearlyBalance')).toEqual({ kind: 'missing', missing: ['clearness of the site'] });
  });

  it('are requirements and readings of a design like any other value', async () => {
    const { requirements } = await analyseText(
      relay('require Bank.yearlyBalance.lacking <= 10 kWh   require Array.dailyEnergy.month6 >= 1 kWh'),
    );
    expect(requirements.map(({ holds }) => holds)).toEqual([false, true]);
  });
});
