/**
 * A power that is the same on every run: `**` with an exponent that is no small whole number gives another last digit once the engine that runs
 * this has compiled it. Whole exponents by multiplication, halves by the square root; else by logarithm, to a few units of the last digit.
 */
export function raise(base: number, exponent: number): number {
  if (exponent < 0) return 1 / raise(base, -exponent);
  if (Number.isInteger(exponent) && exponent <= MOST_MULTIPLIED) return multiplied(base, exponent);
  if (!(base > 0) || base === 1 || base === Infinity || !Number.isFinite(exponent)) return ofEnds(base, exponent);
  const whole = Math.floor(exponent);
  const rest = exponent - whole;
  if (whole > MOST_MULTIPLIED) return Math.exp(exponent * Math.log(base));
  return multiplied(base, whole) * (rest === 0.5 ? Math.sqrt(base) : Math.exp(rest * Math.log(base)));
}

/** Whole exponents up to this are multiplied out. */
const MOST_MULTIPLIED = 64;

function multiplied(base: number, exponent: number): number {
  let [product, square] = [1, base];
  for (let left = exponent; left > 0; left = Math.floor(left / 2)) {
    if (left % 2 === 1) product *= square;
    square *= square;
  }
  return product;
}

/** Where no rounding is left to differ: nothing, one, without end, and what is no number. */
const ofEnds = (base: number, exponent: number): number => base ** exponent;
