import { describe, expect, it } from 'vitest';
import { voltageCollapse } from '../../../language/src/checks/conductors/voltage-collapse.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'voltage-collapse';
/** NEC Chapter 9 Table 8: 6 AWG stranded copper, 0.491 ohm per 1000 ft at 75 °C. */
const OHMS_6_AWG = 0.491 / 304.8;
const barn = (watts: number, more = '', length = 20): string => `design Barn {
  battery Bank { voltage: 24 V   capacity: 200 Ah   protectionLow: 20 V   resistance: 5 mohm   ${more} }
  load Winch { power: ${watts} W   supply: dc }
  run Line: Bank -> Winch { size: 6 AWG   length: ${length} m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
/** A load that has stopped long before the bank is at its lowest. */
const stopsEarly = (text: string): string => text.replace('supply: dc', 'supply: dc   minimumVoltage: 20 V');

describe(ID, () => {
  // Maximum power transfer: P = U²/4R.
  it('finds a load above U²/4R and passes it below', async () => {
    const most = (24 * 24) / 4 / (5e-3 + 40 * OHMS_6_AWG);
    expect(await findings(stopsEarly(barn(Math.floor(most * 0.99))))).toEqual([]);
    const [finding, ...others] = await findings(barn(Math.ceil(most * 1.01)));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(finding?.subject).toBe('Barn.Winch');
    expect(lacking(finding?.told, 'at Winch the voltage gives way')).toEqual([]);
    expect(lacking(finding?.told, 'Line alone would lose')).toEqual([]);
  });

  it('warns of a load that its cables carry at the nominal voltage of the bank and not at its lowest', async () => {
    // The cable alone at 20 V: 400/(4 · 40 m · 1.611 mohm/m) = 1552 W.
    const most = (20 * 20) / (4 * 40 * OHMS_6_AWG);
    expect(await findings(barn(Math.floor(most * 0.999)))).toEqual([]);
    const [finding, ...others] = await findings(barn(Math.ceil(most * 1.001)));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(finding?.headline).toContain('at its lowest voltage');
    expect(await findings(stopsEarly(barn(Math.ceil(most * 1.001))))).toEqual([]);
  });

  it('is mended by the size that is offered', async () => {
    const strained = barn(4500, '', 10).replace('length: 10 m', 'length: 10 m   insulation: 90 degC');
    const [finding] = await findings(strained);
    expect(finding?.fixes).toHaveLength(1);
    expect((await afterFix(strained, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('finds a bank that cannot deliver over the shortest cable', async () => {
    // 24 V behind 200 mohm give at most 720 W.
    expect(await findings(barn(700, '', 0).replace('5 mohm', '200 mohm'))).toEqual([]);
    const [finding] = await findings(barn(740, '', 0).replace('5 mohm', '200 mohm'));
    expect(lacking(finding?.told, 'the bank’s own resistance')).toEqual([]);
  });

  it('finds an inverter that gives way at surge only, with its efficiency counted', async () => {
    const hut = (surge: string): string => `design Hut {
  battery Bank { voltage: 24 V   capacity: 200 Ah   protectionLow: 20 V   resistance: 40 mohm }
  inverter Inv { rated: 2 kW   surge: ${surge}   efficiency: 80 %   dcVoltage: 20..30 V   voltage: 230 V }
  load Lamps { power: 100 W }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 0 m }
  run Line: Inv.ac -> Lamps { size: 12 AWG   length: 1 m }
}
`;
    // 24²/(4 · 40 mohm) = 3600 W into the inverter, 2880 W out of it.
    expect(await findings(hut('2.85 kW'))).toEqual([]);
    const [finding] = await findings(hut('2.9 kW'));
    expect(lacking(finding?.told, 'more at surge')).toEqual([]);
  });

  it('warns, with the output that holds, where the stated loads run and only the rating does not', async () => {
    const hut = (watts: number): string => `design Hut {
  battery Bank { voltage: 24 V   capacity: 200 Ah   protectionLow: 20 V   resistance: 81 mohm }
  inverter Inv { rated: 3 kW   idle: 0 W   efficiency: 80 %   dcVoltage: 20..30 V   voltage: 230 V }
  load Lamps { power: ${watts} W }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 0 m }
  run Line: Inv.ac -> Lamps { size: 12 AWG   length: 1 m }
}
`;
    // 24²/(4 · 81 mohm) = 1778 W into the inverter, 1422 W out of it at 80 %: 47 % of its rating, in whole percent.
    const [finding] = await findings(hut(60));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'Inv gives 1.41 kW of its 3 kW')).toEqual([]);
    // At 2 kW out it takes more than 1778 W whatever its loss: an error.
    expect((await findings(hut(2000)))[0]?.severity).toBe('error');
  });

  it('names the source and the state on the alternating side', async () => {
    const camp = (length: string): string => `design Camp {
  grid Mains { voltage: 120 V   rating: 20 A   tolerance: 0 % }
  generator Genset { rated: 5 kW   voltage: 120 V   tolerance: 0 % }
  transfer Ats { switches: phases   rating: 30 A }
  load Heater { power: 1.8 kW }
  run FromMains: Mains -> Ats.normal { size: 10 AWG   length: 5 m }
  run FromSet: Genset -> Ats.standby { size: 16 AWG   length: ${length} }
  run Line: Ats.out -> Heater { size: 12 AWG   length: 5 m }
}
`;
    const [finding] = await findings(camp('120 m'));
    expect(lacking(finding?.told, 'With Genset running, what Genset feeds')).toEqual([]);
    expect(await findings(camp('20 m'))).toEqual([]);
  });

  it('asks for the resistance of a bank that gives more than half of its capacity in an hour', async () => {
    // 200 Ah: from 100 A on, 2000 W at 20 V.
    const unsaid = (facts: string): string =>
      stopsEarly(barn(2000, '', 1))
        .replace('resistance: 5 mohm', '')
        .replace('power: 2000 W', facts);
    const asked = async (facts: string): Promise<string[]> => askedBy(await analyseText(unsaid(facts)), ID);
    expect(await asked('power: 2000 W')).toEqual([]);
    expect(await asked('power: 2010 W')).toEqual(['resistance of Bank']);
    expect(await asked('power: 100 W')).toEqual([]);
    // What it gives is not known: that is asked elsewhere.
    expect(await asked('')).toEqual([]);
    const sized = unsaid('power: 2010 W').replace('capacity: 200 Ah   ', '');
    expect(askedBy(await analyseText(sized), ID)).toEqual([]);
    // Of what gives way already nothing is asked.
    const other = barn(9000, '', 20).replace(
      '  load',
      '  battery Other { voltage: 24 V   capacity: 200 Ah   protectionLow: 20 V }\n  load Lift { power: 3 kW   supply: dc }\n  run Side: Other -> Lift { size: 2/0 AWG   length: 1 m }\n  load',
    );
    expect(await findings(other)).toHaveLength(1);
    expect(askedBy(await analyseText(other), ID)).toEqual([]);
  });

  it('says what feeds the place that gives way, and passes what holds', async () => {
    const [finding] = await findings(barn(9000));
    expect(finding?.headline).toContain('what Bank feeds');
    const verdicts = async (text: string) => {
      const { context } = (await analyseText(text)).designs[0]!;
      return [...voltageCollapse.judge(context, [])].map(({ verdict }) => verdict);
    };
    expect(await verdicts(barn(100))).toEqual(['passed']);
    expect(await verdicts('design Empty {\n  load Lamp { power: 10 W }\n}\n')).toEqual([]);
  });
});

describe('several runs that lose too much', () => {
  it('the one that loses most is named', async () => {
    const text = (first: number, second: number): string => `design Barn {
  battery Bank { voltage: 24 V   capacity: 200 Ah   protectionLow: 20 V   resistance: 5 mohm }
  bus Bar {}
  load Winch { power: 4 kW   supply: dc }
  run Main: Bank -> Bar { size: 6 AWG   length: ${first} m }
  run Line: Bar -> Winch { size: 6 AWG   length: ${second} m }
}
`;
    for (const [first, second, name] of [
      [12, 9, 'Main'],
      [9, 12, 'Line'],
    ] as const) {
      const [finding] = await findings(text(first, second));
      expect(finding?.why).toContain(`${name} alone would lose`);
      expect(finding?.fixes).toEqual([]);
    }
  });
});
