import { type GivenArgument, callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, fromTable, known, missing, numberIn } from '../../derivation/index.js';
import type { Instance } from '../../model/types.js';
import {
  type Fuel,
  type GeneratorPractice,
  FUELS,
  fuelFactor,
  generatorPractice,
} from '../../reference/energy/sources.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { highEnd } from '../ends.js';
import { systemOf } from './supply.js';
import { collect, whenKnown } from '../worst.js';
import { mayBurnFuel } from '../../equipment/index.js';
import { isAcCharger } from '../../model/roles.js';
import { calculation } from '../calculation.js';

/** Share of rated power up to which the waveform stays clean: as stated, else by kind of set. */
export function cleanShare(thing: Instance, context: QuantityContext): Result {
  const stated = context.maybe(thing, 'cleanShare');
  if (stated) return known(stated);
  const waveform = context.maybe(thing, 'waveform')?.value;
  if (waveform === 'inverter')
    return known(
      derive('clean share', 1, '', {
        origin: 'default',
        notes: ['an output stage forms the wave: the whole rating (common practice, no source)'],
      }),
    );
  if (waveform !== 'conventional') return missing(`waveform or cleanShare of ${thing.name}`);
  const practice = generatorPractice('clean-share');
  return known(
    fromTable('clean share', practice.value, '', practice.source, {
      notes: ['conventional alternator under rectifier load'],
    }),
  );
}

/** Whether a consumer needs a clean wave: it says so, or names the distortion it accepts. Undefined when nothing is stated of a charger. */
export function needsCleanWave(consumer: Instance, context: QuantityContext): boolean | undefined {
  if (context.maybe(consumer, 'thdLimit')) return true;
  if (!isAcCharger(consumer)) return false;
  const accepts = context.maybe(consumer, 'accepts')?.value;
  return accepts === undefined ? undefined : accepts === 'sine';
}

/** What the set gives on its fuel of a rating for another fuel; undefined when the rating is for the fuel it runs on. */
function fuelShare(thing: Instance, context: QuantityContext): Derivation | undefined {
  const isFuel = (word: unknown): word is Fuel =>
    typeof word === 'string' && (FUELS as readonly string[]).includes(word);
  const used = context.maybe(thing, 'fuel')?.value;
  const rated = context.maybe(thing, 'ratedFuel')?.value;
  if (!isFuel(used) || !isFuel(rated) || used === rated) return undefined;
  const { factor, source } = fuelFactor(used);
  return fromTable('fuel factor', Math.min(1, factor / fuelFactor(rated).factor), '', source, {
    symbol: 'k_f',
    notes: [`rated on ${rated}, runs on ${used}`],
  });
}

/** Site conditions and the set's own losses as arguments of the derating functions. */
function siteArguments(thing: Instance, context: QuantityContext): Record<string, GivenArgument | undefined> {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  return {
    altitude: altitude && highEnd(altitude),
    ambient: ambient && highEnd(ambient),
    per: context.maybe(thing, 'altitudeDerate'),
    temperatureLoss: context.maybe(thing, 'temperatureDerate'),
    fuelFactor: fuelShare(thing, context),
  };
}

/** Ratings on plates are rounded by so much. */
const ROUNDING = 1.02;

/**
 * Rated active power: as stated, else apparent power times the power factor where both are stated. Where the two contradict each other, which
 * `contradicting-facts` tells, the smaller counts.
 */
export function ratedPower(thing: Instance, context: QuantityContext): Result {
  const stated = context.fact(thing, 'rated');
  const apparent = context.maybe(thing, 'apparent');
  const factor = context.maybe(thing, 'powerFactor');
  if (!apparent || (!factor && stated.kind !== 'known')) return stated;
  const active = derive('rated power', numberIn(apparent, 'VA') * (factor ? numberIn(factor, '') : 1), 'W', {
    symbol: 'P_r',
    formula: factor ? 'S_r·pf' : 'S_r',
    inputs: [apparent, ...(factor ? [factor] : [])],
  });
  if (stated.kind !== 'known') return known(active);
  return numberIn(stated.derivation, 'W') > numberIn(active, 'W') * ROUNDING
    ? known({
        ...active,
        governing: [{ kind: 'contradicted', by: 'less', fact: 'what is stated as rated' }],
        inputs: [...active.inputs, stated.derivation],
      })
    : stated;
}

const usablePower = defineQuantity({
  name: 'usablePower',
  of: [mayBurnFuel],
  doc: 'Continuous power at the site, after altitude and temperature.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) =>
    whenKnown(ratedPower(instance(thing), context), (rated) =>
      callFunction(calculation('usablePower'), { rated, ...siteArguments(instance(thing), context) }),
    ),
});

