import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

const ID = 'motor-circuit';

interface Farm {
  readonly device?: string;
  readonly motor?: string;
  readonly size?: string;
  readonly voltage?: string;
  readonly more?: string;
}

const farm = ({
  device = 'breaker B1 { rating: 20 A }',
  motor = 'motor: single-phase   horsepower: 1 hp   fullLoadCurrent: 7.5 A   overload: 8.6 A',
  size = '14 AWG',
  voltage = '230 V',
  more = '',
}: Farm): string => `design Farm {
  basis: nec 2023
  grid Mains { voltage: ${voltage}   rating: 100 A   neutralBond: bonded }
  ${device}
  load Pump { power: 900 W   ${motor} }
  run Line: Mains -> B1 -> Pump { size: ${size}   type: THHN   length: 2 m   earth: 14 AWG }
  ${more}
}
`;

const of = async (text: string, check: string) => findingsOf(await analyseText(text), check);

describe('the device of a motor circuit', () => {
  // NEC 240.4(G) with 430.52: the small-conductor limit of 240.4(D) does not count for a motor with an overload device of its own. 1 hp
  // 230 V: 8 A (Table 430.248), 250 % are 20 A.
  it('may be 20 A on 14 AWG, and no more', async () => {
    expect(await of(farm({}), 'run-protection')).toEqual([]);
    expect(await of(farm({}), ID)).toEqual([]);
    const more = farm({ device: 'breaker B1 { rating: 25 A }' });
    expect(await of(more, 'run-protection')).toHaveLength(1);
    // The same load that is no motor.
    expect(await of(farm({ motor: '' }), 'run-protection')).toHaveLength(1);
  });

  it('rests on its overload protection, which is asked for above 1 hp', async () => {
    const large = 'motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A';
    const silent = await analyseText(farm({ motor: large, device: 'breaker B1 { rating: 30 A }' }));
    expect(findingsOf(silent, 'run-protection')).toEqual([]);
    expect(askedBy(silent, 'run-protection')).toEqual(['overload of Pump']);
    expect(askedBy(silent, ID)).toEqual(['overload of Pump']);
    const stated = farm({ motor: `${large}   overload: 12.65 A`, device: 'breaker B1 { rating: 30 A }' });
    expect(await of(stated, 'run-protection')).toEqual([]);
    const thermal = farm({ motor: `${large}   thermalProtection: yes`, device: 'breaker B1 { rating: 30 A }' });
    expect(await of(thermal, 'run-protection')).toEqual([]);
  });

  // Table 430.52: 175 % with time delay. 3 hp 115 V: 34 A, 59.5 A, next standard rating 60 A (trade magazine, motor calculations).
  it('is bounded by the table and the next standard rating', async () => {
    const motor = 'motor: single-phase   horsepower: 3 hp   fullLoadCurrent: 31 A   overload: 35 A';
    const fuse = (rating: number): string =>
      farm({ motor, device: `fuse B1 { class: J   rating: ${rating} A }`, size: '6 AWG', voltage: '115 V' });
    expect(await of(fuse(60), ID)).toEqual([]);
    const [finding] = await of(fuse(70), ID);
    expect(finding?.severity).toBe('warning');
    expect(numberIn(finding!.numbers.limit!, 'A')).toBe(60);
    expect((await afterFix(fuse(70), ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('may be that of a general circuit for small motors', async () => {
    const small = 'motor: single-phase   horsepower: 0.25 hp   fullLoadCurrent: 5 A';
    const text = (rating: number): string =>
      farm({ motor: small, device: `breaker B1 { rating: ${rating} A }`, size: '10 AWG', voltage: '115 V' });
    expect(await of(text(20), ID)).toEqual([]);
    expect(await of(text(25), ID)).toHaveLength(1);
  });

  // Up to 1 hp (430.53(A), from memory). Table 430.250, 460 V: 1 hp 2.1 A, 1½ hp 3 A, 250 % are 5.25 A and 7.5 A: 15 A.
  it.each([
    ['1 hp', '2.1 A', 0],
    ['1.5 hp', '3 A', 1],
  ])('is that of a general circuit for no motor above 1 hp: %s', async (horsepower, amperes, count) => {
    const text = farm({
      motor: `motor: design-b   horsepower: ${horsepower}   fullLoadCurrent: ${amperes}   thermalProtection: yes`,
      size: '12 AWG',
      voltage: 'three 460 V',
    });
    expect(await of(text, ID)).toHaveLength(count);
  });

  it('rests on a current that is asked for', async () => {
    const text = farm({ motor: 'motor: three-phase   thermalProtection: yes', voltage: 'three 460 V' });
    expect(askedBy(await analyseText(text), ID)).toEqual(['horsepower or fullLoadCurrent of Pump']);
  });

  // 430.52 again: 8 A, 20 A. Busbars and switches between do not make a group of one motor.
  it('may stand before a busbar that leads to the motor alone', async () => {
    const over = (rating: number, more = ''): string => `design Farm {
  basis: nec 2023
  grid Mains { voltage: 230 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: ${rating} A }
  bus Panel {}
  switch Isolator { rating: 30 A }
  load Pump { power: 900 W   motor: single-phase   horsepower: 1 hp   fullLoadCurrent: 7.5 A   overload: 8.6 A }
  run Feed: Mains -> B1 -> Panel { size: 4 AWG   type: THHN   length: 2 m   earth: 8 AWG }
  run Line: Panel -> Isolator -> Pump { size: 4 AWG   type: THHN   length: 2 m   earth: 8 AWG }
  ${more}
}
`;
    expect(askedBy(await analyseText(over(20)), ID)).toEqual([]);
    expect(await of(over(20), ID)).toEqual([]);
    const [finding, ...others] = await of(over(25), ID);
    expect(others).toEqual([]);
    expect(numberIn(finding!.numbers.limit!, 'A')).toBe(20);
    // With a load beside it, it is a group, whose listing decides.
    const fan = 'load Fan { power: 100 W }   run Aside: Panel -> Fan { size: 4 AWG   length: 1 m   earth: 8 AWG }';
    expect(await of(over(25, fan), ID)).toEqual([]);
    expect(askedBy(await analyseText(over(25, fan)), ID)).toEqual(['groupListed of Pump']);
    // So it is with a charger, which is no load.
    const charger =
      'battery Bank : Lfp24V200Ah   charger Rect { input: 180..264 V   currentLimit: 10 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1 }   run In: Panel -> Rect.ac { size: 4 AWG   length: 1 m   earth: 8 AWG }   run Dc: Rect.dc -> Bank { size: 2 AWG   length: 1 m }';
    expect(askedBy(await analyseText(over(25, charger)), ID)).toEqual(['groupListed of Pump']);
  });
});

describe('the overload protection of a motor', () => {
  // NEC 430.32(A)(1): 125 % of the nameplate with a service factor of 1.15, else 115 %.
  it.each([
    ['serviceFactor: 1.15', 40, 41],
    ['', 36.8, 36.9],
  ])('is set by the nameplate %s', async (factor, most, above) => {
    const text = (setting: number): string =>
      farm({
        motor: `motor: three-phase   fullLoadCurrent: 32 A   ${factor}   overload: ${setting} A`,
        device: 'fuse B1 { class: J   rating: 60 A }',
        size: '8 AWG',
        voltage: 'three 480 V',
      });
    expect(await of(text(most), ID)).toEqual([]);
    const [finding, ...others] = await of(text(above), ID);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(finding?.fixes[0]?.title).toBe(`Set the overload of Pump to ${most} A`);
    expect((await afterFix(text(above), ID, finding!.fixes[0]!)).left).toEqual([]);
  });
});

describe('the conductors of motors', () => {
  // NEC 430.22: 125 % of the current of the table, not of the nameplate: 3 hp 115 V, 34 A: 42.5 A (trade magazine, motor calculations).
  it('carry 125 % of the full-load current, whether or not it lasts', async () => {
    for (const lasting of ['', 'continuous: no'])
      expect(
        await valueOf(
          farm({
            motor: `motor: single-phase   horsepower: 3 hp   fullLoadCurrent: 31 A   ${lasting}`,
            voltage: '115 V',
          }),
          'Line',
          'requiredAmpacity',
          'A',
        ),
      ).toBeCloseTo(42.5, 9);
  });

  // After correction (430.22): 42.5 A at 45 °C. THHN 8 AWG 55 A · 0.87 = 47.9 A, 10 AWG 40 A · 0.87 = 34.8 A at 90 °C.
  it('after correction for the ambient too', async () => {
    const at = (size: string): string =>
      farm({
        motor: 'motor: single-phase   horsepower: 3 hp   fullLoadCurrent: 31 A   overload: 35 A   continuous: no',
        device: 'breaker B1 { rating: 50 A }',
        size,
        voltage: '115 V',
      }).replace('length: 2 m', 'length: 2 m   ambient: 45 degC');
    expect(await of(at('8 AWG'), 'run-ampacity')).toEqual([]);
    expect(await of(at('10 AWG'), 'run-ampacity')).toHaveLength(1);
  });

  // NEC Informative Annex D, Example D8 (from memory): 25 hp and two 30 hp wound-rotor motors at 460 V: 42.5 A, 50 A, feeder
  // 1.25 · 40 + 40 + 34 = 124 A; fuses 110 A and 60 A; feeder device 110 + 40 + 40 = 190, 175 A.
  const plant = (feeder: number): string => `design Plant {
  basis: nec 2023
  grid Mains { voltage: three 460 V   rating: 400 A   neutralBond: bonded }
  bus Panel { rating: 400 A }
  fuse Feeder { rating: ${feeder} A }
  fuse F25 { rating: 110 A }
  fuse F30a { rating: 60 A }
  fuse F30b { rating: 60 A }
  load M25 { power: 20 kW   motor: design-b   horsepower: 25 hp   fullLoadCurrent: 32 A   serviceFactor: 1.15   overload: 40 A }
  load M30a { power: 24 kW   motor: wound-rotor   horsepower: 30 hp   fullLoadCurrent: 38 A   overload: 43 A }
  load M30b { power: 24 kW   motor: wound-rotor   horsepower: 30 hp   fullLoadCurrent: 38 A   overload: 43 A }
  run Main: Mains -> Feeder -> Panel { size: 1 AWG   type: THHN   length: 10 m   earth: 6 AWG }
  run To25: Panel -> F25 -> M25 { size: 8 AWG   type: THHN   length: 5 m   earth: 6 AWG }
  run To30a: Panel -> F30a -> M30a { size: 6 AWG   type: THHN   length: 5 m   earth: 10 AWG }
  run To30b: Panel -> F30b -> M30b { size: 6 AWG   type: THHN   length: 5 m   earth: 10 AWG }
}
`;

  it('of a feeder carry 125 % of the largest and the others', async () => {
    expect(await valueOf(plant(175), 'Main', 'requiredAmpacity', 'A')).toBeCloseTo(124, 9);
    expect(await valueOf(plant(175), 'To25', 'requiredAmpacity', 'A')).toBeCloseTo(42.5, 9);
    expect(await valueOf(plant(175), 'To30a', 'requiredAmpacity', 'A')).toBeCloseTo(50, 9);
  });

  it('have the devices of the example', async () => {
    const analysis = await analyseText(plant(175));
    expect(findingsOf(analysis, 'run-protection')).toEqual([]);
    expect(findingsOf(analysis, ID)).toEqual([]);
    const more = await analyseText(plant(200));
    expect(findingsOf(more, 'run-protection').map(({ subject }) => subject)).toEqual(['Plant.Main']);
  });
});

/*
 * Several motors behind one device: NEC 430.53 and 430.53(C), from memory. 1 hp and 2 hp at 230 V take 8 A and 12 A (Table 430.248).
 */
describe('motors behind one device', () => {
  interface Group {
    readonly breaker: number;
    readonly size?: string;
    readonly first?: string;
    readonly second?: string;
    readonly voltage?: string;
    readonly branches?: string;
  }
  const ONE = 'motor: single-phase   horsepower: 1 hp   fullLoadCurrent: 7.5 A   overload: 8.6 A';
  const TWO = 'motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A   overload: 12.6 A';
  const group = ({ breaker, size = '6 AWG', first = ONE, second = TWO, voltage = '230 V', branches }: Group): string =>
    `design Mill {
  basis: nec 2023
  grid Mains { voltage: ${voltage}   rating: 200 A   neutralBond: bonded }
  breaker B1 { rating: ${breaker} A }
  load Saw { power: 800 W   ${first} }
  load Fan { power: 1.5 kW   ${second} }
  ${branches ?? `run Line: Mains -> B1 -> Saw, Fan { size: ${size}   type: THHN   length: 2 m   terminals: 60 degC   earth: 6 AWG }`}
}
`;
  const listed = (motor: string): string => `${motor}   groupListed: yes`;

  // A breaker is no proof of itself: 10 AWG has 30 A (240.4(D)), whatever 90 A and 8 A are together.
  it('are no feeder whose device tells how large it may be', async () => {
    const text = group({ breaker: 90, size: '10 AWG' });
    expect(await of(text, 'run-protection')).toHaveLength(1);
    expect(await of(text, ID)).toHaveLength(1);
    const several = group({ breaker: 90, size: '10 AWG', first: `${ONE}   count: 2` }).replace('-> Saw, Fan', '-> Saw');
    expect(await of(several, 'run-protection')).toHaveLength(1);
    expect(await of(several, ID)).toHaveLength(1);
  });

  // (B): 250 % of 8 A are 20 A.
  it('may have the device of the smallest', async () => {
    expect(await of(group({ breaker: 20 }), ID)).toEqual([]);
    const more = await analyseText(group({ breaker: 25 }));
    expect(findingsOf(more, ID)).toEqual([]);
    expect(askedBy(more, ID)).toEqual(['groupListed of Saw', 'groupListed of Fan']);
  });

  // (C): 250 % of 12 A are 30 A, and 8 A: 38 A, 35 A; 6 AWG at 60 °C has 55 A, a standard rating of 60 A above it.
  it('may have that of the largest and the others where their gear is listed for it, or what the conductors allow', async () => {
    const both = { first: listed(ONE), second: listed(TWO) };
    expect(await of(group({ breaker: 35, size: '10 AWG', ...both }), ID)).toEqual([]);
    expect(await of(group({ breaker: 35, size: '10 AWG', ...both }), 'run-protection')).toEqual([]);
    const [above, ...others] = await of(group({ breaker: 40, size: '10 AWG', ...both }), ID);
    expect(others).toEqual([]);
    expect(above?.severity).toBe('warning');
    expect(numberIn(above!.numbers.limit!, 'A')).toBe(35);
    expect((await afterFix(group({ breaker: 40, size: '10 AWG', ...both }), ID, above!.fixes[0]!)).left).toEqual([]);
    expect(await of(group({ breaker: 40, size: '10 AWG', ...both }), 'run-protection')).toHaveLength(1);
    expect(await of(group({ breaker: 60, ...both }), ID)).toEqual([]);
    expect(await of(group({ breaker: 70, ...both }), ID)).toHaveLength(1);
  });

  it('are told the most that may come of it where one of them does not say whether it is listed', async () => {
    const [finding] = await of(group({ breaker: 40, size: '10 AWG', first: listed(ONE) }), ID);
    expect(finding?.headline).toContain('at most 35 A');
  });

  it('are told what the smallest may have where their gear is said not to be listed', async () => {
    const not = (motor: string): string => `${motor}   groupListed: no`;
    const [finding] = await of(group({ breaker: 35, size: '10 AWG', first: not(ONE), second: not(TWO) }), ID);
    expect(finding?.headline).toContain('at most 20 A');
  });

  it('leave loads that are no motors alone', async () => {
    const text = group({ breaker: 20, second: '' });
    expect(askedBy(await analyseText(text), ID).filter((fact) => fact.endsWith('of Fan'))).toEqual([]);
  });

  it('may not where one says that it is not listed', async () => {
    const [finding, ...others] = await of(
      group({ breaker: 25, first: listed(ONE), second: `${TWO}   groupListed: no` }),
      ID,
    );
    expect(others).toEqual([]);
    expect(numberIn(finding!.numbers.limit!, 'A')).toBe(20);
  });

  // (A): up to 1 hp and 6 A each, 15 A above 120 V and 20 A at 120 V. Table 430.248: 1/4 hp 2.9 A at 230 V, 5.8 A at 115 V; 250 % of 2.9 A
  // are 7.25 A, 15 A; of 5.8 A 14.5 A, 15 A.
  it('may have a general-purpose circuit where they are small', async () => {
    const small = 'motor: single-phase   horsepower: 0.25 hp   fullLoadCurrent: 5 A';
    const at = (breaker: number, voltage: string): string =>
      group({ breaker, voltage, first: small, second: small, size: '10 AWG' })
        .replace('1.5 kW', '300 W')
        .replace('800 W', '300 W');
    expect(await of(at(20, '115 V'), ID)).toEqual([]);
    expect(askedBy(await analyseText(at(20, '115 V')), ID)).toEqual([]);
    expect(await of(at(15, '230 V'), ID)).toEqual([]);
    expect(askedBy(await analyseText(at(20, '230 V')), ID)).toEqual(['groupListed of Saw', 'groupListed of Fan']);
    // 1/3 hp 115 V: 7.2 A, above 6 A.
    const larger = small.replace('0.25', '0.3333');
    const text = group({ breaker: 25, voltage: '115 V', first: small, second: larger, size: '10 AWG' });
    expect(askedBy(await analyseText(text), ID)).toEqual(['groupListed of Saw', 'groupListed of Fan']);
  });

  it('are found behind busbars, with other loads among them, and not behind devices of their own', async () => {
    const panel = (between: string): string =>
      group({
        breaker: 90,
        second: '',
        branches: `bus Panel {}
  breaker B2 { rating: 20 A }
  run Main: Mains -> B1 -> Panel { size: 4 AWG   type: THHN   length: 2 m }
  run ToSaw: Panel -> ${between} Saw { size: 14 AWG   type: THHN   length: 2 m }
  run ToFan: Panel -> Fan { size: 10 AWG   type: THHN   length: 2 m }`,
      });
    const [finding] = await of(panel(''), ID);
    expect(finding?.subject).toBe('Mill.Main');
    expect(await of(panel('B2 ->'), ID)).toEqual([]);
  });

  /*
   * Conductors of one motor behind a device of 60 A, 430.53(D), from memory. Table 310.16 at 60 °C: 6 AWG 55 A, 10 AWG 30 A, 12 AWG 20 A,
   * 14 AWG 15 A; a third of 55 A are 18.3 A, of 30 A 10 A. 25 ft are 7.62 m.
   */
  it('lead to each over conductors as good as their own, or a third as good, short and in a raceway', async () => {
    const taps = (saw: string, main = '6 AWG'): string =>
      group({
        breaker: 60,
        first: listed(ONE),
        second: listed(TWO),
        branches: `bus Panel {}
  run Main: Mains -> B1 -> Panel { size: ${main}   type: THHN   length: 2 m   terminals: 60 degC   earth: 6 AWG }
  run ToSaw: Panel -> Saw { type: THHN   terminals: 60 degC   earth: 6 AWG   ${saw} }
  run ToFan: Panel -> Fan { size: ${main}   type: THHN   terminals: 60 degC   earth: 6 AWG   length: 30 m }`,
      });
    const unprotected = async (text: string) =>
      (await of(text, 'run-unprotected')).map(({ subject, severity }) => [subject, severity]);
    const asked = async (text: string) => askedBy(await analyseText(text), 'run-unprotected');
    const FAULT = [['Mill.ToSaw', 'error']];
    // What else stands in the design is not the circuit that they branch off from.
    const other = taps('size: 12 AWG   length: 2 m   enclosed: yes').replace(
      'bus Panel {}',
      'bus Panel {}\n  breaker B9 { rating: 100 A }\n  load Oven { power: 9 kW }\n  run Other: Mains -> B9 -> Oven { size: 1/0 AWG   type: THHN   length: 2 m   terminals: 60 degC   earth: 6 AWG }',
    );
    expect(await unprotected(other)).toEqual([]);
    expect(await unprotected(taps('size: 6 AWG   length: 30 m'))).toEqual([]);
    expect(await unprotected(taps('size: 12 AWG   length: 7.62 m   enclosed: yes'))).toEqual([]);
    expect(await unprotected(taps('size: 12 AWG   length: 7.63 m   enclosed: yes'))).toEqual(FAULT);
    expect(await unprotected(taps('size: 14 AWG   length: 2 m   enclosed: yes'))).toEqual(FAULT);
    expect(await unprotected(taps('size: 12 AWG   length: 2 m   enclosed: no'))).toEqual(FAULT);
    expect(await unprotected(taps('size: 12 AWG   length: 2 m'))).toEqual([]);
    expect(await asked(taps('size: 12 AWG   length: 2 m'))).toEqual(['enclosed of ToSaw']);
    expect(await asked(taps('size: 12 AWG   enclosed: yes'))).toEqual(['length of ToSaw']);
    const unknown = taps('size: 12 AWG   length: 2 m   enclosed: yes').replace(
      'size: 6 AWG   type: THHN   length: 2 m',
      'type: THHN   length: 2 m',
    );
    expect(await asked(unknown)).toContain('size of Main');
  });

  // NEC 430.53(D)(3), from memory: to a manual motor controller marked for tap conductor protection up to 10 ft, enclosed, and a tenth of the device:
  // 14 AWG has 15 A at 60 °C, a tenth of 150 A; of 175 A it is 17.5 A. 2 AWG, 95 A, is more than three times as good.
  it('may branch off to a controller that is marked to protect them', async () => {
    const taps = (saw: string, starter = 'tapProtection: yes', breaker = 150): string =>
      group({
        breaker,
        first: listed(ONE),
        second: listed(TWO),
        branches: `bus Panel {}
  switch Starter { rating: 25 A   acVoltage: 240 V   ${starter} }
  run Main: Mains -> B1 -> Panel { size: 2 AWG   type: THHN   length: 2 m   terminals: 60 degC   earth: 6 AWG }
  run ToSaw: Panel -> ${saw}
  run ToFan: Panel -> Fan { size: 2 AWG   type: THHN   terminals: 60 degC   earth: 6 AWG   length: 30 m }`,
      });
    const wire = (facts: string): string => `{ size: 14 AWG   type: THHN   terminals: 60 degC   ${facts} }`;
    const through = (at: string, facts = 'length: 30 m   enclosed: yes'): string =>
      `Starter${at} -> Saw ${wire(facts)}`;
    const unprotected = async (text: string) =>
      (await of(text, 'run-unprotected')).map(({ subject, severity }) => [subject, severity]);
    const asked = async (text: string) => askedBy(await analyseText(text), 'run-unprotected');
    const FAULT = [['Mill.ToSaw', 'error']];
    expect(await unprotected(taps(through(' @ 3.048 m')))).toEqual([]);
    expect(await unprotected(taps(through(' @ 3.05 m')))).toEqual(FAULT);
    expect(await unprotected(taps(through(' @ 3 m'), ''))).toEqual(FAULT);
    expect(await unprotected(taps(through(' @ 3 m'), 'tapProtection: no'))).toEqual(FAULT);
    expect(await unprotected(taps(through(' @ 3 m'), undefined, 175))).toEqual(FAULT);
    expect(await unprotected(taps(through(' @ 3 m', 'length: 30 m   enclosed: no')))).toEqual(FAULT);
    expect(await asked(taps(through(' @ 3 m', 'length: 30 m')))).toEqual(['enclosed of ToSaw']);
    expect(await asked(taps(through('')))).toEqual(['distance of Starter in ToSaw (`Starter @ 2 m`)']);
    // As a run to the controller and one from it: that goes as far as it likes.
    const two = (facts: string): string => `Starter ${wire(facts)}\n  run On: Starter -> Saw ${wire('length: 30 m')}`;
    expect(await unprotected(taps(two('length: 3 m   enclosed: yes')))).toEqual([]);
    expect(await unprotected(taps(two('length: 3.1 m   enclosed: yes')))).toEqual(FAULT);
    expect(await asked(taps(two('enclosed: yes')))).toEqual(['length of ToSaw']);
    // Nor does what the class of the breaker may let through accuse what the controller is marked to protect: 14 AWG behind 150 A, 5 kA.
    const heat = async (starter: string) =>
      (
        await of(
          taps(through(' @ 3 m'), starter)
            .replace('rating: 150 A }', 'class: UL489-AC   rating: 150 A }')
            .replace('neutralBond: bonded }', 'neutralBond: bonded   faultCurrent: 5 kA }'),
          'short-circuit-withstand',
        )
      ).map(({ subject }) => subject);
    expect(await heat('tapProtection: yes')).toEqual([]);
    expect(await heat('')).toEqual(['Mill.ToSaw']);
    // A third of what it branches off from is enough up to 25 ft, whatever the controller.
    const third = through(' @ 7 m', 'length: 7.6 m   enclosed: yes').replace('14 AWG', '8 AWG');
    expect(await unprotected(taps(third))).toEqual([]);
  });

  it('do not lead to other loads so', async () => {
    const text = group({
      breaker: 60,
      first: listed(ONE),
      second: '',
      branches: `bus Panel {}
  run Main: Mains -> B1 -> Panel { size: 6 AWG   type: THHN   length: 2 m   terminals: 60 degC }
  run ToSaw: Panel -> Saw { size: 6 AWG   type: THHN   terminals: 60 degC   length: 2 m }
  run ToFan: Panel -> Fan { size: 12 AWG   type: THHN   terminals: 60 degC   length: 2 m   enclosed: yes }`,
    });
    expect((await of(text, 'run-unprotected')).map(({ subject }) => subject)).toEqual(['Mill.ToFan']);
  });

  it('ask for the rating of their device and for what a motor takes', async () => {
    const silent = group({ breaker: 20 }).replace('rating: 20 A', '');
    expect(askedBy(await analyseText(silent), ID)).toContain('rating of B1');
    const unknown = group({ breaker: 20, first: 'motor: single-phase' });
    expect(askedBy(await analyseText(unknown), ID)).toContain('horsepower or fullLoadCurrent of Saw');
  });
});

describe('the heat of a short circuit in the circuit of a motor', () => {
  // 1 hp at 230 V: 8 A (Table 430.248), 250 % are 20 A; 14 AWG has 15 A at 60 °C, and 240.4(G) allows the 20 A.
  const pump = (breaker: number, facts: string): string => `design Farm {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: ${breaker} A   poles: 2 }
  load Pump { power: 900 W   legs: L1, L2   ${facts} }
  run Line: Mains -> B1 -> Pump { size: 14 AWG   type: THHN   length: 12 m   earth: 14 AWG   terminals: 60 degC }
}
`;
  const MOTOR = 'motor: single-phase   horsepower: 1 hp   fullLoadCurrent: 7.5 A   overload: 8.6 A';
  it('is asked of the device, not found by what its class may let through', async () => {
    const heat = async (text: string) => {
      const analysis = await analyseText(text);
      return [
        ...findingsOf(analysis, 'short-circuit-withstand').map(({ severity }) => severity),
        ...askedBy(analysis, 'short-circuit-withstand'),
      ];
    };
    // A fuse that limits current: RK5 may let through 50 kA²s in a case of 30 A, 14 AWG bears 43.3 kA²s; 175 % of 8 A are 14 A, the next rating 15 A.
    const fuse = (rating: number, size = '14 AWG'): string =>
      pump(20, MOTOR)
        .replace(/breaker B1 .*/, `fuse B1 { class: RK5   rating: ${rating} A }`)
        .replace('size: 14 AWG', `size: ${size}`);
    expect(await heat(fuse(15, '16 AWG'))).toEqual(['letThrough of B1']);
    expect(await heat(fuse(15))).toEqual([]);
    expect(await heat(fuse(30))).toEqual(['warning']);
    expect(await heat(pump(20, MOTOR))).toEqual(['letThrough of B1']);
    expect(await heat(pump(15, MOTOR))).toEqual([]);
    // Above what a motor may have, and without one, it is found.
    expect(await heat(pump(25, MOTOR))).toEqual(['warning']);
    expect(await heat(pump(20, ''))).toEqual(['warning']);
  });

  // Between twice and thirty times its rating no limit of UL 248 bounds a fuse: 30 A behind 350 A. 240.4(G): conductors of a motor are protected by its
  // overload protection, the fuse may be what 430.52 allows: 2 hp at 230 V, 12 A, 175 % are 21 A, 25 A.
  it('is not asked of time-current curves where the motor has overload protection', async () => {
    const farm = (rating: number, overload: string): string => `design Farm {
  basis: nec 2023
  grid Mains { voltage: 230 V   rating: 100 A   faultCurrent: 350 A   neutralBond: bonded }
  fuse F1 { class: RK5   rating: ${rating} A }
  load Pump { power: 1.5 kW   motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A   ${overload} }
  run Line: Mains -> F1 -> Pump { size: 14 AWG   type: THHN   length: 20 m   earth: 14 AWG   terminals: 60 degC }
}
`;
    const asked = async (text: string) => {
      const analysis = await analyseText(text);
      return ['fault-clearing', 'short-circuit-withstand'].flatMap((id) => askedBy(analysis, id));
    };
    expect(await asked(farm(25, 'overload: 12.5 A'))).toEqual([]);
    expect(new Set(await asked(farm(25, '')))).toEqual(new Set(['openingTimes of F1, from its time-current curve']));
    expect(new Set(await asked(farm(30, 'overload: 12.5 A')))).toEqual(
      new Set(['openingTimes of F1, from its time-current curve']),
    );
  });
});
