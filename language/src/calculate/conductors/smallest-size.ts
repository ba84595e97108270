import { type Derivation, type Result, derive, known, numberIn, refused } from '../../derivation/index.js';
import { DIMENSIONS, formatPair, quantity } from '../../quantity/index.js';
import { standardSizes } from '../../reference/index.js';
import { defineFunction, needs } from '../registry.js';
import {
  GROUP,
  basisParameter,
  currentParameter,
  lengthParameter,
  maybeMetalParameter,
  maybeStrandParameter,
  seriesParameter,
  settleConductor,
  systemParameter,
  temperatureParameter,
  typeParameter,
  named,
} from './common.js';
import { dropOf, powerFactorParameter, racewayParameter, reactanceParameter, withRatio } from './voltage-drop.js';

/** The drop limit in volts: as given, or as a ratio of the nominal voltage. */
function limitInVolts(drop: Derivation, voltage: Derivation): Derivation {
  if (typeof drop.value !== 'object' || drop.value.dimension === DIMENSIONS.voltage) return drop;
  return derive('drop limit', numberIn(drop, '') * numberIn(voltage, 'V'), 'V', {
    symbol: 'ΔUmax',
    formula: 'limit · U',
    inputs: [named(drop, 'limit'), named(voltage, 'U')],
  });
}

export const smallestSize = defineFunction({
  name: 'smallestSize',
  group: GROUP,
  summary: 'Smallest standard size that keeps the voltage drop within a limit; ampacity is not looked at.',
  parameters: {
    current: currentParameter,
    length: lengthParameter,
    voltage: needs('voltage', 'V', 'nominal voltage', { minimum: 0, aboveMinimum: true }),
    drop: needs(['ratio', 'voltage'], '%', 'largest drop, as a ratio of the voltage or in volts', {
      minimum: 0,
      aboveMinimum: true,
      maximum: 100,
    }),
    system: systemParameter,
    powerFactor: powerFactorParameter,
    metal: maybeMetalParameter,
    strand: maybeStrandParameter,
    type: typeParameter,
    temperature: temperatureParameter,
    reactance: reactanceParameter,
    raceway: racewayParameter,
    series: seriesParameter,
    basis: basisParameter,
  },
  result: 'conductor size; .drop at that size with its .ratio',
  worst: 'high',
  validity:
    'As `voltageDrop`, over the standard sizes of the practice. For the drop limit alone: the conductor must also carry its current (`conductorFor`).',
  sources: ['as voltageDrop'],
  examples: [
    {
      call: 'smallestSize(current: 20 A, length: 100 ft, voltage: 120 V, drop: 3 %, system: single)',
      gives: '8 AWG',
      source: 'licence-preparation lesson on voltage drop: 12 AWG loses 6.6 %, 8 AWG 2.6 % (10 AWG 4.1 % by hand)',
    },
    {
      call: 'smallestSize(current: 60 A, length: 8 m, voltage: 48 V, drop: 3 %, strand: flexible, temperature: 70 degC, basis: iec)',
      gives: '16 mm2',
      source: 'hand calculation: 2 · 60 A · 8 m · 1.21 mohm/m · 1.1965 = 1.390 V of 1.44 V (10 mm² 2.19 V)',
    },
  ],
  compute: ({ voltage, drop, metal, strand, type, series, ...given }): Result => {
    const conductor = settleConductor({ metal, strand, type });
    if (!conductor.ok) return conductor.result;
    const question = { ...given, part: type, ...conductor.value };
    const limit = limitInVolts(drop, voltage);
    const allowed = numberIn(limit, 'V');
    const sizes = standardSizes(question.basis, question.metal.word, series);
    if (sizes.length === 0)
      return refused(`${question.basis} practice has no ${question.metal.word} conductors`, 'metal');
    let refusal: Result | undefined;
    let smaller: { name: string; drop: Derivation } | undefined;
    for (const { name, area } of sizes) {
      const size = derive('size', area, 'mm2', { origin: 'table', notes: [name] });
      const lost = dropOf({ ...question, size });
      if (!lost.ok) {
        refusal ??= lost.result;
        continue;
      }
      if (numberIn(lost.value, 'V') > allowed * (1 + 1e-9)) {
        smaller = { name, drop: lost.value };
        continue;
      }
      const at = withRatio(lost.value, voltage);
      return known(
        derive('smallest size for the drop', area, 'mm2', {
          symbol: 'A',
          formula: 'smallest standard size with ΔU ≤ ΔUmax',
          inputs: [limit, at],
          notes: [
            smaller
              ? `${smaller.name} would lose ${pair(smaller.drop, allowed)}`
              : `${name} is the smallest standard size of this practice`,
            'for the drop alone: check the ampacity too',
          ],
          parts: { drop: at },
        }),
      );
    }
    if (!smaller) return refusal ?? refused('no standard size could be worked out');
    return refused(
      `no standard size keeps the drop: ${smaller.name} still loses ${pair(smaller.drop, allowed)}; shorten the run, raise the voltage or run conductors in parallel`,
      'drop',
    );
  },
});

function pair(lost: Derivation, allowed: number): string {
  const [is, limit] = formatPair(quantity(numberIn(lost, 'V'), 'V'), quantity(allowed, 'V'));
  return `${is} of ${limit} allowed`;
}
