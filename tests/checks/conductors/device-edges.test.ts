import { describe, expect, it } from 'vitest';
import { classesFor, interruptOfClass } from '../../../language/src/checks/conductors/device-ratings.js';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

/* Where one figure of a device gives way to another: rows of a table, ends of a range, order of what is offered. */

const found = async (text: string, check: string) => findingsOf(await analyseText(text), check);
const titles = async (text: string, check: string): Promise<string[]> =>
  (await found(text, check)).flatMap(({ fixes }) => fixes.map(({ title }) => title));

describe('what a class interrupts, by direct voltage', () => {
  const hut = (
    charged: number,
  ): string => `part deviceClass Own { device: fuse   dcVoltage: 100 V   dcInterrupt: { 60 V: 5 kA, 80 V: 3 kA, 100 V: 1 kA } }
design Hut {
  battery Bank { voltage: 48 V   capacity: 100 Ah   shortCircuitCurrent: 4 kA   protectionLow: 44 V   chargeLimit: ${charged} V }
  fuse F1 { class: Own   rating: 40 A }
  load Heater { power: 1 kW   supply: dc }
  run Line: Bank -> F1 @ 0 mm -> Heater { size: 8 AWG   length: 1 m }
}
`;
  it('is that of the next higher voltage listed, of the first one too', async () => {
    expect(await found(hut(56), 'interrupt-rating')).toEqual([]);
    expect(await found(hut(60), 'interrupt-rating')).toEqual([]);
    expect(await found(hut(61), 'interrupt-rating')).toHaveLength(1);
    expect((await found(hut(101), 'interrupt-rating'))[0]?.message).toContain('interrupts none of it');
  });
});

describe('classes that are offered', () => {
  const boat = (from: string): string => `design Boat {
  basis: craft
  battery Bank : Lfp12V100Ah { shortCircuitCurrent: 4 kA }
  fuse Main { class: T   rating: 100 A }
  bus Bar {}
  fuse F1 { class: BladeFuse32V   rating: 40 A }
  load Heater { power: 300 W   supply: dc   continuous: no }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 2 AWG   type: CraftPrimary105   length: 0.2 m }
  run Line: ${from} -> F1 @ 150 mm -> Heater { size: 8 AWG   type: CraftPrimary105   length: 1 m }
}
`;
  it('are those with published figures first, and on the post of a battery only where the circuit leaves one', async () => {
    expect(await titles(boat('Bank'), 'interrupt-rating')).toEqual([
      'Use class T for F1',
      'Use class BatteryPostFuse32V for F1',
    ]);
    const behind = await titles(boat('Bar'), 'interrupt-rating');
    expect(behind[0]).toBe('Use class T for F1');
    expect(behind.join()).not.toContain('PostFuse');
  });

  it('are asked for where nobody knows how high the voltage of an array goes', async () => {
    const roof = `design Roof {
  solar Array { power: 400 W   maximumPowerVoltage: 31 V   maximumPowerCurrent: 9.5 A   shortCircuitCurrent: 10 A }
  fuse F1 { dcVoltage: 60 V   rating: 20 A }
  chargeController Tracker { maximumVoltage: 150 V }
  run Line: Array -> F1 -> Tracker.solar { size: 10 AWG   length: 5 m }
}
`;
    expect(askedBy(await analyseText(roof), 'device-voltage').join()).toContain('openCircuitVoltage of Array');
  });
});

describe('ratings that are offered', () => {
  // gBat from 50 A (from memory); H07V-K 16 mm², method C, carries 76 A (IEC 60364-5-52 B.52.2): 63 A and 50 A.
  it('go down to the smallest that a class is made in', async () => {
    const hut = (watts: number): string => `design Hut {
  basis: iec
  battery Bank : Lfp48V280Ah
  fuse F1 { class: gBat   rating: 100 A }
  load Heater { power: ${watts} W   supply: dc   minimumVoltage: 40 V }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 10 mm2   type: H07V-K   length: 1 m   method: C }
}
`;
    expect((await titles(hut(2000), 'run-protection')).join()).toMatch(/rating of F1 to 50 A/);
  });
});

describe('a cord that no outlet supplies', () => {
  // NEC Table 400.5(A)(1), column B: 12 AWG 25 A, 10 AWG 30 A.
  it('is held against the plug of what it feeds', async () => {
    const coach = (size: string): string =>
      `design Coach {
  grid Shore { voltage: 120 V   rating: 50 A   neutralBond: bonded }
  receptacle Inlet { plug: TT-30 }
  charger Rect { input: 90..132 V   currentLimit: 20 A   absorb: 28.4 V   efficiency: 88 %   powerFactor: 0.98   plug: TT-30 }
  battery Bank : Lfp24V200Ah
  run Cord: Shore -> Rect.ac { size: ${size}   type: STW   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`.replace(/^ {2}receptacle.*\n/m, '');
    expect(await found(coach('10 AWG'), 'cord-ampacity')).toEqual([]);
    expect(await found(coach('12 AWG'), 'cord-ampacity')).toHaveLength(1);
  });
});

