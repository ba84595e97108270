import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const van = (basis: string, way: string, run: string): string => `design Van {
  basis: ${basis}
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc   minimumVoltage: 10 V }
  run Line: Bank -> ${way} Heater { size: 8 AWG   type: FineStranded90   length: 3 m   ${run} }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'run-unprotected');

describe('run-unprotected of cords', () => {
  const camp = (ambient: string, cord: string): string => `design Camp {
  basis: nec 2023
  site { ambient: -5..${ambient} }
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   breaker: 30 A   neutralBond: bonded }
  load Heater { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> Heater { size: ${cord}   type: SOOW   length: 10 m }
}
`;
  // NEC Table 400.5(A)(1): 10 AWG 30 A, 12 AWG 25 A; 0.96 at 35 °C for a cord of 90 °C (400.5(A), Table 310.15(B)(1)).
  it('warns where only the warm ambient takes a cord below the breaker of its set', async () => {
    const found = async (text: string) => findingsOf(await analyseText(text), 'run-unprotected');
    expect(await found(camp('30 degC', '10 AWG'))).toEqual([]);
    const [warm] = await found(camp('35 degC', '10 AWG'));
    expect(warm?.severity).toBe('warning');
    expect(lacking(warm?.told, '240.5(A)')).toEqual([]);
    expect((await found(camp('30 degC', '12 AWG')))[0]?.severity).toBe('error');
  });
});

describe('run-unprotected', () => {
  // ABYC E-11.10 as quoted: 7 in (178 mm) open, 72 in (1829 mm, from memory) enclosed at a battery.
  it.each([
    ['craft', '170 mm', '', 0],
    ['craft', '178 mm', '', 0],
    ['craft', '180 mm', '', 1],
    ['craft', '1.8 m', 'enclosed: yes', 0],
    ['craft', '1.9 m', 'enclosed: yes', 1],
  ])('%s: a fuse %s along the cable %s gives %i findings', async (basis, distance, enclosed, count) => {
    expect(await findings(van(basis, `F1 @ ${distance} ->`, enclosed))).toHaveLength(count);
  });

  it('tells the distance, the limit and where it comes from, and moves the device', async () => {
    const text = van('craft', 'F1 @ 600 mm ->', '');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(
      lacking(finding?.told, /F1 stands 600 mm from the Bank end of Line.*limit is 178 mm \(ABYC E-11\.10/),
    ).toEqual([]);
    expect(lacking(finding?.told, '1.829 m')).toEqual([]);
    for (const fix of finding!.fixes) expect(await findings(applyFix(text, fix)), fix.title).toEqual([]);
  });

  it('makes a warning of the rule of thumb that stands in for the NEC', async () => {
    const [finding] = await findings(van('nec', 'F1 @ 1.5 m ->', ''));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '240.21(H)')).toEqual([]);
  });

  it('asks for a distance that lacks', async () => {
    const analysis = await analyseText(van('craft', 'F1 ->', ''));
    expect(findingsOf(analysis, 'run-unprotected')).toEqual([]);
    expect(analysis.questions.find(({ check }) => check === 'run-unprotected')?.missing[0]).toContain('F1');
  });

  it('adds a fuse with rating, class and distance that raises nothing else', async () => {
    const text = van('craft', '', '');
    const [finding] = await findings(text);
    // 400 W / 10 V = 40 A, 125 % is 50 A.
    expect(finding?.fixes[0]?.title).toBe('Add a fuse of 50 A at the Bank end of Line');
    const mended = applyFix(text, finding!.fixes[0]!);
    expect(mended).toMatch(/Bank -> LineFuse @ 150 mm -> +Heater/);
    const after = await analyseText(mended);
    for (const check of ['run-unprotected', 'run-protection', 'interrupt-rating', 'device-voltage'])
      expect(findingsOf(after, check), check).toEqual([]);
  });

  it('makes the conductor larger where the fuse the load needs is too large for it', async () => {
    const text = van('nec', '', 'terminals: 75 degC').replace('400 W', '800 W');
    const [finding] = await findings(text);
    // 800 W / 10 V = 80 A, 125 % is 100 A: 3 AWG at 75 °C. It would lose 2 · 80 A · 3 m · 0.836 mohm/m = 0.401 V (0.245 ohm per 1000 ft,
    // 4 % more for fine strands), above 3 % of 12.8 V (0.384 V); 2 AWG loses 0.318 V.
    expect(finding?.fixes[0]?.title).toMatch(/^Add a fuse of 100 A at the Bank end of Line and make it 2 AWG$/);
    const after = await analyseText(applyFix(text, finding!.fixes[0]!));
    for (const check of ['run-unprotected', 'run-protection', 'run-ampacity', 'terminal-temperature'])
      expect(findingsOf(after, check), check).toEqual([]);
  });

  const bus = (main: string, tap: string): string => `design Hut {
  battery Bank : Lfp48V280Ah
  bus Bar {}
  fuse Main { class: T   rating: ${main} }
  charger Rect { currentLimit: 60 A   absorb: 56 V }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 4/0 AWG   type: THWN-2   length: 1 m }
  run ToCharger: Bar -> Rect.dc { size: ${tap}   type: THWN-2   length: 2 m }
}
`;
  it('takes a device before the bus for a tap that is large enough for it', async () => {
    // NEC Table 310.16, 2/0 AWG 175 A at 75 °C, 6 AWG 55 A at 60 °C, which unmarked terminals count as up to 1 AWG (110.14(C)).
    expect(await findings(bus('175 A', '2/0 AWG'))).toEqual([]);
    const [finding] = await findings(bus('175 A', '6 AWG'));
    expect(lacking(finding?.told, /Main lets through 175 A and its 6 AWG conductors may have 60 A at most/)).toEqual(
      [],
    );
  });

  it('tells a bank without its fuse once, and not as a fuse too far along the runs behind it', async () => {
    const hut = (first: string, accept = ''): string => `design Hut {
  basis: nec 2023
  battery One : Lfp48V280Ah
  battery Two : Lfp48V280Ah
  bus Bar {}
  fuse FuseOne { class: T   rating: 200 A }
  fuse FuseTwo { class: T   rating: 200 A }
  fuse LineFuse { class: T   rating: 60 A }
  load Heater { power: 2 kW   supply: dc   minimumVoltage: 40 V }
  run LeadOne: One -> ${first} Bar { size: 4/0 AWG   type: THWN-2   length: 1 m }
  run LeadTwo: Two -> FuseTwo @ 100 mm -> Bar { size: 4/0 AWG   type: THWN-2   length: 1 m }
  run Line: Bar -> LineFuse @ 1 m -> Heater { size: 4 AWG   type: THWN-2   length: 3 m }
  ${accept}
}
`;
    const told = async (text: string) => (await findings(text)).map(({ subject, severity }) => [subject, severity]);
    expect(await told(hut(''))).toEqual([['Hut.LeadOne', 'error']]);
    // With the fuse there, what the two let through is too much for the stretch before the fuse of the line.
    expect(await told(hut('FuseOne @ 100 mm ->'))).toEqual([['Hut.Line', 'warning']]);
    // A lead that is accepted without a device ends nothing: what it feeds without limit has to be judged.
    expect(await told(hut('', 'accept run-unprotected on LeadOne because "fuse on the post"'))).toEqual([
      ['Hut.LeadTwo', 'warning'],
      ['Hut.Line', 'warning'],
    ]);
  });

  it.each([
    ['nec 2023', 'NEC 240.21(H)', '178 mm'],
    ['iec', 'IEC 60364-4-43', '200 mm'],
  ])('names no standard of small craft under %s', async (basis, rule, limit) => {
    const text = van(basis, 'F1 @ 600 mm ->', '').replace(
      '8 AWG   type: FineStranded90',
      basis === 'iec' ? '10 mm2' : '8 AWG',
    );
    const [finding] = await findings(text);
    expect(lacking(finding?.told, `The limit is ${limit} (common practice, no source: ${rule}`)).toEqual([]);
    expect(finding?.told).not.toMatch(/ABYC|ISO/);
    expect(finding?.severity).toBe('warning');
  });

  it('adds up the devices of all strings that meet on a bus', async () => {
    const strings = `design Hut {
  battery One : Lfp48V100Ah
  battery Two : Lfp48V100Ah
  bus Bar {}
  fuse FuseOne { class: T   rating: 100 A }
  fuse FuseTwo { class: T   rating: 100 A }
  load Heater { power: 3 kW   supply: dc   minimumVoltage: 40 V }
  run StringOne: One -> FuseOne @ 100 mm -> Bar { size: 3 AWG   type: THWN-2   length: 1 m }
  run StringTwo: Two -> FuseTwo @ 100 mm -> Bar { size: 3 AWG   type: THWN-2   length: 1 m }
  run Line: Bar -> Heater { size: 1 AWG   type: THWN-2   length: 2 m }
}
`;
    // 1 AWG may have 150 A (130 A at 75 °C, next rating up); the strings pass 200 A.
    const [finding] = await findings(strings);
    expect(lacking(finding?.told, /FuseOne and FuseTwo let through 200 A/)).toEqual([]);
    expect(await findings(strings.replace('size: 1 AWG', 'size: 3/0 AWG'))).toEqual([]);
  });

  it('needs no device at the end of a charger, and one at the end of the bank, however the run is written', async () => {
    const text = (run: string): string => `design Hut {
  battery Bank : Lfp48V280Ah
  charger Rect { currentLimit: 60 A   absorb: 56 V }
  fuse F1 { class: T   rating: 80 A }
  run Feed: ${run} { size: 4 AWG   type: THWN-2   length: 2 m }
}
`;
    expect(await findings(text('Rect.dc -> F1 @ 1.9 m -> Bank'))).toEqual([]);
    expect(await findings(text('Bank -> F1 @ 100 mm -> Rect.dc'))).toEqual([]);
    expect(await findings(text('Rect.dc -> F1 @ 100 mm -> Bank'))).toHaveLength(1);
    const [finding] = await findings(text('Rect.dc -> Bank').replace(/ {2}fuse F1.*\n/, ''));
    expect(lacking(finding?.told, 'at its Bank end')).toEqual([]);
  });

  it('follows a supply through transfer gear', async () => {
    const text = (size: string): string => `design Hut {
  grid Mains { voltage: 120 V   rating: 100 A }
  generator Genset { rated: 3 kW   voltage: 120 V   breaker: 30 A }
  transfer Ats { rating: 100 A }
  load Heater { power: 1 kW }
  run One: Mains -> Ats.normal { size: 1 AWG   type: THWN-2   length: 2 m }
  run Two: Genset -> Ats.standby { size: 10 AWG   type: THWN-2   length: 2 m }
  run Line: Ats.out -> Heater { size: ${size}   type: THWN-2   length: 2 m   terminals: 75 degC }
}
`;
    expect(await findings(text('1 AWG'))).toEqual([]);
    const [finding] = await findings(text('10 AWG'));
    expect(lacking(finding?.told, 'the service of Mains')).toEqual([]);
    // 1 kW over 120 V are 8.3 A, 10.4 A with 125 %. NEC Table 310.16, 75 °C: 3 AWG has 100 A, as the service has, for a load of a twelfth.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Add a fuse of 15 A at the Ats end of Line']);
    expect(await findings(text('3 AWG'))).toEqual([]);
    for (const fix of finding!.fixes) expect(await findings(applyFix(text('10 AWG'), fix)), fix.title).toEqual([]);
  });
});

describe('branches behind what holds its current by itself', () => {
  interface Hut {
    readonly basis?: string;
    readonly size?: string;
    readonly way?: string;
    readonly more?: string;
    readonly source?: string;
  }
  const hut = ({ basis = 'iec', size = '1.5 mm2', way = 'Panel -> Socket', more = '', source }: Hut): string =>
    `design Hut {
  basis: ${basis}
  site { ambient: 30..30 degC }
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 200 A }
  ${source ?? 'inverter Inv { rated: 6.9 kW   voltage: 230 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }'}
  bus Panel {}
  receptacle Socket { rating: 16 A }
  load Kettle { power: 200 W }
  ${source ? '' : 'run Feed: Bank -> F1 @ 0 m -> Inv.dc { size: 4/0 AWG   length: 1 m }'}
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 3 m }
  run Line: ${way} { size: ${size}   length: 8 m   ${basis === 'iec' ? 'type: H07V-U   method: B1' : ''} }
  ${more}
}
`;
  const told = async (given: Hut) =>
    (await findings(hut(given))).filter(({ subject }) => subject === 'Hut.Line').map(({ told: text }) => text);

  // IEC 60364-5-52 Table B.52.4, method B1: 1.5 mm² 17.5 A, 4 mm² 32 A, 2.5 mm² 24 A; 6.9 kW at 230 V are 30 A.
  it('need a device where their conductors carry less than an inverter is rated for', async () => {
    const [line, ...others] = await told({});
    expect(others).toEqual([]);
    expect(lacking(line!, /Inv itself lets through 30 A; its 1.5 mm² conductors allow 17.5 A/)).toEqual([]);
    expect(await told({ size: '2.5 mm2' })).toHaveLength(1);
    expect(await told({ size: '4 mm2' })).toEqual([]);
    expect(await told({ way: 'Panel -> B1 -> Socket', more: 'breaker B1 { rating: 16 A   curve: B }' })).toEqual([]);
  });

  it('are held by a device before them', async () => {
    const held = async (rating: number): Promise<string[]> => {
      const text = hut({ more: `breaker B0 { rating: ${rating} A   curve: B }` });
      const all = await findings(text.replace('Inv.ac -> Panel', 'Inv.ac -> B0 -> Panel'));
      return all.filter(({ subject }) => subject === 'Hut.Line').map(({ told: each }) => each);
    };
    expect(await held(16)).toEqual([]);
    expect(lacking((await held(20))[0] ?? '', 'B0 lets through 20 A')).toEqual([]);
  });

  // IEC 60364-4-43 433.3.1, from memory: what cannot draw more needs no device against overload.
  it('to loads alone need none under iec, and one elsewhere', async () => {
    expect(await told({ way: 'Panel -> Kettle' })).toEqual([]);
    expect(await told({ way: 'Panel -> Kettle', basis: 'nec 2023', size: '14 AWG' })).toHaveLength(1);
    // 33 CFR 183.425 Table 5: 16 AWG 25 A at 105 °C.
    expect(await told({ way: 'Panel -> Kettle', basis: 'craft', size: '16 AWG' })).toHaveLength(1);
    expect(await told({ way: 'Panel -> Kettle', basis: 'craft', size: '8 AWG' })).toEqual([]);
  });

  it('count sets with an output stage alike, and ask for the size', async () => {
    const source =
      'generator Inv { rated: 6.9 kW   apparent: 6.9 kVA   voltage: 230 V   waveform: inverter   neutralBond: bonded }';
    expect(await told({ source })).toHaveLength(1);
    expect(await told({ source, size: '4 mm2' })).toEqual([]);
    const silent = await analyseText(hut({}).replace('size: 1.5 mm2', ''));
    expect(findingsOf(silent, 'run-unprotected')).toEqual([]);
    expect(askedBy(silent, 'run-unprotected')).toContain('size of Line');
  });

  it('count the larger of what passes an inverter and what it gives by itself', async () => {
    const passing = (service: number, size: string): Promise<string[]> =>
      findings(
        hut({ size, more: `grid Mains { voltage: 230 V   rating: ${service} A   neutralBond: bonded }` })
          .replace('dcVoltage: 44..60 V', 'dcVoltage: 44..60 V   passThrough: yes   switches: phases-and-neutral')
          .replace('run Out:', 'run In: Mains -> Inv.input { size: 10 mm2   length: 2 m }\n  run Out:'),
      ).then((all) => all.filter(({ subject }) => subject === 'Hut.Line').map(({ told: text }) => text));
    expect(lacking((await passing(16, '1.5 mm2'))[0] ?? '', /Inv itself lets through 30 A/)).toEqual([]);
    expect(lacking((await passing(63, '4 mm2'))[0] ?? '', /service of Mains lets through 63 A/)).toEqual([]);
    expect(await passing(32, '4 mm2')).toEqual([]);
  });
});

describe('conductors of a source that limits itself', () => {
  it('are told at the end at which it drives them', async () => {
    // 10 kW at 120 V are 83 A; 10 AWG may have 30 A (NEC 240.4(D)).
    const text = `design Hut {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 10 kW   voltage: 120 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  bus Panel { rating: 100 A }
  load Lamp { power: 600 W }
  run Feed: Bank -> Inv.dc { size: 4/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 10 AWG   type: THHN   length: 2 m }
  run Line: Panel -> Lamp { size: 14 AWG   type: THHN   length: 2 m }
}
`;
    const found = (await findings(text)).filter(({ subject }) => subject === 'Hut.Out');
    expect(found.map(({ headline }) => headline)).toEqual([expect.stringContaining('at its Inv end')]);
  });
});

describe('a fuse that is added', () => {
  const board = (size: string): string => `design Cabin {
  basis: nec 2023
  grid Utility { voltage: 120/240 V   rating: 100 A   faultCurrent: 10 kA   neutralBond: bonded }
  bus Panel { rating: 100 A   voltage: 120/240 V }
  breaker W { rating: 30 A   poles: 2   class: UL489-AC }
  load Heater { power: 4.5 kW   voltage: 240 V }
  run Feed: Utility -> Panel { size: ${size}   type: THHN   length: 2 m }
  run H: Panel -> W -> Heater { size: 10 AWG   type: NM-B   length: 8 m }
}
`;
  // 4500 W / 240 V are 18.75 A, 125 % of it 23.4 A: 25 A. 12 AWG may have 20 A, 10 AWG 30 A, 14 AWG 15 A (NEC 240.4(D)).
  it('is no smaller than the devices behind it, where the conductors allow that', async () => {
    const of = async (size: string) =>
      (await findings(board(size))).filter(({ subject }) => subject === 'Cabin.Feed')[0]?.fixes[0]?.title;
    expect(await of('6 AWG')).toMatch(/^Add a fuse of 30 A at the Utility end of Feed/);
    expect(await of('10 AWG')).toMatch(/^Add a fuse of 30 A at the Utility end of Feed/);
    expect(await of('12 AWG')).toMatch(/^Add a fuse of 25 A at the Utility end of Feed and make it 10 AWG/);
  });

  it('opens instead of the large one before the run, whose heat asks for no larger conductors then', async () => {
    const text = `design Boat {
  basis: craft
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 200 Ah   resistance: 3 mohm   protectionLow: 10.5 V   chargeLimit: 14.4 V }
  bus Bar { rating: 150 A   dcVoltage: 48 V }
  fuse F1 { class: MarineBoltDownFuse32V   rating: 150 A }
  load Fridge { power: 60 W   supply: dc   minimumVoltage: 10.5 V }
  run Main: Bank -> F1 @ 100 mm -> Bar { size: 35 mm2   type: FineStranded105   length: 2 m }
  run Line: Bar -> Fridge { size: 2.5 mm2   type: FineStranded105   length: 6 m }
}
`;
    const [finding] = (await findings(text)).filter(({ subject }) => subject === 'Boat.Line');
    expect(finding?.fixes[0]?.title).toMatch(/^Add a fuse of 7\.5 A at the Bar end of Line(?! and make it)/);
  });

  // NEC 710.15(B): what leaves a stand-alone inverter carries its rated output, or what a device holds it to. 210.3, from memory: 15 A.
  it('holds what leaves an inverter, so that its conductors may stay; no branch circuit has less than 15 A', async () => {
    const text = `design Hut {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120/240 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V   neutralBond: bonded }
  load Lamp { power: 60 W   voltage: 120 V }
  run Feed: Bank -> Inv.dc { size: 4/0 AWG   length: 1 m }
  run Line: Inv.ac -> Lamp { size: 14 AWG   type: THHN   length: 8 m }
}
`;
    const [finding] = (await findings(text)).filter(({ subject }) => subject === 'Hut.Line');
    expect(finding?.fixes[0]?.title).toMatch(/^Add a fuse of 15 A at the Inv end of Line(?! and make it)/);
    const after = await analyseText(applyFix(text, finding!.fixes[0]!));
    for (const check of ['run-unprotected', 'run-ampacity', 'terminal-temperature', 'run-protection'])
      expect(
        findingsOf(after, check).filter(({ subject }) => subject === 'Hut.Line'),
        check,
      ).toEqual([]);
  });
});
