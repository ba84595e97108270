import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'neutral-bond';
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

/** Service, set and panel with transfer gear between. */
const house = (mains: string, set: string, gear: string, panel = ''): string => `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: ${mains} }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: ${set} }
  transfer Ats { rating: 100 A   ${gear} }
  bus Panel { rating: 100 A   ${panel} }
  load Stove { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run ToPanel: Ats.out -> Panel { size: 3 AWG   length: 3 m }
  run Line: Panel -> Stove { size: 10 AWG   length: 10 m }
}
`;

describe(`${ID}, service and set behind transfer gear`, () => {
  // NEC 250.30, 250.34, 445.20 and IEC 60364-5-55 551.4 (from memory): a set behind gear that leaves the neutral joined is not bonded
  // again; a set behind gear that switches the neutral is a source of its own and is bonded.
  it('passes a floating set with gear that leaves the neutral joined, and a bonded set with gear that switches it', async () => {
    expect(await findings(house('bonded', 'floating', 'switches: phases'))).toEqual([]);
    expect(await findings(house('bonded', 'bonded', 'switches: phases-and-neutral'))).toEqual([]);
  });

  it('finds two bonds once, and the fixes end it in every state', async () => {
    const text = house('bonded', 'bonded', 'switches: phases');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'bonded to earth twice: at Mains and Genset')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Let Ats switch the neutral too',
      'Float the neutral of Genset (only where its maker allows it)',
    ]);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('finds no bond in the state of the set alone', async () => {
    const text = house('bonded', 'floating', 'switches: phases-and-neutral');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'With Genset running')).toEqual([]);
    expect(finding?.headline).toMatch(/^The neutral fed by \w+ is bonded to (?:earth|ground) nowhere$/);
    expect(finding?.subject).toBe('House.Genset');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Bond Genset']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('finds the second bond in a panel, which no transfer gear can mend', async () => {
    const text = house('bonded', 'floating', 'switches: phases', 'neutralBond: bonded');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, 'at Mains and Panel')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Take the bond out of Panel']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  // NEC 250.24(A)(5) (from memory): the bond belongs at the service, and a panel fed from it has none.
  it.each([
    ['Main', 'Sub'],
    ['Sub', 'Main'],
  ])(
    'keeps the bond of the panel at the service, in whatever order the panels are written: %s, %s',
    async (first, second) => {
      const text = `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: floating }
  bus ${first} { rating: 100 A   neutralBond: bonded }
  bus ${second} { rating: 100 A   neutralBond: bonded }
  load Stove { power: 3 kW   voltage: 240 V }
  run Feeder: Main -> Sub { size: 3 AWG   length: 3 m }
  run Service: Mains -> Main { size: 3 AWG   length: 3 m }
  run Line: Sub -> Stove { size: 10 AWG   length: 10 m }
}
`;
      const [finding] = await findings(text);
      expect(finding?.fixes.map(({ title }) => title)).toEqual(['Take the bond out of Sub']);
      expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    },
  );

  it('takes the bonds out of all panels behind the service at once', async () => {
    const text = house('bonded', 'floating', 'switches: phases', 'neutralBond: bonded').replace(
      'load Stove',
      'bus Annex { neutralBond: bonded }\n  run ToAnnex: Panel -> Annex { size: 8 AWG   length: 9 m }\n  load Stove',
    );
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '3 times')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Take the bond out of Annex and Panel']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('asks what gear switches where that decides, and what the sources say', async () => {
    expect(askedBy(await analyseText(house('bonded', 'floating', '')), ID)).toEqual(['switches of Ats']);
    const silent = house('bonded', 'floating', 'switches: phases').replace('   neutralBond: floating', '');
    expect(askedBy(await analyseText(silent), ID)).toEqual(['neutralBond of Genset']);
  });

  it('does not ask once two bonds are certain', async () => {
    const text = house('bonded', 'bonded', 'switches: phases', 'neutralBond: bonded');
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, ID)).toHaveLength(1);
    expect(lacking(findingsOf(analysis, ID)[0]?.told, '3 times')).toEqual([]);
  });
});

