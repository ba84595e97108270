import { DIMENSIONS, type Dimension, type Unit, dimensionName } from '../quantity/index.js';
import { code, page, table } from './markdown.js';

const CURRENCY = /^money in /;

/** What one of a unit is worth in the coherent SI unit, as exactly as the table states it. */
function worth(unit: Unit): string {
  if (unit.dimension === DIMENSIONS.area && unit.symbol === 'AWG') return 'gauge number';
  const factor =
    unit.divide === 1
      ? `${unit.multiply}`
      : unit.multiply === 1
        ? `1/${unit.divide}`
        : `${unit.multiply}/${unit.divide}`;
  return unit.offset === 0 ? factor : `${factor} · n ${unit.offset < 0 ? '−' : '+'} ${Math.abs(unit.offset)}`;
}

/** `language/UNITS.md`: every unit by dimension, with factor and source. */
export function unitsPage(units: readonly Unit[]): string {
  const isCurrency = (unit: Unit): boolean => CURRENCY.test(dimensionName(unit.dimension));
  const physical = units.filter((unit) => !isCurrency(unit));
  const currencies = units.filter(isCurrency);
  const dimensions = [...new Set<Dimension>(physical.map((unit) => unit.dimension))];
  return page([
    '# Units',
    '<!-- Made from the units table by `npm run docs`. Do not edit. -->',
    'A unit stands after its number, with or without a space. Units may be multiplied and divided (`W/m2`, `mV/K`, `A·s`). The factor says how much one of the unit is worth in the coherent SI unit of its dimension; temperature readings (`degC`, `degF`) are affine and differences are `K`.',
    ...dimensions.flatMap((dimension) => [
      `## ${capital(dimensionName(dimension))}`,
      table(
        ['unit', 'also written', 'name', 'factor', 'source'],
        physical
          .filter((unit) => unit.dimension === dimension)
          .map((unit) => [
            code(unit.symbol),
            unit.aliases.map(code).join(' '),
            unit.flavour ? `${unit.name} (${unit.flavour})` : unit.name,
            worth(unit),
            unit.source,
          ]),
      ),
    ]),
    '## Money',
    `Amounts carry an ISO 4217 code and are never converted: ${currencies.map((unit) => code(unit.symbol)).join(' ')}.`,
  ]);
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
