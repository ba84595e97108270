import { type AstNode, AstUtils } from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import {
  DIMENSIONS,
  type Dimension,
  type Quantity,
  type Unit,
  formatPercent,
  isRange,
  siQuantity,
} from '../../quantity/index.js';
import type {
  Comparison,
  ComparisonSign,
  Condition,
  RuleSignal,
  Signal,
  SignalTerm,
  StateSignal,
} from '../conditions.js';
import { comparisonsOf, signalKey } from '../conditions.js';
import type { ProblemFacts } from '../problems.js';
import { nominalVolts } from '../network.js';
import type { Instance } from '../types.js';
import type { Evaluated } from './evaluated.js';
import { textOf } from './place.js';
import {
  CLOCK_SIGNALS,
  LOST,
  ON_DUTY,
  PERMISSIONS,
  PLAIN_SIGNALS,
  RUN_TIME,
  SCENARIO_RESULTS,
  STATE_SIGNALS,
  isConditionWord,
  isPermission,
  signalDimension,
} from './signals.js';
import { isBank } from '../roles.js';
import { kindsThat, mayBurnFuel, maySupplyAlternating } from '../../equipment/index.js';

/** What reading a condition needs to know of the design around it. */
export interface ConditionScope {
  readonly evaluate: (node: ast.Expression) => Evaluated;
  readonly report: (node: AstNode, facts: ProblemFacts, at?: Place) => void;
  readonly place: (node: AstNode) => Place;
  /** The thing a path begins with: an instance, or anything else of the design. */
  readonly thing: (path: ast.Path) => { readonly kind: string; readonly name: string } | undefined;
  /** The `let` of this design that a path stands for. */
  readonly letOf: (path: ast.Path) => ast.Let | undefined;
  /** Whether a path or call is worked out from the whole design, which is later than rules are read. */
  readonly isComputed: (node: ast.Path | ast.Call) => boolean;
}

/** What came of reading a condition; what is wrong has been reported. */
export type ReadCondition =
  | { readonly kind: 'condition'; readonly condition: Condition }
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | { readonly kind: 'wrong' };

/** A sum of signals and a constant, while it is put together. Numbers in coherent SI. */
interface Linear {
  readonly terms: readonly SignalTerm[];
  readonly low: number;
  readonly value: number;
  readonly high: number;
  /** The unit in which the constant was written, when one literal or property stands for it. */
  readonly unit?: Unit;
}

const SIGNS: readonly string[] = ['<', '<=', '>', '>=', '==', '!='];

const FLIPPED: Readonly<Record<ComparisonSign, ComparisonSign>> = {
  '<': '>',
  '<=': '>=',
  '>': '<',
  '>=': '<=',
  '==': '==',
  '!=': '!=',
};

/** Values that rest on one another may be followed this deep, and a condition may hold so many comparisons, so that no text can run away. */
const DEEPEST = 200;
const MOST_COMPARISONS = 100;

/** What a rule may be, in words for messages. */
const FORM = 'signals compared with constants, such as soc(Bank) < 40 %, joined by `and`, `or` and `not`';

/** Reads the condition of a rule or of quiet hours into a tree. Types are taken as checked: the expression has been evaluated before. */
export class ConditionReader {
  private readonly missing = new Set<string>();
  private isFaulty = false;
  private depth = 0;
  private readonly watching = new Map<AstNode, boolean>();
  /** Values of the design that were read, since they may double one another. */
  private readonly conditions = new Map<AstNode, Condition | undefined>();
  private readonly sums = new Map<AstNode, Linear | undefined>();

  /** `what` names the condition in messages: what stands after `when`. */
  constructor(
    private readonly scope: ConditionScope,
    private readonly what: string,
  ) {}

  read(node: ast.Expression): ReadCondition {
    const condition = this.condition(node);
    if (this.isFaulty) return { kind: 'wrong' };
    if (this.missing.size > 0) return { kind: 'missing', missing: [...this.missing] };
    return condition ? { kind: 'condition', condition } : { kind: 'wrong' };
  }

  private wrong(node: AstNode | undefined, expected = FORM, what = this.what): undefined {
    this.isFaulty = true;
    if (node) this.scope.report(node, { code: 'wrong-type', what, expected, text: textOf(node), proposals: [] });
    return undefined;
  }

  private tooMuch(node: AstNode, reason: string): undefined {
    this.isFaulty = true;
    this.scope.report(node, { code: 'value-out-of-range', what: this.what, text: '…', reason });
    return undefined;
  }

