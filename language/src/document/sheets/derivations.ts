import type { Derivation } from '../../derivation/index.js';
import { shownValue, workedLines } from '../../explain/worked.js';
import { inPeopleUnits } from '../../glossary/units-text.js';
import type { SheetInput } from '../input.js';
import type { Block, Sheet } from '../sheet.js';

const DIGITS = 4;

/**
 * For the reviewer: how every number of the sheets came about, under the number by which they refer to it. Each calculation is worked out
 * once: where another rests on it, it is named with its number. Made last.
 */
export function derivationsSheet({ cells }: SheetInput): Sheet {
  const same = new Sameness();
  const { shown } = cells;
  const numbers = new Map<number, number>();
  for (const { number, derivation } of shown)
    if (!numbers.has(same.of(derivation))) numbers.set(same.of(derivation), number);
  /** Inputs that no sheet shows, by the number under which they were worked out first. */
  const within = new Map<number, number>();
  return {
    name: 'derivations',
    title: 'Derivations',
    reader: 'reviewer',
    blocks: shown.map(({ number, title, derivation }): Block => {
      const elsewhere = (input: Derivation): string | undefined => {
        const id = same.of(input);
        const found = numbers.get(id) ?? within.get(id);
        if (found !== undefined && found !== number) return `[${found}]`;
        within.set(id, number);
        return undefined;
      };
      return {
        kind: 'worked',
        number,
        title,
        lines: workedLines(derivation, { digits: DIGITS, elsewhere }).map(({ depth, text, kind }) => ({
          depth,
          text: inPeopleUnits(text),
          isValue: kind === 'value',
        })),
      };
    }),
  };
}

/** Tells which derivations are worked out alike: same names, values and formulas all the way down, whatever symbol they have in a formula. */
class Sameness {
  private readonly ids = new Map<string, number>();
  private readonly known = new Map<Derivation, number>();

  of(derivation: Derivation): number {
    const before = this.known.get(derivation);
    if (before !== undefined) return before;
    const { name, formula = '', inputs, notes } = derivation;
    const { display, range = '' } = shownValue(derivation, DIGITS);
    const key = JSON.stringify([name, display, range, formula, notes, inputs.map((input) => this.of(input))]);
    const id = this.ids.get(key) ?? this.ids.size;
    this.ids.set(key, id);
    this.known.set(derivation, id);
    return id;
  }
}
