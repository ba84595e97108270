import type { AstNode } from 'langium';
import {
  type CalculationFunction,
  FUNCTIONS,
  type GivenArgument,
  callFunction,
  findFunction,
} from '../../calculate/index.js';
import { type Derivation, type Place, deriveFact, deriveQuantity, withFacts } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import {
  DimensionMismatch,
  NotFinite,
  type Quantity,
  compare,
  dimensionName,
  extreme,
  formatPair,
  negate,
} from '../../quantity/index.js';
import { canonicalWord } from '../../equipment/index.js';
import type { ProblemFacts } from '../problems.js';
import type { ReadCondition } from './conditions.js';
import {
  type Evaluated,
  OPEN_VALUE,
  bad,
  dimensionOfValue,
  isCondition,
  knownValue,
  missingOf,
  pending,
} from './evaluated.js';
import { readLiteral } from './literals.js';
import { COMPARISONS, OPERATIONS, applyToOne, combineDimensions } from './operations.js';
import { placeOfNode, placeOfProperty, textOf } from './place.js';

/** What an expression can see besides literals and functions. */
export interface Surroundings {
  readonly uri: string;
  /** Reports a problem at a node, or at the narrower place `at` inside it. */
  readonly report: (node: AstNode, facts: ProblemFacts, at?: Place) => void;
  /** The value of a name: a `let`, a part, a thing; undefined when it stands for nothing here. */
  readonly lookUp: (path: ast.Path) => Evaluated | undefined;
  /** Names that could be meant, for proposals. */
  readonly names: () => Iterable<string>;
  /** Functions that need the design or a scenario: `soc(Bank)`, `chargeTime(Bank, 20 %, 90 %)`; undefined when the name is none. */
  readonly callDesign: (
    call: ast.Call,
    given: readonly { name?: string; value: Evaluated; node: ast.Expression }[],
  ) => Evaluated | undefined;
  readonly designFunctionNames: readonly string[];
  /** Reads a condition on signals into a tree; only where controls can stand. */
  readonly readCondition?: (node: ast.Expression) => ReadCondition;
}

/** Expressions nested deeper than this, through the values they rest on too, are refused, so that no text can exhaust the stack. */
const DEEPEST = 400;
let depth = 0;

const BUILT_INS = ['min', 'max', 'abs', 'sqrt', 'round', 'ceil', 'floor'] as const;

/** Works out expressions. Reports each problem once, at the smallest expression that has it. */
export class Evaluator {
  constructor(private readonly around: Surroundings) {}

  evaluate(node: ast.Expression | undefined): Evaluated {
    if (!node) return bad('nothing stands here');
    if (depth >= DEEPEST) {
      this.around.report(node, {
        code: 'value-out-of-range',
        what: 'the expression',
        text: '…',
        reason: `it is nested more than ${DEEPEST} deep, what it rests on included`,
      });
      return bad('nested too deep');
    }
    depth += 1;
    try {
      return this.dispatch(node);
    } finally {
      depth -= 1;
    }
  }

  /** A value that is to be found; the range that narrows it says what it is. */
  private hole({ from, to }: ast.Hole): Evaluated {
    const ends = [from, to].flatMap((end) => (end ? [this.evaluate(end)] : []));
    const dimensions = new Set(ends.flatMap((end) => dimensionOfValue(end) ?? []));
    return pending(dimensions.size === 1 ? [...dimensions][0] : undefined, OPEN_VALUE);
  }

  /** Reports a problem at one property of a node, such as the name of a call, so that a fix replaces that alone. */
  private reportAt(node: AstNode, property: string, facts: ProblemFacts): void {
    this.around.report(node, facts, placeOfProperty(node, property, this.around.uri));
  }

  private place(node: AstNode): Place {
    return placeOfNode(node, this.around.uri);
  }

