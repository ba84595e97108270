import type { SymbolDefinition, SymbolShape, SymbolText } from './symbol.js';

/*
 * Shapes from memory of the practice of IEC 60617 and of IEEE 315, drawn by us; no conformity is claimed and no numbers of symbols are
 * printed. One module is 10 units.
 */

const inside = (text: string, size = 14, x = 0, y = 0): SymbolText => ({ x, y, text, size });

const CIRCLE = 'M-20 0A20 20 0 1 1 20 0A20 20 0 1 1 -20 0Z';
const SQUARE = 'M-20 -20H20V20H-20Z';
const DIAGONAL = 'M-20 20L20 -20';
const LEFT = 'M-30 0H-20';
const RIGHT = 'M20 0H30';
/** A wave, as for alternating current, around a point. */
const wave = (x: number, y: number): string => `M${x - 8} ${y}c4 -8 4 -8 8 0c4 8 4 8 8 0`;
/** A full line over a broken one, as for direct current, around a point. */
const level = (x: number, y: number): string => `M${x - 8} ${y - 2.5}h16M${x - 8} ${y + 2.5}h4m2 0h4m2 0h4`;
const AC_IN = wave(-8, -11);
const DC_IN = level(-8, -11);
const AC_OUT = wave(8, 11);
const DC_OUT = level(8, 11);

const machine = (text: string, more = '', size = 14): SymbolShape => ({
  strokes: `${CIRCLE}${RIGHT}${more}`,
  text: [inside(text, size, 0, more === '' ? 0 : -5)],
});

const converter = (marks: string): SymbolShape => ({ strokes: `${SQUARE}${DIAGONAL}${marks}` });

const lettered = (input: string, output: string): SymbolShape => ({
  strokes: `${SQUARE}${DIAGONAL}`,
  text: [inside(input, 11, -9, -11), inside(output, 11, 9, 11)],
});

const BLADE = 'M-30 0H-10M10 0H30M10 0L-10 -11.5';
const CROSS = 'M-14 -4L-6 4M-14 4L-6 -4';
const ARC = 'M-30 0H-10M10 0H30M-13 -3C-6 -11 6 -11 13 -3';
const CONTACTS = 'M-30 0H-13M13 0H30M-13 0A3 3 0 1 1 -7 0A3 3 0 1 1 -13 0M7 0A3 3 0 1 1 13 0A3 3 0 1 1 7 0M8 -2L-9 -12';
const MATED = 'M-30 0H-8M8 0H30M4 -9A9 9 0 0 0 4 9';

