import { describe, expect, it } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

const set = (facts: string, site = ''): string => `design D {
  ${site}
  generator Genset { ${facts} }
  load Heat { power: 1 kW }
  run Cord: Genset -> Heat
}
`;

// Runs state no size here: what conductors lose has tests of its own (`conductor-losses.test.ts`).
describe('usable power of a generating set', () => {
  it('is its running power where nothing is said of the site, and says what it took for granted', async () => {
    const power = await derivationOf(set('rated: 5 kW   voltage: 230 V'), 'Genset', 'usablePower');
    expect(power.value).toMatchObject({ value: 5000 });
    const altitude = power.parts['altitudeFactor']!.inputs[0]!;
    expect(altitude.origin).toBe('default');
  });

  // 3.5 % for each 1000 ft (305 m) and 1 % for each 10 °F (5.6 K) above 77 °F: home standby set owner's manual.
  it('loses 3.5 % for each 305 m and 1 % for each 5.6 K above 25 °C', async () => {
    const text = set('rated: 10 kW   voltage: 230 V', 'site { altitude: 1525 m   ambient: -10..36.2 degC }');
    // 10 kW · (1 − 5 · 0.035) · (1 − 2 · 0.01) = 8.085 kW
    expect(await valueOf(text, 'Genset', 'usablePower', 'kW')).toBeCloseTo(8.085, 6);
  });

  it('takes the losses the set states itself, by altitude and by temperature', async () => {
    const text = set(
      'rated: 10 kW   voltage: 230 V   altitudeDerate: 3 %   temperatureDerate: 2 %',
      'site { altitude: 1525 m   ambient: 36.2 degC }',
    );
    // 10 kW · (1 − 5 · 0.03) · (1 − 2 · 0.02) = 8.16 kW
    expect(await valueOf(text, 'Genset', 'usablePower', 'kW')).toBeCloseTo(8.16, 6);
  });

  it('counts the fuel only where the rating is for another one', async () => {
    // Propane gives 90 % of the petrol rating (common practice, no source).
    const rated = 'rated: 10 kW   voltage: 230 V   fuel: propane';
    expect(await valueOf(set(rated), 'Genset', 'usablePower', 'kW')).toBeCloseTo(10, 9);
    expect(await valueOf(set(`${rated}   ratedFuel: petrol`), 'Genset', 'usablePower', 'kW')).toBeCloseTo(9, 9);
    expect(await valueOf(set(`${rated}   ratedFuel: propane`), 'Genset', 'usablePower', 'kW')).toBeCloseTo(10, 9);
    // From natural gas (80 %) to propane (90 %) nothing is gained beyond the rating.
    expect(await valueOf(set(`${rated}   ratedFuel: naturalGas`), 'Genset', 'usablePower', 'kW')).toBeCloseTo(10, 9);
  });

  it('comes from apparent power and power factor where only those are stated', async () => {
    expect(
      await valueOf(set('apparent: 20 kVA   powerFactor: 0.8   voltage: three 400 V'), 'Genset', 'usablePower', 'kW'),
    ).toBeCloseTo(16, 9);
    expect(await valueOf(set('apparent: 20 kVA   voltage: 230 V'), 'Genset', 'usablePower', 'kW')).toBe(
      'missing rated of Genset',
    );
  });
});

describe('clean power of a generating set', () => {
  it('is 60 % of site power for a conventional alternator and all of it for an inverter type', async () => {
    const site = 'site { altitude: 305 m }';
    // 10 kW · 0.965 · 0.6
    expect(await valueOf(set('rated: 10 kW   waveform: conventional', site), 'Genset', 'cleanPower', 'kW')).toBeCloseTo(
      5.79,
      6,
    );
    expect(await valueOf(set('rated: 10 kW   waveform: inverter', site), 'Genset', 'cleanPower', 'kW')).toBeCloseTo(
      9.65,
      6,
    );
    expect(
      await valueOf(set('rated: 10 kW   waveform: conventional   cleanShare: 75 %'), 'Genset', 'cleanPower', 'kW'),
    ).toBeCloseTo(7.5, 9);
    expect(await valueOf(set('rated: 10 kW'), 'Genset', 'cleanPower', 'kW')).toBe(
      'missing waveform or cleanShare of Genset',
    );
  });
});

