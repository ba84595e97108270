import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { bankShare } from '../../../language/src/quantities/storage/bank-group.js';
import { analyseText } from '../../helpers/analyse.js';
import { derivationOf, resultOf, valueOf } from '../../helpers/quantities.js';

/** NEC Chapter 9 Table 8: 2 AWG stranded copper, 0.194 ohm per 1000 ft at 75 °C. */
const OHMS_2_AWG = 0.194 / 304.8;
/** The same table: 6 AWG, 0.491 ohm; 12 AWG stranded, 1.98 ohm. */
const OHMS_6_AWG = 0.491 / 304.8;
const OHMS_12_AWG = 1.98 / 304.8;

/** Volts at a constant power behind a resistance. */
const behind = (emf: number, ohms: number, watts: number): number =>
  emf / 2 + Math.sqrt((emf * emf) / 4 - watts * ohms);

/** Share of the current of its bus that a bank takes. */
async function shareIn(text: string, name: string): Promise<number> {
  const { system, context } = (await analyseText(text)).designs[0]!;
  const share = bankShare(
    system.instances.find((each) => each.name === name)!,
    context,
  );
  return share.kind === 'known' ? numberIn(share.derivation, '') : NaN;
}

describe('paths in parallel', () => {
  const paths = (more = ''): string => `design D {
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc   minimumVoltage: 20 V }
  run One: Bank -> Bar { size: 2 AWG   length: 1 m }
  run Two: Bank -> Bar { size: 2 AWG   length: 3 m }
  run ToLamps: Bar -> Lamps { ${more} }
}
`;
  it('share the current by 1/R: 10 A over 1 m and 3 m of one size are 7.5 A and 2.5 A', async () => {
    const text = paths('size: 12 AWG   length: 5 m');
    expect(await valueOf(text, 'One', 'current', 'A')).toBeCloseTo(7.5, 9);
    expect(await valueOf(text, 'Two', 'current', 'A')).toBeCloseTo(2.5, 9);
    expect(await valueOf(text, 'ToLamps', 'current', 'A')).toBeCloseTo(10, 9);
  });

  it('do not wait for the length of a run that changes nothing about the shares', async () => {
    expect(await valueOf(paths('size: 12 AWG'), 'One', 'current', 'A')).toBeCloseTo(7.5, 9);
  });

  it('ask for the facts of each other', async () => {
    const text = paths('length: 5 m').replace('length: 3 m', '');
    expect(await resultOf(text, 'One', 'current')).toEqual({ kind: 'missing', missing: ['length of Two'] });
  });

  it('of a bridge carry what Kirchhoff’s laws say, in either direction', async () => {
    // Bank to A 1 m and to B 3 m, bridge A-B 1 m, 60 A drawn at B (1.2 kW at 20 V). The way over A is 2 m against 3 m.
    const text = `design D {
  battery Bank { voltage: 24 V   protectionLow: 20 V }
  bus A {}
  bus B {}
  load Winch { power: 1.2 kW   supply: dc   minimumVoltage: 20 V }
  run ToA: Bank -> A { size: 2 AWG   length: 1 m }
  run ToB: Bank -> B { size: 2 AWG   length: 3 m }
  run Bridge: B -> A { size: 2 AWG   length: 1 m }
  run ToWinch: B -> Winch { size: 2 AWG   length: 1 m }
}
`;
    expect(await valueOf(text, 'Bridge', 'current', 'A')).toBeCloseTo(36, 8);
    expect(await valueOf(text, 'ToA', 'current', 'A')).toBeCloseTo(36, 8);
    expect(await valueOf(text, 'ToB', 'current', 'A')).toBeCloseTo(24, 8);
  });
});

