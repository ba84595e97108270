import { describe, expect, test } from 'vitest';
import type { RunTotals } from '../../../language/src/index.js';
import { resultOf } from './designs.js';

/** What a source gives in an hour and what loads take of it, mean W, with what was assumed. */
async function hourOf(text: string): Promise<{
  readonly totals: RunTotals;
  readonly given: number;
  readonly used: number;
  readonly lost: number;
  readonly assumptions: string;
}> {
  const { totals, assumptions } = await resultOf(text);
  const [only] = totals;
  const watts = (name: string): number => (only!.energy.get(name) ?? 0) / 3600;
  const used = [...only!.energy].reduce((sum, [name, joules]) => (/^Load/.test(name) ? sum + joules / 3600 : sum), 0);
  return {
    totals: only!,
    given: watts('Mains'),
    used,
    lost: only!.balance.lost / 3600,
    assumptions: assumptions.join('\n'),
  };
}

const shore = (mains: string, body: string): string => `
design Pier {
  basis: nec
  site { altitude: 0 m   ambient: 20 degC }
  grid Mains { ${mains}   rating: 60 A }
  ${body}
  scenario Play { from: 2027-01-10   duration: 1 h }
}
`;

// NEC 2023 Chapter 9 Table 8: stranded uncoated copper at 75 °C, 10 AWG 1.24 Ω and 12 AWG 1.98 Ω for 1000 ft.
const TEN = 'size: 10 AWG   length: 100 ft   raceway: pvc';
const TEN_OHMS = 0.124;
const TWELVE = 'size: 12 AWG   length: 50 ft   raceway: pvc';
const TWELVE_OHMS = 0.099;

describe('conductors of alternating current', () => {
  test('lose the square of their current, out and back', async () => {
    const { given, used, lost } = await hourOf(
      shore(
        'voltage: 120 V',
        `load LoadHeater { power: 1440 W   voltage: 120 V   profile: always }
  run Line: Mains -> LoadHeater { ${TEN} }`,
      ),
    );
    expect(used).toBeCloseTo(1440, 6);
    // 12 A.
    expect(given - used).toBeCloseTo(2 * TEN_OHMS * 12 ** 2, 2);
    expect(lost).toBeCloseTo(given - used, 6);
  });

  test('lose by the whole of what they carry where loads share them, at its power factor', async () => {
    const { given, used } = await hourOf(
      shore(
        'voltage: 120 V',
        `bus Panel { rating: 60 A }
  load LoadHeater { power: 960 W   voltage: 120 V   profile: always }
  load LoadFan { power: 240 W   voltage: 120 V   powerFactor: 0.5   profile: always }
  run Feeder: Mains -> Panel { ${TEN} }
  run HeaterLine: Panel -> LoadHeater { ${TWELVE} }
  run FanLine: Panel -> LoadFan { }`,
      ),
    );
    // 8 A and 4 A, which are taken to add: 12 A in the feeder.
    expect(given - used).toBeCloseTo(2 * TEN_OHMS * 12 ** 2 + 2 * TWELVE_OHMS * 8 ** 2, 2);
  });

  test('lose nothing in a return whose lines balance: a split phase, and three phases', async () => {
    const two = (one: string, other: string): string =>
      shore(
        'voltage: 120/240 V',
        `bus Panel { rating: 60 A }
  load LoadOne { power: 1200 W   voltage: 120 V   legs: ${one}   profile: always }
  load LoadTwo { power: 1200 W   voltage: 120 V   legs: ${other}   profile: always }
  run Feeder: Mains -> Panel { ${TEN} }
  run OneLine: Panel -> LoadOne { }
  run TwoLine: Panel -> LoadTwo { }`,
      );
    const balanced = await hourOf(two('L1', 'L2'));
    expect(balanced.given - balanced.used).toBeCloseTo(2 * TEN_OHMS * 10 ** 2, 2);
    const oneSided = await hourOf(two('L1', 'L1'));
    expect(oneSided.given - oneSided.used).toBeCloseTo(2 * TEN_OHMS * 20 ** 2, 2);
    const three = await hourOf(
      shore(
        'voltage: three 208 V',
        `load LoadOven { power: 3600 W   voltage: three 208 V   profile: always }
  run Line: Mains -> LoadOven { ${TEN} }`,
      ),
    );
    const amperes = 3600 / (Math.sqrt(3) * 208);
    expect(three.given - three.used).toBeCloseTo(3 * TEN_OHMS * amperes ** 2, 1);
  });

  test('say what they are taken as, and that a run without size and length loses nothing', async () => {
    const line = (cable: string): string =>
      shore(
        'voltage: 120 V',
        `load LoadHeater { power: 1440 W   voltage: 120 V   profile: always }
  run Line: Mains -> LoadHeater { ${cable} }`,
      );
    const stated = await hourOf(line(TEN));
    expect(stated.assumptions).toContain('alternating-current conductors lose as warm as 75 °C');
    expect(stated.assumptions).not.toContain('lose nothing');
    const unstated = await hourOf(line(''));
    expect(unstated.given - unstated.used).toBeCloseTo(0, 9);
    expect(unstated.assumptions).toContain('are not counted: no run states its size and length');
  });
});

