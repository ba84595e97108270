import { none } from './capabilities.js';
import { flagOf, quantityOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { efficiency } from './converter-facts.js';
import { TERMINATION } from './terminations.js';

export const CONVERTER = defineDevice({
  kind: 'converter',
  group: 'converter',
  doc: 'A DC-to-DC converter.',
  properties: [
    quantityOf(
      'input',
      'voltage',
      'V',
      'Window of input voltage; its low end is where it switches off, by itself or by a disconnect before it.',
      { minimum: 0, ranges: true },
    ),
    quantityOf('output', 'voltage', 'V', 'Output voltage.', { minimum: 0, ranges: true }),
    quantityOf('currentLimit', 'current', 'A', 'Highest output current.', { minimum: 0 }),
    efficiency,
    flagOf('isolated', 'Whether input and output are isolated from each other.'),
    ...TERMINATION,
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { in: { carries: 'dc', direction: 'in' }, out: { carries: 'dc', direction: 'out' } },
  capabilities: {
    source: none,
    charges: {
      at: 'out',
      supply: { kind: 'bus', at: 'in' },
      setPoints: ['output'],
      bounds: { setting: 'currentLimit', efficiency: 'efficiency' },
    },
    inverts: none,
    passes: none,
    stores: none,
    draws: [{ at: 'in', to: 'convert' }],
    drivesFault: [{ at: 'out', as: 'electronics' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: 'switched',
  },
});
