import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { interruptRatingIn } from '../../../language/src/checks/conductors/interrupt-rating.js';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'interrupt-rating');

describe('interrupt-rating', () => {
  // Handbook on direct-current distribution: 240 V, 110 cells of 0.5 mohm: 4.37 kA, four such batteries in parallel 17.5 kA.
  const handbook = (parallel: number, rating: string): string => `design Plant {
  battery Bank {
    voltage: 240 V   cells: 110   capacity: 500 Ah   resistance: 55 mohm   parallel: ${parallel}   chargeLimit: 240 V
    protectionLow: 200 V
  }
  fuse F1 { dcVoltage: 250 V   interruptRating: ${rating}   rating: 100 A }
  load Heater { power: 10 kW   supply: dc }
  run Line: F1 -> Heater { size: 2 AWG   type: THHN   length: 2 m }
  run Post: Bank -> F1 { size: 4/0 AWG   type: THHN   length: 0 m }
}
`;
  it('finds the handbook’s currents, strings added up', async () => {
    const one = await findings(handbook(1, '4 kA'));
    expect(numberIn(one[0]!.numbers.current!, 'A') / 1000).toBeCloseTo(4.37, 1);
    const [four] = await findings(handbook(4, '17 kA'));
    expect(numberIn(four!.numbers.current!, 'A') / 1000).toBeCloseTo(17.5, 1);
    expect(await findings(handbook(4, '17.5 kA'))).toEqual([]);
    expect(four?.severity).toBe('error');
  });

  const bolted = (distance: string, rating: string): string => `design Van {
  battery Bank { voltage: 12.8 V   capacity: 100 Ah   resistance: 2 mohm   chargeLimit: 14.4 V   protectionLow: 10 V }
  fuse F1 { dcVoltage: 32 V   interruptRating: ${rating}   rating: 100 A }
  load Winch { power: 800 W   supply: dc }
  run Line: Bank -> F1 ${distance} -> Winch { size: 2 AWG   type: THHN   length: 4 m }
}
`;
  it('counts the cold cable up to the device, and no more', async () => {
    // 2 AWG 0.6365 mohm/m at 75 °C, · (1 + 0.00323 · (20 − 75)) = 0.5234 mohm/m at 20 °C; 2 · 1 m: 1.047 mohm.
    // 14.4 V / 2 mohm = 7.2 kA at the post, 14.4 V / 3.047 mohm = 4.73 kA one metre on.
    const [finding] = await findings(bolted('@ 1 m', '4 kA'));
    expect(numberIn(finding!.numbers.current!, 'A')).toBeCloseTo(4726, -1.5);
    expect(await findings(bolted('@ 1 m', '5 kA'))).toEqual([]);
  });

  it('asks for the distance where the cable decides, and not where even the post would do', async () => {
    const open = await analyseText(bolted('', '5 kA'));
    expect(findingsOf(open, 'interrupt-rating')).toEqual([]);
    expect(open.questions.find(({ check }) => check === 'interrupt-rating')?.missing[0]).toContain('distance of F1');
    const enough = await analyseText(bolted('', '8 kA'));
    expect(enough.questions.filter(({ check }) => check === 'interrupt-rating')).toEqual([]);
  });

  it('lets a device see the banks on its other side only', async () => {
    const two = `design Hut {
  battery One { voltage: 51.2 V   shortCircuitCurrent: 6 kA   chargeLimit: 57 V }
  battery Two { voltage: 51.2 V   shortCircuitCurrent: 6 kA   chargeLimit: 57 V }
  bus Bar {}
  fuse FuseOne { dcVoltage: 80 V   interruptRating: 10 kA   rating: 100 A }
  fuse FuseTwo { dcVoltage: 80 V   interruptRating: 10 kA   rating: 100 A }
  fuse Main { dcVoltage: 80 V   interruptRating: 10 kA   rating: 200 A }
  load Heater { power: 3 kW   supply: dc }
  run StringOne: One -> FuseOne @ 0 m -> Bar { size: 4/0 AWG   length: 0.1 m }
  run StringTwo: Two -> FuseTwo @ 0 m -> Bar { size: 4/0 AWG   length: 0.1 m }
  run Line: Bar -> Main @ 0 m -> Heater { size: 4/0 AWG   length: 2 m }
}
`;
    // A string fuse sees 6 kA from either side, the main fuse behind the bus nearly 12 kA.
    expect((await findings(two)).map(({ subject }) => subject)).toEqual(['Hut.Main']);
  });

  it('offers a class that interrupts enough at the voltage and is made in the rating', async () => {
    const text = `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { class: SlowBoltDownFuse58V   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`;
    const [finding] = await findings(text);
    expect(finding?.fixes.length).toBeGreaterThan(0);
    for (const fix of finding!.fixes) {
      const after = await analyseText(applyFix(text, fix));
      expect(findingsOf(after, 'interrupt-rating'), fix.title).toEqual([]);
      expect(findingsOf(after, 'device-voltage'), fix.title).toEqual([]);
    }
  });

  it('leaves devices for alternating current on direct current to device-voltage', async () => {
    const text = `design Van {
  battery Bank : Lfp48V280Ah
  breaker B1 { class: UL489-AC   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> B1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`;
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, 'interrupt-rating')).toEqual([]);
    expect(findingsOf(analysis, 'device-voltage')).toHaveLength(1);
  });

  it('holds an alternating-current breaker against the fault current of the connection', async () => {
    const text = (fault: string): string => `design Hut {
  grid Mains { voltage: 120 V   rating: 100 A   ${fault} }
  breaker B1 { class: UL489-AC   rating: 20 A }
  load Heater { power: 1 kW }
  run Line: Mains -> B1 -> Heater { size: 12 AWG   length: 5 m }
}
`;
    expect(await findings(text('faultCurrent: 10 kA'))).toEqual([]);
    expect(await findings(text('faultCurrent: 14 kA'))).toHaveLength(1);
    const open = await analyseText(text(''));
    expect(open.questions.find(({ check }) => check === 'interrupt-rating')?.missing).toEqual([
      'faultCurrent of Mains',
    ]);
  });

  describe('and what a class states', () => {
    // 11.2 kA and more from the library's 48 V pack.
    const van = (parts: string, fuse: string): string => `${parts}
design Van {
  battery Bank { voltage: 51.2 V   shortCircuitCurrent: 15 kA   chargeLimit: 57 V }
  fuse F1 { ${fuse}   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`;
    const [memory, published] = ['class: PostFuse58V', 'class: SlowBoltDownFuse32V'];

    it('is a warning where it is from memory and an error where it was read in a published copy', async () => {
      const [soft] = await findings(van('', memory));
      expect(soft?.severity).toBe('warning');
      expect(lacking(soft?.told, 'from memory: read the data sheet')).toEqual([]);
      const [hard] = await findings(van('', published));
      expect(hard?.severity).toBe('error');
      expect(hard?.told).not.toContain('from memory');
    });

    it('is an error where a part of the design overrides it, and a warning where that part says it is from memory', async () => {
      const own = 'part deviceClass Own extends PostFuse58V { dcInterrupt: { 58 V: 3 kA } }';
      expect((await findings(van(own, 'class: Own')))[0]?.severity).toBe('error');
      const unsure = own.replace('} }', '}   fromMemory: dcInterrupt }');
      expect((await findings(van(unsure, 'class: Own')))[0]?.severity).toBe('warning');
    });

    it('knows over any number of parts that extend each other whether a value is from memory', async () => {
      const own = `part deviceClass Own extends PostFuse58V { dcInterrupt: { 58 V: 3 kA } }
part deviceClass Second extends Own { ratings: 30..400 A }
part deviceClass Third extends Second { note: "painted red" }`;
      for (const part of ['Own', 'Second', 'Third'])
        expect((await findings(van(own, `class: ${part}`)))[0]?.severity, part).toBe('error');
      const plain = own.replace('{ dcInterrupt: { 58 V: 3 kA } }', '{ note: "invented" }');
      for (const part of ['Own', 'Second', 'Third'])
        expect((await findings(van(plain, `class: ${part}`)))[0]?.severity, part).toBe('warning');
      const unsure = own.replace('ratings: 30..400 A', 'fromMemory: dcInterrupt');
      expect((await findings(van(unsure, 'class: Third')))[0]?.severity).toBe('warning');
      expect((await findings(van(unsure, 'class: Own')))[0]?.severity).toBe('error');
    });

    it('is judged at the direct voltage it stands on: the row of the next higher voltage', async () => {
      const own =
        'part deviceClass Own { device: fuse   dcVoltage: 80 V   dcInterrupt: { 32 V: 20 kA, 58 V: 16 kA, 80 V: 14 kA } }';
      expect(await findings(van(own, 'class: Own'))).toEqual([]);
      const higher = van(own, 'class: Own').replace('chargeLimit: 57 V', 'chargeLimit: 59 V');
      expect(lacking((await findings(higher))[0]?.told, 'interrupts 14 kA')).toEqual([]);
    });
  });

  it('advises devices of their own for strings that have none, and for no others', async () => {
    const shed = (bank: string): string => `design Shed {
  battery Bank { voltage: 48 V   capacity: 100 Ah   shortCircuitCurrent: 200 kA   protectionLow: 44 V   chargeLimit: 56 V   ${bank} }
  fuse F1 { class: T   rating: 100 A }
  load Heater { power: 1 kW   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Heater { size: 2 AWG   type: THHN   length: 1 m }
}
`;
    const advice = async (bank: string) => (await findings(shed(bank)))[0]?.advice;
    expect(await advice('parallel: 2')).toContain('give each string a device of its own');
    for (const bank of ['parallel: 1', '', 'parallel: 2   stringFuse: 100 A'])
      expect(await advice(bank), bank).toContain('a longer or smaller cable');
  });

  it('counts the cable between the service and a breaker that says where it stands', async () => {
    const text = (length: string): string => `design Hut {
  grid Mains { voltage: 120 V   rating: 100 A   faultCurrent: 14 kA }
  breaker Main { rating: 60 A   interruptRating: 22 kA }
  bus Panel {}
  breaker B1 { interruptRating: 10 kA   rating: 20 A }
  load Heater { power: 1 kW }
  run Feed: Mains -> Main -> Panel { size: 4 AWG   length: ${length} }
  run Line: Panel -> B1 -> Heater { size: 12 AWG   length: 5 m }
}
`;
    expect(await findings(text('0 m'))).toHaveLength(1);
    expect(lacking((await findings(text('1 m')))[0]?.told, 'from Mains')).toEqual([]);
    // 4 AWG 0.308 ohm/kft at 75 °C, 0.253 at 20 °C: 10 m are 16.6 mohm out and back, more than the 8.6 mohm of the service.
    expect(await findings(text('10 m'))).toEqual([]);
  });

  it('makes a warning of the figures that a library battery has from memory, an error of those of the design', async () => {
    const van = (bank: string): string => `design Van {
  battery Bank : Lfp12V100Ah { ${bank} }
  fuse F1 { dcVoltage: 32 V   interruptRating: 2 kA   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`;
    const [remembered] = await findings(van(''));
    expect(remembered?.severity).toBe('warning');
    expect(lacking(remembered?.told, 'state `shortCircuitCurrent` from the data sheet')).toEqual([]);
    const [stated] = await findings(van('shortCircuitCurrent: 5 kA'));
    expect(stated?.severity).toBe('error');
    expect(await findings(van('shortCircuitCurrent: 1.9 kA'))).toEqual([]);
  });

  it('makes a warning of the reactance that is taken for a set', async () => {
    const site = (set: string): string =>
      `design Site {
  generator Genset { rated: 160 kW   voltage: 230/400 V   ${set} }
  breaker B1 { rating: 200 A   interruptRating: 2 kA }
  load Pump { power: 30 kW }
  run Line: Genset -> B1 -> Pump { size: 95 mm2   length: 10 m }
}
`
        .replace('voltage: 400 V   phases: three', 'voltage: 230/400 V')
        .replace('200 kVA', '200 kVA');
    const [taken] = await findings(site(''));
    expect(taken?.severity).toBe('warning');
    const [stated] = await findings(site('reactance: 0.1'));
    expect(stated?.severity).toBe('error');
  });
});

