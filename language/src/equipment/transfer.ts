import { none } from './capabilities.js';
import { flagOf, wordOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating, acVoltage, switches, terminals } from './gear-facts.js';
import { TERMINATION } from './terminations.js';

export const TRANSFER = defineDevice({
  kind: 'transfer',
  group: 'gear',
  doc: 'Transfer gear: connects its outgoing side to one of two supplies, never to both.',
  properties: [
    rating,
    switches,
    flagOf('interlock', 'Whether the two supplies are mechanically or electrically kept apart.', {
      default: 'yes',
      note: 'transfer gear is interlocked by its standard (UL 1008, IEC 60947-6-1)',
    }),
    wordOf('operation', { manual: 'by hand', automatic: 'by itself' }, 'How it operates.'),
    acVoltage,
    terminals,
    ...TERMINATION,
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: {
    normal: { carries: 'ac', direction: 'in' },
    standby: { carries: 'ac', direction: 'in' },
    out: { carries: 'ac', direction: 'out' },
  },
  capabilities: {
    source: none,
    charges: none,
    inverts: none,
    passes: { from: ['normal', 'standby'], to: 'out', how: 'one', interlock: 'interlock' },
    stores: none,
    draws: none,
    drivesFault: none,
    conducts: { as: 'switch' },
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
