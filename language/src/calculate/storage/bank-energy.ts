import { derive, known, numberIn, refused } from '../../derivation/index.js';
import { defaults, defineFunction, needs } from '../registry.js';

export const bankEnergy = defineFunction({
  name: 'bankEnergy',
  group: 'storage',
  summary: 'Energy a bank stores at its nominal voltage.',
  parameters: {
    capacity: needs('charge', 'Ah', 'rated capacity of one unit', { minimum: 0 }),
    voltage: needs('voltage', 'V', 'nominal voltage of one unit', { minimum: 0 }),
    series: defaults('ratio', '', 1, 'units in series', { minimum: 1, maximum: 1000 }),
    parallel: defaults('ratio', '', 1, 'strings in parallel', { minimum: 1, maximum: 1000 }),
  },
  result: 'energy in Wh; `.voltage` and `.capacity` of the whole bank',
  worst: 'low',
  validity: 'Rated energy of the whole bank, from full to empty; what may be used is less.',
  sources: ['definition of energy'],
  examples: [
    {
      call: 'bankEnergy(capacity: 280 Ah, voltage: 3.2 V, series: 16)',
      gives: '14.336 kWh',
      source: 'hand calculation: 280·3.2·16',
    },
    {
      call: 'bankEnergy(capacity: 100 Ah, voltage: 12 V, series: 4, parallel: 2)',
      gives: '9.6 kWh',
      source: 'hand calculation: 200 Ah at 48 V',
    },
  ],
  compute: ({ capacity, voltage, series, parallel }) => {
    for (const [name, count] of [
      ['series', series],
      ['parallel', parallel],
    ] as const) {
      if (!Number.isInteger(numberIn(count, '')))
        return refused(`\`${name}\` of bankEnergy must be a whole number`, name);
    }
    const bankVoltage = derive('bank voltage', numberIn(voltage, 'V') * numberIn(series, ''), 'V', {
      symbol: 'U_b',
      formula: 'U·n_s',
      inputs: [voltage, series],
    });
    const bankCapacity = derive('bank capacity', numberIn(capacity, 'Ah') * numberIn(parallel, ''), 'Ah', {
      symbol: 'C_b',
      formula: 'C·n_p',
      inputs: [capacity, parallel],
    });
    return known(
      derive('bank energy', numberIn(bankCapacity, 'Ah') * numberIn(bankVoltage, 'V'), 'Wh', {
        symbol: 'E',
        formula: 'C_b·U_b',
        inputs: [bankCapacity, bankVoltage],
        source: { standard: 'definition of energy', provenance: 'own derivation' },
        parts: { voltage: bankVoltage, capacity: bankCapacity },
      }),
    );
  },
});