describe('two banks with leads of unequal length', () => {
  const banks = (resistance: string): string => `design D {
  battery Left { voltage: 24 V   protectionLow: 20 V   ${resistance} }
  battery Right { voltage: 24 V   protectionLow: 20 V   ${resistance} }
  bus Bar {}
  load Winch { power: 2 kW   supply: dc   minimumVoltage: 20 V }
  run LeftLead: Left -> Bar { size: 2 AWG   length: 1 m }
  run RightLead: Right -> Bar { size: 2 AWG   length: 5 m }
  run ToWinch: Bar -> Winch { size: 1/0 AWG   length: 2 m }
}
`;
  it('share by the sum of inner resistance and lead', async () => {
    const left = 4e-3 + 2 * OHMS_2_AWG;
    const right = 4e-3 + 10 * OHMS_2_AWG;
    const text = banks('resistance: 4 mohm');
    // 2 kW at 20 V is 100 A, and each may have to carry all of it: one bank is empty before the other, or its protection opens.
    const alone = await derivationOf(text, 'LeftLead', 'current');
    expect(numberIn(alone, 'A')).toBeCloseTo(100, 3);
    expect(alone.notes.join('; ')).toContain('with Right out');
    expect(await valueOf(text, 'RightLead', 'current', 'A')).toBeCloseTo(100, 3);
    // While both are there they share.
    const shares = await Promise.all(['Left', 'Right'].map((bank) => shareIn(text, bank)));
    expect(shares[0]).toBeCloseTo(right / (left + right), 9);
    expect(shares[1]).toBeCloseTo(left / (left + right), 9);
  });

  it('cannot be judged without their resistance', async () => {
    const result = await resultOf(banks(''), 'LeftLead', 'current');
    expect(result).toEqual({ kind: 'missing', missing: ['resistance of Left', 'resistance of Right'] });
  });
});

describe('voltages of a direct-current network', () => {
  // One load of constant power P behind a total resistance R: U = E/2 + √(E²/4 − P·R).
  const one = (power: string, length = '5 m'): string => `design D {
  battery Bank { voltage: 24 V   protectionLow: 20 V   resistance: 5..10 mohm }
  load Winch { power: ${power}   supply: dc }
  run Feed: Bank -> Winch { size: 6 AWG   length: ${length} }
}
`;
  it('follow from constant power behind the bank and both conductors', async () => {
    const ohms = 10e-3 + 10 * OHMS_6_AWG;
    const volts = behind(24, ohms, 600);
    expect(await valueOf(one('600 W'), 'Winch', 'terminalVoltage', 'V')).toBeCloseTo(volts, 4);
    expect(await valueOf(one('600 W'), 'Feed', 'voltageAtEnd', 'V')).toBeCloseTo(volts, 4);
    const { drop } = (await derivationOf(one('600 W'), 'Winch', 'terminalVoltage')).parts;
    expect((drop!.value as { value: number }).value).toBeCloseTo((600 / volts) * 10 * OHMS_6_AWG, 4);
  });

  it('of a ladder fall from rung to rung', async () => {
    const text = `design D {
  battery Bank { voltage: 48 V   protectionLow: 40 V   resistance: 0 mohm }
  bus A {}
  bus B {}
  load Near { power: 480 W   supply: dc   minimumVoltage: 40 V }
  load Far { power: 240 W   supply: dc   minimumVoltage: 40 V }
  run First: Bank -> A { size: 6 AWG   length: 10 m }
  run Second: A -> B { size: 6 AWG   length: 10 m }
  run ToNear: A -> Near { size: 6 AWG   length: 0 m }
  run ToFar: B -> Far { size: 6 AWG   length: 0 m }
}
`;
    // Iterated by hand: U_A = 48 − R·(480/U_A + 240/U_B), U_B = U_A − R·240/U_B.
    const ohms = 20 * OHMS_6_AWG;
    let [a, b] = [48, 48];
    for (let step = 0; step < 100; step += 1) {
      a = 48 - ohms * (480 / a + 240 / b);
      b = a - (ohms * 240) / b;
    }
    expect(await valueOf(text, 'First', 'voltageAtEnd', 'V')).toBeCloseTo(a, 4);
    expect(await valueOf(text, 'Far', 'terminalVoltage', 'V')).toBeCloseTo(b, 4);
  });

  it('say where it collapses when a load asks for more than E²/4R', async () => {
    const ohms = 10e-3 + 10 * OHMS_6_AWG;
    const most = (24 * 24) / 4 / ohms;
    const [under, over] = [Math.floor(most * 0.99), Math.ceil(most * 1.01)];
    expect(await valueOf(one(`${under} W`), 'Winch', 'terminalVoltage', 'V')).toBeCloseTo(behind(24, ohms, under), 2);
    const result = await resultOf(one(`${over} W`), 'Winch', 'terminalVoltage');
    expect(result.kind === 'refused' && result.reason).toMatch(/no steady state .* at Winch$/);
  });

  it('of an inverter sag further at surge', async () => {
    const text = `design D {
  battery Bank { voltage: 48 V   resistance: 10 mohm }
  inverter Inv { rated: 2 kW   surge: 4 kW   efficiency: 80 %   dcVoltage: 40..60 V   voltage: 230 V }
  run Feed: Bank -> Inv.dc { size: 2 AWG   length: 2 m }
}
`;
    const ohms = 10e-3 + 4 * OHMS_2_AWG;
    expect(await valueOf(text, 'Inv', 'terminalVoltage', 'V')).toBeCloseTo(behind(48, ohms, 2500), 3);
    expect(await valueOf(text, 'Inv', 'surgeVoltage', 'V')).toBeCloseTo(behind(48, ohms, 5000), 3);
  });

  it('need the place of gear at which something branches off', async () => {
    const text = (at: string): string => `design D {
  battery Bank { voltage: 24 V   resistance: 10 mohm }
  fuse Main { rating: 100 A }
  load Lamps { power: 200 W   supply: dc }
  load Winch { power: 600 W   supply: dc }
  run Feed: Bank -> Main ${at} -> Winch { size: 6 AWG   length: 5 m }
  run ToLamps: Main -> Lamps { size: 12 AWG   length: 5 m }
}
`;
    const result = await resultOf(text(''), 'Winch', 'terminalVoltage');
    expect(result).toEqual({ kind: 'missing', missing: ['distance of Main in Feed'] });
    expect(await valueOf(text('@ 1 m'), 'Winch', 'terminalVoltage', 'V')).toBeGreaterThan(20);
  });
});

