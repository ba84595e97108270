import { DIMENSIONS, type Dimension, dimensionName } from './dimension.js';
import { sizeText, standardSize } from './conductor-size.js';
import { type Quantity, isRange, nearlyEqual } from './quantity.js';
import { type Unit, fromSi, unit } from './units.js';

/** Units a value without a unit of its own is shown in, smallest first; the largest that leaves at least 1 is taken. */
const LADDERS = new Map<Dimension, readonly string[]>([
  [DIMENSIONS.voltage, ['uV', 'mV', 'V', 'kV']],
  [DIMENSIONS.current, ['mA', 'A', 'kA']],
  [DIMENSIONS.power, ['mW', 'W', 'kW', 'MW']],
  [DIMENSIONS.energy, ['Wh', 'kWh', 'MWh']],
  [DIMENSIONS.charge, ['mAh', 'Ah', 'kAh']],
  [DIMENSIONS.resistance, ['uohm', 'mohm', 'ohm', 'kohm']],
  [DIMENSIONS.length, ['mm', 'm', 'km']],
  [DIMENSIONS.area, ['mm2', 'm2']],
  [DIMENSIONS.volume, ['mL', 'L', 'm3']],
  [DIMENSIONS.mass, ['g', 'kg', 't']],
  [DIMENSIONS.time, ['ms', 's', 'min', 'h', 'd']],
  [DIMENSIONS.frequency, ['Hz', 'kHz']],
  [DIMENSIONS.temperature, ['degC']],
  [DIMENSIONS.temperatureDifference, ['K']],
  [DIMENSIONS.angle, ['deg']],
  [DIMENSIONS.soundLevel, ['dBA']],
  [DIMENSIONS.flow, ['L/h', 'm3/h']],
  [DIMENSIONS.pressure, ['Pa', 'kPa', 'bar']],
  [DIMENSIONS.speed, ['m/s']],
  [DIMENSIONS.force, ['N', 'kN']],
  [DIMENSIONS.irradiance, ['W/m2']],
  [DIMENSIONS.irradiation, ['Wh/m2', 'kWh/m2']],
  [DIMENSIONS.capacitance, ['uF', 'mF', 'F']],
  [DIMENSIONS.inductance, ['uH', 'mH', 'H']],
  [DIMENSIONS.bitRate, ['bit/s', 'kbit/s', 'Mbit/s']],
  [DIMENSIONS.resistancePerLength, ['mohm/m', 'ohm/m']],
  [DIMENSIONS.currentSquaredTime, ['A2s', 'kA2s']],
  [DIMENSIONS.ratioPerTemperature, ['%/K']],
  [DIMENSIONS.voltagePerTemperature, ['mV/K', 'V/K']],
]);

/** The unit in which JSON output gives a value of this dimension (see the command-line contract). */
const REPORT_UNITS = new Map<Dimension, string>([
  [DIMENSIONS.area, 'mm2'],
  [DIMENSIONS.volume, 'L'],
  [DIMENSIONS.flow, 'L/h'],
  [DIMENSIONS.energy, 'Wh'],
  [DIMENSIONS.charge, 'Ah'],
  [DIMENSIONS.angle, 'deg'],
  [DIMENSIONS.mass, 'kg'],
  [DIMENSIONS.time, 's'],
  [DIMENSIONS.temperature, 'degC'],
  [DIMENSIONS.bits, 'bit'],
]);

/** The symbol of the unit a dimension is reported in; `1` for plain numbers. */
export function reportUnit(dimension: Dimension): string {
  if (dimension === DIMENSIONS.ratio) return '1';
  const fixed = REPORT_UNITS.get(dimension);
  if (fixed) return fixed;
  const coherent = LADDERS.get(dimension)?.find((symbol) => {
    const candidate = unit(symbol);
    return candidate.multiply === 1 && candidate.divide === 1;
  });
  return coherent ?? coherentSymbol(dimension);
}

