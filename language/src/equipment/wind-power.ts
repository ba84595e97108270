/**
 * How wind turns into power: air, height, the spread of speeds, and what a turbine makes of them. Plain numbers in SI. Functions of the
 * language, quantities and plays read it.
 */
import { raise } from '../quantity/index.js';

/** kg/m³ at which power curves are stated (IEC 61400-12-1: 15 °C at sea level). */
export const STANDARD_DENSITY = 1.225;
const ZERO_CELSIUS = 273.15;

/** Density of air in kg/m³ at a height above the sea (m) and a temperature (°C): 353.1/T·exp(−0.0342·z/T), course notes that quote a textbook. */
export const airDensity = (altitude: number, celsius: number): number => {
  const kelvin = celsius + ZERO_CELSIUS;
  return (353.1 / kelvin) * Math.exp((-0.0342 * altitude) / kelvin);
};

/** Speed at a height over that at another, by the power law: (H/H₀)^α. */
export const heightFactor = (height: number, from: number, shear: number): number => raise(height / from, shear);

/** Γ(x) for x from 1 to 2 and beyond, by Lanczos with g = 7 and nine terms, good to fourteen digits. */
export function gamma(x: number): number {
  const terms = [
    0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
    12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
  ];
  const at = x - 1;
  const base = at + 7.5;
  const sum = terms.slice(1).reduce((so, term, index) => so + term / (at + index + 1), terms[0]!);
  return Math.sqrt(2 * Math.PI) * raise(base, at + 0.5) * Math.exp(-base) * sum;
}

/** Scale of a Weibull distribution of a mean and a shape k: mean/Γ(1 + 1/k). */
export const weibullScale = (mean: number, shape: number): number => mean / gamma(1 + 1 / shape);

/** Share of the time with less than a speed: 1 − exp(−(v/c)^k). */
export const weibullBelow = (speed: number, scale: number, shape: number): number =>
  speed <= 0 || scale <= 0 ? (speed > 0 ? 1 : 0) : -Math.expm1(-raise(speed / scale, shape));

/** Mean of the cubes of the speeds over the cube of their mean: Γ(1 + 3/k)/Γ(1 + 1/k)³. */
export const energyPattern = (shape: number): number => gamma(1 + 3 / shape) / gamma(1 + 1 / shape) ** 3;

/** What holds the power of a turbine in strong wind: blades that stall, or blades that are turned or a rotor that is furled. */
export type Regulation = 'stall' | 'pitch';

/** A power curve as it was measured: speeds at hub height in m/s, rising, and W at the standard density. */
export interface PowerCurve {
  readonly speeds: Float64Array;
  readonly watts: Float64Array;
  readonly regulation: Regulation;
  /** W that it gives at most, whatever the curve says. */
  readonly most: number;
}

/**
 * W at a speed at hub height in air of a density: straight lines between the points, nothing below the first and above the last. Thin air
 * lowers the power of what stalls, and makes what is turned or furled behave as in less wind (IEC 61400-12-1).
 */
export function turbinePower({ speeds, watts, regulation, most }: PowerCurve, speed: number, density: number): number {
  const ratio = density / STANDARD_DENSITY;
  const felt = regulation === 'pitch' ? speed * Math.cbrt(ratio) : speed;
  const last = speeds.length - 1;
  if (!(felt >= speeds[0]!) || felt > speeds[last]!) return 0;
  let at = 0;
  while (at < last - 1 && speeds[at + 1]! < felt) at += 1;
  const span = speeds[at + 1]! - speeds[at]!;
  const share = span > 0 ? (felt - speeds[at]!) / span : 0;
  const power = watts[at]! + share * (watts[at + 1]! - watts[at]!);
  return Math.min(most, regulation === 'stall' ? power * ratio : power);
}

/** Most that a curve gives in air of a density, W. */
export const mostPower = ({ watts, regulation, most }: PowerCurve, density: number): number =>
  Math.min(
    most,
    watts.reduce((so, each) => Math.max(so, each), 0) * (regulation === 'stall' ? density / STANDARD_DENSITY : 1),
  );

/** m/s: width of the classes of speed that are summed up. */
const CLASS = 0.1;

/** Mean W over speeds of a Weibull distribution: each class of speed by its share of the time. */
export function meanPower(curve: PowerCurve, mean: number, shape: number, density: number, width = CLASS): number {
  if (!(mean > 0)) return 0;
  const scale = weibullScale(mean, shape);
  const last = curve.speeds.at(-1)! / (curve.regulation === 'pitch' ? Math.cbrt(density / STANDARD_DENSITY) : 1);
  let sum = 0;
  for (let at = 0; (at - 0.5) * width <= last; at += 1) {
    const speed = at * width;
    const share = weibullBelow(speed + width / 2, scale, shape) - weibullBelow(speed - width / 2, scale, shape);
    sum += share * turbinePower(curve, speed, density);
  }
  return sum;
}