describe('alternating current', () => {
  const split = (left: string, right: string): string => `design D {
  grid Mains { voltage: 120/240 V   rating: 100 A   tolerance: 0 % }
  bus Panel {}
  load Left { power: ${left}   voltage: 120 V   legs: L1 }
  load Right { power: ${right}   voltage: 120 V   legs: L2 }
  run Feed: Mains -> Panel { size: 6 AWG   length: 30 m }
  run ToLeft: Panel -> Left { size: 12 AWG   length: 0 m }
  run ToRight: Panel -> Right { size: 12 AWG   length: 0 m }
}
`;
  it('of a balanced split phase leaves the neutral without current', async () => {
    expect(await valueOf(split('1.2 kW', '1.2 kW'), 'Feed', 'neutralCurrent', 'A')).toBeCloseTo(0, 6);
  });

  it('returns through the neutral what the legs do not share, and lifts the lightly loaded leg', async () => {
    const text = split('2.4 kW', '600 W');
    const neutral = await derivationOf(text, 'Feed', 'neutralCurrent');
    const leg = (name: string): number => (neutral.parts[name]!.value as { value: number }).value;
    const current = await valueOf(text, 'Feed', 'neutralCurrent', 'A');
    // Loads of power factor 1 with hardly any angle between the legs: I_N = I_L1 − I_L2 within a few mA.
    expect(current).toBeCloseTo(leg('L1') - leg('L2'), 1);
    expect(leg('L1')).toBeGreaterThan(20);
    // Resistances alone: U_1 = 120 − R·I_1 − R·(I_1 − I_2), U_2 = 120 − R·I_2 + R·(I_1 − I_2); reactance (0.064 ohm/kft) shifts 0.02 V.
    const ohms = 30 * OHMS_6_AWG;
    let [one, two] = [120, 120];
    for (let step = 0; step < 100; step += 1) {
      const [i1, i2] = [2400 / one, 600 / two];
      [one, two] = [120 - ohms * (2 * i1 - i2), 120 - ohms * (2 * i2 - i1)];
    }
    expect(await valueOf(text, 'Left', 'terminalVoltage', 'V')).toBeCloseTo(one, 1);
    expect(await valueOf(text, 'Right', 'terminalVoltage', 'V')).toBeCloseTo(two, 1);
    expect(two).toBeGreaterThan(one);
  });

  it('of a single phase brings all of it back through the neutral', async () => {
    const text = `design D {
  grid Mains { voltage: 120 V   rating: 100 A   tolerance: 0 % }
  load Heater { power: 1.2 kW }
  run Feed: Mains -> Heater { size: 12 AWG   length: 20 m }
}
`;
    const ohms = 40 * OHMS_12_AWG;
    const volts = 60 + Math.sqrt(3600 - 1200 * ohms);
    expect(await valueOf(text, 'Heater', 'terminalVoltage', 'V')).toBeCloseTo(volts, 2);
    expect(await valueOf(text, 'Feed', 'neutralCurrent', 'A')).toBeCloseTo(1200 / volts, 2);
  });

  it('of three balanced phases leaves the neutral free and drops √3·R·I between lines', async () => {
    const text = `design D {
  basis: iec
  grid Mains { voltage: three 400 V   rating: 63 A   tolerance: 0 % }
  load Mill { power: 12 kW   voltage: three 400 V   legs: L1, L2, L3 }
  run Feed: Mains -> Mill { size: 6 mm2   length: 50 m }
}
`;
    expect(await valueOf(text, 'Feed', 'neutralCurrent', 'A')).toBeCloseTo(0, 6);
    // IEC 60228 class 2, 6 mm2: 3.08 ohm/km at 20 °C, 1.2162 times that at 75 °C; IEC 60364-5-52 G: 0.08 mohm/m.
    const r = 50 * 3.08e-3 * (1 + 0.00393 * 55);
    const x = 50 * 0.08e-3;
    let phase = 400 / Math.sqrt(3);
    for (let step = 0; step < 100; step += 1) {
      const current = 4000 / phase;
      phase = Math.sqrt((400 / Math.sqrt(3)) ** 2 - (current * x) ** 2) - current * r;
    }
    expect(await valueOf(text, 'Mill', 'terminalVoltage', 'V')).toBeCloseTo(phase * Math.sqrt(3), 1);
  });

  it('in two cables side by side is shared by their impedance', async () => {
    const text = `design D {
  grid Mains { voltage: 120 V   rating: 100 A   tolerance: 0 % }
  bus Panel {}
  load Heater { power: 2.4 kW }
  run One: Mains -> Panel { size: 6 AWG   length: 10 m }
  run Two: Mains -> Panel { size: 6 AWG   length: 30 m }
  run Out: Panel -> Heater { size: 12 AWG   length: 0 m }
}
`;
    const one = await valueOf(text, 'One', 'current', 'A');
    const two = await valueOf(text, 'Two', 'current', 'A');
    expect((one as number) / (two as number)).toBeCloseTo(3, 6);
    expect((one as number) + (two as number)).toBeCloseTo(20.2, 0);
  });

  it('is not worked out where two sources feed one bus', async () => {
    const text = `design D {
  grid Mains { voltage: 120 V   rating: 100 A }
  generator Genset { voltage: 120 V   rated: 3 kW }
  bus Panel {}
  load Heater { power: 1.2 kW }
  run One: Mains -> Panel { size: 6 AWG   length: 10 m }
  run Two: Genset -> Panel { size: 6 AWG   length: 10 m }
  run Out: Panel -> Heater { size: 12 AWG   length: 1 m }
}
`;
    const result = await resultOf(text, 'Heater', 'terminalVoltage');
    expect(result.kind === 'refused' && result.reason).toMatch(/how they share is open/);
  });
});

