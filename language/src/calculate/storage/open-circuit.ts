import { derive, deriveFact, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import {
  CHEMISTRY_NAMES,
  chemistry as chemistryNamed,
  lithiumChargeRateAt,
  openCircuitCurve,
  openCircuitSlope,
  openCircuitVoltage as restVoltage,
} from '../../reference/energy/index.js';
import { defaults, defineFunction, needs, word } from '../registry.js';

export const openCircuitVoltage = defineFunction({
  name: 'openCircuitVoltage',
  group: 'storage',
  summary: 'Voltage of a rested bank at a state of charge.',
  parameters: {
    charge: needs('ratio', '', 'state of charge', { minimum: 0, maximum: 1 }),
    chemistry: word(CHEMISTRY_NAMES, 'cell chemistry'),
    cells: defaults('ratio', '', 1, 'cells in series', { minimum: 1, maximum: 1000 }),
  },
  result: 'voltage in V; `.slope` is the volts for the whole span of charge at this point',
  worst: 'low',
  validity:
    'Rested for hours at 25 °C, straight lines between measured points. Where the curve is flat a voltage says next to nothing about the state of charge.',
  sources: [
    'Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025 (lfp, nmc)',
    'national-laboratory vehicle battery data file (agm, gel)',
    'BCI Battery Service Manual [from memory] (flooded)',
  ],
  examples: [
    {
      call: 'openCircuitVoltage(charge: 29.72 %, chemistry: lfp)',
      gives: '3.2772 V',
      source: 'IEEE Trans. Instrum. Meas. 2025 data set, break point',
    },
    {
      call: 'openCircuitVoltage(charge: 50 %, chemistry: flooded, cells: 6)',
      gives: '12.24 V',
      source: 'BCI Battery Service Manual, from memory',
    },
    {
      call: 'openCircuitVoltage(charge: 50 %, chemistry: lfp, cells: 16).slope',
      gives: '1.7234 V',
      source: 'hand calculation: (3.3511 − 3.2772)/(0.9833 − 0.2972)·16',
    },
  ],
  compute: ({ charge, chemistry, cells }) => {
    const curve = openCircuitCurve(chemistry);
    const perCell = restVoltage(chemistry, numberIn(charge, ''));
    const slopePerCell = openCircuitSlope(chemistry, numberIn(charge, ''));
    if (!curve || perCell === undefined || slopePerCell === undefined)
      return refused(`no rest-voltage curve of ${chemistry} at this state of charge`, 'charge');
    const count = numberIn(cells, '');
    const one = fromTable('cell voltage', perCell, 'V', curve.source, {
      symbol: 'U_c',
      inputs: [charge, deriveFact('chemistry', chemistry, { origin: 'stated' })],
    });
    const flat = chemistryNamed(chemistry)?.flat;
    const share = numberIn(charge, '');
    const onPlateau = flat && share >= flat.chargeFrom && share <= flat.chargeTo;
    return known(
      derive('rest voltage', perCell * count, 'V', {
        symbol: 'U_0',
        formula: 'n·U_c',
        inputs: [cells, one],
        source: curve.source,
        ...(onPlateau ? { notes: ['on the flat part of the curve'] } : {}),
        parts: {
          slope: derive('slope over the span of charge', slopePerCell * count, 'V', {
            formula: 'n·dU_c/ds',
            inputs: [cells, charge],
            source: curve.source,
          }),
        },
      }),
    );
  },
});

export const coldChargeCurrent = defineFunction({
  name: 'coldChargeCurrent',
  group: 'storage',
  summary: 'Largest charge current of a lithium iron phosphate bank at a cell temperature.',
  parameters: {
    capacity: needs('charge', 'Ah', 'capacity of the bank', { minimum: 0 }),
    temperature: needs('temperature', 'degC', 'cell temperature', { minimum: -60, maximum: 80 }),
  },
  result: 'current in A, 0 A where charging is not allowed; `.rate` in C',
  worst: 'low',
  validity: 'Typical data sheet; between 0 and 10 °C only up to 80 % of charge. The maker’s own table goes first.',
  sources: ['lithium iron phosphate cell data sheet quoted by an RV wiki; two more tables agree on 0 A below 0 °C'],
  examples: [
    {
      call: 'coldChargeCurrent(capacity: 280 Ah, temperature: -1 degC)',
      gives: '0 A',
      source: 'cell data sheet: no charging below 0 °C',
    },
    {
      call: 'coldChargeCurrent(capacity: 280 Ah, temperature: 25 degC)',
      gives: '140 A',
      source: 'cell data sheet: 0.5 C from 15 to 45 °C',
    },
  ],
  compute: ({ capacity, temperature }) => {
    const row = lithiumChargeRateAt(numberIn(temperature, 'degC'));
    const rate = fromTable('charge rate', row.rate, 'C', row.source, { symbol: 'c', inputs: [temperature] });
    return known(
      derive('charge current allowed', numberIn(capacity, 'Ah') * row.rate, 'A', {
        symbol: 'I_max',
        formula: 'c·C',
        inputs: [rate, capacity],
        source: row.source,
        ...(row.rate === 0 ? { governing: [{ kind: 'noCharging' }] as const } : {}),
        parts: { rate },
      }),
    );
  },
});
