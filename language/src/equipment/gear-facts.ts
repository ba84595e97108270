import { quantityOf } from './define.js';

/* Facts that several kinds of gear state. */

export const rating = quantityOf('rating', 'current', 'A', 'Rated current.', { minimum: 0 });

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

export const terminals = quantityOf('terminals', 'temperature', 'degC', 'Temperature its terminals are rated for.', {
  minimum: 40,
  maximum: 150,
});