export const SYMBOLS = {
  set: { title: 'Generator', iec: machine('G', wave(0, 9)), ieee: machine('GEN', '', 12) },
  utility: {
    title: 'Utility supply',
    iec: { strokes: `${wave(-18, 0)}M-8 0H30`, fills: 'M6 0L-4 -4V4Z' },
    ieee: machine('UTIL', '', 11),
  },
  shore: {
    title: 'Supply taken at an outlet',
    iec: { strokes: `${wave(-20, 0)}M-10 0H4M13 -9A9 9 0 0 0 13 9M18 0H30`, fills: 'M8 -3H20V3H8Z' },
    ieee: { strokes: `${wave(-20, 0)}M-10 0H2M-2 -7L6 0L-2 7M6 -7L14 0L6 7M14 0H30` },
  },
  array: {
    title: 'Solar array',
    iec: {
      strokes: `${SQUARE}${RIGHT}M-28 -16L-21 -10M-28 -6L-21 0M-10 8H0M0 0V16M5 4V12M5 8H14`,
      fills: 'M-18 -7L-24 -9L-22 -13ZM-18 3L-24 1L-22 -3Z',
      text: [inside('G', 14, 2, -10)],
    },
    ieee: {
      strokes: `${CIRCLE}${RIGHT}M-29 -19L-20 -12M-29 -9L-21 -3M-12 0H-4M-4 -12V12M4 -6V6M4 0H12`,
      fills: 'M-17 -10L-23 -11L-21 -15ZM-18 -1L-24 -2L-22 -6Z',
    },
  },
  wind: {
    title: 'Wind turbine',
    iec: { strokes: `${CIRCLE}${RIGHT}M0 -20V-24M0 -24L-14 -28M0 -24L14 -28`, text: [inside('G', 14)] },
    ieee: { strokes: `${CIRCLE}${RIGHT}M0 -20V-24M0 -24L-14 -28M0 -24L14 -28`, text: [inside('WTG', 11)] },
  },
  water: {
    title: 'Water turbine',
    iec: { strokes: `${CIRCLE}${RIGHT}M-14 -28H14L8 -20H-8Z`, text: [inside('G', 14)] },
    ieee: { strokes: `${CIRCLE}${RIGHT}M-14 -28H14L8 -20H-8Z`, text: [inside('HYD', 11)] },
  },
  alternator: { title: 'Alternator of an engine', iec: machine('G', level(0, 9)), ieee: machine('ALT', '', 12) },
  vehicle: {
    title: 'Vehicle that supplies',
    iec: { strokes: `${SQUARE}${RIGHT}`, text: [inside('EV', 13)] },
    ieee: { strokes: `${SQUARE}${RIGHT}`, text: [inside('EV', 13)] },
  },
  charger: {
    isSquare: true,
    title: 'Rectifier, charger',
    iec: converter(AC_IN + DC_OUT),
    ieee: { strokes: `${SQUARE}M-20 0H-8M8 0H20M8 -9V9`, fills: 'M8 0L-8 -9V9Z' },
  },
  inverter: { isSquare: true, title: 'Inverter', iec: converter(DC_IN + AC_OUT), ieee: lettered('DC', 'AC') },
  inverterCharger: {
    isSquare: true,
    title: 'Inverter with charger',
    iec: {
      strokes: `${SQUARE}${DIAGONAL}${DC_IN}${AC_OUT}M-12 -26H12`,
      fills: 'M-16 -26L-9 -29V-23ZM16 -26L9 -29V-23Z',
    },
    ieee: {
      ...lettered('DC', 'AC'),
      strokes: `${SQUARE}${DIAGONAL}M-12 -26H12`,
      fills: 'M-16 -26L-9 -29V-23ZM16 -26L9 -29V-23Z',
    },
  },
  converter: {
    isSquare: true,
    title: 'DC-to-DC converter',
    iec: converter(DC_IN + DC_OUT),
    ieee: lettered('DC', 'DC'),
  },
  controller: {
    isSquare: true,
    title: 'Charge controller',
    iec: { strokes: `${SQUARE}${DIAGONAL}${DC_IN}${DC_OUT}M-20 -14H-14V-20` },
    ieee: { strokes: SQUARE, text: [inside('CC', 15)] },
  },
  bank: {
    title: 'Battery bank',
    iec: {
      strokes: 'M-12 -20V20M-6 -10V10M-6 0H-2M1 0H5M8 0H12M12 -20V20M18 -10V10M18 0H30',
      text: [inside('+', 13, -19, -13)],
    },
    ieee: {
      strokes: 'M-12 -20V20M-5 -10V10M2 -20V20M9 -10V10M16 -20V20M23 -10V10M23 0H30',
      text: [inside('+', 13, -19, -13)],
    },
  },
  fuse: {
    title: 'Fuse',
    iec: { strokes: 'M-30 0H30M-15 -5H15V5H-15Z' },
    ieee: { strokes: 'M-30 0H-15C-15 -11 0 -11 0 0C0 11 15 11 15 0H30' },
  },
  breaker: { title: 'Circuit breaker', iec: { strokes: BLADE + CROSS }, ieee: { strokes: ARC } },
  residualBreaker: {
    title: 'Breaker that opens on residual current',
    iec: { strokes: `${BLADE}${CROSS}M-4 8H12V20H-4Z`, dashed: 'M2 -7V8', text: [inside('IΔ', 10, 4, 14)] },
    ieee: { strokes: `${ARC}M-12 6H12V18H-12Z`, text: [inside('GF', 10, 0, 12)] },
  },
  switch: { title: 'Switch', iec: { strokes: BLADE }, ieee: { strokes: CONTACTS } },
  loadBreakSwitch: {
    title: 'Switch for opening under load',
    iec: { strokes: `${BLADE}M-10 -6V6M-10 0A3 3 0 1 0 -16 0A3 3 0 1 0 -10 0` },
    ieee: { strokes: `${CONTACTS}M0 -6V-16` },
  },
  transfer: {
    title: 'Transfer gear',
    iec: { strokes: 'M-30 -10H-12M-30 10H-12M-12 -10V-6M-12 10V6M12 0H30M12 0L-10 -8' },
    ieee: {
      strokes:
        'M-30 -10H-13M-30 10H-13M-13 -10A3 3 0 1 1 -7 -10A3 3 0 1 1 -13 -10M-13 10A3 3 0 1 1 -7 10A3 3 0 1 1 -13 10M7 0A3 3 0 1 1 13 0A3 3 0 1 1 7 0M13 0H30M7 -2L-7 -9',
    },
  },
  plug: {
    title: 'Plug and receptacle',
    iec: { strokes: MATED, fills: 'M-8 -3H4V3H-8Z' },
    ieee: { strokes: 'M-30 0H-2M-8 -7L0 0L-8 7M0 -7L8 0L0 7M8 0H30' },
  },
  outlet: {
    isWordedBeside: true,
    title: 'Receptacle',
    iec: { strokes: 'M-30 0H-9M0 -9A9 9 0 0 0 0 9' },
    ieee: { strokes: 'M-30 0H-9M-9 0A9 9 0 1 1 9 0A9 9 0 1 1 -9 0M-3 -5V5M3 -5V5' },
  },
  shunt: {
    title: 'Measuring shunt',
    iec: { strokes: 'M-30 0H-15M15 0H30M-15 -5H15V5H-15ZM-10 -5V-14M10 -5V-14' },
    ieee: { strokes: 'M-30 0H-15L-12 -6L-7 6L-2 -6L3 6L8 -6L13 6L15 0H30M-20 0V-14M20 0V-14' },
  },
  bus: { title: 'Busbar or panel', iec: { strokes: '' }, ieee: { strokes: '' } },
  load: {
    isWordedBeside: true,
    title: 'Load',
    iec: { strokes: 'M-30 0H2', fills: 'M10 0L0 -4V4Z' },
    ieee: { strokes: 'M-30 0H2', fills: 'M10 0L0 -4V4Z' },
  },
  motor: {
    isWordedBeside: true,
    title: 'Motor',
    iec: { strokes: `${CIRCLE}${LEFT}`, text: [inside('M', 14)] },
    ieee: { strokes: `${CIRCLE}${LEFT}`, text: [inside('MOT', 11)] },
  },
  lamp: {
    isWordedBeside: true,
    title: 'Lighting',
    iec: { strokes: 'M-30 0H-12M-12 0A12 12 0 1 1 12 0A12 12 0 1 1 -12 0M-8.5 -8.5L8.5 8.5M-8.5 8.5L8.5 -8.5' },
    ieee: { strokes: 'M-30 0H-12M-12 0A12 12 0 1 1 12 0A12 12 0 1 1 -12 0M-6 12V2A6 6 0 0 1 6 2V12' },
  },
} as const satisfies Record<string, SymbolDefinition>;

export type SymbolName = keyof typeof SYMBOLS;

export const definitionOf = (name: SymbolName): SymbolDefinition => SYMBOLS[name];

/** Bond of neutral to earth, drawn under what bonds: a link to the sign of earth. */
export const BOND: SymbolShape = {
  strokes: 'M0 0V6M-4 6H4V14H-4ZM0 14V20M-9 20H9M-6 24H6M-3 28H3',
  text: [inside('N', 10, -9, 6)],
};
