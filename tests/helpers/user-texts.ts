import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import ts from 'typescript';

/** A text that somebody may read on a screen, in a document or beside an example, with the place where it is written. */
export interface UserText {
  readonly file: string;
  readonly line: number;
  readonly text: string;
}

const ROOT = path.resolve(import.meta.dirname, '../..');

/** What stands in a text for a value that is put in when it is shown. */
export const HOLE = '§';

const read = (file: string): string => readFileSync(path.join(ROOT, file), 'utf8');

/** The whole of a template, with a sign for each hole, so that words around a hole are read together. */
function templateText(node: ts.TemplateExpression): string {
  return node.head.text + node.templateSpans.map(({ literal }) => HOLE + literal.text).join('');
}

/** Texts of a source file: literals of more than one word; ids, keys and names of modules are no texts. */
function textsOfSource(file: string): UserText[] {
  const source = ts.createSourceFile(file, read(file), ts.ScriptTarget.Latest, true);
  const texts: UserText[] = [];
  const add = (node: ts.Node, text: string): void => {
    if (/\p{L}/u.test(text) && /\s/.test(text))
      texts.push({ file, line: source.getLineAndCharacterOfPosition(node.getStart()).line + 1, text });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node) || ts.isLiteralTypeNode(node)) return;
    if (ts.isStringLiteralLike(node)) add(node, node.text);
    if (ts.isTemplateExpression(node)) add(node, templateText(node));
    ts.forEachChild(node, visit);
  };
  visit(source);
  return texts;
}

/** Paragraphs of a page: a sentence may go on in the next line. */
function textsOfPage(file: string): UserText[] {
  let line = 1;
  return read(file)
    .split(/\n(?=\n|[-|#*]|\d+\. )/)
    .map((text) => {
      const at = { file, line: line + (text.startsWith('\n') ? 1 : 0), text };
      line += text.split('\n').length;
      return at;
    });
}

/** Comments and texts in quotes of a design or of the standard library. */
function textsOfDesign(file: string): UserText[] {
  const whole = read(file);
  return [...whole.matchAll(/\/\*[\s\S]*?\*\/|\/\/[^\n]*|"[^"\n]*"/g)].map(({ 0: text, index }) => ({
    file,
    line: whole.slice(0, index).split('\n').length,
    text,
  }));
}

/** Texts in a JSON file under keys that people read. */
function textsOfData(file: string, keys: readonly string[]): UserText[] {
  const whole = read(file);
  const pattern = new RegExp(`"(?:${keys.join('|')})"\\s*:\\s*("(?:[^"\\\\]|\\\\.)*")`, 'g');
  return [...whole.matchAll(pattern)].map(({ 1: text, index }) => ({
    file,
    line: whole.slice(0, index).split('\n').length,
    text: JSON.parse(text!) as string,
  }));
}

const filesOf = (pattern: string): string[] => globSync(pattern, { cwd: ROOT }).sort();

/** Every text of the project that a user may read: messages, help, pages, library, examples, settings and schemas. */
export function userTexts(): UserText[] {
  return [
    ...filesOf('{language,server,extension}/src/**/*.ts')
      .filter((file) => !file.includes('generated'))
      .flatMap(textsOfSource),
    ...[
      'README.md',
      'CHANGELOG.md',
      'extension/README.md',
      ...filesOf('language/*.md'),
      ...filesOf('examples/*/*.md'),
    ].flatMap(textsOfPage),
    ...filesOf('{language/library,examples/*}/*.watt').flatMap(textsOfDesign),
    ...['extension/package.json', 'server/package.json', 'language/package.json', 'syntaxes/snippets.json'].flatMap(
      (file) =>
        textsOfData(file, ['description', 'markdownDescription', 'title', 'label', 'displayName', 'contents', 'name']),
    ),
    // Settings, commands and messages of the editor: every key is a name of a text.
    ...['extension/package.nls.json', 'extension/l10n/bundle.l10n.json'].flatMap((file) =>
      textsOfData(file, ['[^"]+']),
    ),
    ...filesOf('server/schemas/*.json').flatMap((file) => textsOfData(file, ['description', 'title'])),
  ];
}
