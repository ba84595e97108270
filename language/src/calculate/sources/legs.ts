import { type Derivation, derive, known, numberIn, withFacts } from '../../derivation/index.js';
import { defaults, defineFunction, needs } from '../registry.js';

const legVoltageParameter = defaults('voltage', 'V', 120, 'voltage of one leg to neutral', {
  minimum: 0,
  aboveMinimum: true,
  defaultSource: '120/240 V system',
});
const ARITHMETIC = { standard: 'Kirchhoff’s current law', provenance: 'own derivation' } as const;

export const legCurrent = defineFunction({
  name: 'legCurrent',
  group: 'sources',
  summary: 'Current in the heavier leg of a 120/240 V source from the total load and its imbalance.',
  parameters: {
    total: needs('power', 'VA', 'total load on both legs', { minimum: 0 }),
    imbalance: defaults('ratio', '', 0, 'difference of the two legs over their sum: 0 balanced, 1 all on one leg', {
      minimum: 0,
      maximum: 1,
      defaultSource: 'legs balanced',
    }),
    legVoltage: legVoltageParameter,
  },
  result: 'current in A; `.lighter` is the other leg, `.neutral` the difference',
  worst: 'high',
  validity: 'Split-phase systems; loads of both legs at the same power factor.',
  sources: ['Kirchhoff’s current law'],
  examples: [
    {
      call: 'legCurrent(total: 6 kVA, imbalance: 25 %)',
      gives: '31.25 A',
      source: 'hand calculation: 3000·1.25/120',
    },
    { call: 'legCurrent(total: 7.2 kVA)', gives: '30 A', source: 'hand calculation: 7200/240' },
    {
      call: 'legCurrent(total: 3 kVA, imbalance: 100 %)',
      gives: '25 A',
      source: 'hand calculation: everything on one leg, 3000/120',
    },
  ],
  compute: ({ total, imbalance, legVoltage }) => {
    const half = numberIn(total, 'VA') / 2;
    const shift = numberIn(imbalance, '');
    const volts = numberIn(legVoltage, 'V');
    const current = (name: string, symbol: string, value: number, formula: string): Derivation =>
      derive(name, value, 'A', {
        symbol,
        formula,
        inputs: [total, imbalance, legVoltage],
        source: ARITHMETIC,
      });
    const heavier = current('leg current', 'I_1', (half * (1 + shift)) / volts, 'S/2·(1 + u)/U');
    const lighter = current('current of the lighter leg', 'I_2', (half * (1 - shift)) / volts, 'S/2·(1 − u)/U');
    const neutral = current('neutral current', 'I_N', (2 * half * shift) / volts, 'S·u/U');
    return known(withFacts(heavier, { parts: { lighter, neutral } }));
  },
});

