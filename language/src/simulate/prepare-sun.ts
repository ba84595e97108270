import type { PropertyName } from '../equipment/index.js';
import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Scenario } from '../model/types.js';
import { MODULE_COEFFICIENTS, solarModel } from '../reference/energy/index.js';
import type { Facts } from '../quantities/plant/facts.js';
import { MODULES_KEEP } from '../quantities/plant/modules.js';
import type { ArrayPlan, SunPlan } from './plan.js';
import type { PlayOptions } from './types.js';
import { readWeather } from './weather-file.js';

const [TEST_AIR, TEST_IRRADIANCE] = solarModel('nominal-operating-test') as [number, number];
/** °C of a usual module on an open rack where its data sheet figure is not stated: common practice, no source. */
const USUAL_NOCT = 45;
const MONTHS = 12;
const DAY = 86400;

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

const NO_SUN: SunPlan = {
  mode: 'none',
  latitude: 0,
  longitude: 0,
  zoneHours: 0,
  air: 25,
  albedo: 0,
  clearness: [],
};

export function sunPlan(
  hasArrays: boolean,
  scenario: Scenario,
  context: DesignContext,
  facts: Facts,
  options: PlayOptions,
): SunPlan {
  if (!hasArrays) return NO_SUN;
  if (scenario.weather === undefined && scenario.sun === undefined) facts.lack(`sun or weather of ${scenario.name}`);
  if (scenario.weather === undefined && scenario.sun === 'none') return NO_SUN;
  const site = (name: string, unit: string): number => {
    const stated = context.siteFact(name);
    return stated ? facts.of(stated, unit) : facts.lack(`${name} of the site`);
  };
  const latitude = site('latitude', 'deg');
  const longitude = site('longitude', 'deg');
  const weather = scenario.weather === undefined ? undefined : weatherOf(scenario, facts, options);
  const ambient = context.siteFact('ambient');
  if (!weather && !ambient) facts.assume('the air is taken at 25 °C: the site states no ambient');
  const [albedo] = solarModel('albedo') as [number];
  return {
    mode: weather ? 'file' : (scenario.sun ?? 'none'),
    latitude,
    longitude,
    zoneHours: zoneOf(scenario, longitude, context, facts),
    air: ambient ? facts.of(ambient, 'degC') : 25,
    albedo,
    clearness: scenario.sun === 'months' && !weather ? clearnessOf(context, facts) : [],
    ...(weather ? { weather } : {}),
  };
}

function weatherOf(scenario: Scenario, facts: Facts, options: PlayOptions): SunPlan['weather'] {
  const path = scenario.weather!;
  const text = options.weatherText?.(path);
  if (text === undefined) {
    facts.lack(`the weather file ${path}`);
    return undefined;
  }
  if (typeof text === 'object') {
    facts.refused.add(`the weather file ${path} cannot be read: it ${text.unread}`);
    return undefined;
  }
  const { date } = scenario.start;
  if (date === undefined) return undefined;
  const read = readWeather(text, { date, timeOfDay: scenario.start.timeOfDay });
  if ('reason' in read) {
    facts.refused.add(`the weather file ${path} cannot be used: ${read.reason}`);
    return undefined;
  }
  const { time } = read.weather;
  if (time[0]! > DAY / 24 || time.at(-1)! < (scenario.duration ?? 0) - DAY / 24)
    facts.refused.add(`the weather file ${path} does not cover the whole of ${scenario.name}`);
  return read.weather;
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

/** Hours the clock of the site is ahead of universal time on the first day; that of its longitude where no zone is stated. */
function zoneOf(scenario: Scenario, longitude: number, context: DesignContext, facts: Facts): number {
  const stated = context.siteFact('timeZone')?.value;
  const { date } = scenario.start;
  if (typeof stated === 'string' && date !== undefined) {
    const hours = offsetOf(stated, date);
    if (hours !== undefined) {
      if (scenario.duration !== undefined && offsetOf(stated, laterDate(date, scenario.duration)) !== hours)
        facts.assume(`the clock of ${stated} is not put forward or back: it stays at ${hours} h from universal time`);
      return hours;
    }
    facts.refused.add(`${stated} is no time zone of the tz database`);
    return 0;
  }
  const hours = Math.round(longitude / 15);
  facts.assume(`the clock is taken at ${hours} h from universal time: the site states no timeZone`);
  return hours;
}

const laterDate = (date: string, seconds: number): string =>
  new Date(Date.parse(`${date}T12:00:00Z`) + seconds * 1000).toISOString().slice(0, 10);

/** Offset of a zone at noon of a date, in h; undefined for an unknown zone. */
export function offsetOf(zone: string, date: string): number | undefined {
  try {
    const noon = new Date(`${date}T12:00:00Z`);
    const parts = new Intl.DateTimeFormat('en-GB', {
      timeZone: zone,
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      hourCycle: 'h23',
    }).formatToParts(noon);
    const part = (type: string): number => Number(parts.find((each) => each.type === type)?.value);
    // No zone is a day away: the day alone tells whether it is tomorrow there. Years before 1000 are written in other ways.
    const days = part('day') === noon.getUTCDate() ? 0 : 1;
    return days * 24 + part('hour') + part('minute') / 60 - 12;
  } catch (error) {
    if (error instanceof RangeError) return undefined;
    throw error;
  }
}