describe('voltages of every state and of things that conduct', () => {
  const house = `design House {
  grid Mains { voltage: 230 V   tolerance: 0 %   rating: 63 A }
  generator Genset { rated: 9 kW   voltage: 230 V   tolerance: 10 % }
  transfer Ats { switches: phases   rating: 63 A }
  bus Panel { rating: 63 A }
  load Oven { power: 2.3 kW }
  run FromMains: Mains -> Ats.normal { size: 6 AWG   length: 0 m }
  run FromSet: Genset -> Ats.standby { size: 6 AWG   length: 0 m }
  run Feed: Ats.out -> Panel { size: 6 AWG   length: 10 m }
  run Line: Panel -> Oven { size: 12 AWG   length: 0 m }
}
`;

  it('stand beside the lowest, by the name of the state', async () => {
    const derivation = await derivationOf(house, 'Oven', 'terminalVoltage');
    const { parts } = derivation;
    // 10 A over 10 m of 6 AWG out and back lose 0.32 V of 230 V, and a little more of the 207 V of the set.
    const drop = 20 * OHMS_6_AWG;
    expect(numberIn(parts['Mains']!, 'V')).toBeCloseTo(behind(230, drop, 2300), 2);
    expect(numberIn(parts['Genset']!, 'V')).toBeCloseTo(behind(207, drop, 2300), 2);
    expect(numberIn(derivation, 'V')).toBeCloseTo(numberIn(parts['Genset']!, 'V'), 9);
    expect(parts['battery']).toBeUndefined();
  });

  it('are known at panels and gear too', async () => {
    const oven = await valueOf(house, 'Oven', 'terminalVoltage', 'V');
    expect(await valueOf(house, 'Panel', 'terminalVoltage', 'V')).toBeCloseTo(oven as number, 9);
    expect(await valueOf(house, 'Ats', 'terminalVoltage', 'V')).toBeCloseTo(207, 6);
  });

  it('of a split-phase panel are that of the more loaded leg, with the neutral that its unbalance drags along', async () => {
    const text = `design House {
  grid Mains { voltage: 120/240 V   tolerance: 0 %   rating: 60 A }
  bus Panel { rating: 60 A }
  load Left { power: 1200 W   legs: L1 }
  run Feed: Mains -> Panel { size: 6 AWG   length: 10 m }
  run Line: Panel -> Left { size: 12 AWG   length: 0 m }
}
`;
    // Out over L1 and back over the neutral.
    expect(await valueOf(text, 'Panel', 'terminalVoltage', 'V')).toBeCloseTo(behind(120, 20 * OHMS_6_AWG, 1200), 2);
    // The same load on both legs: the neutral carries nothing, and only L1 loses.
    const balanced = text.replace(
      '  run Line',
      '  load Right { power: 1200 W   legs: L2 }\n  run Other: Panel -> Right { size: 12 AWG   length: 0 m }\n  run Line',
    );
    expect(await valueOf(balanced, 'Panel', 'terminalVoltage', 'V')).toBeCloseTo(behind(120, 10 * OHMS_6_AWG, 1200), 2);
  });
});