  private dispatch(node: ast.Expression): Evaluated {
    switch (node.$type) {
      case 'QuantityLiteral':
      case 'NumberLiteral':
      case 'SizeLiteral':
      case 'TimeLiteral':
      case 'DateLiteral':
      case 'TextLiteral':
        return readLiteral(node, this.around);
      case 'SystemLiteral':
        return knownValue(deriveFact(textOf(node), textOf(node), { origin: 'stated', place: this.place(node) }));
      case 'Group':
        return this.evaluate(node.inner);
      case 'Unary':
        return this.unary(node);
      case 'Logic':
        return this.logic(node);
      case 'Arithmetic':
        return this.arithmetic(node);
      case 'Call':
        return this.call(node);
      case 'Path':
        return this.path(node);
      case 'Hole':
        return this.hole(node);
      default:
        return bad('the text is not complete here');
    }
  }

  private unary(node: ast.Unary): Evaluated {
    // A minus before a literal belongs to the number: -20 degC is twenty below zero, not minus 293 K.
    if (node.operator === '-' && node.operand && isNumeric(node.operand))
      return readLiteral(node.operand, this.around, -1);
    const operand = this.evaluate(node.operand);
    if (node.operator === 'not') {
      if (operand.kind === 'known' && typeof operand.derivation.value === 'boolean') {
        return knownValue(
          deriveFact('not', !operand.derivation.value, { formula: 'not …', inputs: [operand.derivation] }),
        );
      }
      if (operand.kind === 'pending' || operand.kind === 'bad') return operand;
      return this.wrong(node.operand, 'the operand of `not`', 'a condition', operand);
    }
    if (operand.kind === 'pending' || operand.kind === 'bad') return operand;
    if (operand.kind === 'known' && typeof operand.derivation.value === 'object') {
      return knownValue(
        deriveQuantity(textOf(node), negate(operand.derivation.value), { formula: '−…', inputs: [operand.derivation] }),
      );
    }
    return this.wrong(node.operand, 'the operand of `-`', 'a quantity', operand);
  }

  private logic(node: ast.Logic): Evaluated {
    const left = this.evaluate(node.left);
    const right = this.evaluate(node.right);
    for (const [side, value] of [
      [node.left, left],
      [node.right, right],
    ] as const) {
      if (value.kind === 'bad') return value;
      if (!isCondition(value)) return this.wrong(side, `a side of \`${node.operator}\``, 'a condition', value);
    }
    if (left.kind === 'known' && right.kind === 'known') {
      const value =
        node.operator === 'and'
          ? left.derivation.value === true && right.derivation.value === true
          : left.derivation.value === true || right.derivation.value === true;
      return knownValue(
        deriveFact(textOf(node), value, {
          formula: `… ${node.operator} …`,
          inputs: [left.derivation, right.derivation],
        }),
      );
    }
    return pending('condition', ...missingOf(left), ...missingOf(right));
  }

  private arithmetic(node: ast.Arithmetic): Evaluated {
    const { operator } = node;
    // In `216..264 V` the first bound takes the unit of the second; in `-2 ^ 2` the sign belongs to the power, as in algebra.
    if (operator === '^' && node.left?.$type === 'Unary' && node.left.operator === '-') {
      const raised = this.combine(node, this.evaluate(node.left.operand), this.evaluate(node.right), '^');
      return raised.kind === 'known' && typeof raised.derivation.value === 'object'
        ? knownValue(withValue(raised.derivation, negate(raised.derivation.value)))
        : raised;
    }
    const right = this.evaluate(node.right);
    const left = operator === '..' ? this.bound(node.left, right) : this.evaluate(node.left);
    return this.combine(node, left, right, operator);
  }

  /** The lower bound of a range: a bare number adopts the unit of the upper bound. */
  private bound(node: ast.Expression, other: Evaluated): Evaluated {
    const symbol =
      other.kind === 'known' && typeof other.derivation.value === 'object'
        ? other.derivation.value.unit?.symbol
        : undefined;
    if (symbol && node?.$type === 'NumberLiteral') return readLiteral(node, this.around, 1, symbol);
    if (symbol && node?.$type === 'Unary' && node.operator === '-' && node.operand?.$type === 'NumberLiteral')
      return readLiteral(node.operand, this.around, -1, symbol);
    return this.evaluate(node);
  }

