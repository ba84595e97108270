import { describe, expect, it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

/*
 * For each check of conductors two designs that differ in one figure: with one it just passes, with the next it just fails. The figures are
 * worked out by hand from the rule that is named beside them.
 */

interface Pair {
  readonly check: string;
  /** The rule and the arithmetic. */
  readonly by: string;
  readonly text: (figure: string) => string;
  readonly passes: string;
  readonly fails: string;
}

const design = (basis: string, lines: string): string => `design D {
  basis: ${basis}
${lines}
}
`;

/** A heater at 240 V behind a breaker under the NEC. */
const heater = ({ amperes = 20, breaker = 30, run = '' }): string =>
  design(
    'nec 2023',
    `  grid Mains { voltage: 240 V   rating: 200 A   neutralBond: bonded }
  breaker B1 { rating: ${breaker} A }
  load Heater { power: ${amperes * 240} W   continuous: no }
  run Line: Mains -> B1 -> Heater { type: THHN   terminals: 75 degC   ${run} }`,
  );

/** A load on a bank of 50 V to 56 V behind a fuse. */
const onBank = (bank: string, fuse: string, run: string, watts = 1000, basis = 'nec 2023', more = ''): string =>
  design(
    basis,
    `  battery Bank { voltage: 52 V   capacity: 100 Ah   protectionLow: 50 V   chargeLimit: 56 V   ${bank} }
  fuse F1 { ${fuse} }
  load Heater { power: ${watts} W   supply: dc   minimumVoltage: 50 V   continuous: no }
  run Line: Bank -> F1 @ 100 mm -> Heater { ${run} }
${more}`,
  );

/** Two supplies and a panel. */
const house = (facts: string): string =>
  design(
    'nec 2023',
    `  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   ${facts} }
  transfer Ats { switches: phases   rating: 100 A }
  load Stove { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run Line: Ats.out -> Stove { size: 10 AWG   length: 10 m }`,
  );

const PAIRS: readonly Pair[] = [
  {
    check: 'run-ampacity',
    by: 'NEC Table 310.16: 3 AWG copper 115 A at 90 °C',
    text: (amperes) => heater({ amperes: Number(amperes), breaker: 125, run: 'size: 3 AWG   length: 1 m' }),
    passes: '115',
    fails: '115.01',
  },
  {
    check: 'terminal-temperature',
    by: 'NEC Table 310.16: 3 AWG copper 100 A at 75 °C',
    text: (amperes) => heater({ amperes: Number(amperes), breaker: 110, run: 'size: 3 AWG   length: 1 m' }),
    passes: '100',
    fails: '100.01',
  },
  {
    check: 'run-protection',
    by: 'NEC 240.4(B): 100 A at 75 °C is a standard rating, the next one is above it',
    text: (breaker) => heater({ amperes: 90, breaker: Number(breaker), run: 'size: 3 AWG   length: 1 m' }),
    passes: '100',
    fails: '110',
  },
  {
    check: 'protection-continuous',
    by: 'NEC 215.3: a load that does not last needs its own current',
    text: (amperes) => heater({ amperes: Number(amperes), breaker: 30, run: 'size: 8 AWG   length: 1 m' }),
    passes: '30',
    fails: '30.01',
  },
  {
    check: 'protection-coordination',
    by: 'IEC 60364-4-43 433.1: 20 A at 230 V are 4600 W',
    text: (watts) =>
      design(
        'iec',
        `  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker B1 { rating: 20 A }
  load Heater { power: ${watts} W }
  run Line: Mains -> B1 -> Heater { size: 4 mm2   type: H07V-R   length: 5 m   method: C   earth: 4 mm2 }`,
      ),
    passes: '4600',
    fails: '4601',
  },
  {
    check: 'earth-conductor',
    by: 'NEC Table 250.122: 10 AWG up to 60 A, 8 AWG up to 100 A',
    text: (breaker) =>
      heater({ amperes: 55, breaker: Number(breaker), run: 'size: 4 AWG   length: 1 m   earth: 10 AWG' }).replace(
        'size: 4 AWG',
        breaker === '60' ? 'size: 6 AWG' : 'size: 4 AWG',
      ),
    passes: '60',
    fails: '70',
  },
  {
    check: 'voltage-drop',
    by: 'NEC Chapter 9 Table 8: 10 AWG, 1.24 ohm/kft at 75 °C; advice of 3 % of 240 V: 7.2 V over 2 · 20 A · 4.07 mohm/m, 44.3 m',
    text: (metres) => heater({ amperes: 20, breaker: 20, run: `size: 10 AWG   length: ${metres} m` }),
    passes: '44.2',
    fails: '44.4',
  },
  {
    check: 'cord-ampacity',
    by: 'NEC Table 400.5(A)(1), column B: 10 AWG 30 A, 12 AWG 25 A',
    text: (size) =>
      design(
        'nec 2023',
        `  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   breaker: 30 A   neutralBond: bonded }
  load Heater { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> Heater { size: ${size}   type: SOOW   length: 10 m }`,
      ),
    passes: '10 AWG',
    fails: '12 AWG',
  },
  {
    check: 'interrupt-rating',
    by: '56 V over 10 mohm: 5.6 kA at the bank, a little less behind 100 mm of 8 AWG, 2 · 0.21 mohm at 20 °C: 5.37 kA',
    text: (kiloamperes) =>
      onBank(
        'resistance: 10 mohm',
        `rating: 40 A   dcVoltage: 80 V   interruptRating: ${kiloamperes} kA`,
        'size: 8 AWG   type: THHN   length: 1 m',
      ),
    passes: '5.39',
    fails: '5.36',
  },
  {
    check: 'device-voltage',
    by: 'charged at 56 V',
    text: (volts) => onBank('resistance: 10 mohm', `rating: 40 A   dcVoltage: ${volts} V`, 'size: 8 AWG   length: 1 m'),
    passes: '56',
    fails: '55.9',
  },
  {
    check: 'device-class',
    by: 'blade fuses are made up to 40 A (ISO 8820-3, from memory)',
    text: (rating) => onBank('', `class: BladeFuse58V   rating: ${rating} A`, 'size: 8 AWG   length: 1 m', 500),
    passes: '30',
    fails: '35',
  },
  {
    check: 'conductor-type',
    by: 'NEC 630, from memory: welding cable is no building wire above 30 V',
    text: (volts) =>
      onBank('', 'class: T   rating: 40 A', 'size: 6 AWG   type: WeldingCable   length: 1 m', 400)
        .replace('chargeLimit: 56 V', `chargeLimit: ${volts} V`)
        .replace('voltage: 52 V', 'voltage: 26 V')
        .replace('protectionLow: 50 V', 'protectionLow: 24 V'),
    passes: '30',
    fails: '30.1',
  },
  {
    check: 'place-along-run',
    by: 'a place beyond the end of a run',
    text: (at) => onBank('', 'class: T   rating: 40 A', 'size: 8 AWG   length: 2 m').replace('@ 100 mm', `@ ${at} m`),
    passes: '2',
    fails: '2.01',
  },
  {
    check: 'run-unprotected',
    by: '7 in at a bank, taken as 178 mm: common practice, no source',
    text: (at) => onBank('', 'class: T   rating: 40 A', 'size: 8 AWG   length: 2 m').replace('@ 100 mm', `@ ${at} mm`),
    passes: '178',
    fails: '179',
  },
  {
    check: 'bus-rating',
    by: '1000 W at 50 V are 20 A, twice',
    text: (rating) =>
      design(
        'nec 2023',
        `  battery Bank { voltage: 52 V   capacity: 100 Ah   protectionLow: 50 V   chargeLimit: 56 V }
  bus Bar { rating: ${rating} A   dcVoltage: 80 V }
  load A { power: 1 kW   supply: dc   minimumVoltage: 50 V }
  load B { power: 1 kW   supply: dc   minimumVoltage: 50 V }
  run Main: Bank -> Bar { size: 2 AWG   length: 1 m }
  run ToA: Bar -> A { size: 6 AWG   length: 1 m }
  run ToB: Bar -> B { size: 6 AWG   length: 1 m }`,
      ),
    passes: '40',
    fails: '39.9',
  },
  {
    check: 'switch-rating',
    by: '1000 W at 50 V are 20 A',
    text: (rating) =>
      onBank('', 'class: T   rating: 40 A', 'size: 8 AWG   length: 2 m')
        .replace('-> Heater', '-> Main -> Heater')
        .replace('  load', `  switch Main { rating: ${rating} A   dcVoltage: 80 V }\n  load`),
    passes: '20',
    fails: '19.9',
  },
  {
    check: 'plug-continuous',
    by: 'NEC 210.21(B), 210.23: 80 % of a receptacle of 30 A are 24 A, 2880 W at 120 V',
    text: (watts) =>
      design(
        'nec 2023',
        `  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  load Heater { power: ${watts} W }
  run Cord: Shore -> Heater { size: 10 AWG   type: STW   length: 8 m }`,
      ),
    passes: '2880',
    fails: '2881',
  },
  {
    check: 'lug-stud',
    by: 'a hole of 10 mm on a stud of 8 mm',
    text: (hole) => onBank('stud: 8 mm', 'class: T   rating: 40 A', `size: 4 AWG   length: 2 m   lugHole: ${hole} mm`),
    passes: '8',
    fails: '10',
  },
  {
    check: 'lugs-stacked',
    by: 'four lugs on one stud (small craft, from memory)',
    text: (count) =>
      design(
        'craft',
        `  battery Bank : Lfp12V100Ah
${[...Array(Number(count)).keys()].map((index) => `  load L${index} { power: 60 W   supply: dc }\n  run R${index}: Bank -> L${index} { size: 12 AWG   length: 2 m }`).join('\n')}`,
      ),
    passes: '4',
    fails: '5',
  },
  {
    check: 'torque-missing',
    by: 'asked for from 50 A, a rule of thumb (`torqueFrom`): 50 A at 50 V are 2500 W',
    text: (watts) => onBank('', 'class: T   rating: 80 A', 'size: 4 AWG   length: 2 m', Number(watts)),
    passes: '2499',
    fails: '2500',
  },
  {
    check: 'parallel-runs',
    by: 'lengths within 2 %: a rule of thumb',
    text: (metres) =>
      design(
        'nec 2023',
        `  battery Bank : Lfp48V280Ah
  bus Bar {}
  load Winch { power: 6 kW   supply: dc }
  run Main: Bank -> Bar { size: 4/0 AWG   length: 1 m }
  run Left: Bar -> Winch { size: 2/0 AWG   length: 2 m }
  run Right: Bar -> Winch { size: 2/0 AWG   length: ${metres} m }`,
      ),
    passes: '2.04',
    fails: '2.05',
  },
  {
    check: 'parallel-runs',
    by: 'NEC 310.10(G): 1/0 AWG and larger',
    text: (size) => onBank('', 'class: T   rating: 125 A', `size: ${size}   parallel: 2   length: 2 m`, 4000),
    passes: '1/0 AWG',
    fails: '1 AWG',
  },
  {
    check: 'string-fuses',
    by: '3000 W at 50 V over three strings are 20 A',
    text: (rating) =>
      onBank(
        `parallel: 3   takeOff: busbar   stringFuse: ${rating} A   maximumDischarge: 20 A   chemistry: lfp   cells: 16`,
        'class: T   rating: 80 A',
        'size: 4 AWG   length: 2 m',
        3000,
      ),
    passes: '20',
    fails: '19.9',
  },
  {
    check: 'breaker-poles',
    by: 'a load between two lines (NEC 240.15(B), from memory)',
    text: (poles) =>
      design(
        'nec 2023',
        `  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A   poles: ${poles} }
  load Heater { power: 4.5 kW   voltage: 240 V }
  run Line: Mains -> B1 -> Heater { size: 10 AWG   length: 10 m }`,
      ),
    passes: '2',
    fails: '1',
  },
  {
    check: 'leg-balance',
    by: 'legs may differ by half of what the set gives on one, 25 A of 6 kVA at 240 V: 12.5 A, 1500 W at 120 V',
    text: (watts) =>
      design(
        'nec 2023',
        `  generator Genset { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Kettle { power: ${watts} W   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Kettle { size: 12 AWG   length: 10 m }`,
      ),
    passes: '1500',
    fails: '1501',
  },
  {
    check: 'plug-neutral',
    by: 'NEMA WD 6: L6-30 has no neutral, L14-30 has one',
    text: (plug) =>
      design(
        'nec 2023',
        `  generator Genset { rated: 7 kW   voltage: 120/240 V   outlet: ${plug}   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Lights { power: 500 W   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Lights { size: 12 AWG   length: 10 m }`,
      ),
    passes: 'L14-30',
    fails: 'L6-30',
  },
  {
    check: 'shared-neutral',
    by: '33 CFR 183.425: 12 AWG at 105 °C 45 A, three bundled 0.7: 31.5 A; two legs of 15.75 A at 120 V, 1890 W each',
    text: (watts) =>
      design(
        'craft',
        `  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: 15 A   poles: 2 }
  load Left { power: ${watts} W   legs: L1 }
  load Right { power: ${watts} W   legs: L2 }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 3 m }
  run Circuit: Panel -> B1 -> Left, Right { size: 12 AWG   type: CraftPrimary105   length: 12 m   legs: L1, L2   conductors: 3 }`,
      ),
    passes: '1890',
    fails: '1891',
  },
  {
    check: 'shared-neutral',
    by: 'the same neutral of 31.5 A behind two devices of 15 A, 30 A together, and of 16 A, 32 A (IEC 60364-4-43 433.1, from memory)',
    text: (rating) =>
      design(
        'craft',
        `  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: ${rating} A   poles: 2 }
  load Left { power: 1 kW   legs: L1 }
  load Right { power: 1 kW   legs: L2 }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 3 m }
  run Circuit: Panel -> B1 -> Left, Right { size: 12 AWG   type: CraftPrimary105   length: 12 m   legs: L1, L2   conductors: 3 }`,
      ),
    passes: '15',
    fails: '16',
  },
  {
    check: 'run-unprotected',
    by: 'an inverter of 230 V gives S/U; IEC 60364-5-52 Table B.52.4, method B1, 2.5 mm²: 24 A, 5520 VA',
    text: (watts) =>
      design(
        'iec',
        `  battery Bank : Lfp48V280Ah
  site { ambient: 30..30 degC }
  inverter Inv { rated: ${watts} W   voltage: 230 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  load Lamps { power: 200 W }
  fuse F1 { class: gG   rating: 160 A }
  run Feed: Bank -> F1 @ 0 m -> Inv.dc { size: 70 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 2.5 mm2   type: H07V-U   method: B1   length: 3 m }
  breaker B1 { rating: 10 A }
  run Line: Panel -> B1 -> Lamps { size: 1.5 mm2   type: H07V-U   method: B1   length: 3 m }`,
      ),
    passes: '5520',
    fails: '5530',
  },
  {
    check: 'neutral-bond',
    by: 'NEC 250.30: one bond',
    text: (bond) => house(`neutralBond: ${bond}`),
    passes: 'floating',
    fails: 'bonded',
  },
  {
    check: 'ground-fault-trip',
    by: 'a bonded set with a receptacle that opens on residual current, its neutral joined to a bonded service',
    text: (bond) => house(`neutralBond: ${bond}   groundFault: yes`),
    passes: 'floating',
    fails: 'bonded',
  },
  {
    check: 'two-sources-one-bus',
    by: 'two supplies on one panel without transfer gear',
    text: (way) =>
      design(
        'iec',
        `  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  grid Mains { voltage: 230 V   rating: 40 A   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 40 A   interlock: yes }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run FromSet: Genset -> ${way === 'transfer' ? 'Ats.standby' : 'Panel'} { size: 6 mm2   length: 8 m }
  run FromMains: Mains -> Ats.normal { size: 6 mm2   length: 2 m }
  run Out: Ats.out -> Panel { size: 6 mm2   length: 2 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }`,
      ),
    passes: 'transfer',
    fails: 'direct',
  },
  {
    check: 'socket-residual-current',
    by: 'IEC 60364-4-41 411.3.3, from memory: sockets up to 32 A',
    text: (rating) =>
      design(
        'iec',
        `  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker B1 { rating: 63 A   groundFault: no }
  receptacle Socket { rating: ${rating} A }
  run Line: Mains -> B1 -> Socket { size: 16 mm2   length: 10 m }`,
      ),
    passes: '63',
    fails: '32',
  },
  {
    check: 'motor-circuit',
    by: 'NEC 430.32(A)(1): 115 % of 11 A are 12.65 A',
    text: (overload) =>
      design(
        'nec 2023',
        `  grid Mains { voltage: 230 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A }
  load Pump { power: 1.8 kW   motor: single-phase   horsepower: 2 hp   fullLoadCurrent: 11 A   overload: ${overload} A }
  run Line: Mains -> B1 -> Pump { size: 14 AWG   type: THHN   length: 2 m }`,
      ),
    passes: '12.65',
    fails: '12.66',
  },
  {
    check: 'strand-terminal',
    by: 'NEC 110.14: fine strands under a set screw need gear marked for them',
    text: (marked) =>
      onBank('', 'class: T   rating: 40 A', 'size: 6 AWG   type: FineStranded90   length: 1 m   ends: bare').replace(
        'fuse F1 {',
        `fuse F1 { terminalKind: set-screw   fineStrand: ${marked}  `,
      ),
    passes: 'yes',
    fails: 'no',
  },
  {
    check: 'shunt-bypassed',
    by: 'a load before the shunt that another passes',
    text: (from) =>
      design(
        'craft',
        `  battery Bank : Lfp24V200Ah
  shunt Meter { rating: 300 A   drop: 50 mV }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc }
  load Pump { power: 400 W   supply: dc }
  run Main: Bank -> Meter -> Bar { size: 2 AWG   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 10 AWG   length: 5 m }
  run ToPump: ${from} -> Pump { size: 6 AWG   length: 5 m }`,
      ),
    passes: 'Bar',
    fails: 'Bank',
  },
  {
    check: 'voltage-collapse',
    by: 'a source of U behind R gives U²/4R at most: 24 V over 10 mohm and 2 · 20 m of 6 AWG, 1.61 mohm/m: 24²/4/74.4 mohm, 1935 W',
    text: (watts) =>
      design(
        'nec 2023',
        `  battery Bank { voltage: 24 V   capacity: 200 Ah   chemistry: lfp   cells: 8   resistance: 10 mohm }
  load Winch { power: ${watts} W   supply: dc   minimumVoltage: 20 V }
  run Line: Bank -> Winch { size: 6 AWG   length: 20 m }`,
      ),
    passes: '1930',
    fails: '1940',
  },
  {
    check: 'fault-clearing',
    by: 'IEC 60898-1: curve B trips at 5 · 16 A = 80 A; 230 V / 80 A − 0.23 ohm = 2.645 ohm; 2 · 8.866 mohm/m hot: 149 m',
    text: (metres) =>
      design(
        'iec',
        `  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker10k   rating: 16 A   curve: B }
  load Lamps { power: 200 W }
  run Line: Mains -> B1 -> Lamps { size: 2.5 mm2   type: H07V-U   length: ${metres} m   method: B1   dropLimit: 10 % }`,
      ),
    passes: '149',
    fails: '150',
  },
  {
    check: 'short-circuit-withstand',
    by: 'a gG fuse of 63 A opens within 5 s at 320 A; k·S/√5 s = 115 · 6/2.236 = 309 A (IEC 60364-4-43 43A)',
    text: (size) =>
      design(
        'iec',
        `  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 340 A   neutralBond: bonded }
  fuse F1 { class: gG   rating: 63 A }
  load Lamps { power: 2 kW }
  run Line: Mains -> F1 -> Lamps { size: ${size}   type: H07V-U   length: 0.1 m   method: B1 }`,
      ),
    passes: '10 mm2',
    fails: '4 mm2',
  },
];

/** Checks that have no limit: what they tell is asked of the text alone. */
const WITHOUT_LIMIT = ['unknown-edition', 'run-current-basis'];

describe('with one figure it just passes, with the next it just fails', () => {
  it.each(PAIRS.map((pair) => [pair.check, pair.by, pair] as const))('%s: %s', async (check, _by, pair) => {
    const of = async (figure: string): Promise<string[]> => {
      const analysis = await analyseText(pair.text(figure));
      expect(analysis.findings.filter((each) => /^(syntax-error|unknown-)/.test(each.check))).toEqual([]);
      return findingsOf(analysis, check).map(({ message }) => message);
    };
    expect(await of(pair.passes), pair.passes).toEqual([]);
    expect((await of(pair.fails)).length, pair.fails).toBeGreaterThan(0);
  });

  it('every check of conductors has its pair', () => {
    const covered = new Set([...PAIRS.map(({ check }) => check), ...WITHOUT_LIMIT]);
    expect(conductorChecks.map(({ id }) => id).filter((id) => !covered.has(id))).toEqual([]);
  });
});
