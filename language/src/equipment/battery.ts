import { none } from './capabilities.js';
import { flagOf, partOf, quantityOf, textOf, wordOf, wordsOf, COMMON, defineDevice } from './define.js';
import { TERMINATION } from './terminations.js';

export const BATTERY = defineDevice({
  kind: 'battery',
  group: 'storage',
  doc: 'A battery bank: units in series make a string, strings stand in parallel. Voltages, capacity, resistance and limits are those of one unit.',
  properties: [
    wordOf(
      'chemistry',
      {
        lfp: 'lithium iron phosphate',
        nmc: 'lithium nickel manganese cobalt',
        agm: 'lead-acid, absorbed glass mat',
        gel: 'lead-acid, gel',
        flooded: 'lead-acid, vented',
      },
      'Cell chemistry.',
    ),
    quantityOf('voltage', 'voltage', 'V', 'Nominal voltage of one unit.', { minimum: 0 }),
    quantityOf('cells', 'ratio', '', 'Cells in series in one unit.', { minimum: 1, maximum: 400, whole: true }),
    quantityOf('capacity', 'charge', 'Ah', 'Rated capacity of one unit.', { minimum: 0 }),
    quantityOf('capacityTime', 'time', 'h', 'Discharge time at which the capacity is rated.', { minimum: 0 }),
    quantityOf('series', 'ratio', '', 'Units in series in one string.', {
      minimum: 1,
      maximum: 400,
      whole: true,
      default: '1',
      note: 'one unit',
    }),
    quantityOf('parallel', 'ratio', '', 'Strings in parallel.', {
      minimum: 1,
      maximum: 100,
      whole: true,
      default: '1',
      note: 'one string',
    }),
    quantityOf(
      'stringFuse',
      'current',
      'A',
      'Rating of the fuse or breaker that each string in parallel has of its own.',
      {
        minimum: 0,
      },
    ),
    partOf('stringFuseClass', ['deviceClass'], 'Class of the fuse or breaker of each string.'),
    quantityOf(
      'stringAmpacity',
      'current',
      'A',
      'What the leads of each string may carry, between its units and where the strings meet.',
      { minimum: 0 },
    ),
    quantityOf('maximumParallel', 'ratio', '', 'Most strings in parallel that its maker allows.', {
      minimum: 1,
      maximum: 100,
      whole: true,
    }),
    wordOf(
      'takeOff',
      {
        end: 'both main cables at the same string, the others linked behind it',
        diagonal: 'positive main cable at the first string, negative at the last',
        busbar: 'a bus bar with leads of equal length to each string',
      },
      'Where the main cables leave strings in parallel.',
    ),
    quantityOf(
      'jumper',
      'resistance',
      'mohm',
      'Resistance of one link between neighbouring strings, lugs included: `resistance(size: 2/0 AWG, length: 300 mm)` and its contacts.',
      { minimum: 0, ranges: true },
    ),
    quantityOf(
      'resistance',
      'resistance',
      'mohm',
      'Internal resistance of one unit, with its range from warm and new to cold and aged.',
      { minimum: 0, ranges: true },
    ),
    quantityOf('shortCircuitCurrent', 'current', 'A', 'Short-circuit current of one unit.', { minimum: 0 }),
    wordsOf(
      'fromMemory',
      { resistance: 'its resistance', shortCircuitCurrent: 'its short-circuit current' },
      'Which of its values are from memory, not read in a data sheet: an error that rests on them is a warning.',
    ),
    quantityOf('maximumCharge', 'current', 'A', 'Highest continuous charge current of one unit.', { minimum: 0 }),
    quantityOf('maximumDischarge', 'current', 'A', 'Highest continuous discharge current of one unit.', { minimum: 0 }),
    quantityOf('peakDischarge', 'current', 'A', 'Highest discharge current of one unit for a few seconds.', {
      minimum: 0,
    }),
    quantityOf('protectionHigh', 'voltage', 'V', 'Voltage of one unit at which its protection opens on charge.', {
      minimum: 0,
    }),
    quantityOf('protectionLow', 'voltage', 'V', 'Voltage of one unit at which its protection opens on discharge.', {
      minimum: 0,
    }),
    quantityOf('chargeLimit', 'voltage', 'V', 'Highest charge voltage of one unit by its data sheet.', { minimum: 0 }),
    wordOf(
      'reset',
      { automatic: 'closes again by itself', manual: 'needs a person' },
      'How its protection closes again.',
    ),
    quantityOf('chargeTemperature', 'temperature', 'degC', 'Cell temperatures at which it may be charged.', {
      ranges: true,
    }),
    quantityOf('dischargeTemperature', 'temperature', 'degC', 'Cell temperatures at which it may be discharged.', {
      ranges: true,
    }),
    quantityOf('cellTemperature', 'temperature', 'degC', 'Cell temperatures that occur where it stands.', {
      ranges: true,
    }),
    flagOf('heater', 'Whether it is warmed before charging in the cold.'),
    flagOf(
      'coldLock',
      'Whether its protection refuses charge below the lowest temperature at which it may be charged.',
    ),
    quantityOf('reserve', 'ratio', '%', 'Share of the capacity that is kept.', { minimum: 0, maximum: 1 }),
    quantityOf(
      'autonomy',
      'time',
      'd',
      'Time it must carry its loads without any charge, from full down to its reserve.',
      { minimum: 0 },
    ),
    wordOf(
      'location',
      {
        living: 'a room people live or sleep in',
        closet: 'a utility closet, basement, storage or utility space',
        garage: 'a garage or detached outbuilding',
        wall: 'on an outside wall',
        ground: 'outdoors on the ground',
      },
      'Where it stands at a dwelling.',
    ),
    quantityOf('airFlow', 'flow', 'm3/h', 'Air led through the room or box it stands in while it is charged.', {
      minimum: 0,
    }),
    quantityOf(
      'opening',
      'area',
      'cm2',
      'Free area of each of the two openings (low inlet, high outlet) of the room or box it stands in.',
      { minimum: 0 },
    ),
    quantityOf(
      'gassingCurrent',
      'current',
      'A',
      'Current of one unit that makes gas at the end of charge, by its maker for the set point used; the table of IEC 62485-2 when not said.',
      { minimum: 0 },
    ),
    quantityOf('peukert', 'ratio', '', 'Exponent of the rate effect (lead-acid).', { minimum: 1, maximum: 1.6 }),
    textOf('protocol', 'Protocol its protection speaks.'),
    quantityOf('rate', 'bitRate', 'kbit/s', 'Bit rate of its communication port.', { minimum: 0 }),
    quantityOf('address', 'ratio', '', 'Its address on the link.', { minimum: 0, maximum: 65535, whole: true }),
    ...TERMINATION,
    ...COMMON,
  ],
  terminals: { dc: { carries: 'dc', direction: 'both' } },
  capabilities: {
    source: none,
    charges: none,
    inverts: none,
    passes: none,
    stores: { at: 'dc' },
    draws: none,
    drivesFault: [{ at: 'dc', as: 'bank' }],
    conducts: none,
    bondsNeutral: none,
    opensOnResidual: none,
    commanded: none,
  },
});