  private combine(
    node: ast.Arithmetic,
    left: Evaluated,
    right: Evaluated,
    operator: ast.Arithmetic['operator'],
  ): Evaluated {
    if (left.kind === 'bad') return left;
    if (right.kind === 'bad') return right;
    const isComparison = operator in COMPARISONS;
    // Words compare with words: waveform == inverter.
    if (
      (operator === '==' || operator === '!=') &&
      left.kind === 'known' &&
      right.kind === 'known' &&
      typeof left.derivation.value !== 'object' &&
      typeof right.derivation.value !== 'object'
    ) {
      const same = left.derivation.value === right.derivation.value;
      return knownValue(
        deriveFact(textOf(node), operator === '==' ? same : !same, {
          formula: `a ${operator} b`,
          inputs: [left.derivation, right.derivation],
        }),
      );
    }
    for (const [side, value] of [
      [node.left, left],
      [node.right, right],
    ] as const) {
      const numeric =
        (value.kind === 'known' && typeof value.derivation.value === 'object') ||
        (value.kind === 'pending' && value.dimension !== 'condition');
      if (!numeric) return this.wrong(side, `a side of \`${operator}\``, 'a quantity', value);
    }
    const dimensions = [dimensionOfValue(left), dimensionOfValue(right)] as const;
    try {
      if (left.kind === 'known' && right.kind === 'known') {
        const [a, b] = [left.derivation.value as Quantity, right.derivation.value as Quantity];
        const inputs = [left.derivation, right.derivation];
        if (isComparison) {
          const comparison = COMPARISONS[operator as keyof typeof COMPARISONS];
          const [shownLeft, shownRight] = formatPair(a, b);
          const holds = compare(a, comparison, b);
          return knownValue(
            deriveFact(textOf(node), holds, {
              formula: `a ${operator} b`,
              inputs,
              notes: [`${shownLeft} ${operator} ${shownRight}: ${holds ? 'holds' : 'does not hold'}`],
            }),
          );
        }
        const turned = whyNoSpan(operator, a, b);
        if (turned !== undefined) {
          this.around.report(node, {
            code: 'value-out-of-range',
            what: 'the range',
            text: textOf(node),
            reason: turned,
          });
          return bad(turned);
        }
        const result = OPERATIONS[operator as keyof typeof OPERATIONS](a, b);
        const origin = operator === '..' || operator === '±' || operator === '+/-' ? 'stated' : 'computed';
        return knownValue(
          deriveQuantity(textOf(node), result, {
            formula: `a ${operator} b`,
            inputs: origin === 'stated' ? [] : inputs,
            origin,
            place: this.place(node),
          }),
        );
      }
      const facts = [...missingOf(left), ...missingOf(right)];
      const [a, b] = dimensions;
      if (!a || !b) return pending(isComparison ? 'condition' : undefined, ...facts);
      if (isComparison) {
        if (a !== b) throw new DimensionMismatch('compare', a, b);
        return pending('condition', ...facts);
      }
      return pending(combineDimensions(operator, a, b, right), ...facts);
    } catch (error) {
      return this.notWorkedOut(node, 'the result', error);
    }
  }

  /** Reports what keeps quantities from being worked out: dimensions that do not go together, or a result that is no number. */
  private notWorkedOut(node: ast.Expression, what: string, error: unknown): Evaluated {
    if (error instanceof DimensionMismatch) {
      this.around.report(node, {
        code: 'wrong-dimension',
        what: error.operation,
        expected: dimensionName(error.left),
        found: dimensionName(error.right),
        text: textOf(node),
        proposals: [],
      });
      return bad(error.message);
    }
    if (error instanceof NotFinite) {
      this.around.report(node, { code: 'value-out-of-range', what, text: textOf(node), reason: error.message });
      return bad(error.message);
    }
    throw error;
  }

  private path(node: ast.Path): Evaluated {
    const found = this.around.lookUp(node);
    if (found) return found;
    const name = node.root?.$refText ?? '';
    if ((node.steps ?? []).length === 0)
      return knownValue(deriveFact(name, canonicalWord(name), { origin: 'stated', place: this.place(node) }));
    this.reportAt(node, 'root', {
      code: 'unknown-name',
      name,
      wanted: 'thing of this design',
      candidates: [...this.around.names()],
    });
    return bad(`unknown name ${name}`);
  }

