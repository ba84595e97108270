import { none } from './capabilities.js';
import { quantityOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';

export const WIND = defineDevice({
  kind: 'wind',
  group: 'source',
  doc: 'A wind turbine with its own rectifier, delivering direct current.',
  properties: [
    quantityOf('rated', 'power', 'W', 'Rated power.', { minimum: 0, flavour: 'active' }),
    quantityOf('voltage', 'voltage', 'V', 'Output voltage, with its range.', { minimum: 0, ranges: true }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: [{ at: 'dc', carries: 'dc', from: 'wind', heldBy: none }],
    charges: {
      at: 'dc',
      supply: { kind: 'own', drive: none, regulates: false },
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
