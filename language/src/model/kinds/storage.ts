import { COMMON, type KindDefinition, flagOf, quantityOf, terminal, textOf, wordOf } from './define.js';

export const BATTERY: KindDefinition = {
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
      'resistance',
      'resistance',
      'mohm',
      'Internal resistance of one unit, with its range from warm and new to cold and aged.',
      { minimum: 0, ranges: true },
    ),
    quantityOf('shortCircuitCurrent', 'current', 'A', 'Short-circuit current of one unit.', { minimum: 0 }),
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
    quantityOf('reserve', 'ratio', '%', 'Share of the capacity that is kept.', { minimum: 0, maximum: 1 }),
    quantityOf('peukert', 'ratio', '', 'Exponent of the rate effect (lead-acid).', { minimum: 1, maximum: 1.6 }),
    textOf('protocol', 'Protocol its protection speaks.'),
    quantityOf('rate', 'bitRate', 'kbit/s', 'Bit rate of its communication port.', { minimum: 0 }),
    quantityOf('address', 'ratio', '', 'Its address on the link.', { minimum: 0, maximum: 65535, whole: true }),
    ...COMMON,
  ],
  terminals: () => [terminal('dc', 'dc', 'both')],
};