describe('rated current and apparent power', () => {
  it('takes 0.8 for three-phase sets and 1 for others when no power factor is stated', async () => {
    const three = set('rated: 16 kW   voltage: three 400 V');
    expect(await valueOf(three, 'Genset', 'apparentRating', 'kVA')).toBeCloseTo(20, 9);
    // 20 kVA / (√3 · 400 V)
    expect(await valueOf(three, 'Genset', 'ratedCurrent', 'A')).toBeCloseTo(28.868, 3);
    const split = set('rated: 7.2 kW   voltage: 120/240 V');
    expect(await valueOf(split, 'Genset', 'apparentRating', 'kVA')).toBeCloseTo(7.2, 9);
    expect(await valueOf(split, 'Genset', 'ratedCurrent', 'A')).toBeCloseTo(30, 9);
    expect(
      await valueOf(set('rated: 5 kW   apparent: 6 kVA   voltage: 230 V'), 'Genset', 'ratedCurrent', 'A'),
    ).toBeCloseTo(6000 / 230, 9);
    expect(await valueOf(set('rated: 5 kW'), 'Genset', 'apparentRating', 'kVA')).toBe('missing voltage of Genset');
  });
});

describe('demand on a source', () => {
  // Rule of an off-grid dealer's page, checked by hand: 2 chargers of 60 A at 54.4 V with 93 % and 0.98 are 7.02 kW and 7.16 kVA,
  // with 87 % and 0.65 they are 7.50 kW and 11.5 kVA.
  const two = (facts: string): string => `design D {
  generator Genset { rated: 12 kW   voltage: 120/240 V }
  bus Panel {}
  charger A { input: 200..264 V   currentLimit: 60 A   absorb: 54.4 V   ${facts} }
  charger B { input: 200..264 V   currentLimit: 60 A   absorb: 54.4 V   ${facts} }
  battery Bank : Lfp48V280Ah
  bus Dc {}
  run In: Genset -> Panel
  run InA: Panel -> A.ac
  run InB: Panel -> B.ac
  run OutA: A.dc -> Dc
  run OutB: B.dc -> Dc
  run Feed: Bank -> Dc
}
`;

  it('counts efficiency and power factor of corrected chargers', async () => {
    const text = two('efficiency: 93 %   powerFactor: 0.98');
    expect(await valueOf(text, 'Genset', 'powerDemand', 'kW')).toBeCloseTo(7.019, 3);
    expect(await valueOf(text, 'Genset', 'apparentDemand', 'kVA')).toBeCloseTo(7.163, 3);
    // On each leg at nominal 240 V.
    expect(await valueOf(text, 'Genset', 'legDemand', 'A')).toBeCloseTo(29.84, 2);
  });

  it('counts the poor power factor of uncorrected chargers, stated or by class', async () => {
    const stated = two('efficiency: 87 %   powerFactor: 0.65');
    expect(await valueOf(stated, 'Genset', 'apparentDemand', 'kVA')).toBeCloseTo(11.544, 3);
    expect(await valueOf(stated, 'Genset', 'legDemand', 'A')).toBeCloseTo(48.1, 1);
    const byClass = two('efficiency: 87 %   powerFactorCorrection: no');
    expect(await valueOf(byClass, 'Genset', 'apparentDemand', 'kVA')).toBeCloseTo(11.544, 3);
    expect(await valueOf(two('efficiency: 87 %'), 'Genset', 'apparentDemand', 'kVA')).toBe(
      'missing powerFactor of A, powerFactor of B',
    );
  });

  const passing = (facts: string, loads: string): string => `design D {
  generator Genset { rated: 3 kW   voltage: 120 V }
  inverter Inv {
    rated: 3 kW   voltage: 120 V   passThrough: yes   efficiency: 90 %   chargeEfficiency: 90 %   powerFactor: 1   input: 95..135 V
    currentLimit: 100 A   absorb: 14.4 V   ${facts}
  }
  battery Bank : Lfp12V200Ah
  bus Panel {}
  ${loads}
  run Cord: Genset -> Inv.input
  run Feed: Bank -> Inv.dc
  run Out: Inv.ac -> Panel
}
`;
  const kettle = 'load Kettle { power: 1.2 kW }\n  run Line: Panel -> Kettle';

  it('adds loads that an inverter passes through to what its charger takes', async () => {
    // 100 A · 14.4 V / 0.9 = 1600 W, and 1200 W passed through.
    expect(await valueOf(passing('', kettle), 'Genset', 'powerDemand', 'W')).toBeCloseTo(2800, 6);
    expect(await valueOf(passing('', kettle), 'Genset', 'legDemand', 'A')).toBeCloseTo(2800 / 120, 6);
  });

  it('lets an input limit bound loads and charging together', async () => {
    // 15 A · 120 V = 1800 W, of which the kettle takes 1200 W: charging gets 600 W.
    expect(await valueOf(passing('inputLimit: 15 A', kettle), 'Genset', 'powerDemand', 'W')).toBeCloseTo(1800, 6);
    expect(await valueOf(passing('inputLimit: 15 A', kettle), 'Genset', 'legDemand', 'A')).toBeCloseTo(15, 6);
    // The run to the inverter carries no more either.
    expect(await valueOf(passing('inputLimit: 15 A', kettle), 'Cord', 'current', 'A')).toBeCloseTo(15, 6);
  });

  it('does not let an input limit turn away the loads themselves', async () => {
    // The kettle alone takes 10 A of a limit of 5 A: nothing is left for charging, the kettle runs all the same.
    expect(await valueOf(passing('inputLimit: 5 A', kettle), 'Genset', 'powerDemand', 'W')).toBeCloseTo(1200, 6);
    // Without loads it is the limit alone.
    expect(await valueOf(passing('inputLimit: 5 A', ''), 'Genset', 'powerDemand', 'W')).toBeCloseTo(600, 6);
  });

  it('takes the most loaded leg of a split-phase set', async () => {
    const text = `design D {
  generator Genset { rated: 6 kW   voltage: 120/240 V }
  bus Panel {}
  load Heater { power: 2.4 kW   voltage: 120 V   legs: L2 }
  load Pump { power: 1.2 kW   voltage: 240 V }
  load Lamp { power: 0.6 kW   voltage: 120 V }
  run In: Genset -> Panel
  run Lines: Panel -> Heater, Pump, Lamp
}
`;
    // L1: 600/120 + 1200/240 = 10 A; L2: 2400/120 + 1200/240 = 25 A.
    const leg = await derivationOf(text, 'Genset', 'legDemand');
    expect(leg.value).toMatchObject({ value: 25 });
    expect(governingText(leg)).toContain('L2');
  });

  it('spreads a three-phase load over three legs', async () => {
    const text = `design D {
  generator Genset { rated: 16 kW   voltage: three 400 V }
  load Motor { power: 8 kW   powerFactor: 0.8   voltage: three 400 V }
  run In: Genset -> Motor
}
`;
    // 8 kW / 0.8 = 10 kVA; 10 kVA / (√3 · 400 V) = 14.43 A.
    expect(await valueOf(text, 'Genset', 'apparentDemand', 'kVA')).toBeCloseTo(10, 9);
    expect(await valueOf(text, 'Genset', 'legDemand', 'A')).toBeCloseTo(14.434, 3);
  });
});

