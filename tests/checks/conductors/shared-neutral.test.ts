import { describe, expect, it } from 'vitest';
import { type TestedFinding, afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

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

  it('is found by the legs of the loads too', async () => {
    expect(await findings(cabin({ circuit: '' }))).toHaveLength(1);
  });

  it('is no matter where both loads stand on one leg', async () => {
    expect(
      await findings(cabin({ circuit: '', left: 'power: 1.8 kW   legs: L1', right: 'power: 1.2 kW   legs: L1' })),
    ).toEqual([]);
  });

  it('outside the NEC is told only where the neutral is overloaded', async () => {
    const craft = { basis: 'craft', size: '8 AWG' };
    expect(await findings(cabin(craft))).toEqual([]);
    // 33 CFR 183.425 Table 5, 8 AWG: far below 140 A in every column; 9.6 kW and 7.2 kW are 80 A and 60 A.
    const [finding] = await findings(
      cabin({ ...craft, left: 'power: 9.6 kW   legs: L1', right: 'power: 7.2 kW   legs: L2' }),
    );
    expect(lacking(finding?.told, /140 A, more than the \d+ A it may carry/)).toEqual([]);
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
