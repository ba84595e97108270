import { arcCosine, cosine, sine } from '../calculate/sun/geometry.js';
import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import { formatNumber } from '../quantity/index.js';
import { solarModel } from '../reference/energy/index.js';
import type { Facts } from '../quantities/plant/facts.js';
import { clearnessOf, skyOf } from '../quantities/weather/array-numbers.js';
import { leapDay } from '../quantities/weather/dates.js';
import { hasDay } from '../quantities/weather/hours.js';
import type { Weather } from '../quantities/weather/plans.js';
import type { SunPlan } from './plan.js';
import type { PlayOptions } from './types.js';
import { type StationFacts, readWeather } from './weather-file.js';

const DAY = 86400;

const NO_SUN: SunPlan = {
  mode: 'none',
  latitude: 0,
  longitude: 0,
  zoneHours: 0,
  air: 25,
  albedo: 0,
  clearness: [],
  sky: 'hayDavies',
};

/** A weather file that was read. */
interface ReadFile {
  readonly weather: Weather;
  readonly station?: StationFacts;
}

export function sunPlan(
  hasArrays: boolean,
  scenario: Scenario,
  context: DesignContext,
  facts: Facts,
  read: ReadFile | undefined,
): SunPlan {
  if (!hasArrays) return NO_SUN;
  if (scenario.weather === undefined && scenario.sun === undefined) facts.lack(`sun or weather of ${scenario.name}`);
  if (scenario.weather === undefined && scenario.sun === 'none') return NO_SUN;
  const weather = read?.weather;
  const site = (name: 'latitude' | 'longitude'): number => {
    const stated = context.siteFact(name);
    if (stated) return facts.of(stated, 'deg');
    const station = read?.station;
    if (!station) return facts.lack(`${name} of the site`);
    facts.assume(`the ${name} is that of the station ${station.name}: the site states none`);
    return station[name];
  };
  const latitude = site('latitude');
  const longitude = site('longitude');
  if (read?.station) noteDistance(read.station, latitude, longitude, facts);
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
    ...skyOf(context, facts),
    ...(weather ? { weather } : {}),
  };
}

/** km from which the weather of a station is told to be of another place; a rule of thumb. */
const FAR = 50;
/** km for each degree of a great circle. */
const PER_DEGREE = 111.2;

function noteDistance(station: StationFacts, latitude: number, longitude: number, facts: Facts): void {
  const cosineOfAngle =
    sine(latitude) * sine(station.latitude) +
    cosine(latitude) * cosine(station.latitude) * cosine(longitude - station.longitude);
  const distance = arcCosine(cosineOfAngle) * PER_DEGREE;
  if (distance > FAR)
    facts.assume(`the weather is that of ${station.name}, ${formatNumber(distance, 2)} km from the site`);
}

/** The weather file of a scenario, read; undefined where there is none that can be used, which is noted. */
export function weatherOf(scenario: Scenario, facts: Facts, options: PlayOptions): ReadFile | undefined {
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
  const lacking = whatLacks(read.weather, scenario);
  if (lacking !== undefined)
    facts.refused.add(`the weather file ${path} does not cover the whole of ${scenario.name}${lacking}`);
  if (read.weather.kind === 'hours')
    facts.assume(`the weather file ${path} holds the days of a year, which serve for the same days of any year`);
  return read;
}

/** Why a file does not cover a play, as words behind that; undefined where it does. */
function whatLacks(weather: Weather, { start, duration = 0 }: Scenario): string | undefined {
  if (weather.kind === 'points')
    return weather.time[0]! > DAY / 24 || weather.time.at(-1)! < duration - DAY / 24 ? '' : undefined;
  const first = Date.parse(`${start.date}T00:00:00Z`);
  const days = Math.min(366, Math.ceil((start.timeOfDay + duration) / DAY));
  for (let day = 0; day < days; day += 1) {
    const date = new Date(first + day * DAY * 1000);
    const at = leapDay(date.getUTCMonth() + 1, date.getUTCDate());
    if (!hasDay(weather, at)) return `: it is missing the ${date.toISOString().slice(5, 10)} (month-day)`;
  }
  return undefined;
}

/** Hours the clock of the site is ahead of universal time on the first day; that of its longitude where no zone is stated. */
export function zoneOf(scenario: Scenario, longitude: number, context: DesignContext, facts: Facts): number {
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
