import {
  COMMON,
  type KindDefinition,
  flagOf,
  partOf,
  quantityOf,
  systemOf,
  terminal,
  wordOf,
  wordsOf,
} from './define.js';
import { LEGS } from './sources.js';
import { CLEARING, TERMINATION } from './terminations.js';

const rating = quantityOf('rating', 'current', 'A', 'Rated current.', { minimum: 0 });
const dcVoltage = quantityOf('dcVoltage', 'voltage', 'V', 'Highest direct voltage it is rated for.', { minimum: 0 });
const acVoltage = quantityOf('acVoltage', 'voltage', 'V', 'Highest alternating voltage it is rated for.', {
  minimum: 0,
});
const interruptRating = quantityOf(
  'interruptRating',
  'current',
  'A',
  'Largest fault current it can interrupt, at its rated voltage of the kind of current used.',
  { minimum: 0 },
);
const terminals = quantityOf('terminals', 'temperature', 'degC', 'Temperature its terminals are rated for.', {
  minimum: 40,
  maximum: 150,
});
const through = (): KindDefinition['terminals'] => () => [terminal('line', 'any', 'both')];

export const BUS: KindDefinition = {
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
    ...COMMON,
  ],
  terminals: () => [terminal('bar', 'any', 'both')],
};

export const FUSE: KindDefinition = {
  kind: 'fuse',
  group: 'gear',
  doc: 'A fuse with its holder.',
  properties: [
    partOf('class', ['deviceClass'], 'Fuse class or style.'),
    rating,
    dcVoltage,
    acVoltage,
    interruptRating,
    ...CLEARING,
    terminals,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: through(),
};

export const BREAKER: KindDefinition = {
  kind: 'breaker',
  group: 'gear',
  doc: 'A circuit breaker.',
  properties: [
    partOf('class', ['deviceClass'], 'Breaker class or style.'),
    rating,
    dcVoltage,
    acVoltage,
    interruptRating,
    wordOf(
      'curve',
      { B: 'magnetic trip at 3 to 5 times rating', C: '5 to 10 times', D: '10 to 20 times' },
      'Trip curve (IEC 60898-1).',
    ),
    ...CLEARING,
    quantityOf('poles', 'ratio', '', 'Poles that open together.', { minimum: 1, maximum: 4, whole: true }),
    flagOf('fullRating', 'Whether it is listed to carry 100 % of its rating continuously.', {
      default: 'no',
      note: 'NEC 210.20(A), 215.3: 80 % unless listed for 100 %',
    }),
    flagOf('groundFault', 'Whether it opens on earth-fault (residual) current.'),
    terminals,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: through(),
};

export const SWITCH: KindDefinition = {
  kind: 'switch',
  group: 'gear',
  doc: 'A switch or disconnector.',
  properties: [
    rating,
    dcVoltage,
    acVoltage,
    flagOf('loadBreak', 'Whether it may be opened under load.'),
    terminals,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: through(),
};

export const TRANSFER: KindDefinition = {
  kind: 'transfer',
  group: 'gear',
  doc: 'Transfer gear: connects its outgoing side to one of two supplies, never to both.',
  properties: [
    rating,
    wordOf(
      'switches',
      {
        phases: 'phase conductors only; the neutral stays joined',
        'phases-and-neutral': 'phase conductors and neutral',
      },
      'Which conductors it switches.',
    ),
    flagOf('interlock', 'Whether the two supplies are mechanically or electrically kept apart.', {
      default: 'yes',
      note: 'transfer gear is interlocked by its standard (UL 1008, IEC 60947-6-1)',
    }),
    wordOf('operation', { manual: 'by hand', automatic: 'by itself' }, 'How it operates.'),
    acVoltage,
    terminals,
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: () => [terminal('normal', 'ac', 'in'), terminal('standby', 'ac', 'in'), terminal('out', 'ac', 'out')],
};

export const RECEPTACLE: KindDefinition = {
  kind: 'receptacle',
  group: 'gear',
  doc: 'A receptacle, inlet or plug connection; an adapter, where it has an outlet of another configuration.',
  properties: [
    partOf('plug', ['plug'], 'Its configuration; of an adapter, that of its plug, on the side of the source.'),
    partOf('outlet', ['plug'], 'Of an adapter: the configuration of its outlet, on the side of what is fed.'),
    rating,
    flagOf('groundFault', 'Whether it opens on earth-fault (residual) current.'),
    wordsOf('legs', LEGS, 'The legs it is connected to.'),
    terminals,
    ...COMMON,
  ],
  terminals: through(),
};

export const SHUNT: KindDefinition = {
  kind: 'shunt',
  group: 'gear',
  doc: 'A measuring shunt.',
  properties: [
    rating,
    quantityOf('drop', 'voltage', 'mV', 'Voltage across it at rated current.', { minimum: 0 }),
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: through(),
};
