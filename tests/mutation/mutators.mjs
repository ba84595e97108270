// Loaded before the mutation runner: adds what it lacks (numbers), and leaves only the mutants of the sample.
// The runner offers no way to add a way of mutating; its list of them is an array that its own code reads, so the version is pinned.
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const instrumenter = path.join(import.meta.dirname, 'node_modules/@stryker-mutator/instrumenter/dist/src');
/** @param {string} file */
const load = (file) => import(pathToFileURL(path.join(instrumenter, file)).href);
const { allMutators } = await load('mutators/index.js');
const parser = path.join(import.meta.dirname, 'node_modules/@babel');
/** @param {string} file */
const loadParser = (file) => import(pathToFileURL(path.join(parser, file)).href);
const { types } = await loadParser('core/lib/index.js');

/** Ways of mutating a limit, a factor or a comparison. Words, lists and blocks are left alone. */
export const WAYS = [
  'EqualityOperator',
  'ArithmeticOperator',
  'LogicalOperator',
  'MethodExpression',
  'UnaryOperator',
  'NumberLiteral',
];

/** Below this a number is a margin for rounding, and no test can tell one margin from another. */
const MARGIN = 1e-5;

/** A number by a tenth more; 0 becomes 1 and 1 becomes 2. Places in a list are no quantities. */
const numberLiteral = {
  name: 'NumberLiteral',
  /** @param {any} node any: a path of the parser that comes with the runner */
  *mutate(node) {
    if (!node.isNumericLiteral() || isWording(node)) return;
    const { parent } = node;
    const isPlace =
      (parent.type === 'MemberExpression' && parent.computed) ||
      (parent.type === 'CallExpression' && ['slice', 'at', 'round'].includes(parent.callee.property?.name)) ||
      parent.type.startsWith('TS') ||
      // How far an example may be off is no rule.
      (parent.type === 'ObjectProperty' && parent.key.name === 'tolerance');
    const { value } = node.node;
    if (isPlace || (value !== 0 && Math.abs(value) < MARGIN)) return;
    yield types.numericLiteral(value === 0 || value === 1 ? value + 1 : value * 1.1);
  },
};

/** Methods that choose: the largest, the smallest, any, all. Others change lists of words. */
const CHOOSING = /\b(min|max|some|every)\(/;

/** What tells one mutant of a file from the others. @param {any} mutant any: as the runner makes it, in its own two forms */
export const keyOf = ({ mutatorName, replacement, location: { start, end } }) =>
  `${mutatorName} ${start.line}:${start.column}-${end.line}:${end.column} ${replacement}`;

/** Whether two operands differ only by a margin for rounding, as `1 + 1e-9`. @param {any} node any: see above */
const isMargin = (node) =>
  node.type === 'BinaryExpression' &&
  [node.left, node.right].some((each) => each.type === 'NumericLiteral' && each.value !== 0 && each.value < MARGIN);

/** Whether a place lies within a text: what is said of a fault is no limit. @param {any} node any: see above */
const isWording = (node) => node.findParent((/** @type {any} */ parent) => parent.isTemplateLiteral()) !== null;

for (const mutator of [...allMutators]) {
  const mutate = mutator.mutate.bind(mutator);
  mutator.mutate = function* (/** @type {any} */ node, /** @type {any} */ options) {
    if (!WAYS.includes(mutator.name) || isMargin(node.node) || isWording(node)) return;
    if (mutator.name === 'MethodExpression' && !CHOOSING.test(`${node.node.callee?.property?.name}(`)) return;
    yield* mutate(node, options);
  };
}
allMutators.push(numberLiteral);

const chosen = process.env['MUTATION_SAMPLE'];
if (chosen) {
  const { generate } = await loadParser('generator/lib/index.js');
  const keys = new Set(JSON.parse(readFileSync(chosen, 'utf8')));
  for (const mutator of allMutators) {
    const mutate = mutator.mutate.bind(mutator);
    mutator.mutate = function* (/** @type {any} */ node, /** @type {any} */ options) {
      for (const replacement of mutate(node, options)) {
        const { start, end } = node.node.loc;
        const key = keyOf({
          mutatorName: mutator.name,
          replacement: generate(replacement).code,
          location: {
            start: { line: start.line - 1, column: start.column },
            end: { line: end.line - 1, column: end.column },
          },
        });
        if (keys.has(key)) yield replacement;
      }
    };
  }
}