describe('an array', () => {
  const text = `design D {
  solar Array { power: 400 W   maximumPowerVoltage: 31 V   shortCircuitCurrent: 13.7 A   series: 3   parallel: 2 }
}
`;
  it('gives modules in series and in parallel', async () => {
    expect(await valueOf(text, 'Array', 'arrayPower', 'W')).toBeCloseTo(2400, 9);
    expect(await valueOf(text, 'Array', 'arrayVoltage', 'V')).toBeCloseTo(93, 9);
    // 125 % of the short-circuit current (NEC 690.8(A)(1)).
    expect(await valueOf(text, 'Array', 'arrayCurrent', 'A')).toBeCloseTo(34.25, 9);
  });
});

describe('fuel and time on one tank', () => {
  const burning = (facts: string, load: string): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V   ${facts} }
  load Heat { ${load} }
  run Cord: Genset -> Heat
}
`;

  it('counts loads by their share of the day, and reads burn figures by share or by power on straight lines', async () => {
    // 5 kW half the time: 50 %; between 2 L/h at 25 % and 4 L/h at 75 % are 3 L/h.
    const byShare = burning('tank: 12 L   burn: { 25 %: 2 L/h, 75 %: 4 L/h }', 'power: 5 kW   duty: 50 %');
    expect(await valueOf(byShare, 'Genset', 'meanPower', 'kW')).toBeCloseTo(2.5, 9);
    expect(await valueOf(byShare, 'Genset', 'fuelRate', 'L/h')).toBeCloseTo(3, 9);
    expect(await valueOf(byShare, 'Genset', 'tankTime', 'h')).toBeCloseTo(4, 9);
    const byPower = burning('tank: 12 L   burn: { 1.25 kW: 2 L/h, 3.75 kW: 4 L/h }', 'power: 5 kW   duty: 50 %');
    expect(await valueOf(byPower, 'Genset', 'fuelRate', 'L/h')).toBeCloseTo(3, 9);
  });

  it('reads the chart of the fuel where the set states no burn figures', async () => {
    // Small diesel chart: 8 kW at half load 0.39 gal/h, 1.476 L/h.
    const text = burning('fuel: diesel', 'power: 4 kW   profile: always').replace('5 kW', '8 kW');
    expect(await valueOf(text, 'Genset', 'fuelRate', 'gal/h')).toBeCloseTo(0.39, 6);
    expect(await valueOf(burning('', 'power: 4 kW'), 'Genset', 'fuelRate', 'L/h')).toBe(
      'missing burn or fuel of Genset',
    );
    expect(await valueOf(burning('fuel: diesel', 'power: 6 kW'), 'Genset', 'fuelRate', 'L/h')).toBe(
      'refused Genset is asked for more than its rating',
    );
  });
});

describe('apparent power of an alternator at the site', () => {
  it('keeps its rating up to 1000 m and 40 °C, and loses 3 % for each 500 m and 5 K above (generator sizing procedure)', async () => {
    const at = (site: string): Promise<number | string> =>
      valueOf(
        set('rated: 8 kW   apparent: 10 kVA   voltage: 230 V', `site { ${site} }`),
        'Genset',
        'usableApparent',
        'kVA',
      );
    expect(await at('altitude: 1000 m   ambient: 0..40 degC')).toBeCloseTo(10, 9);
    expect(await at('altitude: 1500 m   ambient: 0..40 degC')).toBeCloseTo(9.7, 9);
    expect(await at('altitude: 2000 m   ambient: 0..50 degC')).toBeCloseTo(10 * 0.94 * 0.94, 9);
  });
});

describe('power while a motor starts', () => {
  const panel = (inverter: string, loads: string): string => `design D {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   ${inverter} }
  bus Panel {}
  run Feed: Bank -> Inv.dc
  run Out: Inv.ac -> Panel
  ${loads}
}
`;
  const load = (name: string, facts: string): string =>
    `load ${name} { ${facts} }\n  run ${name}Line: Panel -> ${name}`;

  it('is what runs and the largest start of one piece on top', async () => {
    const text = panel(
      '',
      `${load('Pump', 'power: 400 W   count: 2   startFactor: 6')}\n  ${load('Saw', 'power: 1 kW   powerFactor: 0.8   startFactor: 3')}`,
    );
    expect(await valueOf(text, 'Inv', 'loadDemand', 'W')).toBeCloseTo(1800, 9);
    // 0.8 kVA and 1.25 kVA
    expect(await valueOf(text, 'Inv', 'loadApparent', 'VA')).toBeCloseTo(2050, 9);
    // 400 W · 5 and 1000 W · 2 are the same 2 kW more.
    expect(await valueOf(text, 'Inv', 'startDemand', 'W')).toBeCloseTo(3800, 9);
    expect(await valueOf(text, 'Saw', 'startApparent', 'VA')).toBeCloseTo(3750, 9);
  });

  it('is looked for over the day', async () => {
    const text = panel(
      '',
      `${load('A', 'power: 1 kW   profile: { 22:00..02:00: 50 % }')}\n  ${load('B', 'power: 2 kW   profile: { 01:00..03:00: 100 % }')}\n  ${load('C', 'power: 2.2 kW   profile: { 12:00..13:00: 100 % }')}`,
    );
    // 01:00: A with all of its power, though its window is only half used, and B.
    const demand = await derivationOf(text, 'Inv', 'loadDemand');
    expect(demand.value).toMatchObject({ value: 3000 });
    expect(governingText(demand)).toContain('at 01:00');
  });
});

/** Minutes after midnight as a time of the day. */
const clockText = (minutes: number): string =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

describe('what a source feeds at once', () => {
  it('is what may run at the same time of the day, chargers always', async () => {
    const text = (hours: string): string => `design D {
  generator Genset { rated: 9 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank : Lfp48V280Ah
  bus Panel {}
  load Oven { power: 3 kW   powerFactor: 0.8   profile: { 18:00..19:00: 100 % } }
  load Kettle { power: 2 kW   profile: { ${hours}: 20 % } }
  load Lamp { power: 100 W }
  run Cord: Genset -> Panel
  run In: Panel -> Rect.ac
  run Out: Rect.dc -> Bank
  run Lines: Panel -> Oven, Kettle, Lamp
}
`;
    // 2.8 kW of the charger and 0.1 kW of the lamp at any time.
    expect(await valueOf(text('18:30..20:00'), 'Genset', 'powerDemand', 'kW')).toBeCloseTo(7.9, 9);
    expect(await valueOf(text('19:00..20:00'), 'Genset', 'powerDemand', 'kW')).toBeCloseTo(5.9, 9);
    expect(governingText(await derivationOf(text('19:00..20:00'), 'Genset', 'powerDemand'))).toContain('at 18:00');
    expect(await valueOf(text('19:00..20:00'), 'Genset', 'apparentDemand', 'kVA')).toBeCloseTo(2.9 + 3.75, 9);
    expect(await valueOf(text('19:00..20:00'), 'Genset', 'legDemand', 'A')).toBeCloseTo(6650 / 230, 9);
    // The mean counts each load by its share of the day, whenever it runs: 3 kW · 1/24 and 2 kW · 0.2/24.
    expect(await valueOf(text('19:00..20:00'), 'Genset', 'meanPower', 'W')).toBeCloseTo(
      2900 + 125 + (2000 * 0.2) / 24,
      6,
    );
  });

  it('counts all loads at once where their windows make too many sets to tell apart', async () => {
    const loads = Array.from(
      { length: 30 },
      (_, index) =>
        `load L${index} { power: 100 W   profile: { ${clockText(index * 40)}..${clockText(index * 40 + 30)}: 100 % } }`,
    );
    const text = `design D {
  generator Genset { rated: 9 kW   voltage: 230 V }
  bus Panel {}
  run Cord: Genset -> Panel
  run Lines: Panel -> ${loads.map((_, index) => `L${index}`).join(', ')}
  ${loads.join('\n  ')}
}
`;
    expect(await valueOf(text, 'Genset', 'powerDemand', 'W')).toBeCloseTo(3000, 6);
  });
});

describe('continuous current of a leg', () => {
  it('leaves out loads that run for less than three hours', async () => {
    const text = `design D {
  grid Shore { voltage: 120/240 V   rating: 50 A }
  bus Panel {}
  load One { power: 1.2 kW   voltage: 120 V   legs: L1 }
  load Two { power: 2.4 kW   voltage: 120 V   legs: L1   continuous: no }
  load Three { power: 1.8 kW   voltage: 120 V   legs: L2 }
  run Cord: Shore -> Panel
  run Lines: Panel -> One, Two, Three
}
`;
    expect(await valueOf(text, 'Shore', 'legDemand', 'A')).toBeCloseTo(30, 9);
    expect(await valueOf(text, 'Shore', 'continuousLegDemand', 'A')).toBeCloseTo(15, 9);
  });
});
