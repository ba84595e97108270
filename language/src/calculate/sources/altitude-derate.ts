import { type Derivation, derive, fromTable, known, numberIn } from '../../derivation/index.js';
import { generatorPractice } from '../../reference/energy/index.js';
import { defaults, defineFunction, needs } from '../registry.js';

const loss = generatorPractice('altitude-loss');
const step = generatorPractice('altitude-step');
const start = generatorPractice('altitude-start');

/** Parameters by which an engine loses power with height; shared with `usablePower`. */
export const altitudeParameters = {
  start: defaults('length', 'm', start.value, 'altitude up to which the full rating holds', {
    minimum: 0,
    maximum: 3000,
    defaultSource: start.source.standard,
  }),
  per: defaults('ratio', '', loss.value, 'share of the rating lost for each step of altitude', {
    minimum: 0,
    maximum: 0.2,
    defaultSource: loss.source.standard,
  }),
  step: defaults('length', 'm', step.value, 'step of altitude for `per`', {
    minimum: 1,
    maximum: 3000,
    defaultSource: step.source.standard,
  }),
};

/** Share of its rating an engine keeps at an altitude: 1 − per · (altitude − start)/step, never below 0 nor above 1. */
export function altitudeFactor(altitude: Derivation, from: Derivation, per: Derivation, by: Derivation): Derivation {
  const above = Math.max(0, numberIn(altitude, 'm') - numberIn(from, 'm'));
  const factor = Math.max(0, 1 - (numberIn(per, '') * above) / numberIn(by, 'm'));
  return fromTable('altitude factor', factor, '1', loss.source, {
    symbol: 'k_h',
    formula: 'max(0, 1 − p·max(0, h − h₀)/Δh)',
    inputs: [altitude, from, per, by],
  });
}

export const altitudeDerate = defineFunction({
  name: 'altitudeDerate',
  group: 'sources',
  summary: 'Power an engine-driven generator keeps at an altitude.',
  parameters: {
    power: needs('power', 'W', 'rated power at sea level', { minimum: 0 }),
    altitude: needs('length', 'm', 'altitude of the site', { minimum: -430, maximum: 6000 }),
    ...altitudeParameters,
  },
  result: 'power in W; `.factor` is the share that is left',
  worst: 'low',
  validity:
    'Naturally aspirated petrol, propane, natural-gas and diesel generators, −430 m to 6000 m. A maker’s own figure goes first: published rules run from 3 to 3.5 % for each 1000 ft and start between 0 and 1000 m.',
  sources: ["home standby generator owner's manual, section on power loss: 3.5 % for each 1000 ft"],
  examples: [
    {
      call: 'altitudeDerate(power: 225 hp, altitude: 4500 ft, start: 500 ft, per: 3 %, step: 1000 ft)',
      gives: '198 hp',
      source: 'agricultural-engineering text, rule of 3 % for each 1000 ft above 500 ft; arithmetic by hand: 225·0.88',
    },
    {
      call: 'altitudeDerate(power: 7500 W, altitude: 5000 ft, step: 1000 ft)',
      gives: '6187.5 W',
      source: "home standby generator owner's manual, 3.5 % for each 1000 ft; arithmetic by hand: 7500·0.825",
    },
    {
      call: 'altitudeDerate(power: 10 kW, altitude: 1500 m, start: 1000 m, per: 3 %, step: 500 m)',
      gives: '9.7 kW',
      source: 'generator sizing procedure: alternators lose 3 % for each 500 m above 1000 m; first row',
    },
  ],
  compute: ({ power, altitude, start: from, per, step: by }) => {
    const factor = altitudeFactor(altitude, from, per, by);
    return known(
      derive('power at altitude', numberIn(power, 'W') * numberIn(factor, ''), 'W', {
        symbol: 'P_h',
        formula: 'P·k_h',
        inputs: [power, factor],
        source: loss.source,
        parts: { factor },
      }),
    );
  },
});
