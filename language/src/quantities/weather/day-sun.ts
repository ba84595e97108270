import {
  cosine,
  declinationOf,
  distanceFactor,
  equationOfTimeOf,
  extraterrestrialDay,
  hourAngleAt,
  sine,
  solarCorrectionHours,
} from '../../calculate/sun/geometry.js';
import { type StandsTo, standing } from '../../calculate/sun/mount.js';
import { LOWEST_BEAM, type PlaneCase, onPlane } from '../../calculate/sun/plane.js';
import { piecewiseCurve, solarModel } from '../../reference/energy/index.js';
import { between } from './between.js';
import { monthOf } from './dates.js';
import { rowAt } from './hours.js';
import type { ArrayPlan, PointWeather, SunPlan } from './plans.js';

const DAY = 86400;
/** A year without 29 February, where none is meant. */
const ANY_YEAR = 2027;
const RADIANS = Math.PI / 180;

const hourlyDiffuse = piecewiseCurve('erbs-hour');
const dailyDiffuse = { winter: piecewiseCurve('erbs-day-winter'), summer: piecewiseCurve('erbs-day-summer') };
const [SEASON_ANGLE] = solarModel('erbs-season-angle') as [number];
const [SOLAR_CONSTANT] = solarModel('solar-constant') as [number];
const [CLEAR, EXTINCTION] = solarModel('clear-sky-haurwitz') as [number, number];
const SHARE = solarModel('hour-of-day-share') as [number, number, number, number, number];
const [STANDARD_IRRADIANCE] = solarModel('standard-test-irradiance') as [number];
const [STANDARD_TEMPERATURE] = solarModel('standard-test-temperature') as [number];

/**
 * What arrays can give, slot by slot of a day. Within a slot the sun stands still at its middle: the mean of a slot is kept to second
 * order of its length.
 *
 * Geometry: Cooper's declination, Spencer's equation of time (see calculate/sun). Clear sky: Haurwitz, parted by the hourly correlation
 * of Erbs. Months: a day's radiation is its clearness times that outside the air, spread over the day by Collares-Pereira and Rabl, its
 * sky share by the daily correlation of Erbs, spread like the radiation outside the air (Liu and Jordan). Tilted: Hay and Davies, or as the
 * site says.
 */
export class DaySun {
  readonly slots: number;
  /** s. */
  readonly slot: number;
  /** W available from each array, slot after slot. */
  readonly watts: readonly Float64Array[];
  /** A of each array into a low voltage. */
  readonly amperes: readonly Float64Array[];
  /** First and one past the last slot with any sun. */
  first = 0;
  end = 0;
  private readonly horizontal: Float64Array;
  private readonly sky: Float64Array;
  private readonly air: Float64Array;
  private readonly cosines: Float64Array;
  private readonly hours: Float64Array;
  /** The sun's direction, slot by slot; how far it is up stands in `cosines`. */
  private readonly east: Float64Array;
  private readonly north: Float64Array;
  /** How each array stands to the sun in each month; mounts that are not set by the season have one. */
  private readonly standings: readonly (readonly StandsTo[])[];