  private condition(node: ast.Expression | undefined): Condition | undefined {
    switch (node?.$type) {
      case 'Group':
        return this.condition(node.inner);
      case 'Logic':
        return this.joined(node);
      case 'Unary': {
        if (node.operator !== 'not') return this.wrong(node);
        const of = this.condition(node.operand);
        return of && { type: 'not', of, place: this.scope.place(node) };
      }
      case 'Arithmetic':
        return SIGNS.includes(node.operator) ? this.comparison(node) : this.wrong(node);
      case 'Call':
        if (node.function === LOST) return this.lost(node);
        if (node.function === ON_DUTY) return this.onDuty(node);
        return isPermission(node.function ?? '') ? this.permission(node) : this.wrong(node);
      case 'Path': {
        const value = this.named(node);
        if (!value || !this.watches(value)) return this.wrong(node);
        return this.once(this.conditions, value, node, () => this.condition(value));
      }
      default:
        return this.wrong(node);
    }
  }

  /** `lost(Mains)`: the voltage of a supply is below half of its nominal value. */
  private lost(node: ast.Call): Condition | undefined {
    const [argument, second] = node.arguments ?? [];
    const path = argument?.value;
    const what = `the argument of \`${LOST}\``;
    const thing = path?.$type === 'Path' && (path.steps ?? []).length === 0 ? this.scope.thing(path) : undefined;
    if (second) return this.wrong(second.value ?? node, 'the only one', what);
    if (thing?.kind === 'link')
      return this.wrong(
        path,
        `a supply (what holds while a link is lost belongs in \`without ${thing.name} { … }\`)`,
        what,
      );
    const voltage = thing && 'terminals' in thing ? (thing as Instance).properties.get('voltage') : undefined;
    if (!thing || !('terminals' in thing) || !SUPPLIES.includes(thing.kind))
      return this.wrong(
        path ?? node,
        'a grid, generator or vehicle of this design that gives alternating current',
        what,
      );
    if (voltage?.value.type !== 'system') {
      this.missing.add(`voltage of ${thing.name}`);
      return undefined;
    }
    return {
      type: 'comparison',
      terms: [{ factor: 1, signal: { kind: 'of', signal: 'voltage', of: thing as Instance } }],
      comparison: '<',
      limit: siQuantity(nominalVolts(voltage.value.system) / 2, DIMENSIONS.voltage),
      place: this.scope.place(node),
      limitPlace: this.scope.place(node),
    };
  }

  /** `mayCharge(Bank)`: the management of the bank lets it be charged. */
  private permission(node: ast.Call): Condition | undefined {
    const read = readSignal(node, this.scope.thing);
    if (!('signal' in read)) return this.wrong(read.node, read.expected, read.what);
    return {
      type: 'comparison',
      terms: [{ factor: 1, signal: read.signal }],
      comparison: '>',
      limit: siQuantity(0.5, DIMENSIONS.ratio),
      place: this.scope.place(node),
      limitPlace: this.scope.place(node),
    };
  }

  /** `onDuty(SetA, SetB, 7 d)`: it is the turn of the first. Turns follow the order of the design, so that each names itself first. */
  private onDuty(node: ast.Call): Condition | undefined {
    const given = (node.arguments ?? []).map(({ value }) => value);
    const [length, paths] = [given.at(-1), given.slice(0, -1)];
    const form = `generators of this design and the days of a turn, as in \`${ON_DUTY}(SetA, SetB, 7 d)\``;
    const what = `an argument of \`${ON_DUTY}\``;
    if (!length || paths.length < 2) return this.wrong(node, form, `what is in \`${ON_DUTY}\``);
    const sets: Instance[] = [];
    for (const path of paths) {
      const thing = path?.$type === 'Path' && (path.steps ?? []).length === 0 ? this.scope.thing(path) : undefined;
      if (!thing || !('terminals' in thing) || !SETS.includes(thing.kind))
        return this.wrong(path ?? node, 'a generator of this design', what);
      if (sets.includes(thing as Instance)) return this.wrong(path, 'each stated once', what);
      sets.push(thing as Instance);
    }
    const every = this.constant(length);
    if (!every) return undefined;
    const days = every.value / DAY;
    if (every.unit?.dimension !== DIMENSIONS.time || every.low !== every.high || days < 1 || !Number.isInteger(days))
      return this.wrong(length, 'a whole number of days', what);
    const inOrder = [...sets].sort((a, b) => a.place.offset - b.place.offset);
    return {
      type: 'comparison',
      terms: [{ factor: 1, signal: { kind: 'clock', signal: 'duty', days, among: sets.length } }],
      comparison: '==',
      limit: siQuantity(inOrder.indexOf(sets[0]!), DIMENSIONS.ratio),
      place: this.scope.place(node),
      limitPlace: this.scope.place(node),
    };
  }

