import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';
import { resultOf } from '../simulate/designs.js';

/*
 * What conductors lose counts in closed forms as it does in plays. NEC 2023 Chapter 9 Table 8, stranded uncoated copper at 75 °C, ohm for
 * 1000 ft: 12 AWG 1.98, 10 AWG 1.24, 8 AWG 0.778.
 */
const TWELVE = 'size: 12 AWG   length: 50 ft   raceway: pvc';
const TWELVE_OHMS = 0.099;
const TEN = 'size: 10 AWG   length: 100 ft   raceway: pvc';
const TEN_OHMS = 0.124;

const hut = (profile: string, cable: string): string => `design Hut {
  basis: nec
  site { altitude: 0 m   ambient: 20 degC }
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 200 Ah   resistance: 1 mohm   reserve: 10 %   cellTemperature: 25 degC }
  bus Bar { rating: 100 A }
  load Lamp { power: 100 W   supply: dc   ${profile} }
  run BankRun: Bank -> Bar { }
  run LampRun: Bar -> Lamp { ${cable} }
  scenario Play { from: 2027-01-10   duration: 24 h   soc(Bank): 100 % }
}
`;

describe('the cable of a direct load', () => {
  const EIGHT = 'size: 8 AWG   length: 100 ft';
  // 2 · 0.0778 Ω; 100 W = (12.8 V − I·R)·I.
  const ohms = 2 * 0.0778;
  const amperes = (12.8 - Math.sqrt(12.8 ** 2 - 4 * ohms * 100)) / (2 * ohms);

  it('shortens autonomy by what it loses, which the derivation shows', async () => {
    const time = await derivationOf(hut('profile: always', EIGHT), 'Bank', 'autonomyTime');
    expect(numberIn(time, 'h')).toBeCloseTo(180 / amperes, 1);
    const load = time.inputs.find(({ symbol }) => symbol === 'I_load')!;
    const lost = load.inputs[0]!.inputs[0]!.inputs.find(({ symbol }) => symbol === 'P_R')!;
    expect(lost.name).toBe('loss in the cable of Lamp');
    expect(numberIn(lost, 'W')).toBeCloseTo(ohms * amperes ** 2, 1);
  });

  it('loses the square of the current while the load runs, not of its mean', async () => {
    const half = await derivationOf(hut('profile: { 06:00..18:00: 100 % }', EIGHT), 'Bank', 'autonomyTime');
    expect(numberIn(half, 'h')).toBeCloseTo(360 / amperes, 1);
    // A duty is played as its mean, and counts so.
    const duty = await derivationOf(hut('profile: always   duty: 50 %', EIGHT), 'Bank', 'autonomyTime');
    expect(numberIn(duty, 'h')).toBeGreaterThan(numberIn(half, 'h') * 1.02);
  });

  it('loses nothing where size or length is not stated', async () => {
    expect(await valueOf(hut('profile: always', ''), 'Bank', 'autonomyTime', 'h')).toBeCloseTo((180 * 12.8) / 100, 9);
  });
});

const house = (line: string, profile = 'always', cord = ''): string => `design House {
  basis: nec
  site { altitude: 0 m   ambient: 20 degC }
  generator Set { rated: 5 kW   voltage: 120 V   burn: { 0 %: 0.5 L/h, 100 %: 2.5 L/h } }
  charger Rect { input: 90..135 V   currentLimit: 50 A   absorb: 28.8 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 200 Ah   resistance: 2 mohm   reserve: 10 %   cellTemperature: 25 degC }
  inverter Inv { rated: 2 kW   voltage: 120 V   efficiency: 90 %   idle: 0 W   cutOff: 22 V }
  bus Dc {}
  load Heater { power: 960 W   voltage: 120 V   profile: ${profile} }
  run Cord: Set -> Rect.ac { ${cord} }
  run Charge: Rect.dc -> Dc { }
  run BankRun: Bank -> Dc { }
  run Feed: Dc -> Inv.dc { }
  run Line: Inv.ac -> Heater { ${line} }
  control Start of Set { start when soc(Bank) < 30 %   stop when soc(Bank) > 60 % }
  scenario Play { from: 2027-01-10   duration: 10 d   soc(Bank): 45 % }
}
`;

