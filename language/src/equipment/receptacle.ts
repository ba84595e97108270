import { none } from './capabilities.js';
import { flagOf, partOf, wordOf, wordsOf, COMMON, LOCATION, defineDevice } from './define.js';
import { rating, terminals } from './gear-facts.js';
import { LEGS } from './legs.js';

export const RECEPTACLE = defineDevice({
  kind: 'receptacle',
  group: 'gear',
  doc: 'A receptacle, inlet or plug connection; an adapter, where it has an outlet of another configuration.',
  properties: [
    partOf('plug', ['plug'], 'Its configuration; of an adapter, that of its plug, on the side of the source.'),
    partOf('outlet', ['plug'], 'Of an adapter: the configuration of its outlet, on the side of what is fed.'),
    rating,
    flagOf(
      'oneCord',
      'Of an inlet or plug: whether it accepts one cord at a time, so that the supplies whose cords end here exclude each other (alternating current).',
    ),
    flagOf(
      'answersPilot',
      'Of an inlet or adapter: whether it answers the control pilot of an outlet for charging vehicles and keeps to the current that the outlet signals.',
    ),
    flagOf('groundFault', 'Whether it opens on earth-fault (residual) current.'),
    wordOf(
      'place',
      {
        bathroom: 'in a bathroom',
        garage: 'in a garage or an accessory building',
        outdoors: 'outdoors',
        'crawl-space': 'in a crawl space',
        basement: 'in a basement',
        kitchen: 'in a kitchen',
        'food-preparation': 'where food is prepared beside a sink',
        sink: 'within 6 ft of a sink',
        bath: 'within 6 ft of a bathtub or shower',
        laundry: 'in a laundry area',
        boathouse: 'in a boathouse',
        damp: 'in a damp or wet place indoors',
        'machinery-space': 'in a machinery space aboard',
        'shore-power': 'shore power of a marina',
        'construction-site': 'on a construction site',
        'caravan-site': 'on a site for recreational vehicles',
        other: 'anywhere else',
      },
      'Where it is, which decides whether it needs ground-fault protection (nec, craft).',
    ),
    wordsOf('legs', LEGS, 'The legs it is connected to.'),
    terminals,
    LOCATION,
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
    conducts: { as: 'connection' },
    bondsNeutral: none,
    opensOnResidual: { says: 'groundFault', unsaid: 'no' },
    commanded: none,
  },
});
