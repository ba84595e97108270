import type { Mount } from '../../calculate/sun/mount.js';
import { SKIES } from '../../calculate/sun/plane.js';
import { numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { DesignContext } from '../../model/context.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { inUnit } from '../../quantity/index.js';
import { MODULE_COEFFICIENTS, solarModel } from '../../reference/energy/index.js';
import type { Facts } from '../plant/facts.js';
import { MODULES_KEEP } from '../plant/modules.js';
import type { ArrayPlan, SunPlan } from './plans.js';

const [TEST_AIR, TEST_IRRADIANCE] = solarModel('nominal-operating-test') as [number, number];
/** °C of a usual module on an open rack where its data sheet figure is not stated: common practice, no source. */
const USUAL_NOCT = 45;
const MONTHS = 12;
/** No days between 0 and 1 deviate by more. */
const MOST_SPREAD = 0.4;

/** An array as numbers; in the dark its facts do not matter. */
export function arrayPlan(array: Instance, mode: SunPlan['mode'], context: DesignContext, facts: Facts): ArrayPlan {
  if (mode === 'none')
    return {
      name: array.name,
      watts: 0,
      amperes: 0,
      powerCoefficient: 0,
      warming: 0,
      mounts: [{ moves: 'not', tilt: 0, azimuth: 180 }],
    };
  const coefficient = context.maybe(array, 'powerCoefficient');
  const usual = MODULE_COEFFICIENTS.rows.find(({ type }) => type === 'monocrystalline')!.power.from;
  if (!coefficient)
    facts.assume(`${array.name} is taken to lose ${-usual} % of its power per kelvin: no powerCoefficient is stated`);
  const noct = context.maybe(array, 'noct');
  if (!noct)
    facts.assume(
      `the cells of ${array.name} are taken to reach ${USUAL_NOCT} °C in the test of IEC 61215: no noct is stated`,
    );
  facts.assume(`${array.name} gives ${MODULES_KEEP * 100} % of what its modules would clean and matched (from memory)`);
  const current = context.maybe(array, 'shortCircuitCurrent');
  const parallel = context.maybe(array, 'parallel');
  return {
    name: array.name,
    watts: facts.number(context.quantity(array, 'arrayPower'), 'W') * MODULES_KEEP,
    amperes: current ? numberIn(current, 'A') * (parallel ? numberIn(parallel, '') : 1) * MODULES_KEEP : 0,
    powerCoefficient: coefficient ? numberIn(coefficient, '%/K') / 100 : usual / 100,
    warming: ((noct ? numberIn(noct, 'degC') : USUAL_NOCT) - TEST_AIR) / TEST_IRRADIANCE,
    mounts: mountsOf(array, context, facts),
  };
}

/** How an array is mounted: in each month where it is set by the season. */
function mountsOf(array: Instance, context: DesignContext, facts: Facts): ArrayPlan['mounts'] {
  const value = (name: PropertyName, unit: string): number => facts.number(context.fact(array, name), unit);
  const moves = wordIn(array.properties, 'mount');
  if (moves === 'twoAxes') return [{ moves: 'twoAxes' }];
  const tilts = tiltsByMonth(array) ?? [value('tilt', 'deg')];
  const azimuth = value('azimuth', 'deg');
  const cover = context.maybe(array, 'groundCover');
  const mount = (tilt: number): Mount =>
    moves === 'oneAxis'
      ? {
          moves: 'oneAxis',
          tilt,
          azimuth,
          limit: value('rotationLimit', 'deg'),
          ...(cover ? { cover: facts.of(cover, '') } : {}),
        }
      : { moves: 'not', tilt, azimuth };
  return tilts.map(mount);
}

/** The tilt of each month, in degrees: one that is stated holds until the next that is, around the year. */
function tiltsByMonth(array: Instance): readonly number[] | undefined {
  const stated = array.properties.get('tiltByMonth')?.value;
  if (stated?.type !== 'table' || stated.rows.length === 0) return undefined;
  const rows = stated.rows
    .map(({ key, value }) => ({ month: Math.round(key.value), tilt: inUnit(value, 'deg') }))
    .sort((one, other) => one.month - other.month);
  return Array.from(
    { length: MONTHS },
    (_, at) => (rows.findLast(({ month }) => month <= at + 1) ?? rows.at(-1)!).tilt,
  );
}

/** What the site says of how its days and years vary, and of its sky. */
export function skyOf(context: DesignContext, facts: Facts): Pick<SunPlan, 'daySpread' | 'yearSpread' | 'sky'> {
  const spread = context.system.site.properties.get('clearnessSpread')?.value;
  const year = context.siteFact('yearSpread');
  const sky = context.siteFact('sky')?.value;
  if (spread?.type === 'table' && spread.rows.some(({ value }) => value.value < 0 || value.value > MOST_SPREAD))
    facts.refused.add(`the clearnessSpread of the site must be from 0 to ${MOST_SPREAD}`);
  return {
    sky: SKIES.find((each) => each === sky) ?? 'hayDavies',
    ...(year ? { yearSpread: facts.of(year, '') } : {}),
    ...(spread?.type === 'table'
      ? {
          daySpread: Array.from(
            { length: MONTHS },
            (_, month) => spread.rows.find(({ key }) => Math.round(key.value) === month + 1)?.value.value,
          ),
        }
      : {}),
  };
}

/** Clearness index of each month, from the site. */
export function clearnessOf(context: DesignContext, facts: Facts): readonly number[] {
  const stated = context.system.site.properties.get('clearness')?.value;
  if (stated?.type !== 'table') {
    facts.lack('clearness of the site');
    return [];
  }
  const months = Array.from(
    { length: MONTHS },
    (_, month) => stated.rows.find(({ key }) => Math.round(key.value) === month + 1)?.value.value,
  );
  const lacking = months.flatMap((value, month) => (value === undefined ? [month + 1] : []));
  if (lacking.length > 0) facts.lack(`clearness of the site for month ${lacking.join(', ')}`);
  return months.map((value) => Math.min(0.8, Math.max(0.05, value ?? 0.5)));
}
