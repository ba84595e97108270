import { describe, expect, it } from 'vitest';
import { type Analysis, type QuantityName, type Result, numberIn } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/** A quantity of a run or instance by name, as a number in `unit`, or what kept it from being known. */
function valueOf(analysis: Analysis, name: string, quantity: QuantityName, unit: string): number | string {
  const { system, context } = analysis.designs[0]!;
  const thing = [...system.runs, ...system.instances].find((each) => each.name === name)!;
  const result: Result = context.quantity(thing, quantity);
  if (result.kind === 'known') return numberIn(result.derivation, unit);
  return result.kind === 'missing' ? `missing ${result.missing.join(', ')}` : `refused ${result.reason}`;
}

const amperes = async (text: string, name: string, quantity: QuantityName = 'current'): Promise<number | string> =>
  valueOf(await analyseText(text), name, quantity, 'A');

const inverter = (facts: string, cells: string): string => `design D {
  battery Bank { ${cells} }
  inverter Inv { ${facts} }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 2 m }
}
`;

describe('design current of a direct-current run', () => {
  // Course blog on wire sizing between inverter and battery: 2500 W at 22 V and 85 % is 134 A, 167 A with 125 %.
  it('is P/(η·Umin) for an inverter, and 125 % of it is asked under the NEC', async () => {
    const text = inverter('rated: 2.5 kW   efficiency: 85 %   cutOff: 22 V', 'voltage: 24 V');
    expect(await amperes(text, 'Feed')).toBeCloseTo(133.7, 1);
    expect(await amperes(text, 'Feed', 'requiredAmpacity')).toBeCloseTo(167.1, 1);
  });

  // Charge-controller maker's manual: 4000 W at 22 V and 85 % is 214 A.
  it('takes the low end of the window where no cut-off is set', async () => {
    expect(
      await amperes(inverter('rated: 4 kW   efficiency: 85 %   dcVoltage: 22..32 V', 'voltage: 24 V'), 'Feed'),
    ).toBeCloseTo(213.9, 1);
  });

  // Off-grid forum: five modules of 3 A in parallel ask 23.4 A (1.25 · 1.25 · 15 A = 23.44 A).
  it('counts 125 % of the short-circuit current of an array, and 125 % of that again as continuous', async () => {
    const text = `design D {
  solar Array { shortCircuitCurrent: 3 A   parallel: 5 }
  chargeController Tracker { maximumCurrent: 30 A }
  run Line: Array -> Tracker.solar { size: 12 AWG   length: 5 m }
}
`;
    expect(await amperes(text, 'Line')).toBeCloseTo(18.75, 6);
    expect(await amperes(text, 'Line', 'requiredAmpacity')).toBeCloseTo(23.4375, 6);
  });

  const bus = `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 200..250 V   currentLimit: 60 A   absorb: 28 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc   minimumVoltage: 20 V }
  load Winch { power: 1 kW   supply: dc   minimumVoltage: 20 V   continuous: no }
  run Ac: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Charge: Rect.dc -> Bar { size: 6 AWG   length: 2 m }
  run Main: Bank -> Bar { size: 2 AWG   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 12 AWG   length: 5 m }
  run ToWinch: Bar -> Winch { size: 6 AWG   length: 5 m }
}
`;
  it('is the larger of what the loads draw and what the chargers give, over all states', async () => {
    const analysis = await analyseText(bus);
    // Loads at 20 V: 200 W / 20 V = 10 A and 1000 W / 20 V = 50 A.
    expect(valueOf(analysis, 'ToLamps', 'current', 'A')).toBeCloseTo(10, 6);
    expect(valueOf(analysis, 'ToWinch', 'current', 'A')).toBeCloseTo(50, 6);
    expect(valueOf(analysis, 'Charge', 'current', 'A')).toBeCloseTo(60, 6);
    expect(valueOf(analysis, 'Main', 'current', 'A')).toBeCloseTo(60, 6);
  });

  it('leaves loads that say they are short out of the continuous part', async () => {
    const analysis = await analyseText(bus);
    expect(valueOf(analysis, 'ToWinch', 'continuousCurrent', 'A')).toBe(0);
    expect(valueOf(analysis, 'ToWinch', 'requiredAmpacity', 'A')).toBeCloseTo(50, 6);
    expect(valueOf(analysis, 'ToLamps', 'requiredAmpacity', 'A')).toBeCloseTo(12.5, 6);
  });

  it('asks no 125 % where the breaker is listed for 100 % of its rating (NEC 215.2(A)(1), exception)', async () => {
    const text = inverter('rated: 2 kW   efficiency: 80 %   cutOff: 25 V', 'voltage: 25.6 V')
      .replace('run Feed: Bank -> ', 'breaker Main { rating: 125 A   fullRating: yes }\n  run Feed: Bank -> Main -> ')
      .replace('length: 2 m', 'length: 2 m');
    expect(await amperes(text, 'Feed', 'requiredAmpacity')).toBeCloseTo(100, 6);
  });

  it('counts what branches off at gear in its path', async () => {
    const text = `design D {
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  fuse Main { rating: 100 A }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc   minimumVoltage: 20 V }
  load Winch { power: 1 kW   supply: dc   minimumVoltage: 20 V }
  run Feed: Bank -> Main -> Bar { size: 2 AWG   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 12 AWG   length: 5 m }
  run ToWinch: Main -> Winch { size: 6 AWG   length: 5 m }
}
`;
    const analysis = await analyseText(text);
    expect(valueOf(analysis, 'Feed', 'current', 'A')).toBeCloseTo(60, 6);
    expect(valueOf(analysis, 'ToWinch', 'current', 'A')).toBeCloseTo(50, 6);
  });

  it('takes a load behind a converter at the output of the converter', async () => {
    const text = `design D {
  battery Bank { voltage: 48 V   protectionLow: 40 V }
  converter Down { input: 36..60 V   output: 12 V   currentLimit: 20 A   efficiency: 80 % }
  load Lamps { power: 120 W   supply: dc   minimumVoltage: 12 V }
  run In: Bank -> Down.in { size: 12 AWG   length: 1 m }
  run Out: Down.out -> Lamps { size: 12 AWG   length: 5 m }
}
`;
    const analysis = await analyseText(text);
    expect(valueOf(analysis, 'Out', 'current', 'A')).toBeCloseTo(10, 6);
    // 20 A · 12 V / (80 % · 36 V): the converter at its limit and lowest input voltage.
    expect(valueOf(analysis, 'In', 'current', 'A')).toBeCloseTo(8.333, 3);
  });

  it('is shared by resistance where two paths join the same ends', async () => {
    const loop = `design D {
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc   minimumVoltage: 20 V }
  run One: Bank -> Bar { size: 2 AWG   length: 1 m }
  run Two: Bank -> Bar { size: 2 AWG   length: 2 m }
  run ToLamps: Bar -> Lamps { size: 12 AWG   length: 5 m }
}
`;
    const analysis = await analyseText(loop);
    // 1 m against 2 m of one size: two thirds and one third.
    expect(valueOf(analysis, 'One', 'current', 'A')).toBeCloseTo(20 / 3, 6);
    expect(valueOf(analysis, 'Two', 'current', 'A')).toBeCloseTo(10 / 3, 6);
    expect(valueOf(analysis, 'ToLamps', 'current', 'A')).toBeCloseTo(10, 6);
  });
});

