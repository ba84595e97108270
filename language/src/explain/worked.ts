import { governingText } from '../glossary/reason-text.js';
import { inPeopleUnits } from '../glossary/units-text.js';
import { type Derivation, displayValue, sourceText } from '../derivation/index.js';
import { type Quantity, formatQuantity, isRange } from '../quantity/index.js';

/** What one line of a worked calculation says. */
export type WorkedLineKind = 'value' | 'formula' | 'numbers' | 'part' | 'governing' | 'source' | 'note';

/** One line of a worked calculation; `depth` is how deep in the tree of inputs it stands. */
export interface WorkedLine {
  readonly kind: WorkedLineKind;
  readonly depth: number;
  readonly text: string;
  /** For value lines: what it is, its value, and what is said of its origin. */
  readonly value?: { readonly label: string; readonly shown: string; readonly remark: string };
}

export interface WorkedOptions {
  readonly digits?: number;
  /** Says where a stated value stands in the text; undefined leaves that out. */
  readonly placeText?: (place: NonNullable<Derivation['place']>) => string | undefined;
  /** Where an input is worked out apart, such as `[12]`: it is then named and not worked out again. */
  readonly elsewhere?: (input: Derivation) => string | undefined;
}

/** Deeper inputs than this are left to the machine-readable output. */
const DEEPEST = 40;

const asPoint = (q: Quantity): Quantity => ({ ...q, low: q.value, high: q.value });

interface Shown {
  readonly display: string;
  readonly range?: string;
}

/** The value of a derivation for people, in the units that they write: `25 °C`. Nothing reads it back; texts of the language come from `formatQuantity`. */
export const saidValue = (derivation: Derivation, digits = 4): string =>
  inPeopleUnits(displayValue(derivation, digits));

/** The heading of a worked calculation: what it is, and of what thing where its name does not say that already. */
export const workedTitle = ({ name }: Derivation, subject: string | undefined): string =>
  subject === undefined || name.includes(subject) ? name : `${name} of ${subject}`;

/**
 * The value of a derivation for people: the governing end of a range, with the whole range beside it, or the range itself where
 * neither end governs.
 */
export function shownValue(derivation: Derivation, digits = 4): Shown {
  const { display, range } = writtenValue(derivation, digits);
  return { display: inPeopleUnits(display), ...(range === undefined ? {} : { range: inPeopleUnits(range) }) };
}

/** The same in the units of the language. */
function writtenValue(derivation: Derivation, digits: number): Shown {
  const { value } = derivation;
  if (typeof value !== 'object' || !isRange(value)) return { display: displayValue(derivation, digits) };
  const whole = formatQuantity(value, digits);
  const atAnEnd = value.value === value.low || value.value === value.high;
  return atAnEnd ? { display: formatQuantity(asPoint(value), digits), range: whole } : { display: whole };
}

const escapeRegExp = (text: string): string => text.replace(/[.*+?^${}()|[\]\\/-]/g, '\\$&');

/** Words that are no symbols of inputs: what formulas call. */
const FORMULA_FUNCTIONS = new Set(
  'min max abs sqrt round ceil floor ln log exp sin cos tan acos asin atan if and or'.split(' '),
);

/**
 * The formula with the values of the inputs in place of their symbols; undefined unless every symbol has its value, since half a
 * calculation explains nothing.
 */
export function numbersInFormula(derivation: Derivation, digits = 4): string | undefined {
  const { formula } = derivation;
  if (!formula) return undefined;
  const values = new Map<string, string[]>();
  for (const input of derivation.inputs)
    if (input.symbol)
      values.set(input.symbol, [...(values.get(input.symbol) ?? []), shownValue(input, digits).display]);
  const symbols = [...values.keys()].sort((a, b) => b.length - a.length).map(escapeRegExp);
  if (symbols.length === 0) return undefined;
  const letter = "[\\p{L}\\p{M}\\p{Nd}_₀-₉′']";
  const pattern = new RegExp(`(?<!${letter})(?:${symbols.join('|')})(?!${letter})`, 'gu');
  // A formula may say what it yields: `ΔU = I · R`. The values belong to the right side.
  const right = formula.replace(/^[^=<>≤≥]*=\s*/u, '');
  const left = right.replace(pattern, '').match(/\p{L}[\p{L}\p{M}\p{Nd}_]*/gu) ?? [];
  if (left.some((word) => !FORMULA_FUNCTIONS.has(word))) return undefined;
  // Inputs that share a letter stand in their order, and only where each of them has its place.
  const places = new Map<string, number>();
  for (const [symbol] of right.matchAll(pattern)) places.set(symbol, (places.get(symbol) ?? 0) + 1);
  const isOne = (shown: readonly string[]): boolean => new Set(shown).size === 1;
  for (const [symbol, shown] of values)
    if (!isOne(shown) && places.has(symbol) && places.get(symbol) !== shown.length) return undefined;
  const next = new Map<string, number>();
  return right.replace(pattern, (symbol, at: number) => {
    const all = values.get(symbol)!;
    const index = next.get(symbol) ?? 0;
    next.set(symbol, index + 1);
    const shown = isOne(all) ? all[0]! : all[index]!;
    const raised = /^\s*[²³^]/u.test(right.slice(at + symbol.length));
    return raised || /^[-−]|\.\./.test(shown) ? `(${shown})` : shown;
  });
}

