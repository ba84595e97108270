import { derive, known, numberIn } from '../../derivation/index.js';
import { defaults, defineFunction, needs } from '../registry.js';

export const compensatedVoltage = defineFunction({
  name: 'compensatedVoltage',
  group: 'storage',
  summary: 'Charge voltage of a lead-acid bank corrected for its temperature.',
  parameters: {
    voltage: needs('voltage', 'V', 'charge voltage of the whole bank at the reference temperature', { minimum: 0 }),
    cells: needs('ratio', '', 'cells in series', { minimum: 1, maximum: 1000 }),
    coefficient: needs('voltagePerTemperature', 'mV/K', 'change for each kelvin and cell, negative for lead-acid', {
      minimum: -10,
      maximum: 0,
    }),
    temperature: needs('temperature', 'degC', 'temperature of the bank', { minimum: -20, maximum: 60 }),
    reference: defaults('temperature', 'degC', 25, 'temperature for which the voltage is stated', {
      minimum: 15,
      maximum: 30,
      defaultSource: 'usual reference',
    }),
  },
  result: 'voltage in V; `.change` against the voltage stated',
  worst: 'high',
  validity:
    'Lead-acid, −20 to 60 °C; chargers usually hold the voltage beyond 0 to 50 °C. Lithium needs no compensation: its coefficient is 0.',
  sources: ['two charging pages: −3 mV/K and cell; other pages −5 mV/K: take the maker’s own'],
  examples: [
    {
      call: 'compensatedVoltage(voltage: 2.30 V, cells: 1, coefficient: -3 mV/K, temperature: 35 degC)',
      gives: '2.27 V',
      source: 'charging page: 2.30 V at 25 °C is 2.27 V at 35 °C',
    },
    {
      call: 'compensatedVoltage(voltage: 2.30 V, cells: 1, coefficient: -3 mV/K, temperature: 15 degC)',
      gives: '2.33 V',
      source: 'charging page: 2.30 V at 25 °C is 2.33 V at 15 °C',
    },
    {
      call: 'compensatedVoltage(voltage: 13.4 V, cells: 6, coefficient: -5 mV/K, temperature: 30 degC)',
      gives: '13.25 V',
      source: 'encyclopedia page on float voltage: 13.4 V falls to 13.25 V at 30 °C',
    },
  ],
  compute: ({ voltage, cells, coefficient, temperature, reference }) => {
    const kelvin = numberIn(temperature, 'degC') - numberIn(reference, 'degC');
    const difference = derive('temperature difference', kelvin, 'K', {
      symbol: 'ΔT',
      formula: 'T − T_ref',
      inputs: [temperature, reference],
    });
    const change = derive(
      'change of voltage',
      (numberIn(cells, '') * numberIn(coefficient, 'mV/K') * kelvin) / 1000,
      'V',
      {
        symbol: 'ΔU',
        formula: 'n·k·ΔT',
        inputs: [cells, coefficient, difference],
      },
    );
    return known(
      derive('compensated voltage', numberIn(voltage, 'V') + numberIn(change, 'V'), 'V', {
        symbol: 'U',
        formula: 'U_ref + n·k·(T − T_ref)',
        inputs: [voltage, change],
        source: { standard: 'charging pages, temperature compensation', provenance: 'published' },
        parts: { change },
      }),
    );
  },
});
