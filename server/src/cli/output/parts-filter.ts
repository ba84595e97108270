import {
  DIMENSIONS,
  type Derivation,
  PART_KINDS,
  type Part,
  type Property,
  kindOf,
  nearest,
} from '@wattwright/language';
import { CallError } from '../call-error.js';

/** Whether a part is asked for. */
export type PartFilter = (part: Part) => boolean;

const COMPARISON = /^\s*([A-Za-z]\w*)\s*(<=|>=|=|<|>)\s*(.+?)\s*$/;

/** Works out a value such as `100 Ah`; throws where it is none. */
export type Evaluate = (expression: string) => Derivation;

/**
 * What `wattwright parts` was asked for, one filter for each argument: a kind (`battery`), a comparison of a rating (`capacity>=100 Ah`,
 * `chemistry=lfp`), or a word that stands in the name or label.
 */
export function partFilter(asked: string, evaluate: Evaluate): PartFilter {
  if (PART_KINDS.includes(asked)) return ({ kind }) => kind === asked;
  const [, name, sign, given] = COMPARISON.exec(asked) ?? [];
  if (name === undefined) {
    if (/[<>=]/.test(asked))
      throw new CallError(`${asked} compares nothing; write a rating first, as in 'capacity>=100 Ah'`);
    const word = asked.toLowerCase();
    return (part) => part.name.toLowerCase().includes(word) || (part.label ?? '').toLowerCase().includes(word);
  }
  const properties = PART_KINDS.flatMap((kind) => kindOf(kind)?.properties ?? []).filter((each) => each.name === name);
  if (properties.length === 0) {
    const all = PART_KINDS.flatMap((kind) => (kindOf(kind)?.properties ?? []).map((each) => each.name));
    const [near] = nearest(name, all);
    throw new CallError(`no part has a rating ${name}${near === undefined ? '' : `; did you mean ${near}?`}`);
  }
  const isNumber = properties.some(({ type }) => type.type === 'quantity');
  if (!isNumber) {
    if (sign !== '=') throw new CallError(`${name} is no number; it can only be compared with =`);
    return ({ properties: own }) => isWord(own.get(name), given!);
  }
  const wanted = evaluate(given!);
  const { value } = wanted;
  if (typeof value !== 'object') throw new CallError(`${given!} is no number with a unit, as in 100 Ah`);
  const fits = properties.some(
    ({ type }) =>
      type.type === 'quantity' && type.dimensions.some((each) => DIMENSIONS[each].key === value.dimension.key),
  );
  if (!fits) throw new CallError(`${given!} is of another kind than ${name}; give it with its unit, as a design would`);
  return ({ properties: own }) => {
    const rating = own.get(name)?.value;
    if (rating?.type !== 'quantity' || rating.quantity.dimension.key !== value.dimension.key) return false;
    return compares(rating.quantity, sign as Sign, value);
  };
}

type Sign = '<' | '<=' | '=' | '>=' | '>';

interface Range {
  readonly low: number;
  readonly high: number;
}

/** Numbers that differ by rounding alone count as equal. */
const SLACK = 1e-9;

/** A rating that is a range fits where all of it does; with `=` where the value lies in it. */
function compares({ low, high }: Range, sign: Sign, wanted: Range): boolean {
  const slack = SLACK * Math.max(Math.abs(wanted.low), Math.abs(wanted.high));
  switch (sign) {
    case '<':
      return high < wanted.low - slack;
    case '<=':
      return high <= wanted.low + slack;
    case '>':
      return low > wanted.high + slack;
    case '>=':
      return low >= wanted.high - slack;
    case '=':
      return low <= wanted.high + slack && high >= wanted.low - slack;
  }
}

function isWord(property: Property | undefined, wanted: string): boolean {
  const value = property?.value;
  switch (value?.type) {
    case 'word':
      return value.word === wanted;
    case 'words':
      return value.words.includes(wanted);
    case 'flag':
      return (value.flag ? 'yes' : 'no') === wanted;
    case 'part':
      return value.part.name === wanted;
    case 'text':
    case 'date':
    case 'system':
      return property!.text.replaceAll('"', '').toLowerCase() === wanted.toLowerCase();
    default:
      return false;
  }
}
