import fc from 'fast-check';

/*
 * Whole systems at random: a bank behind its fuse, a bar with a direct load and perhaps modules, an inverter with two circuits, perhaps a
 * service behind transfer gear. What is drawn may be sound or not; every fact is stated, so that any may be left out.
 */

export type Practice = 'nec' | 'iec' | 'craft';

/** Sizes of a practice from small to large. */
export const SIZES: Readonly<Record<Practice, readonly string[]>> = {
  nec: ['14 AWG', '12 AWG', '10 AWG', '8 AWG', '6 AWG', '4 AWG', '2 AWG', '1/0 AWG', '2/0 AWG', '4/0 AWG', '300 kcmil'],
  iec: ['1.5 mm2', '2.5 mm2', '4 mm2', '6 mm2', '10 mm2', '16 mm2', '25 mm2', '50 mm2', '70 mm2', '95 mm2', '120 mm2'],
  craft: ['16 AWG', '14 AWG', '12 AWG', '10 AWG', '8 AWG', '6 AWG', '4 AWG', '2 AWG', '1/0 AWG', '2/0 AWG', '4/0 AWG'],
};
const TYPES = { nec: 'THHN', iec: 'H07V-K', craft: 'CraftPrimary105' } as const;
const CLASSES = { nec: 'T', iec: 'gG', craft: 'T' } as const;
const AC_CLASSES = { nec: 'UL489-AC', iec: 'MiniatureBreaker6k', craft: 'CraftPanelBreaker' } as const;

/** The runs that every system has, in the order of their sizes and lengths. */
export const RUNS = ['Feed', 'Dc', 'Heat', 'Out', 'One', 'Two'] as const;

export interface WholeSystem {
  readonly practice: Practice;
  readonly capacity: number;
  readonly ohms: number;
  readonly strings: number;
  readonly stringFuse: number;
  readonly main: number;
  readonly at: number;
  readonly volts: '230 V' | '120/240 V';
  readonly watts: number;
  readonly second: number;
  readonly heater: number;
  readonly heaterFuse: number;
  readonly loads: readonly number[];
  readonly breakers: readonly number[];
  readonly sizes: readonly number[];
  readonly lengths: readonly number[];
  readonly terminals: '60 degC' | '75 degC';
  readonly grouped: number;
  readonly isContinuous: boolean;
  readonly hasSun: boolean;
  readonly hasService: boolean;
}

export const wholeSystem: fc.Arbitrary<WholeSystem> = fc.record({
  practice: fc.constantFrom<Practice>('nec', 'iec', 'craft'),
  capacity: fc.constantFrom(100, 280),
  ohms: fc.constantFrom(5, 20),
  strings: fc.constantFrom(1, 1, 2, 3),
  stringFuse: fc.constantFrom(63, 100, 160),
  main: fc.constantFrom(63, 125, 200),
  at: fc.constantFrom(100, 600),
  volts: fc.constantFrom('230 V', '120/240 V'),
  watts: fc.constantFrom(2000, 5000),
  second: fc.constantFrom(0, 3000),
  heater: fc.constantFrom(400, 1500),
  heaterFuse: fc.constantFrom(16, 32, 50),
  loads: fc.tuple(fc.constantFrom(300, 1200, 2400), fc.constantFrom(300, 1200, 2400)),
  breakers: fc.tuple(fc.constantFrom(10, 16, 20, 32), fc.constantFrom(10, 16, 20, 32)),
  sizes: fc.tuple(
    fc.constantFrom(5, 7, 9),
    fc.constantFrom(5, 7, 9),
    fc.constantFrom(1, 2, 4),
    fc.constantFrom(2, 3, 5),
    fc.constantFrom(0, 1, 3),
    fc.constantFrom(0, 1, 3),
  ),
  lengths: fc.tuple(
    fc.constantFrom(1, 3),
    fc.constantFrom(1, 3),
    fc.constantFrom(2, 15),
    fc.constantFrom(1, 10),
    fc.constantFrom(2, 30),
    fc.constantFrom(2, 30),
  ),
  terminals: fc.constantFrom('60 degC', '75 degC'),
  grouped: fc.constantFrom(3, 9),
  isContinuous: fc.boolean(),
  hasSun: fc.boolean(),
  hasService: fc.boolean(),
});

