import { describe, expect, it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { analyseText } from '../../helpers/analyse.js';

/*
 * Ordinary exercises of the trade, each as a design that just does or just does not. The figures are of the published tables and sections that are
 * named; sections that no public copy was found of say so where their values are kept.
 */

interface Case {
  readonly by: string;
  /** What is found by checks of conductors: severity, check and thing. */
  readonly finds: readonly string[];
  readonly text: string;
}

const CASES: Readonly<Record<string, Case>> = {
  'feeder of 100 A that last and 25 A that do not': {
    by: 'NEC 215.2(A)(1), 215.3: 1.25 · 100 A + 25 A are 150 A; 1/0 AWG has 150 A at 75 °C',
    finds: [],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 150 A   poles: 2 }
  bus Panel { rating: 200 A }
  breaker Bc { class: UL489-AC   rating: 125 A   poles: 2 }
  breaker Bn { class: UL489-AC   rating: 30 A   poles: 2 }
  load Lights { power: 24000 W   legs: L1, L2   continuous: yes }
  load Saw { power: 6000 W   legs: L1, L2   continuous: no }
  run Feeder: Mains -> B1 -> Panel { size: 1/0 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Light: Panel -> Bc -> Lights { size: 1 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Work: Panel -> Bn -> Saw { size: 10 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  'the same feeder in 1 AWG': {
    by: 'NEC 215.2(A)(1): 1 AWG has 130 A at 75 °C, less than 150 A',
    finds: ['error terminal-temperature Feeder'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 150 A   poles: 2 }
  bus Panel { rating: 200 A }
  breaker Bc { class: UL489-AC   rating: 125 A   poles: 2 }
  breaker Bn { class: UL489-AC   rating: 30 A   poles: 2 }
  load Lights { power: 24000 W   legs: L1, L2   continuous: yes }
  load Saw { power: 6000 W   legs: L1, L2   continuous: no }
  run Feeder: Mains -> B1 -> Panel { size: 1 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Light: Panel -> Bc -> Lights { size: 1 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Work: Panel -> Bn -> Saw { size: 10 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  'the same feeder behind 125 A': {
    by: 'NEC 215.3: 150 A asked',
    finds: ['error protection-continuous Feeder'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 125 A   poles: 2 }
  bus Panel { rating: 200 A }
  breaker Bc { class: UL489-AC   rating: 125 A   poles: 2 }
  breaker Bn { class: UL489-AC   rating: 30 A   poles: 2 }
  load Lights { power: 24000 W   legs: L1, L2   continuous: yes }
  load Saw { power: 6000 W   legs: L1, L2   continuous: no }
  run Feeder: Mains -> B1 -> Panel { size: 1/0 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Light: Panel -> Bc -> Lights { size: 1 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 4 AWG   torque: 20 Nm }
  run Work: Panel -> Bn -> Saw { size: 10 AWG   type: THHN   length: 3 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '7.5 hp on three phases, breaker': {
    by: 'NEC Table 430.250: 22 A; 430.52: 250 %, 55 A, next 60 A; 430.22: 27.5 A, 10 AWG; 430.32: 125 % of 21 A',
    finds: [],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: three 230 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 60 A   poles: 3   letThrough: { 5 kA: 150 kA2s } }
  load Pump { power: 6.4 kW   voltage: three 230 V   motor: three-phase   horsepower: 7.5 hp   fullLoadCurrent: 21 A   serviceFactor: 1.15   overload: 26.2 A }
  run Line: Mains -> B1 -> Pump { size: 10 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '7.5 hp, breaker one size too large': {
    by: 'NEC 430.52(C)(1): 60 A at most',
    finds: ['error run-protection Line', 'warning motor-circuit Pump'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: three 230 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 70 A   poles: 3   letThrough: { 5 kA: 150 kA2s } }
  load Pump { power: 6.4 kW   voltage: three 230 V   motor: three-phase   horsepower: 7.5 hp   fullLoadCurrent: 21 A   serviceFactor: 1.15   overload: 26.2 A }
  run Line: Mains -> B1 -> Pump { size: 10 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '7.5 hp, time-delay fuse': {
    by: 'NEC 430.52: 175 %, 38.5 A, next 40 A',
    finds: [],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: three 230 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  fuse B1 { class: RK5   rating: 40 A }
  load Pump { power: 6.4 kW   voltage: three 230 V   motor: three-phase   horsepower: 7.5 hp   fullLoadCurrent: 21 A   serviceFactor: 1.15   overload: 26.2 A }
  run Line: Mains -> B1 -> Pump { size: 10 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '7.5 hp, conductors of the nameplate': {
    by: 'NEC 430.22: 27.5 A; 12 AWG has 25 A at 75 °C',
    finds: ['error terminal-temperature Line'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: three 230 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 60 A   poles: 3   letThrough: { 5 kA: 90 kA2s } }
  load Pump { power: 6.4 kW   voltage: three 230 V   motor: three-phase   horsepower: 7.5 hp   fullLoadCurrent: 21 A   serviceFactor: 1.15   overload: 26.2 A }
  run Line: Mains -> B1 -> Pump { size: 12 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '7.5 hp, overload above 125 %': {
    by: 'NEC 430.32(A)(1): 26.25 A',
    finds: ['error motor-circuit Pump'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: three 230 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 60 A   poles: 3   letThrough: { 5 kA: 150 kA2s } }
  load Pump { power: 6.4 kW   voltage: three 230 V   motor: three-phase   horsepower: 7.5 hp   fullLoadCurrent: 21 A   serviceFactor: 1.15   overload: 27 A }
  run Line: Mains -> B1 -> Pump { size: 10 AWG   type: THHN   length: 10 m   terminals: 75 degC   earth: 10 AWG }
}
`,
  },
  '25 ft tap of 400 A in 1/0 AWG': {
    by: 'NEC 240.21(B)(2): 1/0 AWG has 150 A, more than a third of 400 A',
    finds: [],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 9 kA   neutralBond: bonded }
  fuse Main { class: J   rating: 400 A   acVoltage: 600 V }
  bus Gutter { rating: 400 A }
  breaker B1 { class: UL489-AC   rating: 150 A   poles: 2 }
  load Shop { power: 20 kW   legs: L1, L2   continuous: no }
  run Feeder: Mains -> Main -> Gutter { size: 500 kcmil   type: THHN   length: 5 m   terminals: 75 degC   earth: 3 AWG   torque: 40 Nm }
  run Tap: Gutter -> B1 @ 7 m -> Shop { size: 1/0 AWG   type: THHN   length: 12 m   terminals: 75 degC   earth: 3 AWG   enclosed: yes   torque: 20 Nm }
}
`,
  },
  '25 ft tap of 400 A in 1 AWG': {
    by: 'NEC 240.21(B)(2): 1 AWG has 130 A, less than 133 A',
    finds: ['error run-unprotected Tap'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 9 kA   neutralBond: bonded }
  fuse Main { class: J   rating: 400 A   acVoltage: 600 V }
  bus Gutter { rating: 400 A }
  breaker B1 { class: UL489-AC   rating: 125 A   poles: 2 }
  load Shop { power: 20 kW   legs: L1, L2   continuous: no }
  run Feeder: Mains -> Main -> Gutter { size: 500 kcmil   type: THHN   length: 5 m   terminals: 75 degC   earth: 3 AWG   torque: 40 Nm }
  run Tap: Gutter -> B1 @ 7 m -> Shop { size: 1 AWG   type: THHN   length: 12 m   terminals: 75 degC   earth: 3 AWG   enclosed: yes   torque: 20 Nm }
}
`,
  },
  '25 ft tap that ends in the next size up': {
    by: 'NEC 240.21(B), 240.4(B): 150 A of 1/0 AWG is a standard rating, and nothing is rounded up on a tap',
    finds: ['error run-protection Tap', 'error run-unprotected Tap'],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 9 kA   neutralBond: bonded }
  fuse Main { class: J   rating: 400 A   acVoltage: 600 V }
  bus Gutter { rating: 400 A }
  breaker B1 { class: UL489-AC   rating: 175 A   poles: 2 }
  load Shop { power: 20 kW   legs: L1, L2   continuous: no }
  run Feeder: Mains -> Main -> Gutter { size: 500 kcmil   type: THHN   length: 5 m   terminals: 75 degC   earth: 3 AWG   torque: 40 Nm }
  run Tap: Gutter -> B1 @ 7 m -> Shop { size: 1/0 AWG   type: THHN   length: 12 m   terminals: 75 degC   earth: 3 AWG   enclosed: yes   torque: 20 Nm }
}
`,
  },
  'service of a house, 200 A in 2/0 AWG': {
    by: 'NEC 310.12: 175 A are 83 % of 200 A',
    finds: [],
    text: `design X {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 200 A   faultCurrent: 9 kA   neutralBond: bonded }
  breaker Main { class: UL489-AC   rating: 200 A   poles: 2 }
  bus Panel { rating: 225 A }
  breaker B1 { class: UL489-AC   rating: 40 A   poles: 2 }
  load Range { power: 8 kW   legs: L1, L2   continuous: no }
  run Service: Mains -> Main -> Panel { size: 2/0 AWG   type: THWN-2   length: 8 m   terminals: 75 degC   earth: 4 AWG   dwelling: yes   torque: 20 Nm }
  run Kitchen: Panel -> B1 -> Range { size: 8 AWG   type: NM-B   length: 10 m   terminals: 60 degC   earth: 10 AWG }
}
`,
  },
  'sheathed lead of a boat, fuse at 1.8 m': {
    by: 'ABYC E-11.10: 72 in beside a battery, sheathed, 1829 mm',
    finds: [],
    text: `design X {
  basis: craft
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   shortCircuitCurrent: 900 A   resistance: 14 mohm   protectionLow: 10.5 V   chargeLimit: 14.4 V }
  fuse F1 { class: BladeFuse32V   rating: 10 A }
  load Lamp { power: 60 W   supply: dc   use: navigation-lights }
  run Line: Bank -> F1 @ 1800 mm -> Lamp { insulation: 105 degC   size: 10 AWG   length: 2 m   enclosed: yes }
}
`,
  },
  'the same unsheathed': {
    by: 'ABYC E-11.10: 7 in unsheathed',
    finds: ['error run-unprotected Line'],
    text: `design X {
  basis: craft
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   shortCircuitCurrent: 900 A   resistance: 14 mohm   protectionLow: 10.5 V   chargeLimit: 14.4 V }
  fuse F1 { class: BladeFuse32V   rating: 10 A }
  load Lamp { power: 60 W   supply: dc   use: navigation-lights }
  run Line: Bank -> F1 @ 1800 mm -> Lamp { insulation: 105 degC   size: 10 AWG   length: 2 m   enclosed: no }
}
`,
  },
  '32 A on 4 mm² clipped': {
    by: 'IEC 60364-5-52 Table B.52.2, method C, two loaded: 4 mm² has 36 A',
    finds: [],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 32 A   curve: B   poles: 2 }
  load Oven { power: 6900 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 4 mm2   type: H07V-U   method: C   earth: 4 mm2 }
}
`,
  },
  '32 A on 2.5 mm² clipped': {
    by: 'Table B.52.2, method C: 2.5 mm² has 27 A',
    finds: ['error run-ampacity Line', 'error run-protection Line'],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 32 A   curve: B   poles: 2 }
  load Oven { power: 6900 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 2.5 mm2   type: H07V-U   method: C   earth: 2.5 mm2 }
}
`,
  },
  'four circuits in one conduit': {
    by: 'Table B.52.17: 0.65 of 24 A are 15.6 A, less than 16 A',
    finds: ['error run-protection Line'],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 16 A   curve: B   poles: 2 }
  load Oven { power: 2760 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 2.5 mm2   type: H07V-U   method: B1   circuits: 4   earth: 2.5 mm2 }
}
`,
  },
  'three circuits in one conduit': {
    by: 'Table B.52.17: 0.70 of 24 A are 16.8 A',
    finds: [],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 16 A   curve: B   poles: 2 }
  load Oven { power: 2760 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 2.5 mm2   type: H07V-U   method: B1   circuits: 3   earth: 2.5 mm2 }
}
`,
  },
  '40 A at 40 °C': {
    by: 'Table B.52.14: 0.87 of 46 A are 40.0 A for 6 mm², method C',
    finds: [],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 40 A   curve: B   poles: 2 }
  load Oven { power: 8050 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 6 mm2   type: H07V-R   method: C   ambient: 40 degC   earth: 6 mm2 }
}
`,
  },
  '40 A at 45 °C': {
    by: 'Table B.52.14, from memory at 45 °C: 0.79 of 46 A are 36.3 A',
    finds: ['warning run-protection Line'],
    text: `design X {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 600 A..3 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 40 A   curve: B   poles: 2 }
  load Oven { power: 8050 W }
  run Line: Mains -> B1 -> Oven { length: 10 m   size: 6 mm2   type: H07V-R   method: C   ambient: 45 degC   earth: 6 mm2 }
}
`,
  },
  'three strings with gPV fuses': {
    by: 'NEC 690.9: 1.56 · 11 A are 17.2 A, 20 A; modules allow 20 A; 100 V cold within 1000 V',
    finds: [],
    text: `design X {
  basis: nec 2023
  site { ambient: -15..35 degC }
  solar Array { power: 420 W   openCircuitVoltage: 45 V   maximumPowerVoltage: 37 V   maximumPowerCurrent: 10.4 A   voltageCoefficient: -0.3 %/K   shortCircuitCurrent: 11 A   seriesFuse: 20 A   series: 2   parallel: 3   stringFuse: 20 A   stringFuseClass: gPV }
  chargeController Tracker { maximumVoltage: 250 V   currentLimit: 60 A   maximumInputCurrent: 60 A   absorb: 56 V   float: 54 V }
  run Line: Array -> Tracker.solar { size: 6 AWG   type: THWN-2   length: 5 m   terminals: 75 degC   torque: 3 Nm }
}
`,
  },
  'the same with automotive fuses': {
    by: 'ISO 8820-3: 32 V on 100 V',
    finds: ['error string-fuses Array'],
    text: `design X {
  basis: nec 2023
  site { ambient: -15..35 degC }
  solar Array { power: 420 W   openCircuitVoltage: 45 V   maximumPowerVoltage: 37 V   maximumPowerCurrent: 10.4 A   voltageCoefficient: -0.3 %/K   shortCircuitCurrent: 11 A   seriesFuse: 20 A   series: 2   parallel: 3   stringFuse: 20 A   stringFuseClass: BladeFuse32V }
  chargeController Tracker { maximumVoltage: 250 V   currentLimit: 60 A   maximumInputCurrent: 60 A   absorb: 56 V   float: 54 V }
  run Line: Array -> Tracker.solar { size: 6 AWG   type: THWN-2   length: 5 m   terminals: 75 degC   torque: 3 Nm }
}
`,
  },
};

describe('an exercise of the trade', () => {
  it.each(Object.entries(CASES))('%s', async (_title, { by, text, finds }) => {
    const ids = new Set(conductorChecks.map(({ id }) => id));
    const { findings } = await analyseText(text);
    expect(findings.filter(({ check }) => ['syntax-error', 'unknown-name'].includes(check))).toEqual([]);
    const found = findings
      .filter(({ check, severity }) => ids.has(check) && severity !== 'info')
      .map(({ check, severity, subject }) => `${severity} ${check} ${subject.split('.').at(-1)!}`);
    expect([...new Set(found)].sort(), by).toEqual([...finds]);
  });
});
