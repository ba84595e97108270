import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import oniguruma from 'vscode-oniguruma';
import textmate, { type IGrammar } from 'vscode-textmate';
import { beforeAll, describe, expect, test } from 'vitest';
import { INSTANCE_KINDS } from '../../language/src/equipment/index.js';
import { UNITS } from '../../language/src/quantity/units.js';

const root = path.resolve(import.meta.dirname, '../..');
let grammar: IGrammar;

beforeAll(async () => {
  const engine = createRequire(import.meta.url).resolve('vscode-oniguruma/release/onig.wasm');
  await oniguruma.loadWASM(readFileSync(engine));
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: (scope) => {
      const file = path.join(root, 'syntaxes/wattwright.tmLanguage.json');
      return Promise.resolve(
        scope === 'source.wattwright' ? textmate.parseRawGrammar(readFileSync(file, 'utf8'), file) : null,
      );
    },
  });
  grammar = (await registry.loadGrammar('source.wattwright'))!;
});

/** The pieces of one line with the innermost scope of each, blanks left out. */
function scopes(line: string): [string, string][] {
  return grammar
    .tokenizeLine(line, textmate.INITIAL)
    .tokens.map((token): [string, string] => [
      line.slice(token.startIndex, token.endIndex),
      token.scopes.at(-1)!.replace(/\.wattwright$/, ''),
    ])
    .filter(([text]) => text.trim() !== '');
}

const scopeOf = (line: string, text: string): string | undefined =>
  scopes(line).find(([piece]) => piece.trim() === text)?.[1];

describe('highlighting', () => {
  test('every spelling of every unit is one quantity with its number', () => {
    const wrong = UNITS.flatMap((unit) => [unit.symbol, ...unit.aliases]).filter(
      (spelling) => scopeOf(`x: 12 ${spelling}   next: 3`, `12 ${spelling}`) !== 'constant.numeric.quantity',
    );
    expect(wrong).toEqual([]);
  });

  test('a property after a plain number is no unit', () => {
    expect(scopes('parallel: 3 mass: 5 kg')).toEqual([
      ['parallel', 'support.type.property-name'],
      [':', 'punctuation.separator.key-value'],
      ['3', 'constant.numeric'],
      ['mass', 'support.type.property-name'],
      [':', 'punctuation.separator.key-value'],
      ['5 kg', 'constant.numeric.quantity'],
    ]);
  });

  test.each([
    ['2/0 AWG', 'constant.numeric.quantity'],
    ['120/240 V', 'constant.numeric.quantity'],
    ['1.9 L/h', 'constant.numeric.quantity'],
    ['-3 mV/K', 'constant.numeric.quantity'],
    ['22:30', 'constant.numeric.time'],
    ['2027-01-15', 'constant.numeric.date'],
    ['?', 'constant.language.hole'],
    ['"text"', 'string.quoted.double'],
    ['THWN-2', 'variable.other'],
    ['NEMA-14-50', 'variable.other'],
  ])('%s has the scope %s', (text, scope) => {
    const pieces = scopes(`x: ${text}`).slice(2);
    const own = pieces.filter(([piece]) => piece !== '-' && piece !== '"');
    expect(own).toEqual([[text.replace(/^-|"/g, ''), scope]]);
  });

  test('ranges keep both ends and the sign between', () => {
    expect(scopes('ambient: -20..32 degC').slice(2)).toEqual([
      ['-', 'keyword.operator.arithmetic'],
      ['20', 'constant.numeric'],
      ['..', 'keyword.operator.range'],
      ['32 degC', 'constant.numeric.quantity'],
    ]);
  });

  test('a run shows its name, its path and its distance', () => {
    expect(scopes('run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus {')).toEqual([
      ['run', 'storage.type'],
      ['BankFeed', 'entity.name.function.run'],
      [':', 'punctuation.separator'],
      ['Bank', 'variable.other'],
      ['->', 'keyword.operator.flow'],
      ['MainFuse', 'variable.other'],
      ['@', 'keyword.operator.position'],
      ['150 mm', 'constant.numeric.quantity'],
      ['->', 'keyword.operator.flow'],
      ['DcBus', 'variable.other'],
      ['{', 'punctuation.section.block'],
    ]);
  });

  test('an instance shows its kind, its name and its part', () => {
    expect(scopes('charger Rect : Rectifier5k')).toEqual([
      ['charger', 'storage.type.kind'],
      ['Rect', 'entity.name.function.instance'],
      [':', 'punctuation.separator'],
      ['Rectifier5k', 'entity.name.type.part'],
    ]);
  });

  test('every kind of thing is highlighted where it is placed, by any name', () => {
    const kinds = INSTANCE_KINDS.map((definition) => definition.kind);
    const plain = kinds.filter(
      (kind) => scopeOf(`${kind} Großer-Speicher2 { note: "x" }`, kind) !== 'storage.type.kind',
    );
    expect(plain).toEqual([]);
    expect(scopeOf('load Großer-Speicher2 { }', 'Großer-Speicher2')).toBe('entity.name.function.instance');
  });

  test('doc comments differ from other comments', () => {
    expect(scopes('/** a sheet */ part').map(([, scope]) => scope)).toContain('comment.block.documentation');
    expect(scopes('/* a note */').map(([, scope]) => scope)).toContain('comment.block');
    expect(scopeOf('// a note', '// a note')).toBe('comment.line.double-slash');
  });

  test('every keyword of the grammar is highlighted as one', () => {
    const source = readFileSync(path.join(root, 'language/src/grammar/wattwright.langium'), 'utf8').replace(
      /\/\/.*/g,
      '',
    );
    const keywords = [...new Set([...source.matchAll(/'([a-z]+)'/g)].map((match) => match[1]!))];
    expect(keywords.length).toBeGreaterThan(15);
    const plain = keywords.filter((word) => !/^(keyword|storage)\./.test(scopeOf(`${word} "x"`, word) ?? ''));
    expect(plain).toEqual([]);
  });
});
