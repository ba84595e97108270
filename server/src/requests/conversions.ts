import {
  AWG_SERIES,
  DIMENSIONS,
  METRIC_SERIES,
  type Quantity,
  awgArea,
  findUnit,
  formatNumber,
  fromSi,
  inUnit,
  neighbours,
  parseGauge,
  quantity,
  sameSize,
  splitLiteral,
  unitsOf,
} from '@wattwright/language';

const MOST_OTHERS = 5;

/** The quantity a literal stands for; undefined when its unit or gauge is none. */
export function literalQuantity(text: string): Quantity | undefined {
  const gauge = /^(\S+?)[ \t]*AWG$/.exec(text);
  if (gauge) {
    const number = parseGauge(gauge[1]!);
    return number === undefined ? undefined : quantity(awgArea(number), 'mm2');
  }
  const { number, unit: spelling } = splitLiteral(text);
  const unit = findUnit(spelling);
  return unit && Number.isFinite(number) ? quantity(number, unit) : undefined;
}

/** The same value in other units, the most readable first: `4 AWG` gives mm² and kcmil, `50 ft` gives metres. */
export function otherUnits(text: string): string[] {
  const value = literalQuantity(text);
  if (!value) return [];
  if (value.dimension === DIMENSIONS.area) return conductorSizes(inUnit(value, 'mm2'), text);
  const own = value.unit;
  if (!own || value.dimension === DIMENSIONS.ratio) return [];
  return unitsOf(value.dimension)
    .filter((unit) => unit.symbol !== own.symbol && unit.flavour === own.flavour)
    .map((unit) => ({ unit, number: fromSi(value.value, unit) }))
    .filter(({ number }) => number === 0 || (Math.abs(number) >= 0.01 && Math.abs(number) < 100_000))
    .sort((left, right) => readability(left.number) - readability(right.number))
    .slice(0, MOST_OTHERS)
    .map(({ unit, number }) => `${formatNumber(number)} ${unit.symbol}`);
}

/** Numbers between 1 and 1000 read best. */
const readability = (number: number): number => Math.abs(Math.log10(Math.abs(number) || 1) - 1.5);

function conductorSizes(area: number, text: string): string[] {
  const sizes = [`${formatNumber(area)} mm2`, `${formatNumber(inUnit(quantity(area, 'mm2'), 'kcmil'))} kcmil`];
  for (const series of [AWG_SERIES, METRIC_SERIES]) {
    const same = series.find((size) => sameSize(size.area, area));
    if (same) {
      sizes.push(same.name);
      continue;
    }
    const { below, above } = neighbours(area, series);
    const around = [below, above].flatMap((size) =>
      size ? [size.name.endsWith('mm2') ? size.name : `${size.name} (${formatNumber(size.area)} mm2)`] : [],
    );
    sizes.push(`between ${around.join(' and ')}`);
  }
  const written = text.replace(/\s+/g, ' ');
  return [...new Set(sizes)].filter(
    (size) => size !== written && !(size.startsWith('between') && !size.includes(' and ')),
  );
}
