import { type Result, derive, known, numberIn, refused, withFacts } from '../../derivation/index.js';
import { GROUP, named } from '../conductors/common.js';
import { defaults, defineFunction, needs } from '../registry.js';

const reactance = (name: string) =>
  needs('ratio', '', `${name} reactance per unit`, { minimum: 0, aboveMinimum: true });
const constant = (name: string) =>
  needs('time', 's', `${name} short-circuit time constant`, { minimum: 0, aboveMinimum: true });

export const generatorFault = defineFunction({
  name: 'generatorFault',
  group: GROUP,
  summary: 'Current of a generating set some time after a three-phase short circuit at its terminals.',
  parameters: {
    rated: needs('current', 'A', 'rated current', { minimum: 0 }),
    subtransient: reactance('subtransient'),
    transient: reactance('transient'),
    synchronous: reactance('synchronous'),
    subtransientTime: constant('subtransient'),
    transientTime: constant('transient'),
    time: defaults('time', 's', 0, 'time after the short circuit', { minimum: 0, defaultSource: 'the first instant' }),
    armatureTime: defaults('time', 's', 0, 'time constant of the direct component', {
      minimum: 0,
      defaultSource: 'none: no direct component counted',
    }),
    voltage: defaults('ratio', '', 1, 'voltage before the short circuit, per unit', {
      minimum: 0,
      maximum: 1.5,
      defaultSource: 'rated voltage',
    }),
  },
  result: 'current, A, root mean square of the alternating component; `.direct` component, `.asymmetric` of both',
  worst: 'high',
  validity:
    'Without forced excitation: a generator with a supply of its own for its regulator holds more in the end (its `sustainedFault`), a self-excited one may collapse. Reactances fall in the order subtransient, transient, synchronous.',
  sources: ['university textbooks on power-system analysis: decrement of a synchronous machine'],
  examples: [
    {
      call: 'generatorFault(rated: 14.43 kA, subtransient: 0.15, transient: 0.24, synchronous: 1.1, subtransientTime: 0.035 s, transientTime: 2 s, voltage: 1.05)',
      gives: '101 kA',
      tolerance: 0.005,
      source: 'textbook exercise, 500 MVA 20 kV, 7.0 per unit (answer from memory)',
    },
    {
      call: 'generatorFault(rated: 14.434 kA, subtransient: 0.15, transient: 0.24, synchronous: 1.1, subtransientTime: 0.035 s, transientTime: 2 s, time: 0.05 s, armatureTime: 0.2 s, voltage: 1.05).asymmetric',
      gives: '132 kA',
      tolerance: 0.005,
      source: 'the same exercise, breaker opening after three cycles (answer from memory)',
    },
    {
      call: 'generatorFault(rated: 28.87 A, subtransient: 0.12, transient: 0.2, synchronous: 2, subtransientTime: 10 ms, transientTime: 50 ms, time: 50 ms)',
      gives: '62.9 A',
      tolerance: 0.005,
      source: 'hand calculation: 20 kVA 400 V, 2.18 per unit',
    },
  ],
  compute: ({
    rated,
    subtransient,
    transient,
    synchronous,
    subtransientTime,
    transientTime,
    time,
    armatureTime,
    voltage,
  }): Result => {
    const [first, second, last] = [subtransient, transient, synchronous].map((each) => numberIn(each, '')) as [
      number,
      number,
      number,
    ];
    if (first > second || second > last)
      return refused('the subtransient reactance is the smallest and the synchronous one the largest', 'transient');
    const seconds = numberIn(time, 's');
    const base = numberIn(voltage, '') * numberIn(rated, 'A');
    const fast = (1 / first - 1 / second) * Math.exp(-seconds / numberIn(subtransientTime, 's'));
    const slow = (1 / second - 1 / last) * Math.exp(-seconds / numberIn(transientTime, 's'));
    const alternating = base * (fast + slow + 1 / last);
    const inputs = [
      named(rated, 'I_r'),
      named(subtransient, 'x″'),
      named(transient, 'x′'),
      named(synchronous, 'x'),
      named(subtransientTime, 'T″'),
      named(transientTime, 'T′'),
      named(time, 't'),
      named(voltage, 'e'),
    ];
    const tau = numberIn(armatureTime, 's');
    const offset = tau > 0 ? ((Math.SQRT2 * base) / first) * Math.exp(-seconds / tau) : 0;
    const direct = derive('direct component', offset, 'A', {
      symbol: 'i_dc',
      formula: '√2·e·I_r/x″·exp(−t/T_a)',
      inputs: [...inputs, named(armatureTime, 'T_a')],
    });
    const current = derive('short-circuit current of the generator', alternating, 'A', {
      symbol: 'I',
      formula: 'e·I_r·((1/x″ − 1/x′)·exp(−t/T″) + (1/x′ − 1/x)·exp(−t/T′) + 1/x)',
      inputs,
    });
    const asymmetric = derive('short-circuit current with its direct component', Math.hypot(alternating, offset), 'A', {
      symbol: 'I_asym',
      formula: '√(I² + i_dc²)',
      inputs: [current, direct],
    });
    return known(withFacts(current, { parts: { direct, asymmetric } }));
  },
});