describe(`${ID}, inverter that passes a supply through`, () => {
  const camp = (set: string, inverter: string, gear = ''): string => `design Camp {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: ${set}   ${gear} }
  inverter Inv { rated: 5 kW   voltage: 230 V   passThrough: yes   neutralBond: ${inverter} }
  battery Bank : Lfp48V280Ah
  bus Panel {}
  load House { power: 2 kW }
  run Cord: Genset -> Inv.input { size: 4 mm2   length: 10 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 4 mm2   length: 2 m }
  run Line: Panel -> House { size: 2.5 mm2   length: 10 m }
}
`;

  it('passes a bond that opens while the supply passes through', async () => {
    expect(await findings(camp('bonded', 'switched'))).toEqual([]);
  });

  it('finds a bond that stays, in the state of the set only', async () => {
    const text = camp('bonded', 'bonded');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'With Genset running')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Bond Inv only while it inverts');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('finds the battery alone without a bond', async () => {
    const text = camp('bonded', 'floating');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'with battery alone')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Bond Inv while it inverts']);
  });

  // NEC 250.30 and 250.24(A) (from memory): where the neutral is not switched, the source is not separately derived and has no bond of its own.
  it('follows the neutral through a relay that opens the phases only', async () => {
    const through = (inverter: string): string => camp('bonded', `${inverter}   switches: phases`);
    expect(await findings(through('floating'))).toEqual([]);
    const twice = through('switched');
    const [finding, ...others] = await findings(twice);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'with battery alone')).toEqual([]);
    expect(lacking(finding?.told, 'twice: at')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toContain('Let Inv switch the neutral too');
    for (const fix of finding!.fixes) expect(await afterFix(twice, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('says what it takes for granted of a relay that states nothing', async () => {
    const [finding] = await findings(camp('bonded', 'floating'));
    expect(lacking(finding?.told, 'state `switches: phases`')).toEqual([]);
    const [stated] = await findings(camp('bonded', 'floating   switches: phases-and-neutral'));
    expect(stated?.told).not.toContain('taken to open');
  });

  it('finds a floating set with a switched bond: nothing is left while the set runs', async () => {
    const [finding] = await findings(camp('floating', 'switched'));
    expect(lacking(finding?.told, 'With Genset running')).toEqual([]);
    expect(finding?.headline).toMatch(/^The neutral fed by \w+ is bonded to (?:earth|ground) nowhere$/);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Bond Genset']);
  });

  it('asks the inverter in both states once', async () => {
    const text = camp('bonded', 'switched').replace('   neutralBond: switched', '');
    expect(askedBy(await analyseText(text), ID)).toEqual(['neutralBond of Inv']);
  });
});

describe(`${ID}, cords and plugs`, () => {
  it('only warns of a floating portable set that feeds cord-connected gear', async () => {
    const text = `design Site {
  generator Genset { rated: 2 kW   voltage: 230 V   neutralBond: floating }
  load Saw { power: 1 kW }
  run Cord: Genset -> Saw { size: 2.5 mm2   length: 20 m }
}
`;
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'may float where its maker and the local rules allow it')).toEqual([]);
    const fixed = text.replace(
      'run Cord: Genset -> Saw',
      'bus Panel {}\n  run Line: Panel -> Saw { size: 2.5 mm2   length: 5 m }\n  run Cord: Genset -> Panel',
    );
    expect((await findings(fixed))[0]?.severity).toBe('error');
  });

  const coach = (inverter: string, shore: string): string => `design Coach {
  grid Shore { voltage: 120 V   rating: 30 A   neutralBond: bonded   ${shore} }
  inverter Inv { rated: 2 kW   voltage: 120 V   neutralBond: ${inverter} }
  battery Bank : Lfp12V200Ah
  transfer Ats { switches: phases   rating: 30 A }
  load Fridge { power: 200 W }
  run Cord: Shore -> Ats.normal { size: 10 AWG   length: 8 m }
  run Out: Inv.ac -> Ats.standby { size: 12 AWG   length: 1 m }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Line: Ats.out -> Fridge { size: 12 AWG   length: 3 m }
}
`;

  it('does not count the bond of a shore outlet while the cord is unplugged', async () => {
    // The shore's bond stands at the pedestal: away from it a floating inverter has none.
    const [finding] = await findings(coach('floating', 'outlet: TT-30'));
    expect(lacking(finding?.told, 'with battery alone')).toEqual([]);
    expect(finding?.headline).toMatch(/^The neutral fed by \w+ is bonded to (?:earth|ground) nowhere$/);
    // A fixed service stays joined through the gear.
    expect(await findings(coach('floating', ''))).toEqual([]);
    // With a bond of the inverter there are two as soon as the cord is in.
    expect(lacking((await findings(coach('bonded', 'outlet: TT-30')))[0]?.told, 'With Shore connected')).toEqual([]);
  });

  it('keeps systems apart that share no neutral', async () => {
    const text = `design Camp {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  bus Dc {}
  inverter Inv { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  load House { power: 1 kW }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Out: Rect.dc -> Dc { size: 16 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
  run InvFeed: Dc -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> House { size: 4 mm2   length: 5 m }
}
`;
    expect(await findings(text)).toEqual([]);
  });

  it('names the rules of the design', async () => {
    const text = house('bonded', 'bonded', 'switches: phases');
    expect(lacking((await findings(text))[0]?.told, 'NEC 250')).toEqual([]);
    expect(
      lacking((await findings(text.replace('design House {', 'design House {\n  basis: iec')))[0]?.told, 'IEC 60364'),
    ).toEqual([]);
  });

  it('is accepted with a reason', async () => {
    const text = house('bonded', 'bonded', 'switches: phases').replace(
      '  run Line',
      '  accept neutral-bond on Mains because "told by the inspector"\n  accept neutral-bond on Genset because "told by the inspector"\n  run Line',
    );
    expect(await findings(text)).toEqual([]);
  });
});

