/** What the wind of a site makes turbines give: the facts of a design as numbers, and the mean of each month. */
import type { PropertyName, WindDrive } from '../../equipment/index.js';
import { type PowerCurve, airDensity, heightFactor, meanPower, mostPower } from '../../equipment/wind-power.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveQuantity,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { inUnit } from '../../quantity/index.js';
import { highEnd, lowEnd } from '../ends.js';
import { Facts } from '../plant/facts.js';
import { MONTH_NAMES } from '../supply/months.js';
import type { TurbinePlan } from './plans.js';

/** °C of the air where the site states none: that of the standard density. */
const STANDARD_AIR = 15;

/** A turbine as numbers, without its means; facts that lack are noted. */
export function turbineNumbers(
  turbine: Instance,
  drive: WindDrive<PropertyName>,
  context: DesignContext,
  facts: Facts,
): Omit<TurbinePlan, 'meanByMonth'> {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  const height = facts.number(context.fact(turbine, drive.hubHeight), 'm');
  const measured = context.siteFact('windHeight');
  const shear = facts.number(context.fact(turbine, drive.shear), '');
  if (!ambient) facts.assume(`the air at ${turbine.name} is taken at ${STANDARD_AIR} °C: the site states no ambient`);
  return {
    name: turbine.name,
    curve: curveOf(turbine, drive, context, facts),
    hubFactor: heightFactor(height, measured ? facts.of(measured, 'm') : NaN, shear),
    density: airDensity(
      altitude ? facts.of(altitude, 'm') : facts.lack('altitude of the site'),
      ambient ? facts.of(ambient, 'degC') : STANDARD_AIR,
    ),
  };
}

function curveOf(turbine: Instance, drive: WindDrive<PropertyName>, context: DesignContext, facts: Facts): PowerCurve {
  const stated = turbine.properties.get(drive.curve)?.value;
  const rows = stated?.type === 'table' ? [...stated.rows].sort((one, other) => one.key.value - other.key.value) : [];
  const [first] = rows;
  if (!first || rows.length < 2) facts.refused.add(`the ${drive.curve} of ${turbine.name} needs two points and more`);
  else if (rows.some(({ key, value }) => key.value < 0 || value.value < 0))
    facts.refused.add(`the ${drive.curve} of ${turbine.name} goes below 0`);
  else if (first.value.value > 0)
    facts.assume(`${turbine.name} gives nothing below ${inUnit(first.key, 'm/s')} m/s, where its power curve begins`);
  const rated = context.maybe(turbine, drive.rated);
  const amperes = context.maybe(turbine, drive.currentLimit);
  const volts = context.maybe(turbine, drive.voltage);
  return {
    speeds: Float64Array.from(rows, ({ key }) => inUnit(key, 'm/s')),
    watts: Float64Array.from(rows, ({ value }) => inUnit(value, 'W')),
    regulation: context.maybe(turbine, drive.regulation)?.value === 'pitch' ? 'pitch' : 'stall',
    most: Math.min(
      rated ? numberIn(rated, 'W') : Infinity,
      amperes && volts ? numberIn(amperes, 'A') * numberIn(highEnd(volts), 'V') : Infinity,
    ),
  };
}

/** Mean speed of the wind of the site in a month, 1 to 12. */
export function windIn(month: number, context: DesignContext): Result {
  const stated = context.system.site.properties.get('windByMonth');
  if (stated?.value.type !== 'table') {
    const all = context.siteFact('windSpeed');
    return all ? known(all) : missing('windSpeed of the site');
  }
  const row = stated.value.rows.find(({ key }) => Math.round(key.value) === month);
  return row
    ? known(
        deriveQuantity(`mean speed of the wind in ${MONTH_NAMES[month - 1]!}`, row.value, {
          symbol: 'v',
          origin: 'stated',
          ...(stated.place ? { place: stated.place } : {}),
        }),
      )
    : missing(`windByMonth of the site for month ${month}`);
}

/** Shape of the distribution of the speeds. */
export const windShape = (context: DesignContext): Derivation =>
  context.siteFact('windShape') ?? derive('shape of the wind', 2, '', { symbol: 'k', origin: 'default' });

/** Mean power of a turbine in a month, 1 to 12, at an end of the range of the wind. */
export function meanInMonth(
  turbine: Instance,
  drive: WindDrive<PropertyName>,
  month: number,
  end: 'least' | 'middle' | 'most',
  context: DesignContext,
): Result {
  const wind = windIn(month, context);
  const facts = new Facts();
  const numbers = turbineNumbers(turbine, drive, context, facts);
  const lacking = [...(wind.kind === 'missing' ? wind.missing : []), ...facts.missing];
  if (lacking.length > 0) return missing(...lacking);
  const [refusal] = facts.refused;
  if (refusal !== undefined) return refused(refusal);
  if (wind.kind !== 'known') return wind;
  const speed = end === 'least' ? lowEnd(wind.derivation) : end === 'most' ? highEnd(wind.derivation) : wind.derivation;
  const shape = windShape(context);
  const atHub = derive('mean speed at the hub', numberIn(speed, 'm/s') * numbers.hubFactor, 'm/s', {
    symbol: 'v_hub',
    formula: 'v·(H/H₀)^α',
    inputs: [speed, ...factsOf(turbine, [drive.hubHeight, drive.shear], context)],
  });
  const density = derive('density of the air', numbers.density, 'kg/m3', {
    symbol: 'ρ',
    formula: '353.1/T·exp(−0.0342·z/T)',
    inputs: [context.siteFact('altitude')!],
  });
  return known(
    derive(
      `mean power of the wind at ${turbine.name}`,
      meanPower(numbers.curve, numberIn(atHub, 'm/s'), numberIn(shape, ''), numbers.density),
      'W',
      {
        symbol: 'P_wind',
        formula: 'Σ P(v)·share of the time with v (Weibull)',
        inputs: [atHub, shape, density],
        governing: [{ kind: 'month', month }],
        notes: [...facts.assumptions],
      },
    ),
  );
}

const factsOf = (turbine: Instance, names: readonly PropertyName[], context: DesignContext): Derivation[] =>
  names.flatMap((name) => context.maybe(turbine, name) ?? []);

/** The most that a turbine gives at any time, and the least: the air is still. */
export function extremeOf(
  turbine: Instance,
  drive: WindDrive<PropertyName>,
  end: 'least' | 'most',
  context: DesignContext,
): Result {
  if (end === 'least')
    return known(
      derive(`power of the wind at ${turbine.name}`, 0, 'W', { symbol: 'P_wind', notes: ['the air is still'] }),
    );
  const facts = new Facts();
  const curve = curveOf(turbine, drive, context, facts);
  const [refusal] = facts.refused;
  if (refusal !== undefined) return refused(refusal);
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  // The coldest air is the densest; where nobody has stated the site, that of the curve counts.
  const density =
    altitude && ambient ? airDensity(numberIn(altitude, 'm'), numberIn(lowEnd(ambient), 'degC')) : undefined;
  return known(
    derive(`most power of the wind at ${turbine.name}`, mostPower(curve, density ?? 1.225), 'W', {
      symbol: 'P_wind',
      formula: 'top of the power curve, in the coldest air',
      inputs: altitude && ambient ? [altitude, lowEnd(ambient)] : [],
    }),
  );
}
