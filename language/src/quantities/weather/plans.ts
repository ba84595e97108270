/* What the weather is made of, as plain numbers in SI units; angles in degrees. */

export interface ArrayPlan {
  readonly name: string;
  /** W at standard test conditions, losses of soiling and mismatch counted. */
  readonly watts: number;
  /** A short-circuit at standard test conditions. */
  readonly amperes: number;
  readonly powerCoefficient: number;
  /** K above the air per W/m². */
  readonly warming: number;
  readonly tilt: number;
  readonly azimuth: number;
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
  /** For `file`: times in s from the start, W/m² on the horizontal, °C of the air. */
  readonly weather?: {
    readonly time: Float64Array;
    readonly irradiance: Float64Array;
    readonly temperature: Float64Array;
  };
}