  private joined(node: ast.Logic): Condition | undefined {
    const type = node.operator === 'and' ? 'all' : 'any';
    // Both sides are read, so that everything that lacks is named.
    const sides = [this.condition(node.left), this.condition(node.right)];
    const of = sides.flatMap((side) => (side === undefined ? [] : side.type === type ? side.of : [side]));
    if (sides.includes(undefined)) return undefined;
    const joined: Condition = { type, of, place: this.scope.place(node) };
    return comparisonsOf(joined).length > MOST_COMPARISONS
      ? this.tooMuch(node, `it holds more than ${MOST_COMPARISONS} comparisons`)
      : joined;
  }

  private comparison(node: ast.Arithmetic): Condition | undefined {
    if (!this.watches(node.left) && !this.watches(node.right)) return this.wrong(node);
    const left = this.linear(node.left);
    const right = this.linear(node.right);
    if (!left || !right) return undefined;
    const terms = merged([...left.terms, ...right.terms.map(({ factor, signal }) => ({ factor: -factor, signal }))]);
    if (terms.length === 0) return this.wrong(node, 'a comparison in which the signals do not cancel out');
    const [only] = terms;
    const scale = terms.length === 1 ? only!.factor : 1;
    const unit = left.terms.length === 0 ? left.unit : right.unit;
    const bounds = [(right.low - left.high) / scale, (right.high - left.low) / scale].sort((a, b) => a - b);
    const value = (right.value - left.value) / scale;
    const factors = terms.length === 1 ? [1] : terms.map(({ factor }) => factor);
    if (![...bounds, value, ...factors].every(Number.isFinite))
      return this.tooMuch(node, 'the limit is not a finite number');
    const dimension = this.dimension(node, terms);
    if (!dimension) return this.wrong(node);
    const limitNode = !this.watches(node.left) ? node.left : node.right;
    const limit = withBounds(value, bounds as [number, number], dimension, unit);
    if (terms.length === 1 && isSoc(only!.signal) && isBareShare(limitNode, limit, this.scope.report)) {
      this.isFaulty = true;
      return undefined;
    }
    const sign = node.operator as ComparisonSign;
    return {
      type: 'comparison',
      terms: terms.map(({ signal }, index) => ({ factor: factors[index]!, signal })),
      comparison: scale < 0 ? FLIPPED[sign] : sign,
      limit,
      place: this.scope.place(node),
      limitPlace: this.scope.place(limitNode),
    } satisfies Comparison;
  }

  /** The dimension of a limit: that of a single signal, else of the side that has the signals. */
  private dimension(node: ast.Arithmetic, terms: readonly SignalTerm[]): Dimension | undefined {
    if (terms.length === 1) return dimensionOf(terms[0]!.signal);
    const side = this.scope.evaluate(this.watches(node.left) ? node.left : node.right);
    if (side.kind !== 'pending' || side.dimension === 'condition') return undefined;
    // The difference of two temperatures is a span.
    const total = terms.reduce((sum, { factor }) => sum + factor, 0);
    return side.dimension?.point && Math.abs(total - 1) > 1e-9 ? DIMENSIONS.temperatureDifference : side.dimension;
  }

  private linear(node: ast.Expression | undefined): Linear | undefined {
    if (!node) return this.wrong(node);
    if (!this.watches(node)) return this.constant(node);
    switch (node.$type) {
      case 'Group':
        return this.linear(node.inner);
      case 'Unary': {
        const operand = node.operator === '-' ? this.linear(node.operand) : this.wrong(node);
        return operand && scaled(operand, -1);
      }
      case 'Arithmetic':
        return this.combined(node);
      case 'Call':
        return this.state(node);
      case 'Path': {
        const value = this.named(node);
        if (value) return this.once(this.sums, value, node, () => this.linear(value));
        const word = node.root?.$refText ?? '';
        if (!CLOCK_SIGNALS.has(word)) return this.wrong(node);
        const signal: Signal = { kind: 'clock', signal: word as 'hour' | 'day' };
        return { terms: [{ factor: 1, signal }], low: 0, value: 0, high: 0 };
      }
      default:
        return this.wrong(node);
    }
  }

