import { type Derivation, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { LEAD_FACTOR_SPAN, batterySizing, leadTemperatureFactor as tableFactor } from '../../reference/energy/index.js';
import { defaults, defineFunction, may, needs } from '../registry.js';

const margin = batterySizing('design-margin');
const ageing = batterySizing('aging');
const PRACTICE = { standard: 'IEEE 1013 and IEEE 1562', provenance: 'from memory' } as const;

/** Days as a plain number, from a number or a duration. */
const inDays = (days: Derivation): number =>
  typeof days.value === 'object' && days.value.dimension === DIMENSIONS.time ? numberIn(days, 'd') : numberIn(days, '');

/** What a bank is sized by, in the order in which it is worked out. */
const NEEDS = ['depth', 'ageing', 'dailyDepth'] as const;

export const bankSize = defineFunction({
  name: 'bankSize',
  group: 'storage',
  summary: 'Capacity a bank needs for its days without charge, by stand-alone sizing practice.',
  parameters: {
    energyPerDay: needs('energy', 'Wh', 'energy the loads use in a day', { minimum: 0 }),
    days: needs(['ratio', 'time'], '', 'days without charge, as a number or a duration', { minimum: 0, maximum: 366 }),
    depth: needs('ratio', '', 'deepest discharge allowed', { minimum: 0, maximum: 1, aboveMinimum: true }),
    voltage: needs('voltage', 'V', 'nominal voltage of the bank', { minimum: 0, aboveMinimum: true }),
    temperatureFactor: defaults('ratio', '', 1, 'cell size factor for the lowest temperature', {
      minimum: 0.5,
      maximum: 5,
      defaultSource: '25 °C assumed',
    }),
    efficiency: defaults('ratio', '', 1, 'energy at the loads over energy from the bank', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
      defaultSource: 'energy taken at the bank',
    }),
    margin: defaults('ratio', '', margin.value, 'design margin', {
      minimum: 1,
      maximum: 3,
      defaultSource: margin.source.standard,
    }),
    aging: defaults('ratio', '', ageing.value, 'rated capacity over capacity at the end of life', {
      minimum: 1,
      maximum: 3,
      defaultSource: ageing.source.standard,
    }),
    dailyDepth: may('ratio', '', 'deepest discharge allowed in one day, where the maker limits it', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
    }),
  },
  result: 'charge in Ah; `.unadjusted` before any factor, `.energy` at the nominal voltage',
  worst: 'high',
  validity:
    'Stand-alone systems at moderate rates. Of depth, ageing and daily depth the one that needs most capacity counts; temperature and margin then multiply it.',
  sources: ['IEEE 1013 and IEEE 1562 [from memory]', 'UPS battery capacity sheet: ageing 1.25, margin 1.1'],
  examples: [
    {
      call: 'bankSize(energyPerDay: 4500 kWh / 365, days: 1, depth: 50 %, voltage: 48 V, efficiency: 0.9, margin: 1)',
      gives: '570.8 Ah',
      source:
        'off-grid design example of an inverter manual: 285 Ah usable, 570 Ah lead at 50 %. It states two days but works out one',
    },
    {
      call: 'bankSize(energyPerDay: 4500 kWh / 365, days: 1, depth: 80 %, voltage: 48 V, efficiency: 0.9, margin: 1)',
      gives: '356.8 Ah',
      source: 'the same example: 357 Ah lithium at 80 %',
    },
    {
      call: 'bankSize(energyPerDay: 2.4 kWh, days: 3 d, depth: 50 %, voltage: 24 V, temperatureFactor: 1.11)',
      gives: '732.6 Ah',
      source: 'hand calculation: 2400·3/24/0.5·1.11·1.1',
    },
  ],
  compute: ({ energyPerDay, days, depth, voltage, temperatureFactor, efficiency, margin: over, aging, dailyDepth }) => {
    const count = inDays(days);
    if (count < 0 || count > 366) return refused('`days` of bankSize must be from 0 to 366', 'days');
    const perDay = numberIn(energyPerDay, 'Wh') / numberIn(efficiency, '') / numberIn(voltage, 'V');
    const daily = derive('charge each day', perDay, 'Ah', {
      formula: 'E/(η·U)',
      inputs: [energyPerDay, efficiency, voltage],
    });
    const unadjusted = derive('charge without recharge', perDay * count, 'Ah', {
      symbol: 'Q',
      formula: 'E·d/(η·U)',
      inputs: [daily, days],
    });
    const candidates = [
      derive('capacity by depth of discharge', (perDay * count) / numberIn(depth, ''), 'Ah', {
        formula: 'Q/DOD',
        inputs: [unadjusted, depth],
      }),
      derive('capacity by ageing', perDay * count * numberIn(aging, ''), 'Ah', {
        formula: 'Q·k_a',
        inputs: [unadjusted, aging],
      }),
      ...(dailyDepth
        ? [
            derive('capacity by daily depth', perDay / numberIn(dailyDepth, ''), 'Ah', {
              formula: 'Q_day/DOD_day',
              inputs: [daily, dailyDepth],
            }),
          ]
        : []),
    ];
    const largest = candidates.reduce((so, next) => (numberIn(next, 'Ah') > numberIn(so, 'Ah') ? next : so));
    const need = NEEDS[candidates.indexOf(largest)]!;
    const size = numberIn(largest, 'Ah') * numberIn(temperatureFactor, '') * numberIn(over, '');
    const energy = derive('energy of the bank', size * numberIn(voltage, 'V'), 'Wh', {
      formula: 'C·U',
      inputs: [voltage],
    });
    return known(
      derive('bank capacity', size, 'Ah', {
        symbol: 'C',
        formula: 'max(Q/DOD, Q·k_a, …)·k_T·m',
        inputs: [...candidates, temperatureFactor, over],
        source: PRACTICE,
        governing: [{ kind: 'sizedBy', need }],
        parts: { unadjusted, energy },
      }),
    );
  },
});