const station = (cord: string, line: string, more = ''): string => `
design Station {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 400 Ah   resistance: 2 mohm   cellTemperature: 25 degC }
  charger Rect { currentLimit: 80 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98   input: 180..264 V }
  inverter Inv { rated: 2 kW   apparent: 2 kVA   voltage: 230 V   efficiency: 90 %   idle: 10 W   cutOff: 23 V   reconnect: 25.5 V }
  load LoadHouse { power: 920 W   voltage: 230 V   profile: always }
  run Cord: Genset -> Rect.ac {${cord}}
  run Charge: Rect.dc -> Bank { }
  run Feed: Bank -> Inv.dc { }
  run Line: Inv.ac -> LoadHouse {${line}}
  ${more}
  control Start of Genset { start when soc(Bank) < 90 %   stop when soc(Bank) > 99 % }
  scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): 50 % }
}
`;
const LONG = 'size: 2.5 mm2   length: 60 m';

describe('conductors behind inverters and before chargers', () => {
  test('take from the bank what they lose behind an inverter', async () => {
    const without = (await resultOf(station('', ''))).totals[0]!;
    const withLine = (await resultOf(station('', LONG))).totals[0]!;
    // IEC 60228 class 1 or 2, 2.5 mm²: 7.41 mΩ/m at 20 °C, warm at 75 °C 1.216 times as much. 4 A out and back.
    const lost = 2 * 60 * 7.41e-3 * 1.216 * 4 ** 2 * 3600;
    const more = withLine.balance.lost - without.balance.lost;
    // A little more is lost in the inverter, which gives it.
    expect(more / lost).toBeGreaterThan(0.98);
    expect(more / lost).toBeLessThan(1.25);
    expect(withLine.balance.stored).toBeLessThan(without.balance.stored);
  });

  test('take from a set what the cord of a charger loses', async () => {
    const without = (await resultOf(station('', ''))).totals[0]!;
    const withCord = (await resultOf(station(LONG, ''))).totals[0]!;
    const given = without.energy.get('Genset')!;
    const amperes = given / without.runTime.get('Genset')! / (230 * 0.98);
    const lost = 2 * 60 * 7.41e-3 * 1.216 * amperes ** 2 * without.runTime.get('Genset')!;
    expect((withCord.energy.get('Genset')! - given) / lost).toBeGreaterThan(0.98);
    expect((withCord.energy.get('Genset')! - given) / lost).toBeLessThan(1.05);
    expect(withCord.fuel.get('Genset')!).toBeGreaterThan(without.fuel.get('Genset')!);
    // The bank takes the same.
    expect(withCord.balance.stored / without.balance.stored).toBeCloseTo(1, 6);
  });

  test('lose together where a load shares the cord of a charger', async () => {
    const shared = (own: string): string =>
      station(
        '',
        '',
        `bus Deck { rating: 40 A }\n  load LoadKettle { power: 1150 W   voltage: 230 V   profile: always }\n  run KettleLine: Deck -> LoadKettle { }`,
      ).replace(
        'run Cord: Genset -> Rect.ac {}',
        `run Cord: Genset -> Deck { ${own} }\n  run Tail: Deck -> Rect.ac { }`,
      );
    const without = (await resultOf(shared(''))).totals[0]!;
    const withCord = (await resultOf(shared(LONG))).totals[0]!;
    const given = without.energy.get('Genset')!;
    const time = without.runTime.get('Genset')!;
    // The load at 5 A; the charger takes the rest.
    const amperes = 5 + (given / time - 1150) / (230 * 0.98);
    const lost = 2 * 60 * 7.41e-3 * 1.216 * amperes ** 2 * time;
    expect((withCord.energy.get('Genset')! - given) / lost).toBeGreaterThan(0.97);
    expect((withCord.energy.get('Genset')! - given) / lost).toBeLessThan(1.05);
  });
});