  private combined(node: ast.Arithmetic): Linear | undefined {
    const { operator } = node;
    if (operator === '+' || operator === '-') {
      const left = this.linear(node.left);
      const right = this.linear(node.right);
      return left && right && sum(left, operator === '-' ? scaled(right, -1) : right);
    }
    const isRatio = operator === '/' && !this.watches(node.right);
    const isProduct = operator === '*' && !(this.watches(node.left) && this.watches(node.right));
    if (!isRatio && !isProduct) return this.wrong(node);
    const [signals, by] = this.watches(node.left) ? [node.left, node.right] : [node.right, node.left];
    const of = this.linear(signals);
    const factor = this.constant(by);
    if (!of || !factor) return undefined;
    if (factor.low !== factor.high) return this.wrong(by, 'one value, not a range, where it multiplies a signal');
    return scaled(of, isRatio ? 1 / factor.value : factor.value);
  }

  /** `soc(Bank)`. */
  private state(node: ast.Call): Linear | undefined {
    if (!STATE_SIGNALS.has(node.function ?? '') && node.function !== RUN_TIME) return this.wrong(node);
    const read = readSignal(node, this.scope.thing);
    if (!('signal' in read)) return this.wrong(read.node, read.expected, read.what);
    return { terms: [{ factor: 1, signal: read.signal }], low: 0, value: 0, high: 0 };
  }

  private constant(node: ast.Expression | undefined): Linear | undefined {
    if (!node) return this.wrong(node);
    const computed = this.computedIn(node);
    if (computed)
      return this.wrong(
        computed,
        'a number or a property that is stated; what is worked out from the whole design cannot be a limit',
        'what a rule compares with',
      );
    const value = this.scope.evaluate(node);
    if (value.kind === 'pending') {
      for (const fact of value.missing) this.missing.add(fact);
      return undefined;
    }
    if (value.kind === 'bad') {
      this.isFaulty = true;
      return undefined;
    }
    if (value.kind !== 'known' || typeof value.derivation.value !== 'object') return this.wrong(node);
    const { low, value: middle, high, unit } = value.derivation.value;
    return { terms: [], low, value: middle, high, ...(unit ? { unit } : {}) };
  }

  /** Reads a value of the design, at most once; `node` names it. */
  private once<T>(
    kept: Map<AstNode, T | undefined>,
    value: AstNode,
    node: AstNode,
    read: () => T | undefined,
  ): T | undefined {
    if (!kept.has(value)) kept.set(value, this.deeper(node, read));
    return kept.get(value);
  }

  private deeper<T>(node: AstNode, read: () => T): T | undefined {
    if (this.depth >= DEEPEST) return this.tooMuch(node, `values rest on one another more than ${DEEPEST} deep here`);
    this.depth += 1;
    try {
      return read();
    } finally {
      this.depth -= 1;
    }
  }

  /** The expression a name stands for, when it is a `let` of the design. */
  private named(path: ast.Path): ast.Expression | undefined {
    if ((path.steps ?? []).length > 0) return undefined;
    const value = this.scope.letOf(path)?.value;
    const inner = value?.$type === 'Assumed' ? value.value : value;
    return inner as ast.Expression | undefined;
  }

  /** Whether a signal or a scenario's result stands in an expression, or in a value it rests on. */
  private watches(node: ast.Expression | undefined): boolean {
    if (!node) return false;
    const kept = this.watching.get(node);
    if (kept !== undefined) return kept;
    // A value that rests on itself is a fault of its own.
    this.watching.set(node, false);
    const found = this.deeper(node, () => this.isWatching(node)) ?? false;
    this.watching.set(node, found);
    return found;
  }

  private isWatching(node: ast.Expression): boolean {
    switch (node.$type) {
      case 'Group':
        return this.watches(node.inner);
      case 'Unary':
        return this.watches(node.operand);
      case 'Arithmetic':
      case 'Logic':
        return this.watches(node.left) || this.watches(node.right);
      case 'Call':
        return (
          ((STATE_SIGNALS.has(node.function) ||
            SCENARIO_RESULTS.has(node.function) ||
            isConditionWord(node.function)) &&
            this.scope.evaluate(node).kind === 'pending') ||
          (node.arguments ?? []).some((argument) => this.watches(argument.value))
        );
      case 'Path': {
        const value = this.named(node);
        if (value) return this.watches(value);
        return !node.root?.ref && (node.steps ?? []).length === 0 && PLAIN_SIGNALS.has(node.root?.$refText ?? '');
      }
      default:
        return false;
    }
  }