export function textOf(system: WholeSystem): string {
  const { practice, sizes, lengths, loads, breakers, volts, at } = system;
  const run = (index: number): string => {
    const marks = practice === 'nec' ? `terminals: ${system.terminals}   ` : '';
    const method =
      practice === 'iec'
        ? `method: ${index < 3 ? 'C' : 'B1'}   circuits: ${system.grouped === 3 ? 1 : 3}   `
        : `conductors: ${system.grouped}   `;
    return `size: ${SIZES[practice][sizes[index]!]}   type: ${TYPES[practice]}   length: ${lengths[index]} m   ${marks}${method}ambient: 30 degC   torque: 5 Nm`;
  };
  const legs = (index: number): string => (volts === '230 V' ? '' : `   legs: L${index + 1}`);
  const circuit = (
    index: number,
    name: string,
  ): string => `  breaker B${index} { class: ${AC_CLASSES[practice]}   rating: ${breakers[index]} A   poles: 1   curve: C }
  load ${name}Load { power: ${loads[index]} W   powerFactor: 0.9   continuous: ${system.isContinuous ? 'yes' : 'no'}${legs(index)} }
  run ${name}: Panel -> B${index} -> ${name}Load { ${run(4 + index)}   earth: 6 mm2 }`;
  const sun = system.hasSun
    ? `  solar Roof { power: 400 W   openCircuitVoltage: 46 V   shortCircuitCurrent: 11 A   maximumPowerVoltage: 38 V   maximumPowerCurrent: 10.5 A   series: 2   parallel: 3   voltageCoefficient: -0.3 %/K   seriesFuse: 20 A   stringFuse: 20 A }
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   maximumCurrent: 40 A   maximumInputCurrent: 45 A   absorb: 56 V   float: 54 V   efficiency: 97 % }
  run Sun: Roof -> Tracker.solar { size: 10 mm2   type: ${TYPES[practice]}   length: 12 m }
  run Charge: Tracker.dc -> Bar { size: 16 mm2   type: ${TYPES[practice]}   length: 2 m }
`
    : '';
  const service = system.hasService
    ? `  grid Mains { voltage: ${volts}   rating: 32 A   faultCurrent: 6 kA   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 63 A }
  run FromMains: Mains -> Ats.normal { ${run(3)}   earth: 10 mm2 }
  run Out: Inv.ac -> Ats.standby { ${run(3)}   earth: 10 mm2 }
  run ToPanel: Ats.out -> Panel { ${run(3)}   earth: 10 mm2 }
`
    : `  run Out: Inv.ac -> Panel { ${run(3)}   earth: 10 mm2 }
`;
  return `design Whole {
  basis: ${practice}
  site { ambient: 0..30 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: ${system.capacity} Ah   resistance: ${system.ohms}..${2 * system.ohms} mohm   protectionLow: 44 V   chargeLimit: 57.6 V   maximumDischarge: 100 A   maximumCharge: 80 A   parallel: ${system.strings}   takeOff: busbar   stringFuse: ${system.stringFuse} A   stringFuseClass: T   stringAmpacity: 150 A }
  fuse Main { class: ${CLASSES[practice]}   rating: ${system.main} A }
  bus Bar { rating: 250 A   dcVoltage: 80 V }
  fuse Fh { class: ${CLASSES[practice]}   rating: ${system.heaterFuse} A }
  load Heater { power: ${system.heater} W   supply: dc   continuous: ${system.isContinuous ? 'yes' : 'no'} }
  inverter Inv { rated: ${system.watts} W   surge: ${2 * system.watts} W   voltage: ${volts}   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 46 V   neutralBond: bonded }
  bus Panel { rating: 63 A }
  run Feed: Bank -> Main @ ${at} mm -> Bar { ${run(0)}   enclosed: no }
  run Dc: Bar -> Inv.dc { ${run(1)} }
  run Heat: Bar -> Fh @ 100 mm -> Heater { ${run(2)} }
${circuit(0, 'One')}
${circuit(1, 'Two')}
${service}${sun}}
`;
}
