import { describe, expect, it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { analyseText } from '../../helpers/analyse.js';

/*
 * Good practice that must not be accused and dangerous wiring that must not pass, each worked out by hand from the rule beside it: whole small
 * designs with everything that the checks of conductors find in them.
 */

interface Case {
  readonly by: string;
  readonly text: string;
  /** Severity, check and thing of every finding of conductors. */
  readonly finds: readonly string[];
}

const CASES: Readonly<Record<string, Case>> = {
  '20 A circuit, NM-B, breaker of 120 V': {
    by: 'NEC 240.4(D), 240.85 (from memory): a breaker of 120 V opens a line of 120 V against the neutral',
    finds: [],
    text: `design G3 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { rating: 20 A   poles: 1   acVoltage: 120 V   interruptRating: 10 kA }
  load Heater { power: 1500 W   continuous: yes   legs: L1 }
  run Line: Mains -> B1 -> Heater { size: 12 AWG   type: NM-B   length: 12 m   earth: 12 AWG   terminals: 60 degC }
}
`,
  },
  'water heater': {
    by: 'NEC 422.13 (from memory), 210.20(A): 18.75 A for hours ask 23.4 A; 10 AWG NM-B has 30 A',
    finds: [],
    text: `design G5 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 30 A   poles: 2 }
  load Heater { power: 4500 W   continuous: yes   legs: L1, L2 }
  run Line: Mains -> B1 -> Heater { size: 10 AWG   type: NM-B   length: 12 m   earth: 10 AWG   terminals: 60 degC }
}
`,
  },
  'multiwire circuit': {
    by: 'NEC 210.4: two legs of one supply share a neutral behind two poles',
    finds: [],
    text: `design G6 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 20 A   poles: 2 }
  load Left { power: 1500 W   legs: L1 }
  load Right { power: 1200 W   legs: L2 }
  run Line: Mains -> B1 -> Left, Right { size: 12 AWG   type: NM-B   length: 15 m   earth: 12 AWG   legs: L1, L2   terminals: 60 degC }
}
`,
  },
  '48 A continuous on 60 A, 6 AWG NM-B: not allowed': {
    by: 'NEC 334.80, 625.41: 48 A for hours ask 60 A; 6 AWG NM-B has 55 A',
    finds: ['error run-ampacity Line'],
    text: `design G7a {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 200 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 60 A   poles: 2 }
  load Car { power: 11520 W   continuous: yes   legs: L1, L2 }
  run Line: Mains -> B1 -> Car { size: 6 AWG   type: NM-B   length: 10 m   earth: 10 AWG   terminals: 75 degC }
}
`,
  },
  'the same in THHN': {
    by: 'NEC Table 310.16: 6 AWG has 65 A at 75 °C',
    finds: [],
    text: `design G7b {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 200 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 60 A   poles: 2 }
  load Car { power: 11520 W   continuous: yes   legs: L1, L2 }
  run Line: Mains -> B1 -> Car { size: 6 AWG   type: THHN   length: 10 m   earth: 10 AWG   terminals: 75 degC }
}
`,
  },
  'inverter on 48 V': {
    by: 'NEC 240.21(H): a class T fuse of 100 A beside the bank, 2 AWG of 115 A at 75 °C',
    finds: [],
    text: `design G8 {
  basis: nec 2023
  site { ambient: 0..30 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..12 mohm   protectionLow: 44 V   chargeLimit: 57.6 V   maximumDischarge: 150 A }
  fuse Main { class: T   rating: 100 A }
  inverter Inv { rated: 3 kW   surge: 6 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 42..60 V   cutOff: 46 V   idle: 20 W   neutralBond: bonded }
  run Feed: Bank -> Main @ 150 mm -> Inv.dc { size: 2 AWG   type: THHN   length: 1.5 m   terminals: 75 degC   torque: 8 Nm }
}
`,
  },
  'two strings without fuses': {
    by: 'NEC 690.9(A), exception: two strings need no fuses; 1.5625 · 26 A are 40.6 A, 45 A',
    finds: [],
    text: `design G9 {
  basis: nec 2023
  site { ambient: -10..35 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..12 mohm   protectionLow: 44 V   chargeLimit: 57.6 V   maximumDischarge: 150 A   maximumCharge: 100 A   cellTemperature: 15..30 degC }
  solar Roof { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.5 A   series: 3   parallel: 2   voltageCoefficient: -0.27 %/K }
  breaker Pv { rating: 45 A   dcVoltage: 150 V   interruptRating: 5 kA }
  chargeController Mppt { tracking: mppt   maximumVoltage: 150 V   maximumCurrent: 60 A   maximumInputCurrent: 50 A   window: 60..145 V   absorb: 56 V   float: 54 V   efficiency: 97 % }
  fuse Out { class: T   rating: 80 A }
  run Sun: Roof -> Pv -> Mppt.solar { size: 6 AWG   type: PV-Wire   length: 15 m   terminals: 75 degC   torque: 4 Nm }
  run Charge: Bank -> Out @ 150 mm -> Mppt.dc { size: 4 AWG   type: THHN   length: 1.5 m   terminals: 75 degC   torque: 4 Nm }
}
`,
  },
  'alternator, fuse at the battery alone': {
    by: 'ABYC E-11.10: an alternator limits itself, its cable has its fuse at the battery',
    finds: [],
    text: `design G15 {
  basis: craft
  battery House { chemistry: agm   voltage: 12 V   cells: 6   capacity: 200 Ah   resistance: 3..5 mohm }
  alternator Engine { currentLimit: 90 A   voltage: 14.4 V }
  fuse F1 { class: MarineBoltDownFuse32V   rating: 125 A }
  run Charge: House -> F1 @ 150 mm -> Engine { size: 2 AWG   type: CraftPrimary105   length: 3 m   torque: 9 Nm }
}
`,
  },
  'motor on 14 AWG behind 20 A': {
    by: 'NEC 430.52, 240.4(G): 14 AWG of a motor of 8 A may have 20 A',
    finds: [],
    text: `design G22 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 20 A   poles: 2 }
  load Pump { power: 900 W   legs: L1, L2   motor: single-phase   horsepower: 1 hp   fullLoadCurrent: 7.5 A   overload: 8.6 A   continuous: yes }
  run Line: Mains -> B1 -> Pump { size: 14 AWG   type: THHN   length: 12 m   earth: 14 AWG   terminals: 60 degC }
}
`,
  },
  'parallel sets, 400 A': {
    by: 'NEC 240.4(B), 310.10(G): two of 3/0 AWG carry 400 A at 75 °C',
    finds: [],
    text: `design G24 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 400 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { rating: 400 A   poles: 2   acVoltage: 240 V   interruptRating: 22 kA }
  bus Panel { rating: 400 A }
  load Shop { power: 60 kW   legs: L1, L2   continuous: no }
  run Line: Mains -> B1 -> Panel { size: 3/0 AWG   parallel: 2   conductors: 3   type: THHN   length: 10 m   earth: 3 AWG   terminals: 75 degC }
  run End: Panel -> Shop { size: 500 kcmil   type: THHN   length: 2 m   earth: 3 AWG   terminals: 75 degC }
}
`,
  },
  'iec circuits of a house': {
    by: 'IEC 60898-1: breakers of 230/400 V on three phases; B.52.4, method B1, 2.5 mm²: 24 A with two loaded, 21 A with three',
    finds: [],
    text: `design G25 {
  basis: iec
  grid Mains { voltage: three 400 V   rating: 35 A   faultCurrent: 6 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 16 A   poles: 1   curve: B }
  breaker B3 { class: MiniatureBreaker6k   rating: 16 A   poles: 3   curve: C }
  load Sockets { power: 2 kW   legs: L2 }
  load Stove { power: 9 kW   legs: L1, L2, L3 }
  run One: Mains -> B1 -> Sockets { size: 2.5 mm2   type: H07V-U   method: B1   length: 18 m   earth: 2.5 mm2   ambient: 30 degC   circuits: 1 }
  run Three: Mains -> B3 -> Stove { size: 2.5 mm2   type: H07V-U   method: B1   length: 12 m   earth: 2.5 mm2   ambient: 30 degC   circuits: 1 }
}
`,
  },
  '14 AWG on 30 A': {
    by: 'NEC 240.4(D): 15 A for 14 AWG',
    finds: ['error run-protection Line', 'warning short-circuit-withstand Line'],
    text: `design D3 {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 30 A   poles: 1 }
  load Heater { power: 1500 W   legs: L1 }
  run Line: Mains -> B1 -> Heater { size: 14 AWG   type: THHN   length: 6 m   earth: 14 AWG   terminals: 75 degC }
}
`,
  },
  '16 AWG cord, 15 A outlet': {
    by: 'NEC Table 400.5(A)(1): 16 AWG 13 A; 240.5(B)(4), from memory: its device of 15 A protects it against short circuits',
    finds: ['error run-ampacity Cord', 'warning voltage-drop Cord'],
    text: `design D5 {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 15 A   poles: 1 }
  receptacle Outlet { plug: NEMA-5-15 }
  load Heater { power: 1700 W   continuous: no }
  run Line: Mains -> B1 -> Outlet { size: 14 AWG   type: NM-B   length: 6 m   earth: 14 AWG   terminals: 60 degC }
  run Cord: Outlet -> Heater { size: 16 AWG   type: SOOW   length: 15 m }
}
`,
  },
  '14 AWG cord': {
    by: 'NEC Table 400.5(A)(1): 14 AWG 18 A',
    finds: [],
    text: `design D5b {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  breaker B1 { class: UL489-AC   rating: 15 A   poles: 1 }
  receptacle Outlet { plug: NEMA-5-15 }
  load Heater { power: 1700 W   continuous: no }
  run Line: Mains -> B1 -> Outlet { size: 14 AWG   type: NM-B   length: 6 m   earth: 14 AWG   terminals: 60 degC }
  run Cord: Outlet -> Heater { size: 14 AWG   type: SOOW   length: 8 m }
}
`,
  },
  'load lead behind the bank fuse with a charger beside': {
    by: 'NEC 240.21: the lead of a charger at a bar that 100 A feed; 60 A for hours ask 75 A',
    finds: ['error run-unprotected Charge', 'error terminal-temperature Charge'],
    text: `design D9 {
  basis: nec 2023
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 200 Ah   resistance: 3..5 mohm   protectionLow: 10 V   chargeLimit: 14.6 V }
  fuse Main { class: T   rating: 100 A }
  bus Bar { rating: 200 A   dcVoltage: 60 V }
  load Winch { power: 700 W   supply: dc }
  charger Shore { input: 90..130 V   currentLimit: 60 A   absorb: 14.4 V   efficiency: 90 %   powerFactor: 0.98 }
  grid Mains { voltage: 120 V   rating: 20 A   neutralBond: bonded   faultCurrent: 3 kA }
  run Feed: Bank -> Main @ 100 mm -> Bar { size: 2 AWG   type: THHN   length: 0.5 m   terminals: 75 degC   torque: 9 Nm }
  run Lead: Bar -> Winch { size: 3 AWG   type: THHN   length: 3 m   terminals: 75 degC   torque: 9 Nm }
  run Charge: Shore.dc -> Bar { size: 6 AWG   type: THHN   length: 1 m   terminals: 75 degC   torque: 9 Nm }
  run In: Mains -> Shore.ac { size: 12 AWG   type: THHN   length: 3 m   earth: 12 AWG   terminals: 60 degC }
}
`,
  },
  'banks side by side, no fuses': {
    by: 'ABYC E-11.10: each bank drives into the other over cables that nothing opens',
    finds: ['error run-unprotected FromA', 'error run-unprotected FromB', 'warning torque-missing D10'],
    text: `design D10 {
  basis: craft
  battery A { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 4..6 mohm }
  battery B { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 4..6 mohm }
  bus Bar { rating: 200 A }
  fuse F1 { class: MarineBoltDownFuse32V   rating: 100 A }
  load Fridge { power: 600 W   supply: dc   minimumVoltage: 11 V }
  run FromA: A -> Bar { size: 2 AWG   type: CraftPrimary105   length: 1 m }
  run FromB: B -> Bar { size: 2 AWG   type: CraftPrimary105   length: 1 m }
  run Line: Bar -> F1 @ 100 mm -> Fridge { size: 4 AWG   type: CraftPrimary105   length: 2 m }
}
`,
  },
  'AC switch in an array': {
    by: 'NEC 690.13, from memory: three modules of 37 V on a switch for alternating current',
    finds: ['error device-voltage Iso'],
    text: `design D11 {
  basis: nec 2023
  site { ambient: -10..35 degC }
  solar Roof { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.5 A   series: 3   parallel: 1   voltageCoefficient: -0.27 %/K }
  switch Iso { rating: 32 A   acVoltage: 240 V   loadBreak: yes }
  chargeController Mppt { tracking: mppt   maximumVoltage: 150 V   maximumCurrent: 40 A   maximumInputCurrent: 40 A   window: 60..145 V   absorb: 56 V   float: 54 V   efficiency: 97 % }
  run Sun: Roof -> Iso -> Mppt.solar { size: 10 AWG   type: PV-Wire   length: 15 m   terminals: 75 degC }
}
`,
  },
  'class T on 150 V': {
    by: 'UL 248-15: class T is rated 125 V direct',
    finds: ['error device-voltage Main'],
    text: `design D13 {
  basis: nec 2023
  battery Bank { chemistry: lfp   voltage: 153.6 V   cells: 48   capacity: 100 Ah   resistance: 20..30 mohm   protectionLow: 130 V   chargeLimit: 172.8 V }
  fuse Main { class: T   rating: 60 A }
  load Heater { power: 4 kW   supply: dc }
  run Feed: Bank -> Main @ 100 mm -> Heater { size: 4 AWG   type: THHN   length: 3 m   terminals: 75 degC   torque: 9 Nm }
}
`,
  },
  'engine room': {
    by: '33 CFR 183.425 Table 5: 2 AWG of 105 °C carries 210 A outside of engine spaces; 1500 W at 10.5 V are 143 A',
    finds: [],
    text: `design D20 {
  basis: craft
  battery House { chemistry: agm   voltage: 12 V   cells: 6   capacity: 200 Ah   resistance: 3..5 mohm   capacityTime: 20 h   peukert: 1.1 }
  fuse F1 { class: MarineBoltDownFuse32V   rating: 150 A }
  load Thruster { power: 1500 W   supply: dc   minimumVoltage: 10.5 V   use: other   continuous: no }
  run Line: House -> F1 @ 100 mm -> Thruster { size: 2 AWG   type: CraftPrimary105   length: 3 m   torque: 9 Nm }
}
`,
  },
  'three strings with fuses and a home run': {
    by: 'NEC 690.8(B): three strings of 13 A ask 60.9 A; 8 AWG has 50 A at 75 °C',
    finds: ['error terminal-temperature Sun', 'warning voltage-drop Sun'],
    text: `design D24 {
  basis: nec 2023
  site { ambient: -10..35 degC }
  solar Roof { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.5 A   series: 3   parallel: 3   seriesFuse: 25 A   stringFuse: 25 A   voltageCoefficient: -0.27 %/K }
  chargeController Mppt { tracking: mppt   maximumVoltage: 150 V   maximumCurrent: 100 A   maximumInputCurrent: 60 A   window: 60..145 V   absorb: 56 V   float: 54 V   efficiency: 97 % }
  run Sun: Roof -> Mppt.solar { size: 8 AWG   type: PV-Wire   length: 15 m   terminals: 75 degC }
}
`,
  },
  'iec: breaker D with a long run': {
    by: 'IEC 60364-4-41 411.4.4: curve D of 16 A needs 320 A at the far end',
    finds: ['warning fault-clearing One'],
    text: `design D25 {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 16 A   poles: 1   curve: D }
  load Sockets { power: 2 kW }
  run One: Mains -> B1 -> Sockets { size: 2.5 mm2   type: H07V-U   method: C   length: 30 m   earth: 2.5 mm2   ambient: 30 degC   circuits: 1 }
}
`,
  },
  'iec: curve B': {
    by: 'IEC 60364-4-41 411.4.4: curve B of 16 A needs 80 A',
    finds: [],
    text: `design D25b {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }
  breaker B1 { class: MiniatureBreaker6k   rating: 16 A   poles: 1   curve: B }
  load Sockets { power: 2 kW }
  run One: Mains -> B1 -> Sockets { size: 2.5 mm2   type: H07V-U   method: C   length: 30 m   earth: 2.5 mm2   ambient: 30 degC   circuits: 1 }
}
`,
  },
  'isolating switch beyond its rating, DC only stated in AC': {
    by: 'NEC 240.85, from memory: three lines of 208 V behind a breaker of 120 V',
    finds: ['error device-voltage B1'],
    text: `design D27 {
  basis: nec 2023
  grid Mains { voltage: three 208 V   rating: 100 A   faultCurrent: 8 kA   neutralBond: bonded }
  breaker B1 { rating: 30 A   poles: 3   acVoltage: 120 V   interruptRating: 10 kA   class: UL489-AC }
  load Heater { power: 6 kW   legs: L1, L2, L3   continuous: no }
  run Line: Mains -> B1 -> Heater { size: 10 AWG   type: THHN   length: 6 m   earth: 10 AWG   terminals: 60 degC }
}
`,
  },
  'supplementary protector as branch breaker': {
    by: 'NEC 240.10: a supplementary protector is no branch-circuit device',
    finds: ['warning device-class B1'],
    text: `design D28 {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A   faultCurrent: 2 kA   neutralBond: bonded }
  breaker B1 { class: UL1077   rating: 15 A   poles: 1 }
  load Heater { power: 1200 W   continuous: no }
  run Line: Mains -> B1 -> Heater { size: 14 AWG   type: THHN   length: 6 m   earth: 14 AWG   terminals: 60 degC }
}
`,
  },
  'inverter between sources, blade fuse on 120 V': {
    by: 'ISO 8820-3: a blade fuse of 32 V direct on 120 V',
    finds: ['error device-voltage F1', 'error interrupt-rating F1'],
    text: `design D31 {
  basis: craft
  grid Shore { voltage: 120 V   rating: 30 A   faultCurrent: 2 kA   neutralBond: bonded }
  fuse F1 { class: BladeFuse32V   rating: 15 A }
  load Lamp { power: 600 W   continuous: no   use: other }
  run Line: Shore -> F1 -> Lamp { size: 12 AWG   type: CraftPrimary105   length: 5 m   earth: 12 AWG }
}
`,
  },
  '10 ft tap': {
    by: 'NEC 240.21(B)(1): 12 AWG has 20 A, a tenth of 200 A',
    finds: [],
    text: `design T10a {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 200 A   faultCurrent: 8 kA   neutralBond: bonded }
  bus Gutter { rating: 200 A }
  breaker B1 { class: UL489-AC   rating: 20 A   poles: 1 }
  load Lamp { power: 1200 W   legs: L1   continuous: no }
  run Main: Mains -> Gutter { size: 3/0 AWG   type: THHN   length: 5 m   terminals: 75 degC   earth: 6 AWG }
  run Tap: Gutter -> B1 @ 3 m -> Lamp { size: 12 AWG   type: THHN   length: 9 m   terminals: 60 degC   earth: 12 AWG   enclosed: yes }
}
`,
  },
  '10 ft tap, 14 AWG': {
    by: 'NEC 240.21(B)(1)(4): 14 AWG has 15 A, less than a tenth of 200 A',
    finds: ['error run-unprotected Tap'],
    text: `design T10b {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 200 A   faultCurrent: 8 kA   neutralBond: bonded }
  bus Gutter { rating: 200 A }
  breaker B1 { class: UL489-AC   rating: 15 A   poles: 1 }
  load Lamp { power: 1200 W   legs: L1   continuous: no }
  run Main: Mains -> Gutter { size: 3/0 AWG   type: THHN   length: 5 m   terminals: 75 degC   earth: 6 AWG }
  run Tap: Gutter -> B1 @ 3 m -> Lamp { size: 14 AWG   type: THHN   length: 9 m   terminals: 60 degC   earth: 14 AWG   enclosed: yes }
}
`,
  },
};

describe('a design of the practice', () => {
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
