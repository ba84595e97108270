import { COMMON, type KindDefinition, flagOf, quantityOf, tableOf, wordOf, wordsOf } from './define.js';
import { CLEARING, bounds, energyClass, terminalKind } from './terminations.js';

export const CONDUCTOR = {
  kind: 'conductor',
  group: 'catalogue',
  doc: 'A conductor type: insulation, metal and stranding.',
  properties: [
    quantityOf('insulation', 'temperature', 'degC', 'Temperature rating of the insulation, dry.', {
      minimum: 40,
      maximum: 250,
    }),
    quantityOf('wetInsulation', 'temperature', 'degC', 'Temperature rating of the insulation, wet.', {
      minimum: 40,
      maximum: 250,
    }),
    wordOf(
      'material',
      {
        pvc: 'polyvinyl chloride',
        xlpe: 'cross-linked polyethylene or ethylene-propylene rubber (90 °C thermoset)',
        rubber: 'rubber (60 °C)',
      },
      'Insulation material, for short-time heating.',
    ),
    wordOf('metal', { copper: 'copper', aluminium: 'aluminium' }, 'Conductor metal.', {
      default: 'copper',
      note: 'not stated',
    }),
    wordOf(
      'strand',
      { solid: 'solid (class 1)', stranded: 'stranded (class 2, B)', flexible: 'fine-stranded (class 5, 6, K, M)' },
      'Stranding.',
    ),
    quantityOf('voltage', 'voltage', 'V', 'Rated voltage.', { minimum: 0 }),
    wordsOf(
      'basis',
      { nec: 'a wiring-method type of the NEC', iec: 'IEC', craft: 'small craft and vehicles' },
      'Practices it belongs to.',
    ),
    flagOf('buildingWire', 'Whether it is a recognised type for fixed wiring.'),
    flagOf('sheathed', 'Whether it is a sheathed cable, which needs no raceway.'),
    quantityOf(
      'ampacityColumn',
      'temperature',
      'degC',
      'Temperature of the column above which its ampacity may not be taken at the end, where it is below that of its insulation (NEC 334.80).',
      { minimum: 40, maximum: 250 },
    ),
    tableOf(
      'ampacities',
      'area',
      'mm2',
      'current',
      'A',
      'Ampacities of its own by size, at 30 °C, before correction: they override the tables of the practice.',
    ),
    tableOf(
      'resistances',
      'area',
      'mm2',
      'resistancePerLength',
      'mohm/m',
      'Resistances of its own by size, one conductor at 20 °C: they go before the tables stored here.',
    ),
    ...COMMON,
  ],
} as const satisfies KindDefinition;

export const CORD = {
  kind: 'cord',
  group: 'catalogue',
  doc: 'A flexible cord or portable cable type.',
  properties: [
    ...CONDUCTOR.properties.filter(({ name }) => !['buildingWire', 'sheathed', 'ampacityColumn'].includes(name)),
    quantityOf('cores', 'ratio', '', 'Conductors in the cord, earth included.', {
      minimum: 1,
      maximum: 60,
      whole: true,
    }),
    wordOf(
      'ampacityTable',
      {
        'flexible-cord': 'flexible cord: NEC Table 400.5(A)(1)',
        'power-cable': 'portable power cable (SC, W, G …): NEC Table 400.5(A)(2)',
      },
      'Table of the NEC that lists its ampacity.',
      { default: 'flexible-cord', note: 'not stated' },
    ),
    flagOf('extraHardUsage', 'Whether it is listed for extra-hard usage.'),
  ],
} as const satisfies KindDefinition;

