import path from 'node:path';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');

/** Members of a derivation that are words and signs for people. */
const WORDED = new Set(['name', 'notes', 'symbol', 'formula']);
/** Functions that make words of data. */
const WORDING = new Set([
  'reasonText',
  'reasonsText',
  'governingText',
  'governedBy',
  'governedInBrackets',
  'clauseText',
]);
/** What reads a text, or looks for one in a list of texts. */
const READING = new Set(
  'at charAt endsWith every exec filter find findIndex findLast includes indexOf lastIndexOf match matchAll replace replaceAll search slice some split startsWith substring test'.split(
    ' ',
  ),
);
/** Folders that show derivations, where a text may be fitted to its line. */
const SHOWING = /^language\/src\/(?:explain|glossary)\//;

/** The program of a text alone, or of the language package as it is built. */
function programOf(text?: string): ts.Program {
  const { config } = ts.readConfigFile(path.join(root, 'language/tsconfig.json'), ts.sys.readFile) as {
    config: object;
  };
  const { options, fileNames } = ts.parseJsonConfigFileContent(config, ts.sys, path.join(root, 'language'));
  const noEmit = { ...options, noEmit: true, composite: false, incremental: false };
  if (text === undefined) return ts.createProgram(fileNames, noEmit);
  const host = ts.createCompilerHost(noEmit);
  const [own, read] = [path.join(root, 'language/src/example.ts'), host.getSourceFile.bind(host)];
  host.getSourceFile = (file, version, ...rest) =>
    path.resolve(file) === own ? ts.createSourceFile(file, text, version, true) : read(file, version, ...rest);
  return ts.createProgram([own], noEmit, host);
}

/** Where words of derivations are read: `file: expression`. */
function readings(program: ts.Program): string[] {
  const checker = program.getTypeChecker();
  const isOfDerivation = (symbol: ts.Symbol | undefined): boolean =>
    WORDED.has(symbol?.name ?? '') &&
    (symbol?.declarations ?? []).some(
      ({ parent }) => ts.isInterfaceDeclaration(parent) && parent.name.text === 'Derivation',
    );

  /** Whether an expression is a text of a derivation, or words made of its reasons; constants stand for what they are set to. */
  function isWords(node: ts.Expression): boolean {
    if (ts.isParenthesizedExpression(node) || ts.isNonNullExpression(node) || ts.isAsExpression(node))
      return isWords(node.expression);
    if (ts.isBinaryExpression(node) && node.operatorToken.kind === ts.SyntaxKind.QuestionQuestionToken)
      return isWords(node.left);
    if (ts.isCallExpression(node)) return ts.isIdentifier(node.expression) && WORDING.has(node.expression.text);
    if (ts.isElementAccessExpression(node)) return isWords(node.expression);
    if (ts.isPropertyAccessExpression(node)) return isOfDerivation(checker.getSymbolAtLocation(node.name));
    const declaration = ts.isIdentifier(node) ? checker.getSymbolAtLocation(node)?.valueDeclaration : undefined;
    if (!declaration) return false;
    if (ts.isBindingElement(declaration) && ts.isObjectBindingPattern(declaration.parent)) {
      const key = declaration.propertyName ?? declaration.name;
      return (
        ts.isIdentifier(key) && isOfDerivation(checker.getTypeAtLocation(declaration.parent).getProperty(key.text))
      );
    }
    return ts.isVariableDeclaration(declaration) && declaration.initializer !== undefined
      ? isWords(declaration.initializer)
      : false;
  }

  function isReading(node: ts.Node): boolean {
    if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression)) {
      if (!READING.has(node.expression.name.text)) return false;
      const { expression: on } = node.expression;
      const isPattern = ['test', 'exec'].includes(node.expression.name.text);
      return isPattern ? node.arguments.some(isWords) : isWords(on);
    }
    if (ts.isElementAccessExpression(node)) return isWords(node.expression);
    if (ts.isSwitchStatement(node)) return isWords(node.expression);
    const isComparing =
      ts.isBinaryExpression(node) &&
      [ts.SyntaxKind.EqualsEqualsEqualsToken, ts.SyntaxKind.ExclamationEqualsEqualsToken].includes(
        node.operatorToken.kind,
      );
    if (!isComparing) return false;
    const isUndefined = [node.left, node.right].some((side) => ts.isIdentifier(side) && side.text === 'undefined');
    return !isUndefined && (isWords(node.left) || isWords(node.right));
  }

  return program.getSourceFiles().flatMap((source) => {
    const file = path.relative(root, source.fileName).split(path.sep).join('/');
    if (!file.startsWith('language/src/') || SHOWING.test(file)) return [];
    const found: string[] = [];
    const visit = (node: ts.Node): void => {
      if (isReading(node)) found.push(`${file}: ${node.getText(source).replace(/\s+/g, ' ').slice(0, 120)}`);
      ts.forEachChild(node, visit);
    };
    visit(source);
    return found;
  });
}

describe('words of derivations', () => {
  /** Places that may read one, each with the reason. */
  const MAY: Readonly<Record<string, string>> = {
    'language/src/checks/requirements/reading-mismatch.ts: tolerance.notes[0]':
      'shows where the tolerance of an instrument comes from, and decides nothing by it',
    'language/src/checks/requirements/requirement-failed.ts: each.name !== displayValue(each)':
      'a number written in the requirement is named by its own text, which is not to be said twice',
  };

  test('are read back nowhere but where they are shown', () => {
    const found = readings(programOf());
    expect(found.filter((each) => !(each in MAY))).toEqual([]);
    expect(Object.keys(MAY).filter((each) => !found.includes(each))).toEqual([]);
  });

  test('are found by any way in which they are read', () => {
    const text = `
      import { type Derivation } from './derivation/index.js';
      import { governingText } from './glossary/reason-text.js';
      export const one = (given: Derivation) => given.name.startsWith('input');
      export const two = (given: readonly Derivation[]) => given.find(({ name }) => name === 'output');
      export const three = ({ notes }: Derivation) => notes[0];
      export const four = (given: Derivation) => /assumed/.test(given.name);
      export const five = (given: Derivation) => governingText(given)?.replace(/^its /, '');
      export const six = (given: Derivation) => { const said = governingText(given) ?? ''; return said === 'its input limit'; };
      export const seven = (given: Derivation) => ({ ...given, unit: 'A' }).notes.some((note) => note !== '');
      export const shown = (given: Derivation) => \`\${given.name}: \${given.notes.join('; ')}\`;
      export const none = (given: { readonly name: string }) => given.name.startsWith('input');
    `;
    expect(readings(programOf(text)).filter((each) => each.startsWith('language/src/example.ts'))).toHaveLength(7);
  });
});