describe('bonds, at the edges', () => {
  it('two that are said are one too many, whatever else is not said', async () => {
    const [finding] = await findings(house('bonded', 'floating', '', 'neutralBond: bonded'));
    expect(finding?.severity).toBe('error');
    expect(finding?.headline).toMatch(/at Mains and Panel$/);
  });

  const camp = (panels: string): string => `design Camp {
  basis: nec 2023
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: floating }
  bus One { rating: 60 A   ${panels} }
  bus Two { rating: 60 A   ${panels} }
  load Stove { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> One { size: 8 AWG   length: 8 m }
  run Between: One -> Two { size: 8 AWG   length: 3 m }
  run Line: Two -> Stove { size: 10 AWG   length: 10 m }
}
`;
  it('are never all taken out', async () => {
    const [finding] = await findings(camp('neutralBond: bonded'));
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Take the bond out of One', 'Take the bond out of Two']);
  });

  it('that are missing are told for each system by itself', async () => {
    const two = camp('').replace(
      '  load Stove',
      `  generator Spare { rated: 3 kW   voltage: 120 V   neutralBond: floating }
  bus Shed { rating: 30 A }
  load Lamp { power: 60 W   voltage: 120 V }
  run ShedCord: Spare -> Shed { size: 10 AWG   length: 8 m }
  run LampLine: Shed -> Lamp { size: 12 AWG   length: 8 m }
  load Stove`,
    );
    expect((await findings(two)).map(({ subject }) => subject).sort()).toEqual(['Camp.Genset', 'Camp.Spare']);
  });
});

describe('a portable set beside an inverter', () => {
  it('is a warning, whichever of them is meant', async () => {
    const text = `design Picnic {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  generator Genset { rated: 3 kW   voltage: 120 V   neutralBond: floating }
  inverter Inv { rated: 2 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: floating }
  load Kettle { power: 1 kW }
  run Feed: Bank -> Inv.dc { size: 4 AWG   length: 1 m }
  run FromSet: Genset -> Kettle { size: 12 AWG   length: 5 m }
  run FromInverter: Inv.ac -> Kettle { size: 12 AWG   length: 5 m }
}
`;
    const found = await findings(text);
    expect(found.some(({ headline }) => /Genset/.test(headline))).toBe(true);
    for (const finding of found)
      if (/Genset/.test(finding.headline)) expect(finding.severity, finding.headline).toBe('warning');
  });
});
