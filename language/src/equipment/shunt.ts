import { none } from './capabilities.js';
import { quantityOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating } from './gear-facts.js';
import { TERMINATION } from './terminations.js';

export const SHUNT = defineDevice({
  kind: 'shunt',
  group: 'gear',
  doc: 'A measuring shunt.',
  properties: [
    rating,
    quantityOf('drop', 'voltage', 'mV', 'Voltage across it at rated current.', { minimum: 0 }),
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
    conducts: { as: 'measuring' },
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