  /** A bare word where a value is needed is an unknown name. */
  private wrong(node: ast.Expression, what: string, expected: string, value: Evaluated): Evaluated {
    if (value.kind === 'known' && typeof value.derivation.value === 'string' && node?.$type === 'Path') {
      this.around.report(node, {
        code: 'unknown-name',
        name: node.root?.$refText ?? value.derivation.value,
        wanted: 'value',
        candidates: [...this.around.names()],
      });
    } else {
      this.around.report(node, { code: 'wrong-type', what, expected, text: textOf(node), proposals: [] });
    }
    return bad(`${what} must be ${expected}`);
  }

  private call(node: ast.Call): Evaluated {
    const name = node.function ?? '';
    const given = (node.arguments ?? []).map((argument) => ({
      ...(argument.name ? { name: argument.name } : {}),
      value: this.evaluate(argument.value),
      node: argument.value,
    }));
    const design = this.around.callDesign(node, given);
    if (design) return this.pick(node, design);
    const failed = given.find(({ value }) => value.kind === 'bad');
    if (failed) return failed.value;
    if ((BUILT_INS as readonly string[]).includes(name))
      return this.builtIn(node, name as (typeof BUILT_INS)[number], given);
    const definition = findFunction(name);
    if (!definition) {
      const candidates = [...BUILT_INS, ...FUNCTIONS.map((known) => known.name), ...this.around.designFunctionNames];
      this.reportAt(node, 'function', { code: 'unknown-name', name, wanted: 'function', candidates });
      return bad(`unknown function ${name}`);
    }
    return this.pick(node, this.registered(node, definition, given));
  }

  private registered(
    node: ast.Call,
    definition: CalculationFunction,
    given: readonly { name?: string; value: Evaluated; node: ast.Expression }[],
  ): Evaluated {
    const names = Object.keys(definition.parameters);
    const byName: Record<string, GivenArgument> = {};
    const facts: string[] = [];
    for (const [index, argument] of given.entries()) {
      const name = argument.name ?? names[index];
      const parameter = name === undefined ? undefined : ownEntry(definition.parameters, name);
      if (name === undefined || !parameter) {
        if (argument.name === undefined) {
          this.around.report(argument.node, {
            code: 'value-out-of-range',
            what: definition.name,
            text: textOf(argument.node),
            reason: `\`${definition.name}\` has at most ${names.length} arguments: ${names.join(', ')}`,
          });
          return bad('too many arguments');
        }
        this.reportAt(argument.node.$container, 'name', {
          code: 'unknown-name',
          name: argument.name,
          wanted: `argument of ${definition.name}`,
          candidates: names,
        });
        return bad('unknown argument');
      }
      if (Object.hasOwn(byName, name)) {
        this.around.report(argument.node, {
          code: 'wrong-type',
          what: `argument \`${name}\``,
          expected: 'one value; it is given twice',
          text: textOf(argument.node),
          proposals: [],
        });
        return bad('argument given twice');
      }
      if (argument.value.kind === 'pending') {
        facts.push(...argument.value.missing);
        continue;
      }
      // A word that the parameter knows is that word, also where a thing or part has the same name: code: G.
      const written = parameter.type === 'word' ? bareWord(argument.node) : undefined;
      const word = written && canonicalWord(written);
      const value =
        word !== undefined && parameter.type === 'word' && parameter.words.includes(word)
          ? deriveFact(name, word, { origin: 'stated', place: this.place(argument.node) })
          : this.asArgument(argument.value, parameter.type);
      if (!value) {
        this.around.report(argument.node, {
          code: 'wrong-type',
          what: `argument \`${name}\` of ${definition.name}`,
          expected: parameter.doc,
          text: textOf(argument.node),
          proposals: [],
        });
        return bad('wrong argument');
      }
      byName[name] = value;
    }
    if (facts.length > 0) return pending(undefined, ...facts);
    const result = callFunction(definition, byName);
    if (result.kind === 'known') return knownValue(result.derivation);
    if (result.kind === 'missing') return pending(undefined, ...result.missing);
    const at = given.find((argument, index) => (argument.name ?? names[index]) === result.argument)?.node ?? node;
    this.around.report(at, {
      code: 'value-out-of-range',
      what: definition.name,
      text: textOf(at),
      reason: result.reason,
    });
    return bad(result.reason);
  }