describe('design current of an alternating-current run', () => {
  const split = (loads: string, runs: string): string => `design D {
  inverter Inv { rated: 6 kW   voltage: 120/240 V   efficiency: 92 %   dcVoltage: 44..60 V }
  battery Bank { voltage: 51.2 V }
  bus Panel {}
  ${loads}
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 2 m }
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 4 m }
  ${runs}
}
`;
  it('is that of the most loaded leg of a split-phase supply', async () => {
    const analysis = await analyseText(
      split(
        `load Oven { power: 2.4 kW   voltage: 240 V }
  load Pump { power: 1.2 kW   voltage: 120 V   legs: L1   powerFactor: 0.8 }
  load Lamps { power: 600 W   voltage: 120 V   legs: L2 }`,
        `run ToOven: Panel -> Oven { size: 12 AWG   length: 5 m }
  run ToPump: Panel -> Pump { size: 12 AWG   length: 5 m }
  run ToLamps: Panel -> Lamps { size: 12 AWG   length: 5 m }`,
      ),
    );
    // 2400/240 = 10 A on both legs; 1200/(120 · 0.8) = 12.5 A on L1; 600/120 = 5 A on L2.
    expect(valueOf(analysis, 'Out', 'current', 'A')).toBeCloseTo(22.5, 6);
    expect(valueOf(analysis, 'ToPump', 'current', 'A')).toBeCloseTo(12.5, 6);
    expect(valueOf(analysis, 'ToPump', 'nominalVoltage', 'V')).toBeCloseTo(120, 6);
    expect(valueOf(analysis, 'ToOven', 'nominalVoltage', 'V')).toBeCloseTo(240, 6);
  });

  it('of a charger is taken at highest charge voltage and lowest supply voltage', async () => {
    const text = `design D {
  generator Genset { rated: 7 kW   voltage: 240 V   tolerance: 5 % }
  charger Rect { input: 180..264 V   currentLimit: 80 A   absorb: 56 V   efficiency: 92 %   powerFactor: 0.98 }
  battery Bank { voltage: 51.2 V }
  run Cord: Genset -> Rect.ac { size: 10 AWG   length: 10 m }
  run Charge: Rect.dc -> Bank { size: 2 AWG   length: 2 m }
}
`;
    // 80 A · 56 V / 92 % / 0.98 / (0.95 · 240 V) = 21.79 A.
    expect(await amperes(text, 'Cord')).toBeCloseTo(21.79, 2);
  });

  it('counts what a passing inverter hands on, and its own charger', async () => {
    const text = `design D {
  grid Shore { voltage: 120 V   rating: 30 A   tolerance: 0 % }
  inverter Inv {
    rated: 3 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 21..30 V   passThrough: yes   currentLimit: 50 A
    absorb: 28.8 V   chargeEfficiency: 90 %   powerFactor: 1
  }
  battery Bank { voltage: 25.6 V }
  load Heater { power: 1.2 kW }
  run Cord: Shore -> Inv.input { size: 10 AWG   length: 8 m }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 2 m }
  run Out: Inv.ac -> Heater { size: 12 AWG   length: 8 m }
}
`;
    const analysis = await analyseText(text);
    // 1200/120 = 10 A passed through; 50 A · 28.8 V / 90 % / 120 V = 13.33 A for the charger.
    expect(valueOf(analysis, 'Cord', 'current', 'A')).toBeCloseTo(23.33, 2);
    expect(valueOf(analysis, 'Out', 'current', 'A')).toBeCloseTo(10, 6);
    // 3000 W / (90 % · 21 V) = 158.7 A out of the bank, more than 50 A into it.
    expect(valueOf(analysis, 'Feed', 'current', 'A')).toBeCloseTo(158.7, 1);
  });
});

