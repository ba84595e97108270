import { type Derivation, type Result, derive, known, missing } from '../../derivation/index.js';
import { fromSi, unit as unitNamed, raise } from '../../quantity/index.js';
import { evaluate } from './fast.js';
import { type Bound, Constant, Leaf, type Least, Named, Pair, Raised, type Term } from './term.js';

/** Facts at the point wanted; undefined where one is not stated. */
export type FactOf = (leaf: Leaf) => Derivation | undefined;

interface Reading {
  readonly value: number;
  readonly text: string;
  /** Whether the text needs no brackets as a factor. */
  readonly isTight: boolean;
  readonly inputs: readonly Derivation[];
}

const SIGNS = { plus: ' + ', minus: ' − ', times: '·', over: '/' } as const;

const inUnitOf = (si: number, unit: string): number => (unit === '' ? si : fromSi(si, unitNamed(unit)));

const siOf = (derivation: Derivation | undefined): number =>
  derivation && typeof derivation.value === 'object' ? derivation.value.value : NaN;

/**
 * A formula as a derivation: value, formula text, inputs, and of several bounds the one that governs, by kind. What lacks is named as the
 * facts name it. `subject` is the name of the thing whose formula it is.
 */
export function worked(term: Named | Least, subject: string, of: FactOf, lackingName: (leaf: Leaf) => string): Result {
  const reader = new Reader(subject, of);
  const { inputs, value } = reader.read(term);
  if (reader.lacking.size > 0) return missing(...[...reader.lacking].map(lackingName));
  if (!Number.isFinite(value)) return missing(`a bound of ${subject}`);
  return known(inputs[0]!);
}

class Reader {
  readonly lacking = new Set<Leaf>();

  constructor(
    private readonly subject: string,
    private readonly of: FactOf,
  ) {}

  read(term: Term): Reading {
    if (term instanceof Leaf) return this.fact(term);
    if (term instanceof Constant) return { value: term.value, text: term.text, isTight: true, inputs: [] };
    if (term instanceof Pair) return this.pair(term);
    if (term instanceof Raised) return this.raised(term);
    if (term instanceof Named) return this.step(term);
    return this.least(term);
  }

  private fact(leaf: Leaf): Reading {
    const stated = this.of(leaf);
    const value = siOf(stated);
    if (!stated || Number.isNaN(value)) {
      this.lacking.add(leaf);
      return { value: NaN, text: leaf.symbol, isTight: true, inputs: [] };
    }
    return { value, text: leaf.symbol, isTight: true, inputs: [{ ...stated, symbol: leaf.symbol }] };
  }

  private pair({ operation, left, right }: Pair): Reading {
    const [a, b] = [this.read(left), this.read(right)];
    const inputs = [...a.inputs, ...b.inputs];
    const value = evaluate(
      new Pair(
        operation,
        left.dimension,
        new Constant(a.value, left.dimension, ''),
        new Constant(b.value, right.dimension, ''),
      ),
      () => NaN,
    );
    if (operation === 'atMost' || operation === 'atLeast')
      return { value, text: `${operation === 'atMost' ? 'min' : 'max'}(${a.text}, ${b.text})`, isTight: true, inputs };
    const isProduct = operation === 'times' || operation === 'over';
    const inBrackets = ({ text, isTight }: Reading, needed: boolean): string =>
      needed && !isTight ? `(${text})` : text;
    const isQuotientOfProduct = operation === 'over' && b.text.includes('·');
    return {
      value,
      text: `${inBrackets(a, isProduct)}${SIGNS[operation]}${isQuotientOfProduct ? `(${b.text})` : inBrackets(b, isProduct || operation === 'minus')}`,
      isTight: isProduct,
      inputs,
    };
  }

  private raised({ base, exponent }: Raised): Reading {
    const { value, text, inputs } = this.read(base);
    const isPlain = /^[\p{L}\p{N}_,₀-₉.]+$/u.test(text);
    return {
      value: raise(value, exponent),
      text: `${isPlain ? text : `(${text})`}^${exponent}`,
      isTight: true,
      inputs,
    };
  }

  private step({ of, name, symbol, unit }: Named): Reading {
    const inner = this.read(of);
    if (!Number.isFinite(inner.value)) return inner;
    return asStep(
      derive(name, inUnitOf(inner.value, unit), unit, { symbol, formula: inner.text, inputs: once(inner.inputs) }),
    );
  }

  private least({ name, symbol, unit, bounds }: Least): Reading {
    const active = bounds.filter(({ when }) => this.of(when));
    const nothing = { value: NaN, text: symbol, isTight: true, inputs: [] };
    if (active.length === 0) {
      for (const { when } of bounds.slice(0, 2)) this.lacking.add(when);
      return nothing;
    }
    // Plain numbers find what governs; only that is worked out, the others when somebody looks at them.
    const plain = (leaf: Leaf): number => siOf(this.of(leaf));
    let governs: { readonly bound: Bound; readonly value: number } | undefined;
    const parts: Record<string, Derivation> = {};
    for (const bound of active) {
      const value = evaluate(bound.term, plain);
      if (!Number.isFinite(value)) {
        this.read(bound.term);
        continue;
      }
      if (active.length > 1 && !(bound.kind in parts && value > governs!.value)) this.addPart(parts, bound, unit);
      if (!governs || value < governs.value) governs = { bound, value };
    }
    if (!governs) return nothing;
    const at = this.read(governs.bound.term);
    const value = Math.max(0, at.value);
    return asStep(
      derive(name, inUnitOf(value, unit), unit, {
        symbol,
        formula: at.text,
        inputs: once(at.inputs),
        parts,
        governing: [
          { kind: 'bound', bound: value > at.value ? 'nothingLeft' : governs.bound.kind, subject: this.subject },
        ],
      }),
    );
  }

  private addPart(parts: Record<string, Derivation>, { kind, term }: Bound, unit: string): void {
    const { subject, of } = this;
    let made: Derivation | undefined;
    Object.defineProperty(parts, kind, {
      enumerable: true,
      // Of two bounds of one kind the one that governs stands here, else the later.
      configurable: true,
      get: (): Derivation => {
        if (!made) {
          const { value, text, inputs } = new Reader(subject, of).read(term);
          made = derive(`bound by ${kind}`, inUnitOf(value, unit), unit, { formula: text, inputs: once(inputs) });
        }
        return made;
      },
    });
  }
}

const asStep = (derivation: Derivation): Reading => ({
  value: siOf(derivation),
  text: derivation.symbol ?? derivation.name,
  isTight: true,
  inputs: [derivation],
});

/** Each input once, by its symbol. */
const once = (inputs: readonly Derivation[]): readonly Derivation[] =>
  inputs.length < 2 ? inputs : [...new Map(inputs.map((each) => [each.symbol ?? each.name, each])).values()];