export const splitPhaseCurrent = defineFunction({
  name: 'splitPhaseCurrent',
  group: 'sources',
  summary: 'Current in the heavier leg of a 120/240 V source from the loads on each leg and across both.',
  parameters: {
    leg1: needs('power', 'VA', 'load from leg 1 to neutral', { minimum: 0 }),
    leg2: needs('power', 'VA', 'load from leg 2 to neutral', { minimum: 0 }),
    across: defaults('power', 'VA', 0, 'load between both legs', {
      minimum: 0,
      defaultSource: 'no load across both legs',
    }),
    legVoltage: legVoltageParameter,
  },
  result: 'current in A; `.leg1`, `.leg2`, `.neutral` and `.imbalance` (difference of the legs over their sum)',
  worst: 'high',
  validity: 'Split-phase systems; all loads at the same power factor, so that magnitudes add.',
  sources: ['Kirchhoff’s current law'],
  examples: [
    {
      call: 'splitPhaseCurrent(leg1: 1800 VA, leg2: 600 VA, across: 2400 VA)',
      gives: '25 A',
      source: 'hand calculation: 1800/120 + 2400/240',
    },
    {
      call: 'splitPhaseCurrent(leg1: 1800 VA, leg2: 600 VA).neutral',
      gives: '10 A',
      source: 'hand calculation: (1800 − 600)/120',
    },
  ],
  compute: ({ leg1, leg2, across, legVoltage }) => {
    const volts = numberIn(legVoltage, 'V');
    const shared = numberIn(across, 'VA') / (2 * volts);
    const of = (name: string, symbol: string, own: Derivation): Derivation =>
      derive(name, numberIn(own, 'VA') / volts + shared, 'A', {
        symbol,
        formula: 'S_leg/U + S_across/(2·U)',
        inputs: [own, across, legVoltage],
        source: ARITHMETIC,
      });
    const first = of('current of leg 1', 'I_1', leg1);
    const second = of('current of leg 2', 'I_2', leg2);
    const difference = Math.abs(numberIn(leg1, 'VA') - numberIn(leg2, 'VA'));
    const neutral = derive('neutral current', difference / volts, 'A', {
      symbol: 'I_N',
      formula: '|S_1 − S_2|/U',
      inputs: [leg1, leg2, legVoltage],
      source: ARITHMETIC,
    });
    const sum = numberIn(first, 'A') + numberIn(second, 'A');
    const imbalance = derive('imbalance', sum === 0 ? 0 : difference / volts / sum, '1', {
      formula: '|I_1 − I_2|/(I_1 + I_2)',
      inputs: [first, second],
      source: ARITHMETIC,
    });
    const heavier = numberIn(first, 'A') >= numberIn(second, 'A') ? first : second;
    return known(
      derive('leg current', numberIn(heavier, 'A'), 'A', {
        formula: 'max(I_1, I_2)',
        inputs: [first, second],
        source: ARITHMETIC,
        governing: [{ kind: 'heavierLeg', leg: heavier === first ? 1 : 2 }],
        parts: { leg1: first, leg2: second, neutral, imbalance },
      }),
    );
  },
});

export const voltageUnbalance = defineFunction({
  name: 'voltageUnbalance',
  group: 'sources',
  summary: 'Voltage unbalance of three phases: largest deviation from the mean of the line voltages over that mean.',
  parameters: {
    first: needs('voltage', 'V', 'voltage between lines 1 and 2', { minimum: 0, aboveMinimum: true }),
    second: needs('voltage', 'V', 'voltage between lines 2 and 3', { minimum: 0, aboveMinimum: true }),
    third: needs('voltage', 'V', 'voltage between lines 3 and 1', { minimum: 0, aboveMinimum: true }),
  },
  result: 'ratio; `.mean` is the mean voltage',
  worst: 'high',
  validity:
    'Three-phase line voltages at one instant. Motors should not see more than 1 % without derating and never 5 %.',
  sources: ['NEMA MG 1, definition of percent voltage unbalance'],
  examples: [
    {
      call: 'voltageUnbalance(first: 203 V, second: 210 V, third: 212 V)',
      gives: '2.5 %',
      tolerance: 0.03,
      source: 'specification sheet of a motor protection relay: 203, 210 and 212 V give 2.5 %',
    },
    {
      call: 'voltageUnbalance(first: 460 V, second: 467 V, third: 450 V)',
      gives: '1.96 %',
      tolerance: 2e-3,
      source: 'NEMA MG 1 14.36 example, quoted by several pages: mean 459 V, deviation 9 V',
    },
    {
      call: 'voltageUnbalance(first: 462 V, second: 463 V, third: 455 V)',
      gives: '1.1 %',
      tolerance: 0.02,
      source: 'engineering forum quoting NEMA MG 1: (460 − 455)/460',
    },
  ],
  compute: ({ first, second, third }) => {
    const lines = [first, second, third];
    const volts = lines.map((line) => numberIn(line, 'V'));
    const mean = (volts[0]! + volts[1]! + volts[2]!) / 3;
    const deviations = volts.map((value) => Math.abs(value - mean));
    const largest = Math.max(...deviations);
    const meanVoltage = derive('mean line voltage', mean, 'V', {
      symbol: 'U_m',
      formula: '(U_12 + U_23 + U_31)/3',
      inputs: lines,
    });
    return known(
      derive('voltage unbalance', largest / mean, '1', {
        symbol: 'u',
        formula: 'max |U − U_m|/U_m',
        inputs: [...lines, meanVoltage],
        source: { standard: 'NEMA MG 1', table: '14.36', provenance: 'published' },
        governing: [{ kind: 'farthestLine', line: (deviations.indexOf(largest) + 1) as 1 | 2 | 3 }],
        parts: { mean: meanVoltage },
      }),
    );
  },
});