  constructor(
    private readonly sun: SunPlan,
    private readonly arrays: readonly ArrayPlan[],
    resolution: number,
  ) {
    this.slots = Math.max(24, Math.round(DAY / resolution));
    this.slot = DAY / this.slots;
    this.watts = arrays.map(() => new Float64Array(this.slots));
    this.amperes = arrays.map(() => new Float64Array(this.slots));
    [this.horizontal, this.sky, this.air] = [0, 1, 2].map(() => new Float64Array(this.slots)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    this.cosines = new Float64Array(this.slots);
    this.hours = new Float64Array(this.slots);
    [this.east, this.north] = [new Float64Array(this.slots), new Float64Array(this.slots)];
    this.standings = arrays.map(({ mounts }) => mounts.map(standing));
  }

  /** Fills the slots for a day of a year; `startsAt` is the day's midnight in s from the start of the play. */
  fill(dayOfYear: number, clearness: number, startsAt: number, year = ANY_YEAR): void {
    const { sun, slots } = this;
    for (const values of [...this.watts, ...this.amperes]) values.fill(0);
    [this.first, this.end] = [0, 0];
    if (sun.mode === 'none' || this.arrays.length === 0) return;
    const declination = declinationOf(dayOfYear);
    const shift = solarCorrectionHours(sun.longitude, sun.zoneHours, equationOfTimeOf(dayOfYear));
    const [sineOfDeclination, cosineOfDeclination] = [sine(declination), cosine(declination)];
    const [sineOfLatitude, cosineOfLatitude] = [sine(sun.latitude), cosine(sun.latitude)];
    const [flat, swing] = [sineOfLatitude * sineOfDeclination, cosineOfLatitude * cosineOfDeclination];
    let [first, end] = [slots, 0];
    for (let at = 0; at < slots; at += 1) {
      const hour = ((at + 0.5) * this.slot) / 3600 + shift;
      const angle = (hour - 12) * 15 * RADIANS;
      this.hours[at] = angle;
      const cosineOfAngle = Math.cos(angle);
      const height = flat + swing * cosineOfAngle;
      this.cosines[at] = height;
      this.horizontal[at] = 0;
      this.sky[at] = 0;
      this.air[at] = sun.air;
      if (height <= 0) continue;
      this.east[at] = -cosineOfDeclination * Math.sin(angle);
      this.north[at] = sineOfDeclination * cosineOfLatitude - cosineOfDeclination * sineOfLatitude * cosineOfAngle;
      if (at < first) first = at;
      end = at + 1;
    }
    if (end === 0) return;
    [this.first, this.end] = [first, end];
    const outside = SOLAR_CONSTANT * distanceFactor(dayOfYear);
    if (sun.mode === 'months') this.fillDay(dayOfYear, declination, clearness);
    else if (sun.weather?.kind === 'hours') this.fillFromHours(dayOfYear, year);
    else if (sun.weather) this.fillFromPoints(sun.weather, outside, startsAt);
    else this.fillClear(outside);
    const month = monthOf(dayOfYear, year);
    for (let at = 0; at < this.arrays.length; at += 1) this.tilt(at, month, outside);
  }

  private fillClear(outside: number): void {
    for (let at = this.first; at < this.end; at += 1) {
      const height = this.cosines[at]!;
      if (height > 0) this.part(at, CLEAR * height * Math.exp(-EXTINCTION / height), outside);
    }
  }

  /** Parts what comes to the horizontal into beam and sky. */
  private part(at: number, total: number, outside: number): void {
    this.horizontal[at] = total;
    this.sky[at] = total * Math.min(1, hourlyDiffuse(Math.min(1, total / (outside * this.cosines[at]!))));
  }

  /** Values that stand for moments, straight lines between them. */
  private fillFromPoints(weather: PointWeather, outside: number, startsAt: number): void {
    const { time, irradiance, temperature, beam, diffuse } = weather;
    for (let at = this.first; at < this.end; at += 1) {
      const height = this.cosines[at]!;
      const moment = startsAt + (at + 0.5) * this.slot;
      this.air[at] = between(time, temperature, moment);
      if (height <= 0) continue;
      if (beam && diffuse) {
        this.sky[at] = between(time, diffuse, moment);
        this.horizontal[at] = this.sky[at]! + height * between(time, beam, moment);
      } else this.part(at, Math.max(0, between(time, irradiance, moment)), outside);
    }
  }

  /** Means of hours: beam and diffuse light stay as they are through the hour, and the sun moves on. */
  private fillFromHours(dayOfYear: number, year: number): void {
    const { sun } = this;
    const weather = sun.weather;
    if (weather?.kind !== 'hours') return;
    for (let at = this.first; at < this.end; at += 1) {
      const height = this.cosines[at]!;
      const row = rowAt(weather, dayOfYear, year, ((at + 0.5) * this.slot) / 3600, sun.zoneHours);
      this.air[at] = weather.temperature[row]!;
      if (height <= 0) continue;
      this.sky[at] = weather.diffuse[row]!;
      this.horizontal[at] = this.sky[at]! + height * weather.beam[row]!;
    }
  }

  private fillDay(dayOfYear: number, declination: number, clearness: number): void {
    const sunset = hourAngleAt(this.sun.latitude, declination);
    const season = sunset <= SEASON_ANGLE ? dailyDiffuse.winter : dailyDiffuse.summer;
    const skyShare = Math.min(1, season(clearness));
    const [a0, a1, b0, b1, offset] = SHARE;
    const a = a0 + a1 * sine(sunset - offset);
    const b = b0 + b1 * sine(sunset - offset);
    let [all, outside] = [0, 0];
    for (let at = this.first; at < this.end; at += 1) {
      const height = Math.max(0, this.cosines[at]!);
      // Outside the air radiation goes with the height of the sun; on the ground with a + b·cos ω times as much.
      this.sky[at] = height;
      this.horizontal[at] = height * Math.max(0, a + b * Math.cos(this.hours[at]!));
      outside += this.sky[at]!;
      all += this.horizontal[at]!;
    }
    if (!(all > 0)) return;
    // J/m² of the day over the slots' sums.
    const day = clearness * extraterrestrialDay(this.sun.latitude, dayOfYear) * 3600;
    const [perAll, perSky] = [day / (all * this.slot), (day * skyShare) / (outside * this.slot)];
    for (let at = this.first; at < this.end; at += 1) {
      this.horizontal[at]! *= perAll;
      this.sky[at] = Math.min(this.horizontal[at]!, this.sky[at]! * perSky);
    }
  }

  private tilt(index: number, month: number, outside: number): void {
    const array = this.arrays[index]!;
    const { albedo, sky: model } = this.sun;
    const [watts, amperes] = [this.watts[index]!, this.amperes[index]!];
    const standings = this.standings[index]!;
    const standsTo = standings[month % standings.length]!;
    const given: PlaneCase = {
      ...{ beam: 0, diffuse: 0, total: 0, outside, albedo },
      ...{ cosineOfZenith: 0, cosineOfIncidence: 0, cosineOfTilt: 0 },
    };
    for (let at = this.first; at < this.end; at += 1) {
      const total = this.horizontal[at]!;
      if (total <= 0) continue;
      const height = this.cosines[at]!;
      const diffuse = this.sky[at]!;
      given.total = total;
      given.diffuse = diffuse;
      given.beam = height < LOWEST_BEAM ? 0 : (total - diffuse) / height;
      given.cosineOfZenith = height;
      standsTo(this.east[at]!, this.north[at]!, height, given);
      const irradiance = onPlane(model, given);
      const share = irradiance / STANDARD_IRRADIANCE;
      const warmer = this.air[at]! + array.warming * irradiance - STANDARD_TEMPERATURE;
      watts[at] = array.watts * share * Math.max(0, 1 + array.powerCoefficient * warmer);
      amperes[at] = array.amperes * share;
    }
  }

  /** J/m² on the horizontal over the day that was filled, for tests. */
  horizontalOfDay(): number {
    let sum = 0;
    for (let at = this.first; at < this.end; at += 1) sum += this.horizontal[at]! * this.slot;
    return sum;
  }
}