describe('a direct-current motor that starts', () => {
  const van = (factor: string): string => `design Van {
  battery Bank { voltage: 12 V   protectionLow: 10 V   resistance: 10 mohm }
  bus Bar {}
  load Winch { power: 240 W   supply: dc   ${factor} }
  load Lamps { power: 0 W   supply: dc }
  run Feed: Bank -> Bar { size: 6 AWG   length: 1 m }
  run Line: Bar -> Winch { size: 6 AWG   length: 2 m }
  run Other: Bar -> Lamps { size: 12 AWG   length: 1 m }
}
`;

  it('drags its terminals down by its starting current, not by constant power', async () => {
    // 5 · 240 W / 12 V = 100 A over 10 mohm and 3 m out and back.
    const expected = 12 - 100 * (10e-3 + 6 * OHMS_6_AWG);
    expect(await valueOf(van('startFactor: 5'), 'Winch', 'surgeVoltage', 'V')).toBeCloseTo(expected, 6);
  });

  it('needs its starting factor, and is no quantity of alternating current', async () => {
    expect(await valueOf(van(''), 'Winch', 'surgeVoltage', 'V')).toBe('missing startFactor of Winch');
    const ac = `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  load Pump { power: 500 W   startFactor: 5 }
  run Line: Mains -> Pump { size: 2.5 mm2   length: 5 m }
}
`;
    expect(await valueOf(ac, 'Pump', 'surgeVoltage', 'V')).toContain('starts on alternating current');
  });
});
