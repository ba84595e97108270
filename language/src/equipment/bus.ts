import { none } from './capabilities.js';
import { systemOf, wordOf, COMMON, LOCATION, MOUNTED, defineDevice } from './define.js';
import { rating, dcVoltage, terminals } from './gear-facts.js';
import { TERMINATION } from './terminations.js';

export const BUS = defineDevice({
  kind: 'bus',
  group: 'gear',
  doc: 'A busbar or distribution panel where several runs meet.',
  properties: [
    rating,
    dcVoltage,
    systemOf('voltage', 'Voltage system of a panel, where it must be said.'),
    wordOf(
      'neutralBond',
      { bonded: 'neutral is bonded to earth here', floating: 'neutral is not bonded here' },
      'Whether neutral and earth are bonded in this panel.',
    ),
    terminals,
    ...TERMINATION,
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { bar: { carries: 'any', direction: 'both' } },
  capabilities: {
    source: none,
    charges: none,
    inverts: none,
    passes: none,
    stores: none,
    draws: none,
    drivesFault: none,
    conducts: { as: 'joint' },
    bondsNeutral: { word: 'neutralBond', unsaid: 'floating' },
    opensOnResidual: none,
    commanded: none,
  },
});
