import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import { solarModel } from '../reference/energy/index.js';
import type { Facts } from '../quantities/plant/facts.js';
import { clearnessOf } from '../quantities/weather/array-numbers.js';
import type { SunPlan } from './plan.js';
import type { PlayOptions } from './types.js';
import { readWeather } from './weather-file.js';

const DAY = 86400;

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