describe('ampacity of a run', () => {
  const run = (basis: string, facts: string, gear = ''): string => `design D {
  basis: ${basis}
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  bus Bar { ${gear} }
  load Lamps { power: 200 W   supply: dc   minimumVoltage: 20 V }
  run Feed: Bank -> Bar { ${facts} }
  run ToLamps: Bar -> Lamps { size: 12 AWG   length: 5 m }
}
`;
  it('is limited by the lowest terminals at its ends, whoever states them', async () => {
    // NEC Table 310.16, 2 AWG copper: 130 A at 90 °C, 115 A at 75 °C, 95 A at 60 °C.
    // 110.14(C): unmarked terminals of a circuit up to 1 AWG count as 60 °C, of larger ones as 75 °C.
    expect(await amperes(run('nec', 'size: 2 AWG'), 'Feed', 'ampacity')).toBe(95);
    expect(await amperes(run('nec', 'size: 2/0 AWG'), 'Feed', 'ampacity')).toBe(175);
    expect(await amperes(run('nec', 'size: 2 AWG   terminals: 75 degC'), 'Feed', 'ampacity')).toBe(115);
    expect(await amperes(run('nec', 'size: 2 AWG', 'terminals: 60 degC'), 'Feed', 'ampacity')).toBe(95);
    expect(await amperes(run('nec', 'size: 2 AWG   terminals: 90 degC'), 'Feed', 'ampacity')).toBe(130);
  });

  it('of conductors in parallel multiplies the terminal limit too', async () => {
    const analysis = await analyseText(run('nec', 'size: 2/0 AWG   parallel: 2   conductors: 2'));
    const { system, context } = analysis.designs[0]!;
    const result = context.quantity(system.runs[0]!, 'ampacity');
    expect(result.kind).toBe('known');
    if (result.kind !== 'known') return;
    // NEC Table 310.16, 2/0 AWG copper: 195 A at 90 °C, 175 A at 75 °C; two of them.
    expect(numberIn(result.derivation, 'A')).toBe(350);
    expect(numberIn(result.derivation.parts.terminalLimit!, 'A')).toBe(350);
    expect(numberIn(result.derivation.parts.uncorrected!, 'A')).toBe(390);
  });

  it('aboard is not reduced for bundles below 50 V (Coast Guard guideline)', async () => {
    // 33 CFR 183.425 Table 5, 6 AWG, 105 °C: 120 A.
    expect(await amperes(run('craft', 'size: 6 AWG   insulation: 105 degC   conductors: 6'), 'Feed', 'ampacity')).toBe(
      120,
    );
  });
});

describe('the highest voltage of a bank', () => {
  it('counts alternators and converters that charge it', async () => {
    const text = `design D {
  battery Start { voltage: 12 V   chemistry: agm }
  alternator Engine { currentLimit: 50 A   voltage: 14.0..14.6 V }
  run Feed: Engine -> Start { size: 4 AWG   length: 1 m }
}
`;
    expect(valueOf(await analyseText(text), 'Start', 'highestVoltage', 'V')).toBeCloseTo(14.6, 6);
  });
});
