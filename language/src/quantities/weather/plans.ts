/* What the weather is made of, as plain numbers in SI units; angles in degrees. */
import type { PowerCurve } from '../../equipment/wind-power.js';
import type { Mount } from '../../calculate/sun/mount.js';
import type { Sky } from '../../calculate/sun/plane.js';

export interface ArrayPlan {
  readonly name: string;
  /** W at standard test conditions, losses of soiling and mismatch counted. */
  readonly watts: number;
  /** A short-circuit at standard test conditions. */
  readonly amperes: number;
  readonly powerCoefficient: number;
  /** K above the air per W/m². */
  readonly warming: number;
  /** How it is mounted: one for the whole year, or one for each month, the first January. */
  readonly mounts: readonly Mount[];
}

/** Where the sun's power comes from. */
export interface SunPlan {
  readonly mode: 'none' | 'clear' | 'months' | 'file';
  readonly latitude: number;
  readonly longitude: number;
  readonly zoneHours: number;
  /** °C of the air. */
  readonly air: number;
  readonly albedo: number;
  /** Clearness index of each month, for `months`. */
  readonly clearness: readonly number[];
  /** Deviation of the days of each month, where it is stated, and of years, as a share of their mean. */
  readonly daySpread?: readonly (number | undefined)[];
  readonly yearSpread?: number;
  /** How the light of the sky comes to a surface. */
  readonly sky: Sky;
  /** For `file`. */
  readonly weather?: Weather;
}

/** Values that stand for moments: times in s from the start, W/m² on the horizontal, across the beam and from the sky, °C of the air, m/s. */
export interface PointWeather {
  readonly kind: 'points';
  readonly time: Float64Array;
  readonly irradiance: Float64Array;
  readonly temperature: Float64Array;
  readonly beam?: Float64Array;
  readonly diffuse?: Float64Array;
  readonly wind?: Float64Array;
}

/** Means of the hours of days of a year, whichever it is: units as of moments. */
export interface HourWeather {
  readonly kind: 'hours';
  /** h that its clock is ahead of universal time. */
  readonly zoneHours: number;
  /** The first of the 24 rows of each day, days counted as in a leap year from 0; −1 where it has none. */
  readonly rowOfDay: Int32Array;
  readonly irradiance: Float64Array;
  readonly beam: Float64Array;
  readonly diffuse: Float64Array;
  readonly temperature: Float64Array;
  readonly wind?: Float64Array;
}

export type Weather = PointWeather | HourWeather;

/** A wind turbine with what stands around it. */
export interface TurbinePlan {
  readonly name: string;
  readonly curve: PowerCurve;
  /** Speed at the hub over that where the wind is measured. */
  readonly hubFactor: number;
  /** kg/m³. */
  readonly density: number;
  /** Mean W of each month, the first January; for `months`. */
  readonly meanByMonth: Float64Array;
}

/** Where the wind comes from. */
export interface WindPlan {
  readonly mode: 'none' | 'strong' | 'months' | 'file';
  /** For `months`: mean m/s of each month where it is measured, the first January, and how hours and years vary. */
  readonly speedByMonth: readonly number[];
  readonly shape: number;
  readonly persistence: number;
  readonly swing: number;
  readonly yearSpread: number;
  /** For `file`. */
  readonly zoneHours: number;
  readonly weather?: Weather;
}
