import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { type TestedFinding, afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'shared-neutral';

const findings = async (text: string): Promise<TestedFinding[]> => findingsOf(await analyseText(text), ID);

interface Cabin {
  readonly inverter?: string;
  readonly left?: string;
  readonly right?: string;
  readonly circuit?: string;
  readonly basis?: string;
  readonly size?: string;
}

const cabin = ({
  inverter = '120 V',
  left = 'power: 1.8 kW   legs: L1',
  right = 'power: 1.2 kW   legs: L2',
  circuit = 'legs: L1, L2',
  basis = 'nec 2023',
  size = '12 AWG',
}: Cabin): string => `design Cabin {
  basis: ${basis}
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 4 kW   voltage: ${inverter}   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: 20 A   poles: 2 }
  load Left { ${left} }
  load Right { ${right} }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 6 AWG   length: 3 m }
  run Circuit: Panel -> B1 -> Left, Right { size: ${size}   length: 12 m   terminals: 75 degC   ${circuit} }
}
`;

describe('a neutral shared by two legs on one line', () => {
  it('carries the sum: 15 A and 10 A are 25 A', async () => {
    const [finding, ...rest] = await findings(cabin({}));
    expect(rest).toEqual([]);
    // 1800 W / 120 V = 15 A, 1200 W / 120 V = 10 A; NEC Table 310.16, 12 AWG at 75 °C: 25 A, so the neutral is just not above it.
    expect(lacking(finding!.told, 'add up in the neutral to 25 A')).toEqual([]);
    expect(lacking(finding!.told, 'NEC 2023 710.15(C)')).toEqual([]);
    expect(finding!.told).not.toContain('more than');
  });

  it('above its ampacity says so', async () => {
    const [finding] = await findings(cabin({ left: 'power: 2.4 kW   legs: L1' }));
    expect(lacking(finding!.told, '30 A, more than the 25 A it may carry')).toEqual([]);
  });

  it('is right on a split-phase supply, which the fix takes', async () => {
    expect(await findings(cabin({ inverter: '120/240 V' }))).toEqual([]);
    const [finding] = await findings(cabin({}));
    expect(await afterFix(cabin({}), ID, finding!.fixes![0]!)).toEqual({ left: [], fresh: [] });
  });

  // Supplies of 100 V to 130 V are those that houses with two legs are jumpered to: forbidden by itself, whatever the neutral carries.
  it('is forbidden from 100 V to 130 V', async () => {
    const small = (inverter: string) =>
      findings(cabin({ inverter, left: 'power: 300 W   legs: L1', right: 'power: 300 W   legs: L2', size: '6 AWG' }));
    const [lowest] = await small('100 V');
    expect(lowest?.fixes[0]?.title).toContain('100/200 V');
    expect(await small('130 V')).toHaveLength(1);
    expect(await small('99 V')).toEqual([]);
    expect(await small('131 V')).toEqual([]);
  });

  it('is none where one load stands on a line and another between two', async () => {
    const text = cabin({ circuit: '', right: 'power: 1.2 kW   legs: L1, L2' });
    expect(await findings(text)).toEqual([]);
  });

  it('is found by the legs of the loads too', async () => {
    expect(await findings(cabin({ circuit: '' }))).toHaveLength(1);
  });

  it('is no matter where both loads stand on one leg', async () => {
    expect(
      await findings(cabin({ circuit: '', left: 'power: 1.8 kW   legs: L1', right: 'power: 1.2 kW   legs: L1' })),
    ).toEqual([]);
  });

  // 33 CFR 183.425 Table 5, 8 AWG: far below 140 A in every column; 9.6 kW and 7.2 kW are 80 A and 60 A.
  it('outside the NEC is told where the neutral is overloaded', async () => {
    const craft = { basis: 'craft', size: '8 AWG' };
    expect(await findings(cabin(craft))).toEqual([]);
    const [finding] = await findings(
      cabin({ ...craft, left: 'power: 9.6 kW   legs: L1', right: 'power: 7.2 kW   legs: L2' }),
    );
    expect(lacking(finding?.told, /140 A, more than the \d+ A it may carry/)).toEqual([]);
  });

  // The inverter of 4 kW gives 33.3 A, the two devices together pass 40 A.
  it('or where what the devices or the source let into it is more', async () => {
    const iec = (rated: string, breaker: string): string =>
      cabin({ basis: 'iec', size: '4 mm2', circuit: 'legs: L1, L2   type: H07V-U   method: B1   ambient: 30 degC' })
        .replace('rated: 4 kW', `rated: ${rated}`)
        .replace('rating: 20 A', `rating: ${breaker}`);
    // IEC 60364-5-52 Table B.52.4, method B1, 4 mm²: 32 A; 32 A at 120 V are 3840 W, two devices of 16 A pass 32 A.
    expect(await findings(iec('3840 W', '20 A'))).toEqual([]);
    expect(await findings(iec('3850 W', '16 A'))).toEqual([]);
    const [finding, ...others] = await findings(iec('3850 W', '20 A'));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, /let 32\.1 A into its neutral, which may carry 32 A/)).toEqual([]);
  });

  it('asks for the size, the load or the device that it rests on', async () => {
    const craft = (more: Cabin): Cabin => ({ basis: 'craft', size: '8 AWG', ...more });
    const asked = async (text: string): Promise<string[]> => askedBy(await analyseText(text), ID);
    expect(await asked(cabin(craft({})))).toEqual([]);
    expect(await asked(cabin(craft({})).replace(/size: 8 AWG {3}length: 12 m/, 'length: 12 m'))).toEqual([
      'size of Circuit',
    ]);
    expect(await asked(cabin(craft({ left: 'legs: L1' })))).toEqual(['power of Left']);
  });

  it('under the NEC is told whatever the loads are', async () => {
    expect(await findings(cabin({ left: 'legs: L1' }))).toHaveLength(1);
  });
});

