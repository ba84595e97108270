import { type AstNode, AstUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import {
  DIMENSIONS,
  type Dimension,
  type DimensionName,
  type Quantity,
  dimensionName,
  findUnit,
  formatPercent,
  formatQuantity,
  inUnit,
  isRange,
  quantity,
  ratio,
  unit,
  unitsOf,
} from '../../quantity/index.js';
import { splitLiteral } from '../../syntax/tokens.js';
import {
  type PropertyDefinition,
  type PropertyType,
  canonicalWord,
  kindsThat,
  maySupplyAlternating,
} from '../../equipment/index.js';
import type { ProblemFacts } from '../problems.js';
import type { AcSystem, Part, ProfileWindow, PropertyValue, SupplyRow, TableRow } from '../types.js';
import type { ReadCondition } from './conditions.js';
import { type Evaluator } from './evaluate.js';
import { isCondition } from './evaluated.js';
import { placeOfNode, textOf } from './place.js';

/** What typing a value needs from its surroundings. */
export interface ValueContext {
  readonly evaluator: Evaluator;
  readonly report: (node: AstNode, facts: ProblemFacts) => void;
  readonly findPart: (node: AstNode, name: string, kinds: readonly string[]) => Part | undefined;
  readonly partNames: (node: AstNode, kinds: readonly string[]) => string[];
  readonly findProfile: (node: AstNode, name: string) => ast.ProfileDeclaration | undefined;
  readonly profileNames: (node: AstNode) => readonly string[];
  readonly readCondition?: (node: ast.Expression) => ReadCondition;
}

/** What came of a value: typed; missing because it rests on a missing fact; or wrong, already reported. */
export type TypedValue =
  | { readonly kind: 'typed'; readonly value: PropertyValue }
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | { readonly kind: 'wrong' };

const typed = (value: PropertyValue): TypedValue => ({ kind: 'typed', value });
const WRONG: TypedValue = { kind: 'wrong' };

/** Units of the trade that are mistaken for one another; the first of a pair written where the second belongs. */
const MEANT: readonly (readonly [from: string, to: string])[] = [
  ['A', 'Ah'],
  ['Ah', 'A'],
  ['W', 'Wh'],
  ['Wh', 'W'],
  ['kW', 'kWh'],
  ['kWh', 'kW'],
  ['kVA', 'kW'],
  ['kW', 'kVA'],
  ['VA', 'W'],
  ['W', 'VA'],
  ['mm', 'mm2'],
  ['mm2', 'mm'],
  ['K', 'degC'],
  ['degC', 'K'],
  ['m', 'min'],
  ['mA', 'mAh'],
  ['L', 'L/h'],
  ['L/h', 'L'],
  ['mAh', 'mA'],
  ['V', 'mV/K'],
  ['ohm', 'mohm'],
  ['Hz', 'h'],
];

function proposalsFor(text: string, type: Extract<PropertyType, { type: 'quantity' }>): string[] {
  const { number, unit: spelling } = splitLiteral(text);
  if (!Number.isFinite(number)) return [];
  const wanted = type.dimensions.map((name) => DIMENSIONS[name]);
  const fits = (symbol: string): boolean => {
    const candidate = findUnit(symbol);
    return (
      candidate !== undefined && wanted.includes(candidate.dimension) && flavourFits(candidate.flavour, type.flavour)
    );
  };
  const meant = MEANT.filter(([from, to]) => from === spelling && fits(to)).map(([, to]) => to);
  const fallback = spelling === '' && type.unit ? [type.unit] : [];
  return [...new Set([...meant, ...fallback])].map((symbol) => `${number} ${symbol}`);
}

const flavourFits = (flavour: string | undefined, wanted: 'active' | 'apparent' | undefined): boolean =>
  wanted === undefined || (wanted === 'active' ? flavour === undefined : flavour === 'apparent');

const listed = (dimensions: readonly DimensionName[]): string =>
  dimensions.map((name) => dimensionName(DIMENSIONS[name])).join(' or ');

/** Units by example for messages: `charge (Ah)`. */
const withUnit = (type: Extract<PropertyType, { type: 'quantity' }>): string =>
  `${listed(type.dimensions)}${type.unit ? ` (${type.flavour === 'apparent' ? 'VA' : type.unit})` : ''}`;

function typedQuantity(
  node: ast.Value,
  definition: PropertyDefinition,
  type: Extract<PropertyType, { type: 'quantity' }>,
  owner: string,
  around: ValueContext,
): TypedValue {
  const what = `\`${definition.name}\` of ${owner}`;
  const text = textOf(node);
  if (!isExpressionNode(node)) {
    around.report(node, { code: 'wrong-type', what, expected: withUnit(type), text, proposals: [] });
    return WRONG;
  }
  const value = around.evaluator.evaluate(node);
  if (value.kind === 'bad') return WRONG;
  const wanted = type.dimensions.map((name) => DIMENSIONS[name]);
  if (value.kind === 'pending') {
    if (value.dimension && !(wanted as readonly unknown[]).includes(value.dimension)) {
      around.report(node, {
        code: 'wrong-dimension',
        what,
        expected: withUnit(type),
        found: value.dimension === 'condition' ? 'a condition' : dimensionName(value.dimension),
        text,
        proposals: [],
      });
      return WRONG;
    }
    return { kind: 'missing', missing: value.missing };
  }
  if (value.kind !== 'known' || typeof value.derivation.value !== 'object') {
    const word = value.kind === 'known' && typeof value.derivation.value === 'string' ? value.derivation.value : text;
    around.report(node, { code: 'wrong-type', what, expected: withUnit(type), text: word, proposals: [] });
    return WRONG;
  }
  const q = value.derivation.value;
  // A bare number where counts belong is fine; elsewhere it lacks its unit.
  if (!wanted.includes(q.dimension)) {
    around.report(node, {
      code: 'wrong-dimension',
      what,
      expected: withUnit(type),
      found: q.dimension === DIMENSIONS.ratio ? 'a plain number' : dimensionName(q.dimension),
      text,
      proposals: proposalsFor(text, type),
    });
    return WRONG;
  }
  if (type.flavour && !flavourFits(q.unit?.flavour, type.flavour) && q.unit) {
    const found = type.flavour === 'active' ? `${q.unit.flavour ?? 'apparent'} power` : 'active power';
    around.report(node, {
      code: 'wrong-dimension',
      what,
      expected: withUnit(type),
      found,
      text,
      proposals: proposalsFor(text, type),
    });
    return WRONG;
  }
  const reason = impossible(q) ?? outOfRange(q, type);
  // `duty: 40` is forty times the whole; the percent sign lacks.
  if (reason && type.unit === '%' && node.$type === 'NumberLiteral' && !outOfRange(quantity(q.value, '%'), type)) {
    const found = formatPercent(q.value);
    around.report(node, {
      code: 'wrong-dimension',
      what,
      expected: 'a share (%)',
      found,
      text,
      proposals: [`${text} %`],
    });
    return WRONG;
  }
  if (reason) {
    around.report(node, { code: 'value-out-of-range', what, text, reason });
    return WRONG;
  }
  return typed({ type: 'quantity', quantity: q });
}

/** Absolute zero in °C. Source: BIPM SI Brochure, 9th edition, section 2.3.1 (the kelvin). */
const ABSOLUTE_ZERO = -273.15;
/** No number of a system of any size comes near this, in coherent SI: far above the ohms of insulation and the A²s of a fault. */
const LARGEST = 1e18;

/** What makes a value one that nothing can have, whatever it is of; undefined where nothing does. */
export function impossible(q: Quantity): string | undefined {
  if (q.dimension === DIMENSIONS.temperature && q.low < ABSOLUTE_ZERO - 1e-9) return 'it is below absolute zero';
  if (Math.max(Math.abs(q.low), Math.abs(q.high)) > LARGEST) return 'it is beyond anything that is built or measured';
  return undefined;
}

function outOfRange(q: Quantity, type: Extract<PropertyType, { type: 'quantity' }>): string | undefined {
  // Bounds of ratios are plain numbers even where the unit shown is percent.
  const of = (number: number): Quantity =>
    type.unit === '%' ? quantity(number * 100, '%') : type.unit ? quantity(number, type.unit) : ratio(number);
  if (q.dimension !== DIMENSIONS[type.dimensions[0]!]) return undefined;
  if (type.minimum !== undefined && q.low < of(type.minimum).value)
    return type.minimum === 0 ? 'it cannot be negative' : `it cannot be below ${formatQuantity(of(type.minimum))}`;
  if (type.aboveZero && q.low <= 0) return 'it must be above zero';
  if (type.ranges === false && isRange(q)) return 'it must be one value, not a range';
  if (type.maximum !== undefined && q.high > of(type.maximum).value * (1 + 1e-12))
    return `it cannot be above ${formatQuantity(of(type.maximum))}`;
  if (type.whole && isRange(q)) return 'it must be one whole number; put the other into a variant';
  if (type.whole && !Number.isInteger(inUnit(q, type.unit))) return 'it must be a whole number';
  return undefined;
}

const EXPRESSIONS = new Set([
  'Arithmetic',
  'Logic',
  'Unary',
  'Group',
  'Call',
  'Path',
  'QuantityLiteral',
  'SizeLiteral',
  'SystemLiteral',
  'NumberLiteral',
  'TextLiteral',
  'DateLiteral',
  'TimeLiteral',
]);
export const isExpressionNode = (node: AstNode): node is ast.Expression => EXPRESSIONS.has(node.$type);

/** A bare word, such as `petrol`; undefined for anything else. */
const wordOf = (node: AstNode): string | undefined => {
  const path = node as ast.Path;
  return node.$type === 'Path' && (path.steps ?? []).length === 0 ? path.root?.$refText : undefined;
};

/** `three 400 V`, `120/240 V`, `230 V` as a voltage system. */
export function parseSystem(text: string, q?: Quantity): AcSystem | undefined {
  const three = /^three[ \t]+(\d+(?:\.\d+)?)[ \t]*(k?V)$/.exec(text);
  const volts = (number: string, symbol: string): number => quantity(Number(number), unit(symbol)).value;
  if (three) {
    const lineToLine = volts(three[1]!, three[2]!);
    return { phases: 'three', lineToLine, lineToNeutral: lineToLine / Math.sqrt(3), text };
  }
  const pair = /^(\d+(?:\.\d+)?)\/(\d+(?:\.\d+)?)[ \t]*(k?V)$/.exec(text);
  if (pair) {
    const [low, high] = [volts(pair[1]!, pair[3]!), volts(pair[2]!, pair[3]!)];
    // 120/208 V and 230/400 V name a three-phase system by both of its voltages, 120/240 V a split phase.
    const quotient = high / low;
    if (Math.abs(quotient - 2) < 0.02) return { phases: 'split', lineToNeutral: low, lineToLine: high, text };
    if (Math.abs(quotient - Math.sqrt(3)) < 0.03)
      return { phases: 'three', lineToNeutral: low, lineToLine: high, text };
    return undefined;
  }
  return q ? { phases: 'single', lineToLine: q.value, lineToNeutral: q.value, text } : undefined;
}

function typedSystem(node: ast.Value, what: string, around: ValueContext): TypedValue {
  const text = textOf(node);
  if (node.$type === 'SystemLiteral') {
    const system = parseSystem(text);
    if (system) return typed({ type: 'system', system });
    around.report(node, {
      code: 'value-out-of-range',
      what,
      text,
      reason: 'two voltages stand 1 to 2 (split phase, 120/240 V) or 1 to √3 (three-phase, 230/400 V)',
    });
    return WRONG;
  }
  if (isExpressionNode(node)) {
    const value = around.evaluator.evaluate(node);
    if (value.kind === 'bad') return WRONG;
    if (value.kind === 'pending') return { kind: 'missing', missing: value.missing };
    if (value.kind === 'known' && typeof value.derivation.value === 'object') {
      const q = value.derivation.value;
      const reason = impossible(q);
      if (q.dimension === DIMENSIONS.voltage && reason !== undefined) {
        around.report(node, { code: 'value-out-of-range', what, text, reason });
        return WRONG;
      }
      if (q.dimension === DIMENSIONS.voltage && q.low > 0)
        return typed({ type: 'system', system: parseSystem(text, q)! });
      if (q.dimension === DIMENSIONS.voltage) {
        around.report(node, { code: 'value-out-of-range', what, text, reason: 'a nominal voltage is above zero' });
        return WRONG;
      }
      const bare = q.dimension === DIMENSIONS.ratio && !q.unit ? [`${text} V`] : [];
      around.report(node, {
        code: 'wrong-dimension',
        what,
        expected: 'voltage (V)',
        found: dimensionName(q.dimension),
        text,
        proposals: bare,
      });
      return WRONG;
    }
  }
  around.report(node, {
    code: 'wrong-type',
    what,
    expected: 'a voltage or system such as 230 V, 120/240 V or three 400 V',
    text,
    proposals: [],
  });
  return WRONG;
}

function quantityIn(
  node: ast.Value,
  dimensions: readonly DimensionName[],
  symbol: string,
  what: string,
  around: ValueContext,
  limits: { readonly minimum?: number } = {},
): Quantity | undefined {
  const type: PropertyType = { type: 'quantity', dimensions, unit: symbol, ...limits };
  const definition: PropertyDefinition = { name: what, type, doc: '' };
  const result = typedQuantity(node, definition, type, 'this table', around);
  return result.kind === 'typed' && result.value.type === 'quantity' ? result.value.quantity : undefined;
}

function typedTable(
  node: ast.Value,
  type: Extract<PropertyType, { type: 'table' }>,
  what: string,
  around: ValueContext,
): TypedValue {
  if (node.$type !== 'Table') {
    around.report(node, {
      code: 'wrong-type',
      what,
      expected: `a table such as { 50 ${type.keyUnit}: 2 ${type.valueUnit} }`,
      text: textOf(node),
      proposals: [],
    });
    return WRONG;
  }
  const rows: TableRow[] = [];
  let complete = true;
  for (const row of node.rows ?? []) {
    const key = row.key && quantityIn(row.key, type.key, type.keyUnit, 'key', around);
    const inner = row.value?.$type === 'Assumed' ? row.value.value : row.value;
    const value = inner && quantityIn(inner, type.value, type.valueUnit, 'value', around);
    if (key && value) rows.push({ key, value });
    else complete = false;
  }
  if (!complete) return WRONG;
  const sorted = [...rows].sort((a, b) => a.key.value - b.key.value);
  const twice = sorted.find((row, index) => index > 0 && sorted[index - 1]!.key.value === row.key.value);
  if (twice) {
    around.report(node, {
      code: 'value-out-of-range',
      what,
      text: formatQuantity(twice.key),
      reason: 'it stands twice in the table',
    });
    return WRONG;
  }
  return typed({ type: 'table', rows: sorted });
}

/** The kinds that a supply of alternating current may be. */
const SUPPLIES: readonly string[] = kindsThat(maySupplyAlternating);

function typedBySupply(
  node: ast.Value,
  type: Extract<PropertyType, { type: 'bySupply' }>,
  what: string,
  around: ValueContext,
): TypedValue {
  const expected = `a value for each supply, such as { Post30: 24 ${type.unit}, Garage: 12 ${type.unit} }`;
  const wrong = (at: AstNode): undefined => {
    around.report(at, { code: 'wrong-type', what, expected, text: textOf(at), proposals: [] });
  };
  if (node.$type !== 'Table') {
    wrong(node);
    return WRONG;
  }
  const rows: SupplyRow[] = [];
  let isComplete = true;
  for (const row of node.rows ?? []) {
    const { key } = row;
    const name = key?.$type === 'Path' && (key.steps ?? []).length === 0 ? key.root?.$refText : undefined;
    const target = key?.$type === 'Path' ? key.root?.ref : undefined;
    const isSupply = target?.$type === 'Instance' && SUPPLIES.includes(target.kind);
    if (key && name !== undefined && !target)
      around.report(key, { code: 'unknown-name', name, wanted: 'supply of this design', candidates: suppliesIn(key) });
    else if (key && (name === undefined || !isSupply)) wrong(key);
    const isTwice = rows.some(({ supply }) => supply === name);
    if (key && isTwice)
      around.report(key, { code: 'value-out-of-range', what, text: name!, reason: 'it stands twice in the table' });
    const inner = row.value?.$type === 'Assumed' ? row.value.value : row.value;
    const limits = type.minimum === undefined ? {} : { minimum: type.minimum };
    const quantity = inner && quantityIn(inner, type.dimensions, type.unit, 'value', around, limits);
    if (name !== undefined && isSupply && !isTwice && quantity)
      rows.push({
        supply: name,
        quantity,
        text: textOf(inner),
        isAssumed: row.value.$type === 'Assumed',
        place: placeOfNode(row.value, AstUtils.getDocument(row).uri.toString()),
      });
    else isComplete = false;
  }
  return isComplete ? typed({ type: 'bySupply', rows }) : WRONG;
}

/** The supplies of the design that a node stands in, by name. */
function suppliesIn(node: AstNode): string[] {
  const design = AstUtils.getContainerOfType(node, (each): each is ast.Design => each.$type === 'Design');
  return (design?.members ?? []).flatMap((each) =>
    each.$type === 'Instance' && SUPPLIES.includes(each.kind) ? [each.name] : [],
  );
}

const DAY = 86400;

function profileWindows(table: ast.Table, what: string, around: ValueContext): ProfileWindow[] | undefined {
  const windows: ProfileWindow[] = [];
  let complete = true;
  for (const row of table.rows ?? []) {
    const [from, to] =
      row.key?.$type === 'Arithmetic' && row.key.operator === '..'
        ? [timeOf(row.key.left, around), timeOf(row.key.right, around)]
        : [];
    const inner = row.value?.$type === 'Assumed' ? row.value.value : row.value;
    const share = inner && quantityIn(inner, ['ratio'], '%', 'share of power', around, { minimum: 0 });
    if (from === undefined || to === undefined) {
      if (row.key)
        around.report(row.key, {
          code: 'wrong-type',
          what,
          expected: 'windows such as 07:00..08:00',
          text: textOf(row.key),
          proposals: [],
        });
      complete = false;
    } else if (!share) complete = false;
    else windows.push({ from, to: to <= from ? to + DAY : to, share });
  }
  return complete ? windows : undefined;
}

function timeOf(node: ast.Expression | undefined, around: ValueContext): number | undefined {
  if (node?.$type !== 'TimeLiteral') return undefined;
  const value = around.evaluator.evaluate(node);
  return value.kind === 'known' && typeof value.derivation.value === 'object'
    ? value.derivation.value.value
    : undefined;
}

function typedProfile(node: ast.Value, what: string, around: ValueContext): TypedValue {
  const name = wordOf(node);
  if (name === 'always') return typed({ type: 'profile', windows: [{ from: 0, to: DAY, share: ratio(1) }] });
  const table = node.$type === 'Table' ? node : name === undefined ? undefined : around.findProfile(node, name)?.table;
  if (table) {
    const windows = profileWindows(table, what, around);
    return windows ? typed({ type: 'profile', windows }) : WRONG;
  }
  if (name !== undefined)
    around.report(node, {
      code: 'unknown-name',
      name,
      wanted: 'profile',
      candidates: ['always', ...around.profileNames(node)],
    });
  else
    around.report(node, {
      code: 'wrong-type',
      what,
      expected: '`always`, a profile by name, or windows such as { 07:00..08:00: 100 % }',
      text: textOf(node),
      proposals: [],
    });
  return WRONG;
}

function typedQuiet(node: ast.Value, what: string, around: ValueContext): TypedValue {
  const window = node.$type === 'QuietHours' ? node.window : node;
  const span = window?.$type === 'Arithmetic' && window.operator === '..' ? window : undefined;
  const [from, to] = span ? [timeOf(span.left, around), timeOf(span.right, around)] : [];
  if (from === undefined || to === undefined) {
    around.report(node, {
      code: 'wrong-type',
      what,
      expected: 'hours such as 22:00..06:30',
      text: textOf(node),
      proposals: [],
    });
    return WRONG;
  }
  if (node.$type !== 'QuietHours') return typed({ type: 'quiet', from, to });
  const condition = around.evaluator.evaluate(node.condition);
  if (condition.kind === 'bad') return WRONG;
  if (isCondition(condition)) {
    const read = around.readCondition?.(node.condition);
    return typed({
      type: 'quiet',
      from,
      to,
      unless: textOf(node.condition),
      ...(read?.kind === 'condition' ? { exception: read.condition } : {}),
      ...(read?.kind === 'missing' ? { missing: read.missing } : {}),
    });
  }
  around.report(node.condition, {
    code: 'wrong-type',
    what: 'what stands after `unless`',
    expected: 'a condition such as soc(Bank) < 20 %',
    text: textOf(node.condition),
    proposals: [],
  });
  return WRONG;
}

/** Checks a value against the type of its property and gives it its type. Reports what is wrong. */
export function typeValue(
  node: ast.Value,
  more: readonly ast.Value[],
  definition: PropertyDefinition,
  owner: string,
  around: ValueContext,
): TypedValue {
  const { type } = definition;
  const what = `\`${definition.name}\` of ${owner}`;
  if (more.length > 0 && type.type !== 'words') {
    around.report(more[0]!, { code: 'wrong-type', what, expected: 'one value', text: textOf(more[0]), proposals: [] });
    return WRONG;
  }
  switch (type.type) {
    case 'quantity':
      return typedQuantity(node, definition, type, owner, around);
    case 'system':
      return typedSystem(node, what, around);
    case 'table':
      return typedTable(node, type, what, around);
    case 'bySupply':
      return typedBySupply(node, type, what, around);
    case 'profile':
      return typedProfile(node, what, around);
    case 'quiet':
      return typedQuiet(node, what, around);
    case 'word':
    case 'words': {
      const allowed = type.words.map(({ word }) => word);
      const words: string[] = [];
      for (const each of [node, ...more]) {
        const written = wordOf(each);
        const word = written && canonicalWord(written);
        if (word !== undefined && allowed.includes(word)) words.push(word);
        else if (written !== undefined)
          around.report(each, { code: 'unknown-name', name: written, wanted: `value of ${what}`, candidates: allowed });
        else
          around.report(each, {
            code: 'wrong-type',
            what,
            expected: `one of ${allowed.join(', ')}`,
            text: textOf(each),
            proposals: [],
          });
      }
      if (words.length <= more.length) return WRONG;
      return typed(type.type === 'word' ? { type: 'word', word: words[0]! } : { type: 'words', words });
    }
    case 'flag': {
      const word = wordOf(node);
      if (word === 'yes' || word === 'no') return typed({ type: 'flag', flag: word === 'yes' });
      const meant =
        word === 'true' || word === 'on'
          ? ['yes']
          : word === 'false' || word === 'off' || word === 'none'
            ? ['no']
            : [];
      around.report(node, {
        code: 'wrong-type',
        what,
        expected: '`yes` or `no`',
        text: textOf(node),
        proposals: meant,
      });
      return WRONG;
    }
    case 'text':
      if (node.$type === 'TextLiteral') return typed({ type: 'text', text: node.value ?? '' });
      around.report(node, {
        code: 'wrong-type',
        what,
        expected: 'a text in double quotes',
        text: textOf(node),
        proposals: wordOf(node) === undefined ? [] : [`"${textOf(node)}"`],
      });
      return WRONG;
    case 'date': {
      const value = node.$type === 'DateLiteral' ? around.evaluator.evaluate(node) : undefined;
      if (value?.kind === 'known' && typeof value.derivation.value === 'string') {
        const date = value.derivation.value;
        const { first = date, last = date } = type;
        if (date >= first && date <= last) return typed({ type: 'date', date });
        const reason = `days from ${first} to ${last} can be simulated`;
        around.report(node, { code: 'value-out-of-range', what, text: date, reason });
        return WRONG;
      }
      if (!value)
        around.report(node, {
          code: 'wrong-type',
          what,
          expected: 'a date such as 2027-01-15',
          text: textOf(node),
          proposals: [],
        });
      return WRONG;
    }
    case 'money': {
      const value = isExpressionNode(node) ? around.evaluator.evaluate(node) : undefined;
      if (value?.kind === 'bad') return WRONG;
      if (value?.kind === 'pending') return { kind: 'missing', missing: value.missing };
      if (
        value?.kind === 'known' &&
        typeof value.derivation.value === 'object' &&
        isMoney(value.derivation.value.dimension)
      ) {
        const reason = impossible(value.derivation.value);
        if (reason === undefined) return typed({ type: 'quantity', quantity: value.derivation.value });
        around.report(node, { code: 'value-out-of-range', what, text: textOf(node), reason });
        return WRONG;
      }
      around.report(node, {
        code: 'wrong-type',
        what,
        expected: 'an amount with a currency such as 1450 EUR',
        text: textOf(node),
        proposals: [],
      });
      return WRONG;
    }
    case 'part': {
      const name = wordOf(node);
      const found = name === undefined ? undefined : around.findPart(node, name, type.kinds);
      if (found) return typed({ type: 'part', part: found });
      if (name === undefined)
        around.report(node, {
          code: 'wrong-type',
          what,
          expected: `a ${type.kinds.join(' or ')} by name`,
          text: textOf(node),
          proposals: [],
        });
      else
        around.report(node, {
          code: 'unknown-name',
          name,
          wanted: type.kinds.join(' or '),
          candidates: around.partNames(node, type.kinds),
        });
      return WRONG;
    }
  }
}

const isMoney = (dimension: Dimension): boolean =>
  [...dimension.exponents.keys()].some((base) => base.startsWith('money-')) && dimension.exponents.size === 1;

/** Units to offer for a dimension, the property's own first. */
export const unitsFor = (dimensions: readonly DimensionName[]): string[] =>
  dimensions.flatMap((name) => unitsOf(DIMENSIONS[name]).map(({ symbol }) => symbol));

/** A default as it would be written, typed. Defaults are written in the kind catalogue and therefore always right. */
export function defaultValue(definition: PropertyDefinition): PropertyValue | undefined {
  const written = definition.default?.text;
  if (written === undefined) return undefined;
  const { type } = definition;
  if (type.type === 'flag') return { type: 'flag', flag: written === 'yes' };
  if (type.type === 'word') return { type: 'word', word: written };
  if (type.type === 'quantity') {
    const { number, unit: symbol } = splitLiteral(written);
    return { type: 'quantity', quantity: symbol ? quantity(number, symbol) : ratio(number) };
  }
  return undefined;
}