  /** The first part of an expression, values it rests on included, that is worked out from the whole design. */
  private computedIn(node: ast.Expression, seen = new Set<AstNode>()): AstNode | undefined {
    for (const each of AstUtils.streamAst(node)) {
      if (each.$type !== 'Path' && each.$type !== 'Call') continue;
      const part = each as ast.Path | ast.Call;
      if (this.scope.isComputed(part)) return part;
      const value = part.$type === 'Path' ? this.named(part) : undefined;
      if (!value || seen.has(value)) continue;
      seen.add(value);
      const found = this.deeper(node, () => this.computedIn(value, seen));
      if (found) return part;
    }
    return undefined;
  }
}

/** s. */
const DAY = 86_400;

/** Kinds that supply alternating current. */
const SUPPLIES: readonly string[] = kindsThat(maySupplyAlternating);

/** Kinds that turn, and what only a bank has. */
const SETS: readonly string[] = kindsThat(mayBurnFuel);
const OF_BANKS: readonly string[] = ['soc', ...PERMISSIONS];

/** The signal that a call such as `soc(Bank)` names, or what is wrong with it. */
export function readSignal(
  node: ast.Call,
  thingOf: ConditionScope['thing'],
): { readonly signal: Signal } | { readonly node: AstNode; readonly what: string; readonly expected: string } {
  const name = node.function ?? '';
  const [argument, second] = node.arguments ?? [];
  const path = argument?.value;
  const thing = path?.$type === 'Path' && (path.steps ?? []).length === 0 ? thingOf(path) : undefined;
  const what = `the argument of \`${name}\``;
  if (second) return { node: second.value ?? node, what, expected: 'the only one' };
  const expected = OF_BANKS.includes(name)
    ? 'a battery of this design'
    : name === RUN_TIME
      ? 'a generator of this design'
      : 'a thing of this design that carries power';
  const isFit =
    thing !== undefined &&
    'terminals' in thing &&
    (!OF_BANKS.includes(name) || isBank(thing as Instance)) &&
    (name !== RUN_TIME || SETS.includes(thing.kind));
  if (!isFit) return { node: path ?? node, what, expected };
  return { signal: { kind: 'of', signal: name as StateSignal | RuleSignal, of: thing as Instance } };
}

const isSoc = (signal: Signal): boolean => signal.kind === 'of' && signal.signal === 'soc';

const dimensionOf = ({ signal }: Signal): Dimension => signalDimension(signal);

const sum = (left: Linear, right: Linear): Linear => {
  const unit = left.unit ?? right.unit;
  return {
    terms: merged([...left.terms, ...right.terms]),
    low: left.low + right.low,
    value: left.value + right.value,
    high: left.high + right.high,
    ...(unit ? { unit } : {}),
  };
};

const scaled = ({ terms, low, value, high, unit }: Linear, by: number): Linear => ({
  terms: terms.map(({ factor, signal }) => ({ factor: factor * by, signal })),
  low: by < 0 ? high * by : low * by,
  value: value * by,
  high: by < 0 ? low * by : high * by,
  ...(unit ? { unit } : {}),
});

/** Every signal once; those that cancel out left out. */
function merged(terms: readonly SignalTerm[]): SignalTerm[] {
  const bySignal = new Map<string, SignalTerm>();
  for (const { factor, signal } of terms) {
    const key = signalKey(signal);
    bySignal.set(key, { factor: factor + (bySignal.get(key)?.factor ?? 0), signal });
  }
  return [...bySignal.values()].filter(({ factor }) => factor !== 0);
}

function withBounds(value: number, [low, high]: [number, number], dimension: Dimension, unit?: Unit): Quantity {
  const fits = unit?.dimension === dimension ? unit : undefined;
  const plain = siQuantity(value, dimension, fits);
  return low === high ? plain : Object.freeze({ ...plain, low, high });
}

/** `soc(Bank) < 40`: a state of charge above the whole, written without its percent sign. Reports it. */
export function isBareShare(
  node: ast.Expression,
  limit: Quantity,
  report: (node: AstNode, facts: ProblemFacts) => void,
): boolean {
  const { value, dimension, unit } = limit;
  if (dimension !== DIMENSIONS.ratio || (isRange(limit) ? limit.high : value) <= 1) return false;
  const text = textOf(node);
  report(node, {
    code: 'wrong-dimension',
    what: 'the limit of a state of charge',
    expected: 'a share from 0 % to 100 %',
    found: formatPercent(value),
    text,
    proposals: !unit && value <= 100 && /^[\d.]+$/.test(text) ? [`${text} %`] : [],
  });
  return true;
}
