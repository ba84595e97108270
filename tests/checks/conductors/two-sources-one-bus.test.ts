import { describe, expect, it } from 'vitest';
import { twoSourcesOneBus } from '../../../language/src/checks/conductors/two-sources-one-bus.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'two-sources-one-bus';
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

const cabin = (gear: string): string => `design Cabin {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  bus Panel { rating: 40 A }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  ${gear}
}
`;
const joined = `run FromSet: Genset -> Panel { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Panel { size: 6 mm2   length: 2 m }`;
const switched = (facts: string): string => `transfer Ats { switches: phases-and-neutral   rating: 40 A   ${facts} }
  run FromSet: Genset -> Ats.normal { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Ats.standby { size: 6 mm2   length: 2 m }
  run ToPanel: Ats.out -> Panel { size: 6 mm2   length: 2 m }`;

describe(ID, () => {
  it('finds a set and an inverter on one bus, once, and not the backfeed of the same pair', async () => {
    const [finding, ...others] = await findings(cabin(joined));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('Cabin.Panel');
    expect(lacking(finding?.told, 'Genset and Inv can feed Panel at the same time (with Genset running)')).toEqual([]);
  });

  it('passes them behind transfer gear with an interlock, and finds gear without one', async () => {
    expect(await findings(cabin(switched('')))).toEqual([]);
    const text = cabin(switched('interlock: no'));
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('Cabin.Ats');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Give Ats an interlock']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('passes a supply that an inverter passes through', async () => {
    const text = cabin(`run Cord: Genset -> Inv.input { size: 6 mm2   length: 8 m }
  run Out: Inv.ac -> Panel { size: 6 mm2   length: 2 m }`).replace(
      'rated: 5 kW   voltage: 230 V   neutralBond: bonded }\n  bus',
      'rated: 5 kW   voltage: 230 V   passThrough: yes   neutralBond: switched }\n  bus',
    );
    expect(await findings(text)).toEqual([]);
  });

  it('finds a set plugged into a house whose main switch is left closed', async () => {
    const text = `design House {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: floating }
  bus Panel {}
  load Lamp { power: 100 W }
  run Service: Mains -> Panel { size: 16 mm2   length: 5 m }
  run Cord: Genset -> Panel { size: 4 mm2   length: 5 m }
  run Line: Panel -> Lamp { size: 1.5 mm2   length: 5 m }
}
`;
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'Mains and Genset can feed Panel at the same time')).toEqual([]);
  });

  it('finds an inverter that feeds back into a set that is off, though the two never meet', async () => {
    // A bypass from the set to the panel, left closed beside the inverter that passes the set through: while the set runs, only the set
    // feeds the panel; with the battery alone, the inverter makes its outlet live.
    const text = cabin(`bus Input {}
  run Cord: Genset -> Input { size: 6 mm2   length: 8 m }
  run ToInv: Input -> Inv.input { size: 6 mm2   length: 1 m }
  run Bypass: Input -> Panel { size: 6 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 6 mm2   length: 2 m }`).replace(
      'inverter Inv { rated: 5 kW',
      'inverter Inv { passThrough: yes   rated: 5 kW',
    );
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('Cabin.Genset');
    expect(lacking(finding?.told, 'With battery alone, Inv feeds back into Genset while it is off')).toEqual([]);
  });

  it('finds an inverter on the load side of transfer gear that makes the dead mains live', async () => {
    // With the mains on, the inverter passes them through and only the mains feed the panel; in an outage it inverts, the gear still stands
    // on its normal side, and the service drop is live.
    const house = (inverterTo: string): string => `design House {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 6 kW   voltage: 120/240 V   neutralBond: floating }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120/240 V   passThrough: yes   neutralBond: floating }
  transfer Ats { switches: phases   rating: 100 A }
  bus Main {}
  bus Panel {}
  run Service: Mains -> Main { size: 2 AWG   length: 8 m }
  run ToInv: Main -> Inv.input { size: 6 AWG   length: 2 m }
  run ToAts: Main -> Ats.normal { size: 2 AWG   length: 2 m }
  run FromSet: Genset -> Ats.standby { size: 10 AWG   length: 9 m }
  run ToPanel: Ats.out -> Panel { size: 2 AWG   length: 2 m }
  run FromInv: Inv.ac -> ${inverterTo} { size: 6 AWG   length: 2 m }
  run Feed: Bank -> Inv.dc { size: 4/0 AWG   length: 1 m }
}
`;
    const told = (await findings(house('Panel'))).map(({ subject, headline, why }) => [
      subject,
      headline,
      why?.split(':')[0],
    ]);
    expect(told).toContainEqual(['House.Mains', 'Inv feeds back into Mains while it is off', 'with battery alone']);
    expect(told).toContainEqual(['House.Ats', 'Inv and Genset can feed Ats at the same time', 'with Genset running']);
    expect(told).toHaveLength(2);
    // A panel of the inverter's own is not behind the gear.
    const apart = house('Own').replace('bus Main {}', 'bus Main {}   bus Own {}');
    expect(await findings(apart)).toEqual([]);
  });

  it('finds backfeed through two pieces of transfer gear in series', async () => {
    const text = `design House {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   passThrough: yes   neutralBond: floating }
  transfer First { switches: phases-and-neutral   rating: 63 A }
  transfer Second { switches: phases-and-neutral   rating: 63 A }
  bus Main {}
  bus Panel {}
  run Service: Mains -> Main { size: 16 mm2   length: 5 m }
  run ToInv: Main -> Inv.input { size: 6 mm2   length: 2 m }
  run ToFirst: Main -> First.normal { size: 16 mm2   length: 2 m }
  run ToSecond: First.out -> Second.normal { size: 16 mm2   length: 2 m }
  run ToPanel: Second.out -> Panel { size: 16 mm2   length: 2 m }
  run Out: Inv.ac -> Panel { size: 6 mm2   length: 2 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`;
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'Inv feeds back into Mains while it is off')).toEqual([]);
  });

  it('finds an inverter that feeds back into a shore cord', async () => {
    // No transfer gear: while the cord is out its pins are live. In the state with shore both meet, which is the same mistake.
    const text = `design Boat {
  grid Shore { voltage: 230 V   rating: 16 A   neutralBond: bonded   outlet: IEC-60309-16 }
  inverter Inv { rated: 2 kW   voltage: 230 V   neutralBond: floating }
  battery Bank : Lfp12V200Ah
  bus Panel {}
  run Cord: Shore -> Panel { size: 2.5 mm2   length: 10 m }
  run Out: Inv.ac -> Panel { size: 2.5 mm2   length: 1 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`;
    expect(await findings(text)).toHaveLength(1);
  });

  it('tells three sources on one bus as one mistake', async () => {
    const text = cabin(`${joined}
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: floating }
  run Service: Mains -> Panel { size: 16 mm2   length: 5 m }`);
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'Genset')).toEqual([]);
    expect(lacking(finding?.told, 'Mains')).toEqual([]);
    expect(lacking(finding?.told, 'Inv')).toEqual([]);
  });

  const two = (first: string, second: string, rest = ''): string => `design Camp {
  battery Bank : Lfp24V200Ah
  bus Dc {}
  bus Panel {}
  inverter One { rated: 2 kW   voltage: 120 V   neutralBond: floating   ${first} }
  inverter Two { rated: 2 kW   voltage: 120 V   neutralBond: floating   ${second} }
  run Feed: Bank -> Dc { size: 2/0 AWG   length: 1 m }
  run FeedOne: Dc -> One.dc { size: 2/0 AWG   length: 1 m }
  run FeedTwo: Dc -> Two.dc { size: 2/0 AWG   length: 1 m }
  run OutOne: One.ac -> Panel { size: 10 AWG   length: 1 m }
  run OutTwo: Two.ac -> Panel { size: 10 AWG   length: 1 m }
  ${rest}
}
`;

  it('asks whether inverters keep in step, and takes a link or legs of their own for an answer', async () => {
    const open = await analyseText(two('', ''));
    expect(findingsOf(open, ID)).toEqual([]);
    expect(askedBy(open, ID)).toEqual(['a link that keeps One and Two in step, or the legs of each']);
    // Polar camp: two inverters stacked on the legs of a split-phase panel.
    expect(askedBy(await analyseText(two('legs: L1', 'legs: L2')), ID)).toEqual([]);
    expect(askedBy(await analyseText(two('legs: L1', 'legs: L1')), ID)).toHaveLength(1);
    expect(askedBy(await analyseText(two('', '', 'link Sync: One -> Two { medium: can }')), ID)).toEqual([]);
  });

  it('names the rule of the basis alone', async () => {
    const iec = (await findings(cabin(joined).replace('design Cabin {', 'design Cabin {\n  basis: iec')))[0]!.told;
    expect(iec).toContain('IEC 60364-5-55 551.6');
    expect(iec).not.toContain('NEC');
    expect(
      (await findings(cabin(joined).replace('design Cabin {', 'design Cabin {\n  basis: nec 2023')))[0]!.told,
    ).toContain('NEC 702.5');
  });

  it('speaks only where there is more than one source', async () => {
    const analysis = await analyseText(`design D {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  load Lamp { power: 100 W }
  run Cord: Genset -> Lamp { size: 2.5 mm2   length: 8 m }
}
`);
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual([]);
  });

  it('tells each pair that meets in a state of its own', async () => {
    const text = `design House {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: floating }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V }
  transfer Ats { switches: phases   rating: 63 A }
  bus Panel {}
  load Lamp { power: 100 W }
  run FromMains: Mains -> Ats.normal { size: 16 mm2   length: 5 m }
  run FromSet: Genset -> Ats.standby { size: 6 mm2   length: 5 m }
  run ToPanel: Ats.out -> Panel { size: 16 mm2   length: 1 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run FromInv: Inv.ac -> Panel { size: 6 mm2   length: 1 m }
  run Line: Panel -> Lamp { size: 1.5 mm2   length: 5 m }
}
`;
    const met = (await findings(text)).filter(({ headline }) => headline.includes('at the same time'));
    expect(met.map(({ headline }) => headline.split(' can ')[0]).sort()).toEqual(['Inv and Genset', 'Inv and Mains']);
  });

  it('passes sources that are kept apart, and says nothing of one alone', async () => {
    const verdicts = async (text: string): Promise<string[]> => {
      const { context } = (await analyseText(text)).designs[0]!;
      return [...twoSourcesOneBus.judge(context, [])].map(({ verdict }) => verdict);
    };
    expect(await verdicts(cabin(switched('')))).toEqual(['passed']);
    expect(await verdicts('design One {\n  grid Mains { voltage: 230 V }\n}\n')).toEqual([]);
  });

  it('offers that an inlet takes one cord at a time where each source has a cord of its own', async () => {
    const camp = (set: string): string => `design Camp {
  grid Shore { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  generator Genset { rated: 3 kW   voltage: 230 V   neutralBond: floating }
  bus Box {}
  receptacle Inlet { plug: IEC-60309-16 }
  bus Panel {}
  load Lamp { power: 100 W }
  run A: Shore -> Inlet { size: 2.5 mm2   type: H07RN-F   length: 10 m }
  ${set}
  run In: Inlet -> Panel { size: 2.5 mm2   length: 1 m }
  run Line: Panel -> Lamp { size: 1.5 mm2   length: 5 m }
}
`;
    const cord = camp('run B: Genset -> Inlet { size: 2.5 mm2   type: H07RN-F   length: 10 m }');
    const titles = async (text: string) =>
      (await findings(text)).flatMap(({ fixes }) => fixes.map(({ title }) => title));
    expect((await titles(cord)).join()).toMatch(/^Say that Inlet accepts one cord at a time/);
    // Both over one cord: nothing that the inlet takes keeps them apart.
    const both = camp('run B: Genset -> Box { size: 2.5 mm2   length: 2 m }')
      .replace('Shore -> Inlet {', 'Shore -> Box {')
      .replace('run In:', 'run C: Box -> Inlet { size: 2.5 mm2   type: H07RN-F   length: 10 m }\n  run In:');
    expect(await findings(both)).not.toEqual([]);
    expect(await titles(both)).toEqual([]);
  });
});

