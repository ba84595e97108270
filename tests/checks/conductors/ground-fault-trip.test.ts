import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'ground-fault-trip';
const house = (mains: string, set: string, gear: string, line = '', device = ''): string => `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   ${mains} }
  generator Genset { rated: 7 kW   voltage: 120/240 V   ${set} }
  transfer Ats { rating: 100 A   ${gear} }
  ${device}
  load Stove { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> ${line}Ats.standby { size: 8 AWG   length: 8 m }
  run Line: Ats.out -> Stove { size: 10 AWG   length: 10 m }
}
`;
const findings = async (...texts: Parameters<typeof house>) => findingsOf(await analyseText(house(...texts)), ID);

describe(ID, () => {
  // NEC 445.20 (2017) and 702.11 (from memory): a bonded portable set with ground-fault receptacles trips behind gear that leaves the
  // neutral joined to a bonded service; a floating set behind it, or gear that switches the neutral, does not.
  it('finds a bonded set with ground-fault receptacles behind gear that leaves the neutral joined', async () => {
    const text = house('neutralBond: bonded', 'neutralBond: bonded   groundFault: yes', 'switches: phases');
    const [finding, ...others] = findingsOf(await analyseText(text), ID);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'With Genset running')).toEqual([]);
    expect(lacking(finding?.told, 'at Genset and at Mains')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Let Ats switch the neutral too',
      'Float the neutral of Genset (only where its maker allows it)',
    ]);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it.each([
    [
      'gear that switches the neutral',
      'neutralBond: bonded',
      'neutralBond: bonded   groundFault: yes',
      'switches: phases-and-neutral',
    ],
    ['a floating set', 'neutralBond: bonded', 'neutralBond: floating   groundFault: yes', 'switches: phases'],
    ['a set without such receptacles', 'neutralBond: bonded', 'neutralBond: bonded', 'switches: phases'],
  ])('passes %s', async (_name, mains, set, gear) => {
    expect(await findings(mains, set, gear)).toEqual([]);
  });

  it('looks at a breaker or receptacle in the path in the same way', async () => {
    const breaker = 'breaker Residual { rating: 30 A   poles: 2   groundFault: yes }';
    const bonded = ['neutralBond: bonded', 'neutralBond: bonded', 'switches: phases'] as const;
    expect((await findings(...bonded, 'Residual -> ', breaker))[0]?.subject).toBe('House.Residual');
    expect(
      await findings('neutralBond: bonded', 'neutralBond: floating', 'switches: phases', 'Residual -> ', breaker),
    ).toEqual([]);
    const receptacle = 'receptacle Residual { plug: L14-30   groundFault: yes }';
    expect((await findings(...bonded, 'Residual -> ', receptacle))[0]?.subject).toBe('House.Residual');
  });

  it('asks for the bonds that decide', async () => {
    const asked = async (...texts: Parameters<typeof house>) => askedBy(await analyseText(house(...texts)), ID);
    expect(await asked('neutralBond: bonded', 'groundFault: yes', 'switches: phases')).toEqual([
      'neutralBond of Genset',
    ]);
    expect(await asked('neutralBond: bonded', 'neutralBond: bonded   groundFault: yes', '')).toEqual([
      'switches of Ats',
    ]);
    expect(await asked('neutralBond: bonded', '', 'switches: phases')).toEqual([]);
  });

  it('sees the bond of an inverter that stays while a supply passes through', async () => {
    const camp = (bond: string): string => `design Camp {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded   groundFault: yes }
  inverter Inv { rated: 5 kW   voltage: 230 V   passThrough: yes   neutralBond: ${bond} }
  battery Bank : Lfp48V280Ah
  load House { power: 2 kW }
  run Cord: Genset -> Inv.input { size: 4 mm2   length: 10 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Out: Inv.ac -> House { size: 4 mm2   length: 2 m }
}
`;
    expect(findingsOf(await analyseText(camp('bonded')), ID)).toHaveLength(1);
    expect(findingsOf(await analyseText(camp('switched')), ID)).toEqual([]);
  });
});
