import { describe, expect, it } from 'vitest';
import { obstacleText } from '../../language/src/index.js';
import { type TestedFinding, afterFix, analyseText, findingsOf } from '../helpers/analyse.js';

/* Changes that a good electrician would refuse, and those that take their place. */

const foundIn = async (text: string, check: string, subject?: string): Promise<TestedFinding> => {
  const all = findingsOf(await analyseText(text), check);
  const found = subject === undefined ? all[0] : all.find((each) => each.subject === subject);
  expect(found, `${check} in\n${text}`).toBeDefined();
  return found!;
};

const titles = ({ fixes }: TestedFinding): string[] => fixes.map(({ title }) => title);

describe('a device of 400 A on 6 AWG that feeds 2 kW', () => {
  const text = `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: 400 A }
  load Heater { power: 2 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   conductors: 2   terminals: 75 degC }
}
`;
  it('gets the device that the load needs, and no copper for a load that is not there', async () => {
    const finding = await foundIn(text, 'run-protection');
    // 2 kW at 44.8 V are 44.6 A; 6 AWG may have 70 A by NEC 240.4(B): 65 A of Table 310.16 (75 °C) and the next standard size.
    expect(titles(finding)).toEqual(['Change rating of F1 to 70 A']);
    expect(finding.told).not.toContain('kcmil');
    expect(await afterFix(text, 'run-protection', finding.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });
});

describe('a device of 400 A on 6 AWG with terminals of which nothing is said', () => {
  const hut = (watts: number): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: 400 A }
  load Heater { power: ${watts} W   supply: dc   minimumVoltage: 40 V   continuous: no }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   conductors: 2 }
}
`;
  // NEC Table 310.16 at 60 °C, up to 100 A by 110.14(C)(1)(a): 6 AWG 55 A, 4 AWG 70 A.
  it('gets the device alone where that serves on terminals for 60 °C', async () => {
    const finding = await foundIn(hut(2000), 'run-protection');
    expect(titles(finding)).toEqual(['Change rating of F1 to 60 A']);
    expect(await afterFix(hut(2000), 'run-protection', finding.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('gets the device that the load needs and the next conductors for it, never several of 1/0 AWG', async () => {
    const text = hut(2800);
    const finding = await foundIn(text, 'run-protection');
    expect(titles(finding)).toEqual(['Change size of Line to 4 AWG and rating of F1 to 70 A']);
    expect(await afterFix(text, 'run-protection', finding.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('keeps a device that is little too large where the next conductors suit it', async () => {
    // 80 A device, 70 A load: 4 AWG is enough for it at 75 °C and 3 AWG at 60 °C (85 A).
    const text = hut(3200).replace('400 A', '80 A');
    for (const { title } of (await foundIn(text, 'run-ampacity')).fixes) expect(title).not.toContain('rating');
  });
});

describe('a load beyond what the class of its device is made in', () => {
  it('gets class and rating together, where neither alone serves', async () => {
    const text = `design Boat {
  basis: craft
  battery Bank : Lfp12V100Ah { shortCircuitCurrent: 800 A }
  load Heater { power: 600 W   supply: dc   minimumVoltage: 10 V   continuous: no }
  fuse F1 { class: BladeFuse32V   rating: 40 A }
  run Line: Bank -> F1 @ 150 mm -> Heater { size: 6 AWG   type: CraftPrimary105   length: 1 m }
}
`;
    const finding = await foundIn(text, 'protection-continuous');
    // 600 W at 10 V are 60 A; blade fuses go up to 40 A.
    expect(titles(finding)[0]).toMatch(/^Change class of F1 to \S+ and rating of F1 to 60 A$/);
    expect(await afterFix(text, 'protection-continuous', finding.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });
});

describe('a load that no single cable of the usual sizes carries', () => {
  it('gets conductors in parallel rather than one that goes into no lug', async () => {
    const text = `design Barge {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp12V200Ah { parallel: 4   cellTemperature: 20..25 degC   stringFuse: 200 A   takeOff: busbar }
  load Heater { power: 6 kW   supply: dc }
  run Line: Bank -> Heater { size: 4/0 AWG   type: THHN   length: 2 m   conductors: 2 }
}
`;
    const finding = await foundIn(text, 'run-ampacity');
    expect(titles(finding)).toHaveLength(1);
    expect(titles(finding)[0]).toMatch(/^Run [234] conductors of \S+ (?:AWG|kcmil) in parallel in Line$/);
    expect((await afterFix(text, 'run-ampacity', finding.fixes[0]!)).left).toEqual([]);
  });
});

describe('a class of device', () => {
  const boat = (practice: string): string => `design Boat {
  basis: ${practice}
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse Main { class: T   rating: 125 A }
  bus Bar {}
  fuse F1 { class: BladeFuse32V   rating: 30 A }
  load Heater { power: 1 kW   supply: dc }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 2 AWG   type: FineStranded90   length: 1 m }
  run Line: Bar -> F1 @ 100 mm -> Heater { size: 10 AWG   type: FineStranded90   length: 2 m }
}
`;
  it('with a published rating for direct current goes before one from memory', async () => {
    // Class T: 20 kA at 125 V DC published (UL 248-15); the figures of J and RK5 on direct current are from memory.
    const finding = await foundIn(boat('nec 2023'), 'device-voltage', 'Boat.F1');
    expect(titles(finding)[0]).toBe('Use class T for F1');
  });

  it('that sits on the post of a battery is not proposed for a branch', async () => {
    const weak = boat('craft').replace(
      ': Lfp48V280Ah { cellTemperature',
      '{ voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 20..25 mohm   cellTemperature',
    );
    const branch = weak.replace('class: BladeFuse32V', 'class: MiniatureBladeFuse32V   dcVoltage: 24 V');
    for (const title of titles(await foundIn(branch, 'device-voltage', 'Boat.F1')))
      expect(title).not.toContain('PostFuse');
  });
});

describe('a device in the middle of a run that is fed from both ends', () => {
  it('is not sent from one end to the other and back: one more is proposed', async () => {
    const text = `design Pair {
  basis: nec 2023
  battery One : Lfp48V280Ah { cellTemperature: 20..25 degC }
  battery Two : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: 125 A }
  fuse F2 { class: T   rating: 70 A }
  load Heater { power: 2 kW   supply: dc }
  run Link: One -> F1 @ 700 mm -> Two { size: 1 AWG   type: THHN   length: 1.5 m   conductors: 2   terminals: 75 degC }
  run Line: Two -> F2 @ 100 mm -> Heater { size: 4 AWG   type: THHN   length: 2 m   conductors: 2   terminals: 75 degC }
}
`;
    const both = findingsOf(await analyseText(text), 'run-unprotected');
    expect(both).toHaveLength(2);
    expect(both.flatMap(titles).filter((title) => title.startsWith('Move'))).toEqual([]);
    expect(both.map((each) => titles(each)[0])).toEqual([
      'Add a fuse of 70 A at the One end of Link',
      'Add a fuse of 70 A at the Two end of Link',
    ]);
    expect(both[0]!.answer.obstacles.map(({ kind }) => kind)).toContain('undoes');
  });
});

describe('a set point that suits one bank and harms another', () => {
  it('is not proposed, and what stands in the way is said', async () => {
    const text = `design Mixed {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Lithium { voltage: 51.2 V   chemistry: lfp   cells: 16   capacity: 100 Ah   resistance: 20..25 mohm   cellTemperature: 20..25 degC }
  battery Sealed { voltage: 12 V   chemistry: agm   cells: 6   series: 4   capacity: 100 Ah   resistance: 20..25 mohm   cellTemperature: 20..25 degC   chargeLimit: 13.8 V }
  bus Dc {}
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Charge: Rect.dc -> Dc { size: 10 mm2   length: 1 m }
  run A: Lithium -> Dc { size: 10 mm2   length: 1 m }
  run B: Sealed -> Dc { size: 10 mm2   length: 1 m }
}
`;
    const all = findingsOf(await analyseText(text), 'charge-voltage');
    expect(all.length).toBeGreaterThan(0);
    for (const finding of all)
      for (const fix of finding.fixes) {
        const { left, fresh } = await afterFix(text, 'charge-voltage', fix);
        expect({ left, fresh }, fix.title).toEqual({ left: [], fresh: [] });
      }
  });
});

describe('lugs', () => {
  it('are not proposed for a stud that the cable size is not made for', async () => {
    // 2/0 AWG (67 mm2) on M6: lugs of that size usually begin at M8 (from memory, as the check says).
    const text = `design Hut {
  battery Bank : Lfp48V280Ah { stud: 6 mm }
  fuse F1 { class: T   rating: 200 A }
  load Heater { power: 6 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 250 kcmil   type: FineStranded90   length: 1 m   lugHole: 10 mm }
}
`;
    const finding = await foundIn(text, 'lug-stud');
    expect(finding.ways).not.toEqual([]);
    expect(titles(finding)).toEqual([]);
    expect(obstacleText(finding.answer.obstacles)).toMatch(/is not enough$/);
  });
});

describe('one change that needs another', () => {
  it('is offered with it: a higher charge limit with the device and the conductors that go with it', async () => {
    const text = `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  grid Mains { voltage: 240 V   rating: 60 A   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 30 A   maximumCurrent: 100 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..30 degC }
  bus Dc { rating: 300 A   dcVoltage: 80 V }
  fuse BankFuse { class: T   rating: 200 A }
  fuse RectFuse { class: T   rating: 40 A }
  load Dryer { power: 2.4 kW   supply: dc   profile: always }
  run In: Mains -> Rect.ac { size: 4 AWG   type: THWN-2   length: 5 m   conductors: 2 }
  run RectFeed: Dc -> RectFuse @ 100 mm -> Rect.dc { size: 8 AWG   type: FineStranded90   length: 1 m   conductors: 2 }
  run BankFeed: Bank -> BankFuse @ 150 mm -> Dc { size: 4/0 AWG   type: FineStranded90   length: 1 m   conductors: 2 }
  run Line: Dc -> Dryer { size: 4/0 AWG   type: FineStranded90   length: 1 m   conductors: 2 }
}
`;
    const finding = await foundIn(text, 'charge-below-load');
    expect(titles(finding)[0]).toMatch(/^Raise the limit of Rect to \d+ A, and change .*rating of RectFuse to \d+ A/);
    const { left, fresh } = await afterFix(text, 'charge-below-load', finding.fixes[0]!);
    expect(left).toEqual([]);
    expect(fresh).toEqual([]);
  });
});

describe('a current that no usual conductors carry', () => {
  it('is told to want a higher voltage', async () => {
    const finding = await foundIn(
      `design Barge {
  basis: nec 2023
  battery Bank { voltage: 12.8 V   chemistry: lfp   cells: 4   capacity: 4000 Ah   resistance: 0.1..0.2 mohm   cellTemperature: 20..25 degC }
  load Winch { power: 40 kW   supply: dc }
  run Line: Bank -> Winch { size: 4/0 AWG   type: THHN   length: 2 m   conductors: 2 }
}
`,
      'run-ampacity',
    );
    // 40 kW at some 11 V are more than 3.5 kA; four conductors of 250 kcmil carry 1.0 kA (NEC Table 310.16, 75 °C: 255 A each).
    expect(titles(finding)).toEqual([]);
    expect(obstacleText(finding.answer.obstacles)).toContain(
      'a higher bank voltage would lower the current of Barge.Line',
    );
  });
});

describe('where nothing is known to help', () => {
  it('the answer says so, and was sought', async () => {
    const finding = await foundIn(
      `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { dcVoltage: 32 V   interruptRating: 2 kA   rating: 700 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
      'run-protection',
    );
    expect(finding.answer.isSought).toBe(true);
    for (const fix of finding.fixes) expect(fix.title).not.toContain('kcmil');
  });
});
