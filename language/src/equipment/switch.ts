import { none } from './capabilities.js';
import { flagOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating, dcVoltage, acVoltage, interlock, terminals } from './gear-facts.js';
import { TERMINATION } from './terminations.js';

export const SWITCH = defineDevice({
  kind: 'switch',
  group: 'gear',
  doc: 'A switch or disconnector.',
  properties: [
    rating,
    dcVoltage,
    acVoltage,
    flagOf('loadBreak', 'Whether it may be opened under load.'),
    flagOf(
      'tapProtection',
      'Of a manual motor controller: whether it is marked as suitable for tap conductor protection in group installations (NEC 430.53(D)(3)).',
    ),
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
    conducts: { as: 'switch' },
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