function originText(derivation: Derivation, options: WorkedOptions): string {
  const at = derivation.place && options.placeText?.(derivation.place);
  switch (derivation.origin) {
    case 'stated':
      return at ?? '';
    case 'assumed':
      return at ? `assumed, ${at}` : 'assumed';
    case 'default':
      return 'default';
    case 'table':
      return 'table';
    case 'computed':
      return '';
  }
}

/** A number written in the expression itself, such as the 2 of `2 * 3 A`: the formula's numbers show it already. */
const isBareLiteral = (step: Derivation, digits: number): boolean =>
  step.symbol === undefined &&
  step.formula === undefined &&
  step.inputs.length === 0 &&
  step.origin === 'stated' &&
  step.name === writtenValue(step, digits).display;

/**
 * A derivation as an indented worked calculation: each value with its formula, the numbers put in, what governed and the source,
 * then its inputs one step deeper. What was worked out further up is not repeated.
 */
export function workedLines(derivation: Derivation, options: WorkedOptions = {}): readonly WorkedLine[] {
  const digits = options.digits ?? 4;
  const lines: WorkedLine[] = [];
  const seen = new Set<Derivation>();
  const visit = (step: Derivation, depth: number): void => {
    const { display, range } = shownValue(step, digits);
    // A literal is named by its own text; saying it twice helps nobody.
    const written = writtenValue(step, digits);
    const name = step.name === written.display || step.name === written.range ? '' : inPeopleUnits(step.name);
    const label = [name, step.symbol === step.name ? '' : (step.symbol ?? '')].filter(Boolean).join(' ');
    const hasWork = step.inputs.length > 0 || step.formula !== undefined;
    const again = hasWork && seen.has(step);
    const elsewhere = hasWork && depth > 0 && !again ? options.elsewhere?.(step) : undefined;
    const remark = [
      range ? `range ${range}` : '',
      originText(step, options),
      again ? 'worked out above' : '',
      elsewhere === undefined ? '' : `see ${elsewhere}`,
    ]
      .filter(Boolean)
      .join('; ');
    const add = (kind: WorkedLineKind, text: string): void =>
      void lines.push({ kind, depth: depth + 1, text: inPeopleUnits(text) });
    lines.push({
      kind: 'value',
      depth,
      text: `${label ? `${label} = ` : ''}${display}${remark ? ` (${remark})` : ''}`,
      value: { label, shown: display, remark },
    });
    if (again || elsewhere !== undefined || depth >= DEEPEST) return;
    seen.add(step);
    if (step.formula) {
      const assigned = /^[^=<>≤≥]+=/u.test(step.formula);
      add('formula', assigned || !step.symbol ? step.formula : `${step.symbol} = ${step.formula}`);
      const numbers = numbersInFormula(step, digits);
      // A single term repeats the value that stands above.
      if (numbers !== undefined && numbers !== display) add('numbers', `= ${numbers}`);
    }
    const parts = Object.entries(step.parts).map(([name, part]) => `${name} = ${shownValue(part, digits).display}`);
    if (parts.length > 0) add('part', parts.join(', '));
    const governing = governingText(step);
    if (governing) add('governing', governing);
    if (step.source) add('source', sourceText(step.source));
    for (const note of step.notes) add('note', note);
    for (const input of step.inputs) if (!isBareLiteral(input, digits)) visit(input, depth + 1);
  };
  visit(derivation, 0);
  return lines;
}
