import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');

/** For each folder of language/src, what it may import besides itself. Arrows run one way only. */
const MAY_IMPORT: Record<string, readonly string[]> = {
  quantity: [],
  derivation: ['quantity'],
  reference: ['quantity', 'derivation'],
  calculate: ['quantity', 'derivation', 'reference', 'equipment'],
  solve: [],
  grammar: [],
  library: [],
  syntax: ['grammar', 'library', 'quantity'],
  equipment: ['quantity', 'derivation'],
  model: ['quantity', 'derivation', 'reference', 'calculate', 'grammar', 'syntax', 'equipment'],
  quantities: ['quantity', 'derivation', 'reference', 'calculate', 'solve', 'model', 'equipment'],
  control: ['quantity', 'derivation', 'reference', 'model', 'equipment', 'quantities'],
  simulate: [
    'solve',
    'quantity',
    'derivation',
    'reference',
    'calculate',
    'model',
    'equipment',
    'quantities',
    'control',
  ],
  glossary: ['quantity', 'derivation', 'calculate', 'quantities', 'simulate'],
  checks: [
    'quantity',
    'derivation',
    'reference',
    'calculate',
    'model',
    'equipment',
    'quantities',
    'control',
    'simulate',
    'glossary',
  ],
};

/** Folders above the checks put everything together and may import all the rest. */
const ON_TOP = ['analyse', 'explain', 'document', 'index.ts'];

interface Import {
  readonly file: string;
  readonly from: string;
  readonly target: string;
}

function importsOf(pattern: string): Import[] {
  return globSync(pattern, { cwd: root }).flatMap((file) => {
    if (file.includes('generated')) return [];
    const text = readFileSync(path.join(root, file), 'utf8');
    const targets = [...text.matchAll(/^\s*(?:import|export)\b[^'";]*?from\s+'([^']+)'|\bimport\('([^']+)'\)/gm)];
    return targets.map((match): Import => ({ file, from: file.split(path.sep)[2]!, target: (match[1] ?? match[2])! }));
  });
}

const language = importsOf('language/src/**/*.ts');

describe('arrows between the layers', () => {
  test('imports are found at all', () => {
    expect(language.length).toBeGreaterThan(50);
  });

  test('each folder of the language imports only what lies below it', () => {
    const wrong = language
      .filter(({ target }) => target.startsWith('.'))
      .map((entry) => {
        const resolved = path.relative(
          path.join(root, 'language/src'),
          path.resolve(root, path.dirname(entry.file), entry.target),
        );
        return { ...entry, to: resolved.split(path.sep)[0]! };
      })
      .filter(({ from, to }) => from !== to && !ON_TOP.includes(from) && !(MAY_IMPORT[from] ?? []).includes(to))
      .map(({ file, target }) => `${file} imports ${target}`);
    expect(wrong).toEqual([]);
  });

  test('the language knows no Node, no editor and no server', () => {
    const allowed = /^(\.|langium($|\/lsp$|\/grammar$)|chevrotain$|vscode-languageserver-types$)/;
    expect(
      language.filter(({ target }) => !allowed.test(target)).map(({ file, target }) => `${file} imports ${target}`),
    ).toEqual([]);
  });

  test('below the model nobody knows the parser', () => {
    const low = ['quantity', 'derivation', 'reference', 'calculate'];
    const wrong = language.filter(({ from, target }) => low.includes(from) && /^(langium|chevrotain)/.test(target));
    expect(wrong.map(({ file, target }) => `${file} imports ${target}`)).toEqual([]);
  });

  test('server and extension reach the language through its front door only', () => {
    const outside = importsOf('{server,extension}/src/**/*.ts');
    const wrong = outside.filter(({ target }) => /language\/(src|out)|^@wattwright\/language\//.test(target));
    expect(wrong.map(({ file, target }) => `${file} imports ${target}`)).toEqual([]);
  });

  test('the extension imports no calculation: only the editor and the protocol client', () => {
    const allowed = /^(\.|vscode$|vscode-languageclient(\/node|\/browser)?$)/;
    const wrong = importsOf('extension/src/**/*.ts').filter(({ target }) => !allowed.test(target));
    expect(wrong.map(({ file, target }) => `${file} imports ${target}`)).toEqual([]);
  });
});