describe('a device far from where another limits the supply', () => {
  const boat = (basis: string, at: number, facts = ''): string => `design Boat {
  basis: ${basis}
  battery Bank : Lfp12V100Ah
  fuse Main { class: ${basis === 'iec' ? 'gBat' : 'T'}   rating: 125 A }
  bus Bar {}
  fuse F1 { rating: 16 A   dcVoltage: 32 V }
  load Lamp { power: 60 W   supply: dc   use: other }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 50 mm2   length: 0.5 m   method: C }
  run Line: Bar -> F1 @ ${at} m -> Lamp { size: 2.5 mm2   length: 6 m   method: C   ${facts} }
}
`;
  const severity = async (...given: Parameters<typeof boat>) =>
    (await found(boat(...given), 'run-unprotected')).map((each) => each.severity);

  it('is wrong aboard beyond what any rule allows, and a doubt ashore', async () => {
    expect(await severity('craft', 2.5, 'enclosed: yes')).toEqual(['error']);
    expect(await severity('iec', 3.5, 'enclosed: yes')).toEqual(['warning']);
    expect(await severity('iec', 2.9, 'enclosed: yes')).toEqual([]);
  });
});

describe('what is offered for a tap', () => {
  const hut = (size: string, enclosed: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: 400 A }
  breaker F1 { rating: 15 A }
  load Lamp { power: 200 W }
  run Line: Mains -> F1 @ 2.5 m -> Lamp { size: ${size}   type: THWN-2   length: 20 m   terminals: 60 degC   ${enclosed} }
}
`;
  // A tenth of 400 A: 40 A, which 8 AWG has at 60 °C (Table 310.16).
  it('is the size that the rule asks for, in a raceway', async () => {
    expect((await titles(hut('10 AWG', 'enclosed: yes'), 'run-unprotected')).join()).toContain('size of Line to 8 AWG');
    expect((await titles(hut('10 AWG', 'enclosed: no'), 'run-unprotected')).join()).not.toContain(
      'size of Line to 8 AWG',
    );
  });
});

describe('the classes that do for a device', () => {
  it('stand and interrupt exactly what they are made for, and no more', async () => {
    const { context } = (await analyseText('design Hut {\n  basis: nec 2023\n  battery Bank : Lfp48V280Ah\n}\n'))
      .designs[0]!;
    const names = (volts: number, amperes: number): readonly string[] =>
      classesFor({ device: 'fuse', rating: undefined, volts, amperes, isAtBank: true }, context).map(
        ({ name }) => name,
      );
    const all = context.parts('deviceClass').filter((part) => names(1, 1).includes(part.name));
    expect(all.length).toBeGreaterThan(3);
    for (const part of all) {
      const voltage = part.properties.get('dcVoltage')!.value;
      if (voltage.type !== 'quantity') throw new Error(`${part.name} states no voltage`);
      const volts = voltage.quantity.value;
      expect(names(volts, 1)).toContain(part.name);
      expect(names(volts * 1.001, 1)).not.toContain(part.name);
      const amperes = numberIn(interruptOfClass(part, volts, true)!, 'A');
      expect(names(volts, amperes)).toContain(part.name);
      expect(names(volts, amperes * 1.001)).not.toContain(part.name);
    }
  });
});

describe('the classes that do in the circuit of an array', () => {
  it('are those made for strings as well', async () => {
    const text = `design Cabin {
  basis: iec
  site { ambient: 0..30 degC }
  solar Array { power: 361 W   openCircuitVoltage: 45 V   shortCircuitCurrent: 10 A   maximumPowerVoltage: 38 V   maximumPowerCurrent: 9.5 A   series: 10 }
  chargeController Tracker { maximumVoltage: 600 V   maximumCurrent: 60 A   absorb: 56 V   efficiency: 97 % }
  fuse F1 { class: gG   rating: 16 A }
  run Line: Array -> F1 @ 1 m -> Tracker.solar { size: 6 mm2   type: H1Z2Z2-K   length: 20 m }
}
`;
    const offered = await titles(text, 'device-voltage');
    expect(offered).toContain('Use class gPV for F1');
  });
});
