import { none } from './capabilities.js';
import { partOf, quantityOf, systemOf, textOf, wordOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { frequency, legs, machine, neutralBond, tolerance } from './source-facts.js';

export const VEHICLE = defineDevice({
  kind: 'vehicle',
  group: 'source',
  doc: 'A vehicle used as a source, by its outlet: alternating current (export outlet) or direct current (socket, trailer connector).',
  properties: [
    wordOf('supply', { ac: 'alternating current outlet', dc: 'direct current outlet' }, 'What the outlet gives.', {
      default: 'ac',
      note: 'an export outlet',
    }),
    systemOf('voltage', 'Nominal voltage of the outlet.'),
    tolerance,
    frequency,
    quantityOf('rating', 'current', 'A', 'Continuous current of the outlet.', { minimum: 0 }),
    quantityOf('rated', 'power', 'W', 'Continuous power of the outlet.', { minimum: 0, flavour: 'active' }),
    partOf('outlet', ['plug'], 'The receptacle.'),
    quantityOf(
      'faultCurrent',
      'current',
      'A',
      'Short-circuit current of an outlet with alternating current, by the maker of the vehicle: the largest, or the range from smallest to largest.',
      { minimum: 0, ranges: true },
    ),
    machine,
    neutralBond,
    legs,
    textOf('terms', 'Conditions the maker of the vehicle sets.'),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: {
    dc: { carries: 'dc', direction: 'out', if: { word: 'supply', is: 'dc' } },
    ac: { carries: 'ac', direction: 'out', if: { word: 'supply', is: 'ac' } },
  },
  capabilities: {
    source: [
      {
        at: 'dc',
        carries: 'dc',
        from: 'vehicle',
        heldBy: { rating: 'rating', as: 'service' },
        if: { word: 'supply', is: 'dc' },
      },
      {
        at: 'ac',
        carries: 'ac',
        from: 'vehicle',
        heldBy: { rating: 'rating', as: 'service' },
        if: { word: 'supply', is: 'ac' },
      },
    ],
    charges: {
      at: 'dc',
      if: { word: 'supply', is: 'dc' },
      supply: { kind: 'own', drive: none, regulates: false },
      setPoints: ['voltage'],
      bounds: { rating: 'rating', power: 'rated' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: [
      { at: 'dc', as: 'service', current: 'faultCurrent', if: { word: 'supply', is: 'dc' } },
      { at: 'ac', as: 'service', current: 'faultCurrent', if: { word: 'supply', is: 'ac' } },
    ],
    conducts: none,
    bondsNeutral: { word: 'neutralBond', unsaid: 'open' },
    opensOnResidual: none,
    commanded: none,
  },
});
