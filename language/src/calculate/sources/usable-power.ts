import { type Reason, type Derivation, derive, fromTable, known, numberIn } from '../../derivation/index.js';
import { generatorPractice } from '../../reference/energy/index.js';
import type { Quantity } from '../../quantity/index.js';
import { defaults, defineFunction, may, needs } from '../registry.js';
import { altitudeFactor, altitudeParameters } from './altitude-derate.js';

const loss = generatorPractice('temperature-loss');
const step = generatorPractice('temperature-step');
const start = generatorPractice('temperature-start');

const reference = (name: string, fact: typeof loss): Derivation => fromTable(name, fact.value, fact.unit, fact.source);

/** Share of its rating an engine keeps in air of a temperature: 1 % less for each 5.6 K above 25 °C, or its own figure. */
function temperatureFactorOf(ambient: Derivation, share: Derivation): Derivation {
  const above = Math.max(0, numberIn(ambient, 'degC') - start.value);
  const factor = Math.max(0, 1 - (numberIn(share, '') * above) / step.value);
  return fromTable('temperature factor', factor, '1', loss.source, {
    symbol: 'k_T',
    formula: 'max(0, 1 − p·max(0, T − T₀)/ΔT)',
    inputs: [
      ambient,
      share,
      reference('step of temperature', step),
      reference('temperature up to which the full rating holds', start),
    ],
  });
}

/** The factor that takes most away; none when nothing does. */
function largestReduction(factors: readonly Derivation[]): readonly Reason[] {
  const least = factors.reduce((so, next) => (numberIn(next, '') < numberIn(so, '') ? next : so));
  return numberIn(least, '') < 1
    ? [{ kind: 'largestReduction', factor: least.name, value: least.value as Quantity }]
    : [];
}

export const usablePower = defineFunction({
  name: 'usablePower',
  group: 'sources',
  summary: 'Continuous power a generating set can give at its site.',
  parameters: {
    rated: needs('power', 'W', 'running (continuous) rating, in W or, with `powerFactor`, in VA', { minimum: 0 }),
    powerFactor: defaults('ratio', '', 1, 'rated power factor, where the rating is in VA', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
    }),
    altitude: defaults('length', 'm', 0, 'altitude of the site', {
      minimum: -430,
      maximum: 6000,
      defaultSource: 'sea level assumed',
    }),
    ambient: defaults('temperature', 'degC', start.value, 'highest air temperature at the generator', {
      minimum: -60,
      maximum: 60,
      defaultSource: 'rating temperature assumed',
    }),
    waveformShare: defaults('ratio', '', 1, 'share of the rating up to which the waveform serves the load', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
      defaultSource: 'the load accepts any waveform',
    }),
    fuelFactor: defaults('ratio', '', 1, 'share of the rating on the fuel in use', {
      minimum: 0,
      maximum: 1,
      aboveMinimum: true,
      defaultSource: 'rated on the fuel in use',
    }),
    ...altitudeParameters,
    temperatureLoss: defaults('ratio', '', loss.value, 'share of the rating lost for each 5.6 K (10 °F) above 25 °C', {
      minimum: 0,
      maximum: 0.2,
      defaultSource: loss.source.standard,
    }),
    altitudeFactor: may('ratio', '', 'the maker’s own factor for the altitude, in place of start, per and step', {
      minimum: 0,
      maximum: 1,
    }),
    temperatureFactor: may('ratio', '', 'the maker’s own factor for the air temperature, in place of temperatureLoss', {
      minimum: 0,
      maximum: 1.1,
    }),
  },
  result: 'power in W; `.altitudeFactor` and `.temperatureFactor` are the two shares',
  worst: 'low',
  validity:
    'Naturally aspirated generators, −430 m to 6000 m and up to 60 °C; a turbocharged one needs the maker’s own factors. State the running rating, not the surge rating.',
  sources: [
    "home standby generator owner's manual, section on power loss: 3.5 % for each 1000 ft and 1 % for each 10 °F above 77 °F",
    'fuel and waveform shares: common practice, no source',
  ],
  examples: [
    {
      call: 'usablePower(rated: 800 hp, altitudeFactor: 0.68)',
      gives: '544 hp',
      source: 'Handbook of Energy Engineering Calculations (Hicks), engine performance: 800 hp diesel at 10,000 ft',
    },
    {
      call: 'usablePower(rated: 800 hp, altitudeFactor: 0.68, temperatureFactor: 0.95)',
      gives: '516 hp',
      tolerance: 2e-3,
      source: 'the same handbook, 110 °F intake air; the book truncates 516.8 to 516',
    },
    {
      call: 'usablePower(rated: 800 hp, altitudeFactor: 0.74, temperatureFactor: 0.95)',
      gives: '563 hp',
      tolerance: 2e-3,
      source: 'the same handbook, turbo-blown engine; the book rounds 562.4 up to 563',
    },
    {
      call: 'usablePower(rated: 7.5 kW, altitude: 2150 m, ambient: 32 degC, waveformShare: 60 %)',
      gives: '3.347 kW',
      source: 'hand calculation: 7.5·(1 − 0.035·2150/305)·(1 − 0.01·7/5.6)·0.6',
    },
    {
      call: 'usablePower(rated: 10 kW, ambient: 36.2 degC, temperatureLoss: 2 %)',
      gives: '9.6 kW',
      source: 'hand calculation: 10·(1 − 0.02·11.2/5.6)',
    },
  ],
  compute: ({
    rated,
    powerFactor,
    altitude,
    ambient,
    waveformShare,
    fuelFactor,
    start: from,
    per,
    step: by,
    temperatureLoss,
    ...own
  }) => {
    const height = own.altitudeFactor ?? altitudeFactor(altitude, from, per, by);
    const heat = own.temperatureFactor ?? temperatureFactorOf(ambient, temperatureLoss);
    const factors = [powerFactor, height, heat, waveformShare, fuelFactor];
    const power = factors.reduce((so, factor) => so * numberIn(factor, ''), numberIn(rated, 'W'));
    return known(
      derive('usable power', power, 'W', {
        symbol: 'P_site',
        formula: 'P·λ·k_h·k_T·k_w·k_f',
        inputs: [rated, ...factors],
        source: loss.source,
        parts: { altitudeFactor: height, temperatureFactor: heat },
        governing: largestReduction(factors),
      }),
    );
  },
});
