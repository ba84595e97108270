import { none } from './capabilities.js';
import { partOf, quantityOf, systemOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { fullRating } from './gear-facts.js';
import { neutralBond, legs, tolerance, frequency } from './source-facts.js';

export const GRID = defineDevice({
  kind: 'grid',
  group: 'source',
  doc: 'A utility or shore connection.',
  properties: [
    systemOf('voltage', 'Nominal voltage or system.'),
    tolerance,
    frequency,
    quantityOf('rating', 'current', 'A', 'Current of the service or shore outlet, per leg.', { minimum: 0 }),
    fullRating,
    partOf('outlet', ['plug'], 'The receptacle that shore power is taken from.'),
    neutralBond,
    legs,
    quantityOf(
      'betweenOutages',
      'time',
      'd',
      'Mean time from the end of one outage to the next, for scenarios with random outages.',
      { minimum: 0 },
    ),
    quantityOf('outageTime', 'time', 'h', 'Mean time of an outage.', { minimum: 0 }),
    quantityOf(
      'faultCurrent',
      'current',
      'A',
      'Prospective short-circuit current at the connection: the largest, or the range from smallest to largest.',
      { minimum: 0, ranges: true },
    ),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { ac: { carries: 'ac', direction: 'out' } },
  capabilities: {
    source: [{ at: 'ac', carries: 'ac', from: 'utility', heldBy: { rating: 'rating', as: 'service' } }],
    charges: none,
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [{ at: 'ac', as: 'service', current: 'faultCurrent' }],
    conducts: none,
    bondsNeutral: { word: 'neutralBond', unsaid: 'open' },
    opensOnResidual: none,
    commanded: none,
  },
});
