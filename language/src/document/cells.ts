import type { Derivation, Result } from '../derivation/index.js';
import { saidValue, shownValue, workedTitle } from '../explain/worked.js';
import { inPeopleUnits } from '../glossary/units-text.js';
import type { Property, Thing } from '../model/types.js';
import type { DesignContext } from '../model/context.js';
import { formatPair, formatQuantity } from '../quantity/index.js';
import { derivationOfProperty } from '../model/lower/property-facts.js';
import { type Cell, box, text } from './sheet.js';

const DIGITS = 3;

const restsOnAssumed = ({ origin, inputs }: Derivation): boolean => origin === 'assumed' || inputs.some(restsOnAssumed);

/** Makes cells, and keeps every derivation that one of them shows under a number of its own. */
export class Cells {
  private readonly numbers = new Map<Derivation, number>();
  private readonly subjects = new Map<Derivation, string>();

  constructor(private readonly context: DesignContext) {}

  /** The derivations that were shown, in the order in which they were, each with what it is of. */
  get shown(): readonly { readonly number: number; readonly title: string; readonly derivation: Derivation }[] {
    return [...this.numbers].map(([derivation, number]) => {
      const subject = this.subjects.get(derivation);
      return { number, title: workedTitle(derivation, subject), derivation };
    });
  }

  /** A value with the number of its derivation, where there is anything to derive. */
  value(derivation: Derivation): Cell {
    const isWorked = derivation.inputs.length > 0 || derivation.formula !== undefined;
    const number = isWorked ? this.numberOf(derivation) : undefined;
    return {
      kind: 'value',
      text: shownValue(derivation, DIGITS).display,
      value: derivation.value,
      unit: derivation.unit,
      ...(number === undefined ? {} : { derivation: number }),
      ...(restsOnAssumed(derivation) ? { isAssumed: true } : {}),
    };
  }

  result(result: Result): Cell {
    if (result.kind === 'known') return this.value(result.derivation);
    // What cannot be is no box to fill in.
    return result.kind === 'missing' ? box(`missing ${result.missing.join(', ')}`) : text(result.reason);
  }

  /** A computed quantity where the thing has it; nothing where it has none. */
  quantity(thing: Thing, name: Parameters<DesignContext['quantity']>[1]): Cell {
    if (!this.context.quantityNames(thing).includes(name)) return text('');
    const result = this.context.quantity(thing, name);
    if (result.kind === 'known') this.subjects.set(result.derivation, thing.name);
    return this.result(result);
  }

  /** A property as stated; a box to fill in where it is not. */
  fact(thing: Thing, name: string): Cell {
    const property = thing.properties.get(name);
    if (property) return this.property(property, thing.name);
    return thing.holes.some((hole) => hole.property === name) ? box('left open') : box();
  }

  /** A property as stated; nothing where it is not. */
  optional(thing: Thing, name: string): Cell {
    const property = thing.properties.get(name);
    return property && property.origin !== 'default' ? this.property(property, thing.name) : text('');
  }

  private property(property: Property, owner: string): Cell {
    const { value } = property;
    const isAssumed = property.origin === 'assumed' ? ({ isAssumed: true } as const) : {};
    if (value.type === 'quantity') {
      const derivation = derivationOfProperty(property, owner)!;
      return {
        kind: 'value',
        text: inPeopleUnits(formatQuantity(value.quantity)),
        value: value.quantity,
        unit: derivation.unit,
        ...isAssumed,
      };
    }
    if (value.type === 'part') return text(value.part.label ?? value.part.name);
    if (value.type === 'text') return text(value.text);
    if (value.type === 'flag') return text(value.flag ? 'yes' : 'no');
    return { kind: 'text', text: inPeopleUnits(asProse(property.text)), ...isAssumed };
  }

  private numberOf(derivation: Derivation): number {
    let number = this.numbers.get(derivation);
    if (number === undefined) this.numbers.set(derivation, (number = this.numbers.size + 1));
    return number;
  }
}

/** How far a value may be off needs no more digits than this. */
const SPREAD_DIGITS = 2;

const rounded = (value: number): number => Number(value.toPrecision(SPREAD_DIGITS));

/** How far a value may be off, in the unit in which that value is said. */
export function saidLike(spread: Derivation, of: Derivation): string {
  const [one, other] = [spread.value, of.value];
  if (typeof one !== 'object' || typeof other !== 'object' || one.dimension !== other.dimension) return said(spread);
  const spreadOnly = { ...one, value: rounded(one.value), low: rounded(one.low), high: rounded(one.high) };
  return inPeopleUnits(formatPair(spreadOnly, other)[0]);
}

/** A word, a table or a list as a sheet shows it: `07:00–07:30 100 %, 19:00–19:30 100 %` without the marks of the language. */
const asProse = (written: string): string =>
  written
    .replace(/^assumed\s+/, '')
    .replace(/^\{\s*([^]*?)\s*,?\s*\}$/, (_, rows: string) => rows.replace(/:\s+/g, ' ').replace(/\s+/g, ' '))
    .replace(/(\d)\s*\.\.\s*(\d)/g, '$1–$2');

/** A value in a sentence. */
export const said = (derivation: Derivation): string => saidValue(derivation, DIGITS);