describe('conductors of alternating current', () => {
  it('behind an inverter are given by it, and judged against its rating', async () => {
    // 8 A out and back through 12 AWG.
    const lost = 2 * TWELVE_OHMS * 8 ** 2;
    expect(Number(await valueOf(house(TWELVE), 'Inv', 'loadDemand', 'W'))).toBeCloseTo(960 + lost, 2);
    const without = Number(await valueOf(house(''), 'Bank', 'autonomyTime', 'h'));
    const withLine = Number(await valueOf(house(TWELVE), 'Bank', 'autonomyTime', 'h'));
    // What the inverter loses grows a little more than what it gives.
    expect(without / withLine).toBeGreaterThan(1 + lost / 960);
    expect(without / withLine).toBeLessThan(1 + (1.2 * lost) / 960);
  });

  it('lose by hours of use, as in a play', async () => {
    const day = async (profile: string): Promise<{ said: number; played: number }> => {
      const text = house(TEN, profile)
        .replace(/ {2}control .*\n/, '')
        .replace('duration: 10 d   soc(Bank): 45 %', 'duration: 1 d   soc(Bank): 100 %');
      const { totals } = await resultOf(text);
      const said = Number(await valueOf(text, 'Bank', 'autonomyTime', 'h'));
      return {
        said: (180 * 25.6 * 24) / said,
        played: totals[0]!.balance.toLoads / 3600 + totals[0]!.balance.lost / 3600,
      };
    };
    const { said, played } = await day('{ 12:00..14:00: 100 % }');
    expect(said / played).toBeGreaterThan(0.99);
    expect(said / played).toBeLessThan(1.03);
  });

  it('to a charger are given by its generator: power, run time and fuel of a day agree with the play', async () => {
    const watts = (50 * 28.8) / 0.9;
    const lost = 2 * TEN_OHMS * (watts / 120) ** 2;
    const text = house(TWELVE, 'always', TEN);
    expect(Number(await valueOf(text, 'Set', 'powerDemand', 'W'))).toBeCloseTo(watts + lost, 1);
    expect(Number(await valueOf(text, 'Set', 'apparentDemand', 'VA'))).toBeCloseTo(watts + lost, 1);
    const { fuel, runTime } = (await resultOf(text)).totals[0]!;
    const rate = Number(await valueOf(text, 'Set', 'fuelRate', 'L/h'));
    const played = (1000 * fuel.get('Set')!) / (runTime.get('Set')! / 3600);
    expect(rate / played).toBeGreaterThan(0.98);
    expect(rate / played).toBeLessThan(1.15);
    const hours = Number(await valueOf(text, 'Set', 'dailyRunTime', 'h'));
    expect(hours / (runTime.get('Set')! / 36000)).toBeGreaterThan(0.95);
    expect(hours / (runTime.get('Set')! / 36000)).toBeLessThan(1.3);
  });
});

describe('a source that has little left', () => {
  const small = (rated: string, cord: string, heater = '1 kW'): string => `design Pier {
  basis: nec
  site { altitude: 0 m   ambient: 20 degC }
  grid Mains { voltage: 120 V   rating: 30 A   ${rated} }
  bus Panel { rating: 60 A }
  charger Rect { input: 90..135 V   currentLimit: 100 A   absorb: 28.8 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 400 Ah   resistance: 2 mohm   reserve: 10 %   cellTemperature: 25 degC }
  load Heater { power: ${heater}   voltage: 120 V   profile: always }
  run Cord: Mains -> Panel { ${cord} }
  run Tail: Panel -> Rect.ac { }
  run Charge: Rect.dc -> Bank { }
  run Line: Panel -> Heater { }
  scenario Play { from: 2027-01-10   duration: 10 min   soc(Bank): 40 % }
}
`;

  it('leaves its chargers what loads and conductors leave of it', async () => {
    const text = small('', TEN);
    const { totals } = await resultOf(text);
    // 30 A at 120 V and no more, with what the cord loses.
    expect(totals[0]!.energy.get('Mains')! / 600).toBeLessThan(3600 * 1.000001);
    expect(totals[0]!.energy.get('Mains')! / 600).toBeGreaterThan(3600 * 0.97);
    const left = Number(await valueOf(text, 'Bank', 'chargeCurrent', 'A'));
    expect(left).toBeGreaterThan(0);
  });

  it('does not carry a load that fits without its conductors alone', async () => {
    const unserved = async (cord: string): Promise<number> =>
      (await resultOf(small('', cord, '3.55 kW'))).totals[0]!.unserved.get('Heater')!;
    expect(await unserved('')).toBe(0);
    // 29.6 A lose 218 W.
    expect(await unserved(TEN)).toBeGreaterThan(0);
  });
});

describe('a charger that an inverter feeds', () => {
  const barge = (line: string): string => `design Barge {
  basis: nec
  site { altitude: 0 m   ambient: 20 degC }
  battery House { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 400 Ah   resistance: 2 mohm   cellTemperature: 25 degC }
  battery Bow { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 200 Ah   resistance: 2 mohm   cellTemperature: 25 degC }
  inverter Inv { rated: 2 kW   voltage: 120 V   efficiency: 90 %   idle: 10 W   cutOff: 22 V   reconnect: 25.5 V }
  charger Rect { input: 90..135 V   currentLimit: 60 A   absorb: 14.4 V   efficiency: 90 %   powerFactor: 1 }
  run Feed: House -> Inv.dc { }
  run Line: Inv.ac -> Rect.ac { ${line} }
  run Charge: Rect.dc -> Bow { }
  scenario Play { from: 2027-01-10   duration: 1 h   soc(House): 80 %   soc(Bow): 30 % }
}
`;

  it('lets its conductors lose, and the bank before it gives it', async () => {
    const without = (await resultOf(barge(''))).totals[0]!;
    const withLine = (await resultOf(barge(TEN))).totals[0]!;
    // Some 60 A · 13.3 V/0.9 = 890 W, 7.4 A out and back.
    const lost = 2 * TEN_OHMS * ((60 * 13.3) / 0.9 / 120) ** 2 * 3600;
    const more = withLine.balance.lost - without.balance.lost;
    expect(more / lost).toBeGreaterThan(0.95);
    expect(more / lost).toBeLessThan(1.25);
    expect(withLine.balance.stored).toBeLessThan(without.balance.stored);
  });
});
