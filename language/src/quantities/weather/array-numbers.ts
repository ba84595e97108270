import { numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { MODULE_COEFFICIENTS, solarModel } from '../../reference/energy/index.js';
import type { Facts } from '../plant/facts.js';
import { MODULES_KEEP } from '../plant/modules.js';
import type { ArrayPlan, SunPlan } from './plans.js';

const [TEST_AIR, TEST_IRRADIANCE] = solarModel('nominal-operating-test') as [number, number];
/** °C of a usual module on an open rack where its data sheet figure is not stated: common practice, no source. */
const USUAL_NOCT = 45;
const MONTHS = 12;

/** An array as numbers; in the dark its facts do not matter. */
export function arrayPlan(array: Instance, mode: SunPlan['mode'], context: DesignContext, facts: Facts): ArrayPlan {
  if (mode === 'none')
    return { name: array.name, watts: 0, amperes: 0, powerCoefficient: 0, warming: 0, tilt: 0, azimuth: 180 };
  const value = (name: PropertyName, unit: string): number => facts.number(context.fact(array, name), unit);
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
    tilt: value('tilt', 'deg'),
    azimuth: value('azimuth', 'deg'),
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