const cleanPower = defineQuantity({
  name: 'cleanPower',
  of: [mayBurnFuel],
  doc: 'Power up to which the waveform stays clean under rectifier load, at the site.',
  unit: 'W',
  compute: (thing, context) => {
    const all = collect([ratedPower(instance(thing), context), cleanShare(instance(thing), context)]);
    return all.ok
      ? callFunction(calculation('usablePower'), {
          rated: all.derivations[0],
          waveformShare: all.derivations[1],
          ...siteArguments(instance(thing), context),
        })
      : all.result;
  },
});

/** Share that an alternator keeps of its apparent power where the air is thin or hot: published practice of alternator makers. */
function alternatorShare(context: QuantityContext): Derivation {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  const of = (fact: GeneratorPractice): number => generatorPractice(fact).value;
  const above = (value: number, start: number): number => Math.max(0, value - start);
  const metres = altitude ? above(numberIn(highEnd(altitude), 'm'), of('alternator-altitude-start')) : 0;
  const kelvin = ambient ? above(numberIn(highEnd(ambient), 'degC'), of('alternator-temperature-start')) : 0;
  const share =
    Math.max(0, 1 - (of('alternator-altitude-loss') * metres) / of('alternator-altitude-step')) *
    Math.max(0, 1 - (of('alternator-temperature-loss') * kelvin) / of('alternator-temperature-step'));
  return fromTable('share the alternator keeps', share, '', generatorPractice('alternator-altitude-loss').source, {
    symbol: 'k_a',
    formula: '(1 − 3 %·(h − 1000 m)/500 m)·(1 − 3 %·(T − 40 °C)/5 K)',
    inputs: [...(altitude ? [highEnd(altitude)] : []), ...(ambient ? [highEnd(ambient)] : [])],
  });
}

const usableApparent = defineQuantity({
  name: 'usableApparent',
  of: [mayBurnFuel],
  doc: 'Apparent power its alternator gives at the site: cooling is worse above 1000 m and above 40 °C.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) =>
    whenKnown(context.quantity(thing, 'apparentRating'), (rating) => {
      const share = alternatorShare(context);
      return known(
        derive('apparent power at the site', numberIn(rating, 'VA') * numberIn(share, ''), 'VA', {
          symbol: 'S_site',
          formula: 'S_r·k_a',
          inputs: [rating, share],
        }),
      );
    }),
});

/** Apparent power of the set: as stated, else rated power over its rated power factor (0.8 three-phase, 1 single-phase, unless stated). */
const apparentRating = defineQuantity({
  name: 'apparentRating',
  of: [mayBurnFuel],
  doc: 'Apparent power of the alternator: as stated, else rated power over its power factor (0.8 for three phases, 1 else, unless stated).',
  unit: 'VA',
  compute: (thing, context) => {
    const stated = context.maybe(thing, 'apparent');
    if (stated) return known({ ...stated, symbol: 'S_r' });
    const system = systemOf(instance(thing));
    return whenKnown(context.fact(thing, 'rated'), (rated) => {
      const factor =
        context.maybe(thing, 'powerFactor') ??
        (system &&
          derive('rated power factor', system.phases === 'three' ? 0.8 : 1, '', {
            origin: 'default',
            notes: ['not stated: 0.8 for three-phase sets, 1 for small single-phase sets (common practice, no source)'],
          }));
      if (!factor) return missing(`voltage of ${thing.name}`);
      return known(
        derive('apparent power rating', numberIn(rated, 'W') / numberIn(factor, ''), 'VA', {
          symbol: 'S_r',
          formula: 'P_r/pf',
          inputs: [rated, factor],
        }),
      );
    });
  },
});

/** Rated current of a source per leg. */
const ratedCurrent = defineQuantity({
  name: 'ratedCurrent',
  of: [mayBurnFuel],
  doc: 'Rated current on each leg, from its apparent power and voltage.',
  unit: 'A',
  compute: (thing, context) => {
    const system = systemOf(instance(thing));
    if (!system) return missing(`voltage of ${thing.name}`);
    return whenKnown(context.quantity(thing, 'apparentRating'), (power) => {
      const voltage = derive('voltage between lines', system.lineToLine, 'V', { symbol: 'U', notes: [system.text] });
      const factor = system.phases === 'three' ? Math.sqrt(3) : 1;
      return known(
        derive('rated current', numberIn(power, 'VA') / (factor * system.lineToLine), 'A', {
          symbol: 'I_r',
          formula: factor === 1 ? 'S_r/U' : 'S_r/(√3·U)',
          inputs: [power, voltage],
        }),
      );
    });
  },
});

export const ratingQuantities = [usablePower, cleanPower, apparentRating, usableApparent, ratedCurrent];
