import { deriveFact, deriveQuantity } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import {
  DIMENSIONS,
  NotFinite,
  type Quantity,
  awgArea,
  findUnit,
  parseGauge,
  quantity,
  ratio,
  siQuantity,
  unit,
} from '../../quantity/index.js';
import { splitLiteral } from '../../syntax/tokens.js';
import type { Surroundings } from './evaluate.js';
import { type Evaluated, bad, knownValue } from './evaluated.js';
import { placeOfNode, textOf } from './place.js';

/**
 * The value of a literal as written. `sign` is that of a minus before it, which belongs to the number: -20 degC is twenty below zero, not
 * minus 293 K. A bare number adopts the unit `adopt`. Reports a number, gauge, time or date that cannot be.
 */
export function readLiteral(
  node: ast.Literal,
  { uri, report }: Pick<Surroundings, 'uri' | 'report'>,
  sign: 1 | -1 = 1,
  adopt?: string,
): Evaluated {
  const place = placeOfNode(node, uri);
  const of = (q: Quantity): Evaluated => knownValue(deriveQuantity(textOf(node), q, { origin: 'stated', place }));
  try {
    switch (node.$type) {
      case 'QuantityLiteral': {
        const { number, unit: spelling } = splitLiteral(node.text ?? '');
        const found = findUnit(spelling);
        return found ? of(quantity(sign * number, found)) : bad(`unknown unit ${spelling}`);
      }
      case 'NumberLiteral':
        return of(adopt ? quantity(sign * Number(node.text), adopt) : ratio(sign * Number(node.text)));
      case 'SizeLiteral': {
        const gauge = parseGauge((node.text ?? '').replace(/\s*AWG$/, ''));
        if (gauge === undefined) {
          report(node, {
            code: 'value-out-of-range',
            what: 'the wire gauge',
            text: textOf(node),
            reason: 'gauges go from 4/0 AWG to 40 AWG',
          });
          return bad('no such gauge');
        }
        return of(siQuantity(awgArea(gauge) / 1e6, DIMENSIONS.area));
      }
      case 'TimeLiteral': {
        const [hours, minutes] = (node.text ?? '').split(':').map(Number) as [number, number];
        if (hours > 24 || minutes > 59 || (hours === 24 && minutes > 0)) {
          report(node, {
            code: 'value-out-of-range',
            what: 'the time of day',
            text: textOf(node),
            reason: 'times of day go from 00:00 to 24:00',
          });
          return bad('no time of day');
        }
        return of(siQuantity(hours * 3600 + minutes * 60, DIMENSIONS.time, unit('h')));
      }
      case 'DateLiteral': {
        const text = node.text ?? '';
        const date = new Date(`${text}T00:00:00Z`);
        if (Number.isNaN(date.getTime()) || date.toISOString().slice(0, 10) !== text) {
          report(node, {
            code: 'value-out-of-range',
            what: 'the date',
            text,
            reason: 'there is no such day',
          });
          return bad('no such day');
        }
        return knownValue(deriveFact(text, text, { origin: 'stated', place }));
      }
      case 'TextLiteral':
        return knownValue(deriveFact('text', node.value ?? '', { origin: 'stated', place }));
      default:
        return bad('not a number');
    }
  } catch (error) {
    if (error instanceof NotFinite) {
      report(node, {
        code: 'value-out-of-range',
        what: 'the number',
        text: textOf(node),
        reason: 'it is too large to be a number',
      });
      return bad('too large');
    }
    throw error;
  }
}
