import { none } from './capabilities.js';
import { flagOf, quantityOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';

export const ALTERNATOR = defineDevice({
  kind: 'alternator',
  group: 'source',
  doc: 'An engine-driven alternator with regulator, charging a bank with direct current.',
  properties: [
    quantityOf('currentLimit', 'current', 'A', 'Highest output current, hot.', { minimum: 0 }),
    quantityOf('voltage', 'voltage', 'V', 'Regulated voltage.', { minimum: 0, ranges: true }),
    flagOf('surgeProtected', 'Whether it survives the bank being disconnected while it charges.'),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'dc', carries: 'dc', from: 'engine', heldBy: none }],
    charges: {
      at: 'dc',
      supply: { kind: 'own', drive: none, regulates: true },
      setPoints: ['voltage'],
      bounds: { setting: 'currentLimit' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'dc', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