export const PLUG = {
  kind: 'plug',
  group: 'catalogue',
  doc: 'A plug and receptacle configuration.',
  properties: [
    quantityOf('rating', 'current', 'A', 'Rated current.', { minimum: 0 }),
    quantityOf('voltage', 'voltage', 'V', 'Rated voltage, line to line where it has two legs.', { minimum: 0 }),
    quantityOf(
      'circuitVoltage',
      'voltage',
      'V',
      'Nominal voltage of the circuits it is made for, line to line where it has two legs; below its rated voltage.',
      { minimum: 0 },
    ),
    wordOf(
      'phases',
      { single: 'one line and neutral, or two lines', split: 'two lines and neutral', three: 'three lines' },
      'Arrangement of its lines.',
    ),
    flagOf('neutral', 'Whether it has a neutral contact.'),
    flagOf('earth', 'Whether it has an earth contact.'),
    flagOf('locking', 'Whether it locks.'),
    flagOf(
      'pilot',
      'Whether it is live only while what is plugged in answers its control pilot: an outlet for charging vehicles (IEC 61851-1, SAE J1772).',
    ),
    quantityOf('continuousShare', 'ratio', '%', 'Share of the rating it may carry continuously.', {
      minimum: 0,
      maximum: 1,
    }),
    wordsOf('basis', { nec: 'North America', iec: 'IEC', craft: 'shore power' }, 'Practices it belongs to.'),
    ...COMMON,
  ],
} as const satisfies KindDefinition;

export const DEVICE_CLASS = {
  kind: 'deviceClass',
  group: 'catalogue',
  doc: 'A class or style of fuse or circuit breaker with its ratings.',
  properties: [
    wordOf('device', { fuse: 'fuse', breaker: 'circuit breaker' }, 'What it is.'),
    quantityOf('dcVoltage', 'voltage', 'V', 'Highest direct voltage.', { minimum: 0 }),
    quantityOf('acVoltage', 'voltage', 'V', 'Highest alternating voltage.', { minimum: 0 }),
    quantityOf(
      'interruptRating',
      'current',
      'A',
      'Interrupt rating at its highest direct voltage, or at its alternating voltage when it has no direct rating.',
      { minimum: 0 },
    ),
    quantityOf(
      'acInterruptRating',
      'current',
      'A',
      'Interrupt rating at its alternating voltage, of a class that has a direct rating too.',
      { minimum: 0 },
    ),
    tableOf('dcInterrupt', 'voltage', 'V', 'current', 'A', 'Interrupt rating by direct voltage.'),
    quantityOf('ratings', 'current', 'A', 'Range of current ratings made.', { minimum: 0, ranges: true }),
    quantityOf('polesInSeries', 'ratio', '', 'Poles that have to be wired in series for its direct voltage.', {
      minimum: 1,
      maximum: 4,
      whole: true,
    }),
    flagOf(
      'partialRange',
      'Whether it opens on short circuits alone, and not on overloads (aR of IEC 60269-4): another device has to do that.',
    ),
    flagOf(
      'photovoltaic',
      'Whether it is made for strings of photovoltaic modules (IEC 60269-6; NEC 690.9(C) wants devices listed for them): a class of these is proposed for them.',
    ),
    flagOf(
      'supplementary',
      'Whether it is a supplementary protector, for use inside equipment or behind a branch-circuit device (UL 1077).',
    ),
    wordOf('speed', { fast: 'fast', slow: 'time delay', general: 'general purpose (gG, gL)' }, 'Speed.'),
    bounds,
    energyClass,
    ...CLEARING,
    terminalKind,
    wordOf(
      'mounting',
      { 'battery-post': 'on the post of a battery: for circuits that leave it there' },
      'Where it can be fitted, when not anywhere.',
    ),
    wordsOf(
      'fromMemory',
      {
        dcVoltage: 'its direct voltage',
        acVoltage: 'its alternating voltage',
        interruptRating: 'its interrupt rating',
        acInterruptRating: 'its interrupt rating on alternating current',
        dcInterrupt: 'its interrupt ratings by direct voltage',
        openingTimes: 'its opening times',
        letThrough: 'its let-through',
        energyClass: 'its energy-limiting class',
        ratings: 'the range of ratings made',
        polesInSeries: 'its poles in series',
      },
      'Which of its values are from memory, not read in a published copy: a finding that rests on them is a warning at most.',
    ),
    wordsOf(
      'basis',
      { nec: 'North America', iec: 'IEC', craft: 'small craft and vehicles' },
      'Practices it belongs to.',
    ),
    ...COMMON,
  ],
} as const satisfies KindDefinition;
