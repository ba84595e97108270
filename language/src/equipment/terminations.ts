import { flagOf, quantityOf, tableOf, wordOf } from './define.js';

/** How conductors can be fastened to a thing; also a fact of a class of devices. */
export const terminalKind = wordOf(
  'terminalKind',
  {
    'set-screw': 'screw that presses on the strands (box lug)',
    clamp: 'plate or cage that spreads the pressure over the strands',
    spring: 'spring clamp',
    stud: 'stud or bolt for lugs',
  },
  'How conductors are fastened to it.',
);

/** Thread diameter of a stud, and of the stud a lug is made for. mm, 3 to 24. */
const THREAD = { minimum: 3, maximum: 24 } as const;

export const lugHole = (doc: string) => quantityOf('lugHole', 'length', 'mm', doc, THREAD);

/** What a thing says about the terminals of its conductors. */
export const TERMINATION = [
  terminalKind,
  flagOf(
    'fineStrand',
    'Whether its terminals are marked for fine-stranded conductors (class 5, 6, K, M), not for class B and C alone.',
  ),
  quantityOf(
    'stud',
    'length',
    'mm',
    'Thread diameter of its studs, of a converter those of its direct-current side: 8 mm for M8, 0.375 in for 3/8 in.',
    THREAD,
  ),
  quantityOf('studs', 'ratio', '', 'Studs of each pole; one where not said, on a busbar as many as it states.', {
    minimum: 1,
    maximum: 100,
    whole: true,
  }),
  lugHole('Stud that the lugs on it are made for, where they differ from those the run states: 8 mm for M8.'),
  quantityOf('torque', 'energy', 'Nm', 'Tightening torque of its terminals, by its data sheet or marking.', {
    minimum: 0,
  }),
];

/** What a device says about how fast it opens; also facts of a class of devices. */
export const CLEARING = [
  tableOf(
    'openingTimes',
    ['ratio', 'current'],
    '%',
    'time',
    's',
    'Longest times in which it opens, by multiples of its rating or by currents, from its time-current curve: `{ 200 %: 60 s, 600 %: 0.1 s }`.',
  ),
  tableOf(
    'letThrough',
    'current',
    'A',
    'currentSquaredTime',
    'A2s',
    'Largest total clearing I²t it lets through, by prospective fault current: `{ 5 kA: 20 kA2s, 20 kA: 30 kA2s }`.',
  ),
];

/** The classes of device whose standards bound what every device of them does. */
const CLASS_BOUNDS = {
  'T-300V': 'UL 248-15, 300 V',
  'T-600V': 'UL 248-15, 600 V',
  J: 'UL 248-8',
  RK1: 'UL 248-12, RK1',
  RK5: 'UL 248-12, RK5',
  CC: 'UL 248-4',
  G: 'UL 248-5',
  'full-range': 'IEC 60269-6 (gPV) and 60269-7 (gBat)',
  'moulded-case': 'UL 489 breaker',
  thermal: 'breaker without a magnetic trip, calibrated as UL 1077',
} as const;

export const bounds = wordOf(
  'bounds',
  CLASS_BOUNDS,
  'Class of a standard whose bounds count where neither a curve nor a let-through is stated: largest let-through, longest times to open, instantaneous trip.',
);

export const energyClass = quantityOf(
  'energyClass',
  'ratio',
  '',
  'Energy-limiting class that a miniature breaker is marked with: 3 lets through least (EN 60898-1).',
  { minimum: 1, maximum: 3, whole: true },
);
