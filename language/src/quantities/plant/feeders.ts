/** What a source or an inverter can feed on its alternating side, as plain numbers, and what it has left for its chargers. */
import { INPUT_POWER_LIMIT } from '../../equipment/charging.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { DesignContext } from '../../model/context.js';
import { sourceOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import type { FeederLimits } from '../../solve/budget.js';
import { needsCleanWave } from '../supply/generator-rating.js';
import { type Leg, connect, missingFrom, systemOf } from '../supply/supply.js';
import { chargerNumber } from './chargers.js';
import type { Facts } from './facts.js';
import { inputSettingOn } from './input-setting.js';

const LEG_NAMES: readonly Leg[] = ['L1', 'L2', 'L3'];
const UNLIMITED: FeederLimits = { watts: Infinity, voltAmperes: Infinity, legAmperes: Infinity };

/** Most that a source gives: a set by its rating at this site, its breaker and outlet, a service by its rating, plug and power. */
export function sourceLimits(source: Instance, context: DesignContext, facts: Facts): FeederLimits {
  const own = sourceOf(source);
  if (own?.carries !== 'ac') return UNLIMITED;
  const outlet = source.properties.get('outlet')?.value;
  const plug = outlet?.type === 'part' ? outlet.part.properties.get('rating')?.value : undefined;
  const plugAmperes = plug?.type === 'quantity' ? plug.quantity.value : Infinity;
  const amperes = (name: PropertyName): number => {
    const stated = context.maybe(source, name);
    return stated ? numberIn(stated, 'A') : Infinity;
  };
  if (own.from === 'fuel')
    return {
      watts: facts.number(context.quantity(source, 'usablePower'), 'W'),
      voltAmperes: facts.number(context.quantity(source, 'usableApparent'), 'VA'),
      legAmperes: Math.min(
        facts.number(context.quantity(source, 'ratedCurrent'), 'A'),
        amperes('breaker'),
        plugAmperes,
      ),
    };
  const legAmperes = Math.min(amperes('rating'), plugAmperes);
  const rated = context.maybe(source, 'rated');
  if (legAmperes === Infinity && !rated) facts.lack(`rating of ${source.name}`);
  return { watts: rated ? numberIn(rated, 'W') : Infinity, voltAmperes: Infinity, legAmperes };
}

/** Most that an inverter feeds on its alternating side. */
export function inverterLimits(inverter: Instance, context: DesignContext, facts: Facts): FeederLimits {
  const rated = facts.aboveZero(context.fact(inverter, 'rated'), 'W');
  const apparent = context.maybe(inverter, 'apparent');
  const voltAmperes = apparent ? numberIn(apparent, 'VA') : rated;
  if (!apparent) facts.assume(`the apparent power of ${inverter.name} is taken as its rated power`);
  const system = systemOf(inverter);
  const lines = system && system.phases !== 'single' ? (system.phases === 'three' ? Math.sqrt(3) : 1) : 0;
  return {
    watts: rated,
    voltAmperes,
    legAmperes: system && lines > 0 ? voltAmperes / (lines * system.lineToLine) : Infinity,
  };
}

/** Power of a set above which its wave is too distorted for its chargers; without end where they take any wave or nothing is known of it. */
export function cleanWatts(
  source: Instance,
  chargers: readonly Instance[],
  context: DesignContext,
  facts: Facts,
): number {
  if (sourceOf(source)?.from !== 'fuel') return Infinity;
  const sensitive = chargers.filter((charger) => needsCleanWave(charger, context));
  const clean = context.quantity(source, 'cleanPower');
  const usable = context.quantity(source, 'usablePower');
  if (sensitive.length === 0 || clean.kind !== 'known' || usable.kind !== 'known') return Infinity;
  const watts = numberIn(clean.derivation, 'W');
  if (watts >= numberIn(usable.derivation, 'W')) return Infinity;
  const names = sensitive.map(({ name }) => name).join(' and ');
  facts.assume(
    `${names} ${sensitive.length > 1 ? 'draw' : 'draws'} only what leaves ${source.name} within ${displayValue(clean.derivation, 3)}, up to which its wave is clean`,
  );
  return watts;
}

/** A per W on each of three legs of something that takes alternating current from a feeder. */
export function legsPerWatt(
  consumer: Instance,
  feeder: Instance,
  powerFactor: number,
  context: DesignContext,
  facts: Facts,
): number[] {
  const system = systemOf(feeder);
  if (!system) {
    facts.lack(`voltage of ${feeder.name}`);
    return [0, 0, 0];
  }
  const connection = connect(consumer, system, context);
  if (missingFrom(connection)) {
    facts.lack(connection.missing);
    return [0, 0, 0];
  }
  const perWatt = 1 / (connection.factor * numberIn(connection.voltage, 'V') * powerFactor);
  return LEG_NAMES.map((leg) => (connection.legs.includes(leg) ? perWatt : 0));
}

/** How a charger stands on a feeder: the voltage of its supply, 1 or √3, and the input limit set for it, for the formulas of its input. */
export function supplyAround(
  charger: Instance,
  feeder: Instance,
  context: DesignContext,
):
  | { readonly supplyVolts: Derivation; readonly lines: Derivation; readonly inputSetting?: Derivation }
  | { readonly missing: string } {
  const system = systemOf(feeder);
  if (!system) return { missing: `voltage of ${feeder.name}` };
  const connection = connect(charger, system, context);
  if (missingFrom(connection)) return connection;
  const inputSetting = inputSettingOn(charger, feeder, context);
  return {
    ...(inputSetting ? { inputSetting } : {}),
    supplyVolts: connection.voltage,
    lines: derive(connection.factor === 1 ? 'one pair of lines' : '√3 of three lines', connection.factor, '', {
      symbol: 'k',
    }),
  };
}

/** W that the input bounds of a charger let it take from a feeder; infinite where it states none. */
export function inputWatts(charger: Instance, feeder: Instance, context: DesignContext, facts: Facts): number {
  const around = supplyAround(charger, feeder, context);
  if ('missing' in around) return facts.lack(around.missing);
  const { value, lacking } = chargerNumber(INPUT_POWER_LIMIT, charger, context, around);
  for (const fact of lacking) facts.lack(fact);
  return value;
}