describe('what keeps sources in step, or apart', () => {
  it('is a link that reaches every one of them', async () => {
    const three = (links: string): string => `design Hut {
  battery Bank : Lfp48V280Ah
  inverter A { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  inverter B { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  inverter C { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  bus Panel { rating: 63 A }
  ${['A', 'B', 'C'].map((name) => `run Dc${name}: Bank -> ${name}.dc { size: 50 mm2   length: 1 m }\n  run Ac${name}: ${name}.ac -> Panel { size: 6 mm2   length: 2 m }`).join('\n  ')}
  ${links}
}
`;
    const asked = async (links: string) => askedBy(await analyseText(three(links)), ID);
    expect(await asked('link One: A -> B   link Two: B -> C')).toEqual([]);
    expect(await asked('link One: A -> B')).toHaveLength(1);
  });

  it('is no inlet into which both come over one cord', async () => {
    const text = `design Coach {
  grid Shore { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  generator Genset { rated: 3 kW   voltage: 230 V   neutralBond: floating }
  bus Post {}
  grid Other { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  receptacle Inlet {}
  load Lamp { power: 100 W }
  run Beside: Other -> Inlet { size: 4 mm2   length: 5 m }
  run FromShore: Shore -> Post { size: 4 mm2   length: 5 m }
  run FromSet: Genset -> Post { size: 4 mm2   length: 5 m }
  run Cord: Post -> Inlet { size: 4 mm2   length: 5 m }
  run Line: Inlet -> Lamp { size: 1.5 mm2   length: 5 m }
}
`;
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.advice).not.toContain('oneCord');
    expect(finding?.fixes).toEqual([]);
  });
});
