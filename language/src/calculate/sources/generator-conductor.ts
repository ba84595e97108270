import { derive, fromTable, known, numberIn } from '../../derivation/index.js';
import { necSourceFactor } from '../../reference/energy/index.js';
import { defineFunction, flag, needs, wordOr } from '../registry.js';
import { AC_SYSTEMS, DEFINITION, phaseFactor } from './shared.js';

export const generatorConductor = defineFunction({
  name: 'generatorConductor',
  group: 'sources',
  summary: 'Ampacity the conductors from a generator to its first protective device need: 115 % of nameplate current.',
  parameters: {
    apparent: needs('power', 'VA', 'rated apparent power', { minimum: 0 }),
    voltage: needs('voltage', 'V', 'rated voltage (between lines for three phases)', {
      minimum: 0,
      aboveMinimum: true,
    }),
    system: wordOr(AC_SYSTEMS, 'single', 'single phase or three phases'),
    overloadPrevented: flag(false, 'the design of the generator keeps it from being overloaded: 100 % is then enough'),
  },
  result: 'current in A; `.nameplate` is the rated current',
  worst: 'high',
  validity: 'Conductors from the terminals to the first distribution device that has overcurrent protection.',
  sources: ['NEC 445.13(A)'],
  examples: [
    {
      call: 'generatorConductor(apparent: 20 kVA, voltage: 240 V)',
      gives: '95.8 A',
      source: 'electricians’ forum on 445.13: 83.3 A nameplate times 1.15',
    },
    {
      call: 'generatorConductor(apparent: 60 kVA, voltage: 240 V)',
      gives: '287.5 A',
      source: 'electricians’ forum on 445.13: 250 A nameplate gives 287.5 A',
    },
    {
      call: 'generatorConductor(apparent: 25 kVA, voltage: 208 V, system: three)',
      gives: '79.80 A',
      source: 'hand calculation: 1.15·25000/(√3·208)',
    },
  ],
  compute: ({ apparent, voltage, system, overloadPrevented }) => {
    const rule = necSourceFactor(overloadPrevented ? 'generator-conductor-overload-prevented' : 'generator-conductor');
    const factor = fromTable('share of the nameplate current', rule.factor, '1', rule.source);
    const phases = phaseFactor(system);
    const rated = numberIn(apparent, 'VA') / (numberIn(voltage, 'V') * numberIn(phases, ''));
    const nameplate = derive('nameplate current', rated, 'A', {
      symbol: 'I_r',
      formula: 'S/(m·U)',
      inputs: [apparent, phases, voltage],
      source: DEFINITION,
    });
    return known(
      derive('generator conductor ampacity', rated * rule.factor, 'A', {
        formula: 'k·I_r',
        inputs: [factor, nameplate],
        source: rule.source,
        parts: { nameplate },
      }),
    );
  },
});
