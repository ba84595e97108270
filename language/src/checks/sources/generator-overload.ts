import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { chargersFedBy } from '../../quantities/sources.js';
import { systemOf } from '../../quantities/supply.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { governedBy, pairText, PRACTICE, roundDown } from './shared.js';

interface Comparison {
  readonly what: string;
  readonly demand: Derivation;
  readonly limit: Derivation;
  readonly unit: string;
}

/** Apparent power of the set: as stated, else rated power over its rated power factor (0.8 three-phase, 1 single-phase, unless stated). */
function apparentRating(set: Instance, context: DesignContext): Derivation | undefined {
  const stated = context.maybe(set, 'apparent');
  if (stated) return stated;
  const rated = context.maybe(set, 'rated');
  if (!rated) return undefined;
  const usual = systemOf(set)?.phases === 'three' ? 0.8 : 1;
  const factor =
    context.maybe(set, 'powerFactor') ??
    derive('rated power factor', usual, '', {
      origin: 'default',
      notes: ['not stated: 0.8 for three-phase sets, 1 for small single-phase sets (common practice, no source)'],
    });
  return derive('apparent power rating', numberIn(rated, 'W') / numberIn(factor, ''), 'VA', {
    symbol: 'S_r',
    formula: 'P_r/pf',
    inputs: [rated, factor],
  });
}

/** Charger limit at which the set is no longer overloaded, when one charger alone can be turned down to that. */
function fixesFor(set: Instance, worst: Comparison, context: DesignContext): Fix[] {
  const excess = numberIn(worst.demand, worst.unit) - numberIn(worst.limit, worst.unit);
  return chargersFedBy(set, context).flatMap((charger) => {
    const current = context.quantity(charger, 'outputCurrent');
    const share =
      worst.unit === 'A'
        ? context.quantity(charger, 'inputCurrent')
        : context.quantity(charger, worst.unit === 'W' ? 'inputPower' : 'inputApparentPower');
    if (current.kind !== 'known' || share.kind !== 'known') return [];
    const now = numberIn(current.derivation, 'A');
    const part = numberIn(share.derivation, worst.unit);
    const amperes = roundDown(now * (1 - excess / part), 1);
    if (amperes < 1) return [];
    return [
      propose(`Limit ${charger.name} to ${amperes} A`, [setProperty(charger, 'currentLimit', `${amperes} A`)], true),
    ];
  });
}

function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  const usable = context.quantity(set, 'usablePower');
  const demand = context.quantity(set, 'powerDemand');
  const apparent = context.quantity(set, 'apparentDemand');
  const legs = context.quantity(set, 'legDemand');
  const rated = context.quantity(set, 'ratedCurrent');
  const rating = apparentRating(set, context);
  for (const result of [usable, demand, apparent, legs, rated]) {
    if (result.kind !== 'known') return yield notChecked(set, result);
  }
  if (
    usable.kind !== 'known' ||
    demand.kind !== 'known' ||
    apparent.kind !== 'known' ||
    legs.kind !== 'known' ||
    rated.kind !== 'known' ||
    !rating
  )
    return;
  const comparisons: Comparison[] = [
    { what: 'active power', demand: demand.derivation, limit: usable.derivation, unit: 'W' },
    { what: 'apparent power', demand: apparent.derivation, limit: rating, unit: 'VA' },
    { what: 'current on its most loaded leg', demand: legs.derivation, limit: rated.derivation, unit: 'A' },
  ];
  const numbers = {
    demand: demand.derivation,
    usable: usable.derivation,
    apparent: apparent.derivation,
    leg: legs.derivation,
  };
  const load = ({ demand: asked, limit, unit }: Comparison): number =>
    numberIn(asked, unit) / Math.max(numberIn(limit, unit), 1e-9);
  const worst = comparisons.reduce((so, next) => (load(next) > load(so) ? next : so));
  if (load(worst) <= 1 + 1e-9) return yield passed(set, numbers);
  const [asked, given] = pairText(worst.demand, worst.limit);
  const derating = worst.unit === 'W' && worst.limit.governing ? ` (${worst.limit.governing})` : '';
  const fixes = fixesFor(set, worst, context);
  const todo = fixes[0]
    ? ` ${fixes[0].title.replace('Limit', 'Limiting')} brings it within the set.`
    : ' Run fewer loads at once, or take a larger set.';
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'rated'),
    message: `${set.name} is asked for ${asked} of ${worst.what} and gives ${given}${worst.unit === 'W' ? ' at this site' : ''}${derating}${governedBy(worst.demand)}. Chargers count at their limits and highest charge voltage, loads as running together.${todo}`,
    numbers: { ...numbers, limit: worst.limit },
    fixes,
  };
}

export const generatorOverload = defineCheck({
  id: 'generator-overload',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A generator is asked for more than it gives continuously at its site: active power, apparent power, or current on one leg.',
    guards: 'The set trips, sags or overheats when the chargers run at full rate while loads come on.',
    how: 'Everything the set feeds in each source state is added up: chargers at their current limit and highest charge voltage with efficiency and power factor, loads at full power. The sum is held against running power after altitude and temperature, against apparent power, and against rated current on the most loaded leg.',
    sources: [
      { standard: 'ISO 8528-1', table: 'continuous and prime power', provenance: 'published' },
      {
        standard: 'home standby set owner’s manual',
        table: '3.5 % per 305 m, 1 % per 5.6 K above 25 °C',
        provenance: 'published',
      },
      PRACTICE,
    ],
    failing: `design Hut {
  generator Genset { rated: 3 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 70 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 70 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) {
      if (instance.kind === 'generator') yield* judgeSet(instance, context);
    }
  },
});
