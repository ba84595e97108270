import { type Derivation, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { type NecSourceRule, necSourceFactor } from '../../reference/energy/index.js';
import { necRatings, sourceOf } from '../../reference/index.js';
import { defaults, defineFunction, needs } from '../registry.js';
import { isWhole } from './shared.js';

const moduleParameters = {
  shortCircuit: needs('current', 'A', 'short-circuit current of one module or string at standard test conditions', {
    minimum: 0,
    aboveMinimum: true,
  }),
  parallel: defaults('ratio', '', 1, 'strings in parallel that feed the conductor', { minimum: 1, maximum: 1000 }),
};

const factor = (name: string, rule: NecSourceRule): Derivation => {
  const { factor: value, source } = necSourceFactor(rule);
  return fromTable(name, value, '1', source);
};

/** NEC 690.8(A)(1): the sum of the short-circuit currents in parallel times 125 %. */
function maximumCurrent(shortCircuit: Derivation, parallel: Derivation): Derivation {
  const irradiance = factor('factor for strong sun', 'module-maximum-current');
  const current = numberIn(shortCircuit, 'A') * numberIn(parallel, '') * numberIn(irradiance, '');
  return derive('maximum module current', current, 'A', {
    symbol: 'I_max',
    formula: '1.25·I_sc·n',
    inputs: [irradiance, shortCircuit, parallel],
    source: necSourceFactor('module-maximum-current').source,
  });
}

/** 125 % of the maximum current, by the rule for conductors or for protection. */
function continuousCurrent(name: string, rule: NecSourceRule, maximum: Derivation): Derivation {
  const continuous = factor('factor for continuous current', rule);
  return derive(name, numberIn(maximum, 'A') * numberIn(continuous, ''), 'A', {
    formula: '1.25·I_max',
    inputs: [continuous, maximum],
    source: necSourceFactor(rule).source,
    parts: { maximum },
  });
}

const wholeParallel = (name: string) => refused(`\`parallel\` of ${name} counts strings and must be whole`, 'parallel');

export const moduleCurrent = defineFunction({
  name: 'moduleCurrent',
  group: 'sources',
  summary: 'Greatest current a photovoltaic circuit is designed for: 125 % of the short-circuit currents in parallel.',
  parameters: moduleParameters,
  result: 'current in A',
  worst: 'high',
  validity: 'Photovoltaic source and output circuits without electronic current limit.',
  sources: ['NEC 690.8(A)(1)'],
  examples: [
    {
      call: 'moduleCurrent(shortCircuit: 1.22 A)',
      gives: '1.53 A',
      tolerance: 5e-3,
      source: 'forum answer on two thin-film modules in parallel: 1.22 × 1.25 = 1.53 A',
    },
    {
      call: 'moduleCurrent(shortCircuit: 9.5 A)',
      gives: '11.875 A',
      source: 'hand calculation: 1.25·9.5',
    },
  ],
  compute: ({ shortCircuit, parallel }) =>
    isWhole(parallel) ? known(maximumCurrent(shortCircuit, parallel)) : wholeParallel('moduleCurrent'),
});

export const moduleAmpacity = defineFunction({
  name: 'moduleAmpacity',
  group: 'sources',
  summary: 'Ampacity a photovoltaic conductor needs before correction: 156.25 % of the short-circuit currents.',
  parameters: moduleParameters,
  result: 'current in A; `.maximum` is what the conductor must still carry after correction and adjustment',
  worst: 'high',
  validity:
    'Before temperature correction and bundling; after them the conductor must carry `.maximum`. The larger of the two decides.',
  sources: ['NEC 690.8(A)(1) and 690.8(B)'],
  examples: [
    {
      call: 'moduleAmpacity(shortCircuit: 3 A, parallel: 5)',
      gives: '23.4 A',
      tolerance: 2e-3,
      source: 'forum answer on panel-to-converter wiring: five modules of 3 A need 23.4 A (156 %)',
    },
    {
      call: 'moduleAmpacity(shortCircuit: 11.2 A, parallel: 2)',
      gives: '35 A',
      source: 'hand calculation: 1.5625·22.4',
    },
  ],
  compute: ({ shortCircuit, parallel }) =>
    isWhole(parallel)
      ? known(
          continuousCurrent('ampacity before correction', 'module-continuous', maximumCurrent(shortCircuit, parallel)),
        )
      : wholeParallel('moduleAmpacity'),
});

export const moduleProtection = defineFunction({
  name: 'moduleProtection',
  group: 'sources',
  summary: 'Smallest standard rating of the protection of a photovoltaic circuit.',
  parameters: moduleParameters,
  result: 'rating in A; `.required` is 156.25 % of the short-circuit currents',
  worst: 'high',
  validity: 'Never above the module’s own maximum series fuse. Devices must be rated for the DC voltage.',
  sources: ['NEC 690.9(B) [from memory]', 'NEC 240.6(A)'],
  examples: [
    {
      call: 'moduleProtection(shortCircuit: 9.5 A)',
      gives: '15 A',
      source: 'hand calculation: 1.5625·9.5 = 14.84 A, next rating of NEC 240.6(A)',
    },
    {
      call: 'moduleProtection(shortCircuit: 11.2 A, parallel: 2)',
      gives: '35 A',
      source: 'hand calculation: exactly 35 A, a rating of NEC 240.6(A)',
    },
  ],
  compute: ({ shortCircuit, parallel }) => {
    if (!isWhole(parallel)) return wholeParallel('moduleProtection');
    const maximum = maximumCurrent(shortCircuit, parallel);
    const required = continuousCurrent('least rating', 'module-protection', maximum);
    // The slack keeps a product that is a rating in exact arithmetic (35 A) from missing it in floating point.
    const rating = necRatings.rows
      .map((row) => row.rating)
      .find((value) => value >= numberIn(required, 'A') * (1 - 1e-9));
    if (rating === undefined)
      return refused(`${Math.ceil(numberIn(required, 'A'))} A is above the largest standard rating`, 'shortCircuit');
    return known(
      derive('module protection', rating, 'A', {
        symbol: 'I_n',
        formula: 'next standard rating ≥ 1.25·I_max',
        inputs: [required],
        source: sourceOf(necRatings),
        governing: [{ kind: 'nextRating', amperes: numberIn(required, 'A') }],
        parts: { required, maximum },
      }),
    );
  },
});
