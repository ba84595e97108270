import { describe, expect, it } from 'vitest';
import { FUNCTIONS } from '../../../language/src/calculate/index.js';
import { derive } from '../../../language/src/derivation/index.js';
import { ALL_KINDS } from '../../../language/src/equipment/index.js';
import { parameterDefault } from '../../../language/src/explain/functions-page.js';
import { LIMIT_WORDS, PARAMETER_WORDS, assumptionText } from '../../../language/src/glossary/assumed-words.js';

/** Names of parameters that say what they are where they stand alone. */
const PLAIN = new Set(
  `across altitude ambient armatureTime azimuth basis cable cells charge continuous device efficiency engineSpace fuelFactor
  generatorEfficiency kind length load loss motor noncontinuous overloadPrevented parallel powerFactor protection resistance series
  serviceFactor severalReceptacles strings system temperature temperatureFactor time voltage waveform`.split(/\s+/),
);

describe('what nobody stated, in words', () => {
  it('has words for every parameter with a default that does not speak for itself', () => {
    const names = FUNCTIONS.flatMap(({ parameters }) =>
      Object.entries(parameters).flatMap(([name, each]) => (parameterDefault(each) === undefined ? [] : [name])),
    );
    expect(new Set(names).size).toBeGreaterThan(50);
    expect([...new Set(names)].filter((name) => !PLAIN.has(name) && !(name in PARAMETER_WORDS))).toEqual([]);
  });

  it('has words for every limit that a design may set', () => {
    const design = ALL_KINDS.find(({ kind }) => kind === 'design')!;
    const limits = design.properties.filter(({ name, default: standard }) => standard && name !== 'basis');
    expect(limits.map(({ name }) => name).filter((name) => !(name in LIMIT_WORDS))).toEqual([]);
  });

  it.each([
    [derive('step', 305, 'm', { fact: 'step', origin: 'default' }), 'step of altitude for the derating 305 m'],
    [derive('series of Bank', 1, '', { fact: 'series', origin: 'default' }), 'Bank: 1 in series'],
    [
      derive('torqueFrom of Hut', 50, 'A', { fact: 'torqueFrom', origin: 'default' }),
      'current from which a torque must be stated 50 A, `torqueFrom`',
    ],
    [
      derive('cellTemperature of Bank', 25, 'degC', { fact: 'cellTemperature', origin: 'assumed' }),
      'cellTemperature of Bank 25 °C (assumed)',
    ],
  ])('%#: %s', (value, text) => {
    expect(assumptionText(value)).toBe(text);
  });
});