  private asArgument(value: Evaluated, type: string): GivenArgument | undefined {
    if (value.kind === 'part') return value.part;
    if (value.kind !== 'known') return undefined;
    const { derivation } = value;
    if (type === 'flag' && (derivation.value === 'yes' || derivation.value === 'no'))
      return deriveFact(derivation.name, derivation.value === 'yes', { origin: 'stated' });
    return derivation;
  }

  private pick(node: ast.Call, value: Evaluated): Evaluated {
    if (!node.part || value.kind !== 'known') return value;
    const part = ownEntry(value.derivation.parts, node.part);
    if (part) return knownValue(part);
    this.reportAt(node, 'part', {
      code: 'unknown-name',
      name: node.part,
      wanted: `part of the result of ${node.function}`,
      candidates: Object.keys(value.derivation.parts),
    });
    return bad(`no part ${node.part}`);
  }

  private builtIn(
    node: ast.Call,
    name: (typeof BUILT_INS)[number],
    given: readonly { value: Evaluated; node: ast.Expression }[],
  ): Evaluated {
    const one = name !== 'min' && name !== 'max';
    if (given.length === 0 || (one && given.length > 1)) {
      this.around.report(node, {
        code: 'wrong-type',
        what: `\`${name}\``,
        expected: one ? 'one quantity' : 'at least one quantity',
        text: textOf(node),
        proposals: [],
      });
      return bad('wrong number of arguments');
    }
    for (const { value, node: argument } of given) {
      const numeric =
        (value.kind === 'known' && typeof value.derivation.value === 'object') ||
        (value.kind === 'pending' && value.dimension !== 'condition');
      if (!numeric) return this.wrong(argument, `an argument of \`${name}\``, 'a quantity', value);
    }
    const facts = given.flatMap(({ value }) => missingOf(value));
    if (facts.length > 0) return pending(dimensionOfValue(given[0]!.value), ...facts);
    const inputs = given.map(({ value }) => (value as { derivation: Derivation }).derivation);
    const [first, ...rest] = inputs.map((input) => input.value as Quantity) as [Quantity, ...Quantity[]];
    try {
      const result = one
        ? applyToOne(name as 'abs' | 'sqrt' | 'round' | 'ceil' | 'floor', first)
        : extreme(name as 'min' | 'max', first, ...rest);
      return knownValue(deriveQuantity(textOf(node), result, { formula: `${name}(…)`, inputs }));
    } catch (error) {
      return this.notWorkedOut(node, `\`${name}\``, error);
    }
  }
}

/** An entry of a table by a name from the text, which may be one that every object has, such as `constructor`. */
export const ownEntry = <T>(table: Readonly<Record<string, T>>, name: string): T | undefined =>
  Object.hasOwn(table, name) ? table[name] : undefined;

const isNumeric = (node: ast.Expression): node is ast.Literal =>
  ['QuantityLiteral', 'NumberLiteral'].includes(node.$type);

/** What keeps two values from being a range; undefined where nothing does. */
function whyNoSpan(operator: string, left: Quantity, right: Quantity): string | undefined {
  if (left.dimension === right.dimension && operator === '..' && left.value > right.value)
    return 'its first value is above its second; write the lower one first';
  if ((operator === '±' || operator === '+/-') && right.value < 0) return 'what stands behind ± cannot be negative';
  return undefined;
}

/** The word an argument consists of; undefined for anything else. */
const bareWord = (node: ast.Expression): string | undefined =>
  node?.$type === 'Path' && (node.steps ?? []).length === 0 ? node.root?.$refText : undefined;

const withValue = (derivation: Derivation, value: Quantity): Derivation => ({ ...withFacts(derivation, {}), value });
