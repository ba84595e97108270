import { mostPower, turbinePower, weibullScale } from '../../equipment/wind-power.js';
import { raise } from '../../quantity/index.js';
import { solarModel } from '../../reference/energy/index.js';
import { between } from './between.js';
import type { Draw } from './clearness.js';
import { monthOf } from './dates.js';
import { rowAt } from './hours.js';
import type { TurbinePlan, WindPlan } from './plans.js';

const HOURS = 24;
const HOUR = 3600;
/** Hour of the day at which the wind is strongest; most deviations of a year that are drawn. */
const [PEAK_HOUR, MOST_DEVIATIONS] = solarModel('wind-day') as [number, number];

/**
 * What turbines can give, hour by hour of a day. `months`: speeds of a Weibull distribution around the mean of the month, each hour tied to the
 * one before by a first-order autoregression of what is normal behind it, the afternoon windier than the night, years apart from each other.
 * Without random numbers the mean power of the month.
 */
export class DayWind {
  /** W of each turbine, hour after hour. */
  readonly watts: readonly Float64Array[];
  private deviation: number | undefined;
  private year = NaN;
  private factor = 1;

  constructor(
    private readonly wind: WindPlan,
    private readonly turbines: readonly TurbinePlan[],
    private readonly random?: Draw,
  ) {
    this.watts = turbines.map(() => new Float64Array(HOURS));
  }

  /** Fills the hours of the next day; `startsAt` is its midnight in s from the start of the play. */
  fill(dayOfYear: number, year: number, startsAt: number): void {
    if (this.turbines.length === 0) return;
    const { mode } = this.wind;
    const month = monthOf(dayOfYear, year);
    if (mode === 'none' || mode === 'strong' || (mode === 'months' && !this.random)) {
      this.turbines.forEach(({ curve, density, meanByMonth }, at) =>
        this.watts[at]!.fill(mode === 'none' ? 0 : mode === 'strong' ? mostPower(curve, density) : meanByMonth[month]!),
      );
      return;
    }
    if (mode === 'months' && year !== this.year) {
      const { yearSpread } = this.wind;
      const drawn = Math.min(MOST_DEVIATIONS, Math.max(-MOST_DEVIATIONS, this.random!.normal()));
      [this.year, this.factor] = [year, 1 + yearSpread * drawn];
    }
    for (let hour = 0; hour < HOURS; hour += 1) {
      const speed =
        mode === 'file' ? this.inFile(dayOfYear, year, hour, startsAt) : this.speed(month, hour, this.random!);
      this.turbines.forEach(({ curve, hubFactor, density }, at) => {
        this.watts[at]![hour] = turbinePower(curve, speed * hubFactor, density);
      });
    }
  }

  /** m/s where the wind is measured, in the next hour. */
  private speed(month: number, hour: number, random: Draw): number {
    const { speedByMonth, shape, persistence, swing } = this.wind;
    const before = this.deviation;
    this.deviation =
      before === undefined ? random.normal() : persistence * before + Math.sqrt(1 - persistence ** 2) * random.normal();
    const calm = normalAbove(this.deviation);
    const steady = weibullScale(speedByMonth[month]! * this.factor, shape) * raise(-Math.log(calm), 1 / shape);
    return steady * (1 + swing * Math.cos((2 * Math.PI * (hour + 0.5 - PEAK_HOUR)) / HOURS));
  }

  private inFile(dayOfYear: number, year: number, hour: number, startsAt: number): number {
    const { weather, zoneHours } = this.wind;
    if (!weather?.wind) return 0;
    return weather.kind === 'hours'
      ? weather.wind[rowAt(weather, dayOfYear, year, hour + 0.5, zoneHours)]!
      : between(weather.time, weather.wind, startsAt + (hour + 0.5) * HOUR);
  }
}

/** Share of a normal distribution above a value, more than 0: Abramowitz and Stegun 26.2.17, good to 7.5e-8. */
export function normalAbove(value: number): number {
  const at = Math.abs(value);
  const t = 1 / (1 + 0.2316419 * at);
  const series = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = Math.max(1e-12, (Math.exp((-at * at) / 2) / Math.sqrt(2 * Math.PI)) * series);
  return value >= 0 ? tail : 1 - tail;
}