export const leadTemperatureFactor = defineFunction({
  name: 'leadTemperatureFactor',
  group: 'storage',
  summary: 'Cell size factor of a lead-acid battery for its temperature, by IEEE 485.',
  parameters: {
    temperature: needs('temperature', 'degC', 'lowest electrolyte temperature', {
      minimum: LEAD_FACTOR_SPAN[0],
      maximum: LEAD_FACTOR_SPAN[1],
    }),
  },
  result: 'ratio by which the capacity at 25 °C must be larger',
  worst: 'high',
  validity:
    'Vented lead-acid, −3.9 to 51.7 °C, straight lines between the rows. At 8 to 20 h rates 15 to 20 % cautious.',
  sources: ['IEEE 485-2010/2020 Table 1 [from memory; 1.11 at 60 °F and the range confirmed by public pages]'],
  examples: [
    {
      call: 'leadTemperatureFactor(temperature: 60 degF)',
      gives: '1.11',
      tolerance: 2e-3,
      source: 'sizing guide of lead-acid batteries for uninterruptible supplies: 1.11 at 60 °F (IEEE 485)',
    },
    {
      call: 'leadTemperatureFactor(temperature: 25 degC)',
      gives: '1',
      source: 'IEEE 485 Table 1: reference temperature',
    },
  ],
  compute: ({ temperature }) => {
    // A temperature given in °F may miss an end of the table by rounding of the unit.
    const [coldest, warmest] = LEAD_FACTOR_SPAN;
    const row = tableFactor(Math.min(warmest, Math.max(coldest, numberIn(temperature, 'degC'))));
    if (!row) return refused('leadTemperatureFactor has no row there', 'temperature');
    return known(fromTable('cell size factor', row.factor, '1', row.source, { symbol: 'k_T', inputs: [temperature] }));
  },
});