describe('a class with ratings for both sorts of current', () => {
  const service = (device: string, fault: string): string => `design House {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: ${fault}   neutralBond: bonded }
  ${device}
  load Heater { power: 5 kW   legs: L1, L2 }
  run Line: Mains -> F1 -> Heater { size: 3 AWG   type: THHN   length: 6 m   terminals: 75 degC }
}
`;
  // UL 248: 200 kA on alternating current for classes J, RK and T, from a distributor's table; 20 kA of class T are at 125 V direct.
  it.each(['T', 'J', 'RK5', 'RK1'])('%s interrupts 200 kA on alternating current', async (name) => {
    const fuse = `fuse F1 { class: ${name}   rating: 100 A }`;
    expect(findingsOf(await analyseText(service(fuse, '22 kA')), 'interrupt-rating')).toEqual([]);
    expect(findingsOf(await analyseText(service(fuse, '200 kA')), 'interrupt-rating')).toEqual([]);
    const [above] = findingsOf(await analyseText(service(fuse, '201 kA')), 'interrupt-rating');
    expect(above?.severity).toBe('error');
  });

  it('is told of each device by the current it stands in', async () => {
    const told = async (text: string) => {
      const { system, context } = (await analyseText(text)).designs[0]!;
      const device = system.instances.find(({ name }) => name === 'F1')!;
      const run = system.runs.find(({ name }) => name === 'Line')!;
      const rating = interruptRatingIn(device, run, context);
      return rating && numberIn(rating, 'kA');
    };
    expect(await told(service('fuse F1 { class: T   rating: 100 A }', '5 kA'))).toBe(200);
    const van = `design Van {
  battery Bank { voltage: 51.2 V   capacity: 100 Ah   shortCircuitCurrent: 2 kA   chargeLimit: 57.6 V   protectionLow: 40 V }
  fuse F1 { class: T   rating: 100 A }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Pump { size: 3 AWG   type: THHN   length: 1 m }
}
`;
    expect(await told(van)).toBe(20);
  });

  it('interrupts on direct current what it does there', async () => {
    const bank = (kiloamperes: number): string => `design Van {
  battery Bank { voltage: 51.2 V   capacity: 100 Ah   shortCircuitCurrent: ${kiloamperes} kA   chargeLimit: 57.6 V   protectionLow: 40 V }
  fuse F1 { class: T   rating: 100 A }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Pump { size: 3 AWG   type: THHN   length: 1 m }
}
`;
    expect(findingsOf(await analyseText(bank(20)), 'interrupt-rating')).toEqual([]);
    expect(findingsOf(await analyseText(bank(21)), 'interrupt-rating')).toHaveLength(1);
  });
});