describe('a circuit of three phases on an inverter of one', () => {
  // IEC 60364-5-52 Table B.52.4, method C, 2.5 mm² with two loaded: 27 A; three times 2.3 kW are 30 A, three times 2 kW 26.1 A.
  const barn = (watts: number, breaker = 10, more = ''): string => `design Barn {
  basis: iec
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 8 kW   voltage: 230 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: ${breaker} A   poles: 3 }
  load A { power: ${watts} W   legs: L1 }
  load B { power: ${watts} W   legs: L2 }
  load C { power: ${watts} W   legs: L3 }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 10 mm2   length: 3 m }
  run Circuit: Panel -> B1 -> A, B, C { size: 2.5 mm2   type: H07V-U   method: C   ambient: 30 degC   length: 12 m   ${more} }
}
`;
  it('carries the sum of all three in its neutral', async () => {
    const [finding, ...others] = await findings(barn(2300));
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'L1 and L2 and L3')).toEqual([]);
    expect(finding?.fixes ?? []).toEqual([]);
  });

  it('must not get more by its devices either', async () => {
    expect(await findings(barn(500, 9))).toEqual([]);
    expect(await findings(barn(500, 10))).toHaveLength(1);
  });

  it('is no such circuit where one load or a line-to-line one hangs on it', async () => {
    const one = barn(2300).replace('-> A, B, C', '-> A').replace('12 m', '12 m   legs: L1, L2');
    expect(await findings(one)).toEqual([]);
    const between = barn(2300).replace('-> A, B, C', '-> A').replace('W   legs: L1 }', 'W   legs: L1, L2 }');
    expect(await findings(between)).toEqual([]);
  });
});

describe('two supplies of one line', () => {
  // 3000 W are 25 A at 120 V and 27.3 A at 110 V.
  it.each(['normal', 'standby'])('is told by the one on which the neutral carries more, here %s', async (weak) => {
    const strong = weak === 'normal' ? 'standby' : 'normal';
    const text = cabin({ inverter: '110 V' })
      .replace(
        'bus Panel {}',
        'bus Panel {}\n  grid Shore { voltage: 120 V   rating: 30 A   neutralBond: bonded }\n  transfer Ats { switches: phases-and-neutral }',
      )
      .replace(
        'run Out: Inv.ac -> Panel {',
        `run In: Shore -> Ats.${strong} { size: 10 AWG   length: 5 m }\n  run Back: Inv.ac -> Ats.${weak} { size: 6 AWG   length: 2 m }\n  run Out: Ats.out -> Panel {`,
      );
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(numberIn(finding!.numbers.neutral!, 'A')).toBeCloseTo(3000 / 110, 6);
  });
});

describe('a supply that is split phase in one state and single in another', () => {
  it('is told in the state in which it has one line', async () => {
    const text = cabin({ inverter: '120/240 V' })
      .replace(
        'bus Panel {}',
        'bus Panel {}\n  grid Shore { voltage: 120 V   rating: 30 A   neutralBond: bonded }\n  transfer Ats { switches: phases-and-neutral }',
      )
      .replace(
        'run Out: Inv.ac -> Panel {',
        'run In: Shore -> Ats.normal { size: 10 AWG   length: 5 m }\n  run Back: Inv.ac -> Ats.standby { size: 6 AWG   length: 2 m }\n  run Out: Ats.out -> Panel {',
      );
    const [finding, ...rest] = await findings(text);
    expect(rest).toEqual([]);
    expect(lacking(finding!.told, /^With Shore connected, Shore gives one 120 V line/)).toEqual([]);
  });
});

describe('which state speaks for a neutral', () => {
  it('is that in which it carries most', async () => {
    // 1800 W and 1200 W: 25 A together at 120 V, 27.3 A at 110 V.
    const text = (mains: number, set: number): string => `design Cabin {
  basis: nec 2023
  grid Mains { voltage: ${mains} V   rating: 40 A   neutralBond: bonded }
  generator Genset { rated: 5 kW   voltage: ${set} V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 40 A }
  breaker B1 { rating: 20 A   poles: 2 }
  load Left { power: 1.8 kW   voltage: 100..130 V   legs: L1 }
  load Right { power: 1.2 kW   voltage: 100..130 V   legs: L2 }
  run FromMains: Mains -> Ats.normal { size: 8 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 3 m }
  run Circuit: Ats.out -> B1 -> Left, Right { size: 10 AWG   length: 12 m   terminals: 75 degC   legs: L1, L2 }
}
`;
    for (const [mains, set] of [
      [120, 110],
      [110, 120],
    ] as const) {
      const [finding, ...others] = await findings(text(mains, set));
      expect(others).toEqual([]);
      expect(numberIn(finding!.numbers.neutral!, 'A')).toBeCloseTo(3000 / 110, 6);
    }
  });

  it('asks for the rating of the source where no device stands before it', async () => {
    const text = (rating: string): string => `design Cabin {
  basis: craft
  grid Shore { voltage: 120 V   ${rating}   neutralBond: bonded }
  load Left { power: 300 W   legs: L1 }
  load Right { power: 300 W   legs: L2 }
  run Circuit: Shore -> Left, Right { size: 8 AWG   length: 12 m   terminals: 75 degC   legs: L1, L2 }
}
`;
    expect(askedBy(await analyseText(text('')), ID)).toEqual(['rating of Shore']);
    expect(askedBy(await analyseText(text('rating: 30 A')), ID)).toEqual([]);
  });
});
