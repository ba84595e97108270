import { none } from './capabilities.js';
import {
  flagOf,
  profileOf,
  quantityOf,
  systemOf,
  wordOf,
  wordsOf,
  COMMON,
  LOCATION,
  MOUNTED,
  defineDevice,
} from './define.js';
import { LEGS } from './legs.js';
import { MOTOR } from './motor-facts.js';

export const LOAD = defineDevice({
  kind: 'load',
  group: 'load',
  doc: 'Something that uses power.',
  properties: [
    quantityOf('power', 'power', 'W', 'Active power of one piece when running.', {
      minimum: 0,
      flavour: 'active',
      ranges: true,
    }),
    quantityOf('count', 'ratio', '', 'How many of them.', {
      minimum: 1,
      maximum: 100000,
      whole: true,
      default: '1',
      note: 'one piece',
    }),
    quantityOf('powerFactor', 'ratio', '', 'Power factor.', {
      minimum: 0.05,
      maximum: 1,
      default: '1',
      note: 'no reactive power',
    }),
    wordOf(
      'supply',
      { ac: 'alternating current', dc: 'direct current' },
      'What it runs on; follows from the run that feeds it when not said.',
    ),
    systemOf('voltage', 'Its nominal voltage; that of its supply when not said.'),
    flagOf('continuous', 'Whether it runs for three hours or more at a time.', {
      default: 'yes',
      note: 'NEC Article 100: three hours or more; taken as continuous unless said',
    }),
    profileOf('profile', 'When it runs, as windows of a day with the share of its power; `always` for all day.'),
    quantityOf('duty', 'ratio', '%', 'Share of the time it runs.', { minimum: 0, maximum: 1 }),
    ...MOTOR,
    quantityOf('startFactor', 'ratio', '', 'Starting current over running current.', { minimum: 1, maximum: 20 }),
    quantityOf('startTime', 'time', 's', 'How long the start lasts.', { minimum: 0 }),
    quantityOf('thdLimit', 'ratio', '%', 'Highest distortion of the supply it accepts.', { minimum: 0, maximum: 1 }),
    quantityOf('minimumVoltage', 'voltage', 'V', 'Lowest voltage at which it works.', { minimum: 0 }),
    flagOf('lighting', 'Whether it is lighting, which has a voltage-drop limit of its own under iec.'),
    wordOf(
      'use',
      {
        'navigation-lights': 'navigation lights',
        'bilge-blower': 'a blower of a bilge or engine space',
        electronics: 'navigation, radio and other electronics',
        other: 'anything else: cabin lights, pumps, windlass, fans',
      },
      'What it is aboard, which decides how much voltage its wiring may lose (craft).',
    ),
    quantityOf('priority', 'ratio', '', 'Rank for shedding; 1 stays on longest.', {
      minimum: 1,
      maximum: 99,
      whole: true,
    }),
    wordsOf(
      'legs',
      LEGS,
      'The legs or phases it is connected to; all of its supply when its voltage is line to line, else L1 unless said.',
    ),
    LOCATION,
    ...MOUNTED,
    ...COMMON,
  ],
  terminals: { line: { carries: { word: 'supply' }, direction: 'in' } },
  capabilities: {
    source: none,
    charges: none,
    inverts: none,
    passes: none,
    stores: none,
    draws: [{ at: 'line', to: 'use' }],
    drivesFault: none,
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: 'switched',
  },
});