/** Symbols of the coherent units of the base dimensions. Source: BIPM SI Brochure, 9th edition; sound level and bits as in the units table. */
const BASE_SYMBOLS: Readonly<Record<string, string>> = {
  mass: 'kg',
  length: 'm',
  time: 's',
  current: 'A',
  temperature: 'K',
  angle: 'rad',
  sound: 'dBA',
  bits: 'bit',
};

/** The coherent unit of a dimension without a unit of its own, spelled out of base units: `1/K`, `kg·m2/s2`. */
function coherentSymbol(dimension: Dimension): string {
  const spell = ([base, exponent]: readonly [string, number]): string =>
    `${BASE_SYMBOLS[base] ?? base.replace(/^money-/, '')}${Math.abs(exponent) === 1 ? '' : Math.abs(exponent)}`;
  const order = Object.keys(BASE_SYMBOLS);
  const exponents = [...dimension.exponents].sort(([a], [b]) => order.indexOf(a) - order.indexOf(b));
  const above = exponents.filter(([, exponent]) => exponent > 0).map(spell);
  const below = exponents.filter(([, exponent]) => exponent < 0).map(spell);
  return [above.join('·') || '1', ...below].join('/');
}

/** A number with `digits` significant digits, no exponent for ordinary sizes, no trailing zeros. */
export function formatNumber(value: number, digits = 4): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const rounded = Number(value.toPrecision(digits));
  const size = Math.abs(rounded);
  return size >= 1e-4 && size < 1e9 ? trimmed(rounded, digits) : rounded.toExponential().replace('e+', 'e');
}

function trimmed(value: number, digits: number): string {
  const decimals = Math.max(0, Math.min(12, digits - 1 - Math.floor(Math.log10(Math.abs(value)))));
  const text = value.toFixed(decimals);
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

function shownUnit(q: Quantity): Unit | undefined {
  if (q.unit) return q.unit;
  const ladder = LADDERS.get(q.dimension);
  if (!ladder) return undefined;
  const size = Math.max(Math.abs(q.low), Math.abs(q.high), Math.abs(q.value));
  // 90 min reads better than 1.5 h, and 36 h better than 1.5 d: a step up waits for two of the larger unit.
  const least = q.dimension === DIMENSIONS.time ? 2 : 1;
  const units = ladder.map((symbol) => unit(symbol));
  if (size === 0) return units.find((u) => u.multiply === 1 && u.divide === 1) ?? units[0];
  return [...units].reverse().find((u) => Math.abs(fromSi(size, u)) >= least * (1 - 1e-12)) ?? units[0];
}

/** A quantity for people, with `digits` significant digits, in its own unit or the one that reads best. Ranges show as `low..high unit`. */
export function formatQuantity(q: Quantity, digits = 4): string {
  if (q.dimension === DIMENSIONS.area && !isRange(q) && (!q.unit || q.unit.symbol === 'mm2')) {
    const area = q.value * 1e6;
    if (standardSize(area) || area < 2000)
      return standardSize(area) ? sizeText(area) : `${formatNumber(area, digits)} mm2`;
  }
  const shown = shownUnit(q);
  const number = (si: number): string => formatNumber(shown ? fromSi(si, shown) : si, digits);
  const text = isRange(q) ? `${number(q.low)}..${number(q.high)}` : number(q.value);
  if (shown) return `${text} ${shown.symbol}`;
  return q.dimension === DIMENSIONS.ratio ? text : `${text} ${dimensionName(q.dimension)}`;
}

/** Two quantities of one dimension in the same unit, with as many digits as make them differ (unless they are equal). */
export function formatPair(left: Quantity, right: Quantity): readonly [string, string] {
  const larger = Math.abs(left.high) >= Math.abs(right.high) ? left : right;
  const common = left.unit ?? right.unit ?? shownUnit(larger);
  const one = { ...left, ...(common ? { unit: common } : {}) };
  const two = { ...right, ...(common ? { unit: common } : {}) };
  for (let digits = 3; digits <= 12; digits += 1) {
    const texts = [formatQuantity(one, digits), formatQuantity(two, digits)] as const;
    if (texts[0] !== texts[1] || nearlyEqual(left.value, right.value)) return texts;
  }
  return [formatQuantity(one, 15), formatQuantity(two, 15)];
}
