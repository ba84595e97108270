import { none } from './capabilities.js';
import { partOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating, dcVoltage, acVoltage, interruptRating, terminals } from './gear-facts.js';
import { CLEARING, TERMINATION } from './terminations.js';

export const FUSE = defineDevice({
  kind: 'fuse',
  group: 'gear',
  doc: 'A fuse with its holder.',
  properties: [
    partOf('class', ['deviceClass'], 'Fuse class or style.'),
    rating,
    dcVoltage,
    acVoltage,
    interruptRating,
    ...CLEARING,
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
    conducts: { as: 'device', opensBy: 'melting' },
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
