import { type AstNode, AstUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import { DIMENSIONS, type Dimension, dimensionName } from '../../quantity/index.js';
import type { Signal } from '../conditions.js';
import {
  MEASURES,
  type Measure,
  type MeasureWord,
  type OverRuns,
  type SumMeasure,
  isSumWord,
  quantileWord,
} from '../measures.js';
import type { Instance } from '../types.js';
import { ConditionReader, type ConditionScope, isBareShare, readSignal } from './conditions.js';
import { type Evaluated, pending } from './evaluated.js';
import { textOf } from './place.js';
import { CLOCK_SIGNALS, LOST, STATE_SIGNALS, signalDimension } from './signals.js';

/** What a played scenario answers, or what is noted of it before it is played. */
export interface ScenarioValues {
  readonly name: string;
  readonly measure: (measure: Measure, dimension: Dimension, over?: OverRuns) => Evaluated;
}

/** Says that a signal stands where one number is needed; for the fact that lacks then. */
const overTime = (text: string): string => `${text} changes over time; one number of it, such as min(${text})`;

interface Argument {
  readonly value: Evaluated;
  readonly node: ast.Expression;
}

const BAD: Evaluated = { kind: 'bad', reason: 'its text is faulty' };

/**
 * Reads what a requirement asks of its scenario: `min(soc(Bank))`, `runTime(Genset)`, `p95(fuel(Genset))`. Signals that no measure has
 * taken are left over and reported at the end.
 */
export class MeasureReader {
  private readonly left = new Set<AstNode>();

  constructor(
    private readonly scope: ConditionScope,
    private readonly scenario: ScenarioValues,
  ) {}

  /** The value of a call within a requirement of a scenario; undefined when it asks nothing of the scenario. */
  call(call: ast.Call, given: readonly Argument[]): Evaluated | undefined {
    const name = call.function ?? '';
    if (name === LOST) {
      this.scope.report(call, {
        code: 'wrong-type',
        what: 'what a scenario is asked for',
        expected: 'numbers of the whole time; whether a supply is away only rules can ask',
        text: textOf(call),
        proposals: [],
      });
      return BAD;
    }
    if (STATE_SIGNALS.has(name) && given[0]?.value.kind === 'thing') {
      this.left.add(call);
      return pending(STATE_SIGNALS.get(name), overTime(textOf(call)));
    }
    const quantile = quantileWord(name);
    if (quantile !== undefined) return this.overRuns(call, quantile, given);
    if (name === 'mean' && this.isResult(given[0]?.node)) return this.overRuns(call, 'mean', given);
    const word = MEASURES.get(name);
    if (!word || (given.length === 0 && word.takes !== 'thing or nothing')) return undefined;
    return this.measure(word, call, given);
  }

  /** The value of a word within a requirement of a scenario: `unserved`, `hour`. */
  word(path: ast.Path): Evaluated | undefined {
    const name = path.root?.$refText ?? '';
    if (CLOCK_SIGNALS.has(name)) {
      this.left.add(path);
      return pending(CLOCK_SIGNALS.get(name), overTime(name));
    }
    const word = MEASURES.get(name);
    return word?.takes === 'thing or nothing' ? this.measure(word, path, []) : undefined;
  }

  /** Reports the signals that stand where one number is needed. */
  finish(): void {
    for (const node of this.left) {
      const text = textOf(node);
      this.scope.report(node, {
        code: 'wrong-type',
        what: 'what a scenario is asked for',
        expected: `one number of the whole time, such as min(${text})`,
        text,
        proposals: ['min', 'max', 'mean', 'last'].map((word) => `${word}(${text})`),
      });
    }
    this.left.clear();
  }

  private measure(
    word: MeasureWord,
    node: ast.Call | ast.Path,
    given: readonly Argument[],
    over?: OverRuns,
  ): Evaluated | undefined {
    const measure = this.read(word, node, given);
    if (measure === undefined || measure === 'bad') return measure && BAD;
    return this.scenario.measure(measure, word.dimension ?? dimensionOfMeasure(measure), over);
  }

  private read(word: MeasureWord, node: ast.Call | ast.Path, given: readonly Argument[]): Measure | 'bad' | undefined {
    const [first, second, third] = given;
    switch (word.takes) {
      case 'thing':
      case 'thing or nothing': {
        if (!first) return { what: word.what } as Measure;
        if (second) return this.wrong(second.node, `the argument of \`${word.what}\``, 'the only one');
        const of = this.thing(first, word);
        return of === 'bad' ? of : ({ what: word.what, of } as Measure);
      }
      case 'signal': {
        // `min` and `max` of quantities are functions of any expression.
        const signal = second ? undefined : this.signal(first!.node);
        if (!signal) return undefined;
        return signal === 'bad' ? signal : ({ what: word.what, signal } as Measure);
      }
      case 'signal and limit': {
        const signal =
          this.signal(first!.node) ??
          this.wrong(first!.node, `the first argument of \`${word.what}\``, 'a signal such as soc(Bank)');
        if (signal === 'bad') return signal;
        if (third) return this.wrong(third.node, `what \`${word.what}\` needs`, 'a signal and a limit');
        const limit = second
          ? this.limit(word, signal, second)
          : this.wrong(node, `what \`${word.what}\` needs`, 'a signal and a limit, such as timeBelow(soc(Bank), 20 %)');
        return limit === 'bad' ? limit : ({ what: word.what, signal, limit } as Measure);
      }
      case 'comparison': {
        if (second) return this.wrong(second.node, `the argument of \`${word.what}\``, 'the only one');
        const read = new ConditionReader(this.scope, `the argument of \`${word.what}\``).read(first!.node);
        this.take(first!.node);
        if (read.kind !== 'condition') return 'bad';
        if (read.condition.type !== 'comparison')
          return this.wrong(
            first!.node,
            `the argument of \`${word.what}\``,
            'one comparison, such as soc(Bank) < 20 %',
          );
        return { what: 'firstTime', comparison: read.condition };
      }
      case 'sum': {
        const sum = second ? undefined : this.sum(first!.node);
        if (sum === 'bad') return sum;
        return sum
          ? { what: 'worstWeek', sum }
          : this.wrong(
              second?.node ?? first!.node,
              `the argument of \`${word.what}\``,
              'one result that adds up, such as runTime(Genset)',
            );
      }
    }
  }

  /** The result of the scenario that an expression asks for, with its word; undefined where it asks for none. */
  private resultIn(node: ast.Expression | undefined): { word: MeasureWord; node: ast.Call | ast.Path } | undefined {
    const inner = node && innermost(node, this.scope);
    if (inner?.$type !== 'Call' && inner?.$type !== 'Path') return undefined;
    const word = MEASURES.get((inner.$type === 'Call' ? inner.function : inner.root?.$refText) ?? '');
    if (!word || (inner.$type === 'Path' && word.takes !== 'thing or nothing')) return undefined;
    return { word, node: inner };
  }

  /** Whether an expression is a result of the scenario, or something over its runs, and no signal. */
  private isResult(node: ast.Expression | undefined): boolean {
    const inner = node && innermost(node, this.scope);
    return (
      this.resultIn(node) !== undefined || (inner?.$type === 'Call' && quantileWord(inner.function ?? '') !== undefined)
    );
  }

  private argumentsOf(node: ast.Call | ast.Path): Argument[] {
    const arguments_ = node.$type === 'Call' ? (node.arguments ?? []) : [];
    return arguments_.map(({ value }) => ({ node: value, value: this.scope.evaluate(value) }));
  }

  private sum(node: ast.Expression): SumMeasure | 'bad' | undefined {
    const inner = this.resultIn(node);
    if (!inner || !isSumWord(inner.word)) return undefined;
    return this.read(inner.word, inner.node, this.argumentsOf(inner.node)) as SumMeasure | 'bad' | undefined;
  }

  private overRuns(call: ast.Call, over: OverRuns, given: readonly Argument[]): Evaluated {
    const [first, second] = given;
    const inner = this.resultIn(first?.node);
    const what = `the argument of \`${call.function}\``;
    const expected = 'one result of the scenario, such as runTime(Genset)';
    if (!inner || second) {
      this.wrong(second?.node ?? first?.node ?? call, what, expected);
      return BAD;
    }
    const value = this.measure(inner.word, inner.node, this.argumentsOf(inner.node), over);
    // Evaluating the arguments again has left their signals over again.
    this.take(inner.node);
    if (value) return value;
    this.wrong(first!.node, what, expected);
    return BAD;
  }

  private thing(given: Argument, word: MeasureWord): Instance | 'bad' {
    const { node } = given;
    const thing = node.$type === 'Path' && (node.steps ?? []).length === 0 ? this.scope.thing(node) : undefined;
    if (thing && 'terminals' in thing && word.kinds.includes(thing.kind)) return thing as Instance;
    return this.wrong(node, `the argument of \`${word.what}\``, `a ${word.kinds.join(' or ')} of this design`);
  }

  /** The signal an expression consists of; undefined when it is no signal. */
  private signal(node: ast.Expression): Signal | 'bad' | undefined {
    const inner = innermost(node, this.scope);
    if (inner?.$type === 'Path' && this.left.has(inner))
      return this.wrong(inner, 'what is measured', 'a signal of a thing, such as soc(Bank)');
    if (inner?.$type !== 'Call' || !this.left.has(inner)) return undefined;
    this.left.delete(inner);
    const signal = readSignal(inner, this.scope.thing);
    return 'signal' in signal ? signal.signal : this.wrong(signal.node, signal.what, signal.expected);
  }

  private limit(word: MeasureWord, signal: Signal, { value, node }: Argument): number | 'bad' {
    const wanted = dimensionOf(signal);
    const what = `the limit of \`${word.what}\``;
    if (value.kind === 'bad') return 'bad';
    if (value.kind !== 'known' || typeof value.derivation.value !== 'object')
      return this.wrong(node, what, 'a number or a property that is stated');
    const q = value.derivation.value;
    if (q.dimension !== wanted) {
      this.scope.report(node, {
        code: 'wrong-dimension',
        what,
        expected: wanted === DIMENSIONS.ratio ? 'a ratio (%)' : dimensionName(wanted),
        found: dimensionName(q.dimension),
        text: textOf(node),
        proposals: [],
      });
      return 'bad';
    }
    if (signal.signal === 'soc' && isBareShare(node, q, this.scope.report)) return 'bad';
    // The worst corner of a range: the longest time.
    return word.what === 'timeBelow' || word.what === 'longestBelow' ? q.high : q.low;
  }

  /** Signals within an expression, values it rests on included, are spoken for. */
  private take(node: AstNode, seen = new Set<AstNode>()): void {
    if (this.left.size === 0 || seen.has(node)) return;
    seen.add(node);
    for (const each of AstUtils.streamAst(node)) {
      this.left.delete(each);
      const value = each.$type === 'Path' ? this.scope.letOf(each as ast.Path)?.value : undefined;
      if (value) this.take(value, seen);
    }
  }

  private wrong(node: AstNode, what: string, expected: string): 'bad' {
    this.take(node);
    this.scope.report(node, { code: 'wrong-type', what, expected, text: textOf(node), proposals: [] });
    return 'bad';
  }
}

const dimensionOf = ({ signal }: Signal): Dimension => signalDimension(signal);

/** The dimension of a measure whose word has none of its own. */
function dimensionOfMeasure(measure: Measure): Dimension {
  if ('signal' in measure) return dimensionOf(measure.signal);
  if ('sum' in measure) return MEASURES.get(measure.sum.what)?.dimension ?? DIMENSIONS.ratio;
  return DIMENSIONS.ratio;
}

/** What stands within brackets and behind names of values; the depth of names is that of their evaluation, which is bounded. */
function innermost(node: ast.Expression | undefined, scope: ConditionScope): ast.Expression | undefined {
  const seen = new Set<AstNode>();
  let at = node;
  while (at && !seen.has(at)) {
    seen.add(at);
    if (at.$type === 'Group') at = at.inner;
    else if (at.$type === 'Path' && (at.steps ?? []).length === 0) {
      const value = scope.letOf(at)?.value;
      if (!value) return at;
      at = (value.$type === 'Assumed' ? value.value : value) as ast.Expression | undefined;
    } else return at;
  }
  return undefined;
}
