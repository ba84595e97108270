import { SMALLEST_RATING, flagOf, quantityOf, textOf, wordOf } from './define.js';

/* Facts that several kinds of gear state. */

export const rating = quantityOf('rating', 'current', 'A', 'Rated current.', {
  minimum: 0,
  seek: SMALLEST_RATING,
});

export const dcVoltage = quantityOf('dcVoltage', 'voltage', 'V', 'Highest direct voltage it is rated for.', {
  minimum: 0,
});

export const acVoltage = quantityOf('acVoltage', 'voltage', 'V', 'Highest alternating voltage it is rated for.', {
  minimum: 0,
});

export const interruptRating = quantityOf(
  'interruptRating',
  'current',
  'A',
  'Largest fault current it can interrupt, at its rated voltage of the kind of current used.',
  { minimum: 0 },
);

export const interlock = textOf(
  'interlock',
  'Name of the mechanical interlock that lets only one of the breakers or switches with this name be closed at a time.',
);

export const terminals = quantityOf('terminals', 'temperature', 'degC', 'Temperature its terminals are rated for.', {
  minimum: 40,
  maximum: 150,
});

/** Which conductors a transfer switch, or the relay of an inverter that passes a supply on, opens. */
const SWITCHED = {
  phases: 'phase conductors only; the neutral stays joined',
  'phases-and-neutral': 'phase conductors and neutral',
} as const;

export const switches = wordOf('switches', SWITCHED, 'Which conductors it switches.');

export const relaySwitches = wordOf(
  'switches',
  SWITCHED,
  'Which conductors its transfer relay opens while it inverts.',
  {
    default: 'phases-and-neutral',
    note: 'relays of inverters that pass a supply on open the neutral too; common practice, no source',
  },
);

export const fullRating = flagOf(
  'fullRating',
  'Whether it is listed, in its enclosure, to carry 100 % of its rating continuously.',
  {
    default: 'no',
    note: 'NEC 210.20(A), 215.3: 80 % unless listed for 100 %',
  },
);
