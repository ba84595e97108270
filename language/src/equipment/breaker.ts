import { none } from './capabilities.js';
import { flagOf, partOf, quantityOf, wordOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating, dcVoltage, acVoltage, fullRating, interruptRating, interlock, terminals } from './gear-facts.js';
import { CLEARING, TERMINATION, energyClass } from './terminations.js';

export const BREAKER = defineDevice({
  kind: 'breaker',
  group: 'gear',
  doc: 'A circuit breaker.',
  properties: [
    partOf('class', ['deviceClass'], 'Breaker class or style.'),
    rating,
    dcVoltage,
    acVoltage,
    interruptRating,
    wordOf(
      'curve',
      { B: 'magnetic trip at 3 to 5 times rating', C: '5 to 10 times', D: '10 to 20 times' },
      'Trip curve (IEC 60898-1).',
    ),
    energyClass,
    ...CLEARING,
    quantityOf('poles', 'ratio', '', 'Poles that open together.', { minimum: 1, maximum: 4, whole: true }),
    fullRating,
    flagOf('groundFault', 'Whether it opens on earth-fault (residual) current.'),
    interlock,
    terminals,
    ...TERMINATION,
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { line: { carries: 'any', direction: 'both' } },
  capabilities: {
    source: none,
    charges: none,
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: none,
    conducts: { as: 'device', opensBy: 'tripping' },
    bondsNeutral: none,
    opensOnResidual: { says: 'groundFault', unsaid: 'open' },
    commanded: none,
  },
});
