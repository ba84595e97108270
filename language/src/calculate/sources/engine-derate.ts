import { raise } from '../../quantity/index.js';
import { derive, fromTable, known, numberIn } from '../../derivation/index.js';
import { ENGINES, engineExponents, generatorPractice } from '../../reference/energy/index.js';
import { defaults, defineFunction, needs, word } from '../registry.js';

const efficiency = generatorPractice('mechanical-efficiency');

// Source: ICAO standard atmosphere, from memory: p = 101.325 kPa · (1 − 2.25577e-5 · h)^5.25588.
const standardPressure = (metres: number): number => 101.325 * raise(1 - 2.25577e-5 * metres, 5.25588);
// Source: ISO 3046-1, from memory: standard reference conditions 100 kPa and 25 °C, weight 0.7 of the friction term.
const REFERENCE_PRESSURE = 100;
const FRICTION_WEIGHT = 0.7;
const CELSIUS_ZERO = 273.15;
const REFERENCE_TEMPERATURE = CELSIUS_ZERO + 25;

export const engineDerate = defineFunction({
  name: 'engineDerate',
  group: 'sources',
  summary: 'Power a reciprocating engine keeps at an altitude and air temperature by ISO 3046-1.',
  parameters: {
    power: needs('power', 'W', 'rated power at 100 kPa and 25 °C', { minimum: 0 }),
    altitude: needs('length', 'm', 'altitude of the site', { minimum: 0, maximum: 5000 }),
    ambient: needs('temperature', 'degC', 'highest intake air temperature', { minimum: -40, maximum: 60 }),
    engine: word(ENGINES, 'kind of engine'),
    mechanicalEfficiency: defaults('ratio', '', efficiency.value, 'mechanical efficiency of the engine', {
      minimum: 0.5,
      maximum: 1,
      defaultSource: efficiency.source.standard,
    }),
  },
  result: 'power in W, never more than the rating; `.factor` is the share that is left',
  worst: 'low',
  validity: 'Altitude 0 to 5000 m by the standard atmosphere; humidity is left out; exponents are from memory.',
  sources: ['ISO 3046-1:2002 clause 10 and Table 2 [from memory]', 'ICAO standard atmosphere [from memory]'],
  examples: [
    {
      call: 'engineDerate(power: 10 kW, altitude: 1524 m, ambient: 40 degC, engine: diesel)',
      gives: '7.798 kW',
      source: 'hand calculation: p = 84.31 kPa, k = 0.8431·(298.15/313.15)^0.75 = 0.8126, α = k − 0.7·(1 − k)·0.25',
    },
    {
      call: 'engineDerate(power: 10 kW, altitude: 1524 m, ambient: 40 degC, engine: sparkIgnition)',
      gives: '7.916 kW',
      source: 'hand calculation: k = 0.8431·(298.15/313.15)^0.5 = 0.8226',
    },
  ],
  compute: ({ power, altitude, ambient, engine, mechanicalEfficiency }) => {
    const exponents = engineExponents(engine);
    const metres = numberIn(altitude, 'm');
    const pressure = derive('air pressure', standardPressure(metres), 'kPa', {
      symbol: 'p',
      formula: '101.325 kPa·(1 − 2.25577e-5·h)^5.25588',
      inputs: [altitude],
      source: { standard: 'ICAO standard atmosphere', provenance: 'from memory' },
    });
    const m = fromTable(`pressure exponent, ${engine}`, exponents.pressure, '1', exponents.source, { symbol: 'm' });
    const n = fromTable(`temperature exponent, ${engine}`, exponents.temperature, '1', exponents.source, {
      symbol: 'n',
    });
    const kelvin = numberIn(ambient, 'degC') + CELSIUS_ZERO;
    const indicated =
      raise(numberIn(pressure, 'kPa') / REFERENCE_PRESSURE, exponents.pressure) *
      raise(REFERENCE_TEMPERATURE / kelvin, exponents.temperature);
    const friction = FRICTION_WEIGHT * (1 - indicated) * (1 / numberIn(mechanicalEfficiency, '') - 1);
    const share = Math.min(1, Math.max(0, indicated - friction));
    const factor = derive('power factor of the site', share, '1', {
      symbol: 'α',
      formula: 'k − 0.7·(1 − k)·(1/η_m − 1), k = (p/100 kPa)^m·(298.15 K/T)^n, at most 1',
      inputs: [pressure, ambient, m, n, mechanicalEfficiency],
      source: exponents.source,
    });
    return known(
      derive('power at the site', numberIn(power, 'W') * share, 'W', {
        symbol: 'P_site',
        formula: 'P·α',
        inputs: [power, factor],
        source: exponents.source,
        parts: { factor },
        ...(share === 1 ? { governing: [{ kind: 'noReduction' }] as const } : {}),
      }),
    );
  },
});
