import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');

/** For each folder of language/src, what it may import besides itself. Arrows run one way only. */
const MAY_IMPORT: Record<string, readonly string[]> = {
  quantity: [],
  markup: [],
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
  proof: ['quantity', 'derivation', 'reference', 'model', 'equipment', 'quantities', 'control', 'simulate'],
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
    'proof',
    'glossary',
  ],
};

/** Folders above the checks put everything together and may import all the rest. */
const ON_TOP = [
  'analyse',
  'propose',
  'choose',
  'compare',
  'explain',
  'draw',
  'plot',
  'document',
  'project',
  'index.ts',
];

interface Import {
  /** Whether nothing but types is taken from it. */
  readonly isTypeOnly: boolean;
  readonly file: string;
  readonly from: string;
  readonly target: string;
}

function importsOf(pattern: string): Import[] {
  return globSync(pattern, { cwd: root }).flatMap((file) => {
    if (file.includes('generated')) return [];
    const text = readFileSync(path.join(root, file), 'utf8');
    const targets = [...text.matchAll(/^\s*(?:import|export)\b[^'";]*?from\s+'([^']+)'|\bimport\('([^']+)'\)/gm)];
    return targets.map((match): Import => ({
      file,
      from: file.split(path.sep)[2]!,
      target: (match[1] ?? match[2])!,
      isTypeOnly: takesTypesOnly(match[0]),
    }));
  });
}

/** Whether an import takes nothing but types: by its first word, or by each of its names. */
function takesTypesOnly(statement: string): boolean {
  if (/^\s*(?:import|export) type\b/.test(statement)) return true;
  const names = /\{([^}]*)\}/
    .exec(statement)?.[1]
    ?.split(',')
    .map((name) => name.trim());
  return names?.filter(Boolean).every((name) => name.startsWith('type ')) ?? false;
}

/** Whether a way of uses leads from a file to another. */
function reaches(from: string, to: string, uses: ReadonlyMap<string, ReadonlySet<string>>): boolean {
  const seen = new Set<string>();
  const queue = [...(uses.get(from) ?? [])];
  for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
    if (next === to) return true;
    if (seen.has(next)) continue;
    seen.add(next);
    queue.push(...(uses.get(next) ?? []));
  }
  return false;
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

  test('nobody below the proposals knows them: an analysis carries no changes', () => {
    const wrong = language
      .filter(({ from, target }) => !['propose', 'choose', 'index.ts'].includes(from) && target.includes('/propose/'))
      .map(({ file, target }) => `${file} imports ${target}`);
    expect(wrong).toEqual([]);
  });

  test('nobody but the front door knows who chooses values: not the proposals either', () => {
    const wrong = language
      .filter(({ from, target }) => !['choose', 'index.ts'].includes(from) && target.includes('/choose/'))
      .map(({ file, target }) => `${file} imports ${target}`);
    expect(wrong).toEqual([]);
  });

  test('no circle of files: what a file uses never uses it again', () => {
    const uses = new Map<string, Set<string>>();
    for (const { file, target, isTypeOnly } of language) {
      if (isTypeOnly || !target.startsWith('.')) continue;
      const to = path.normalize(path.join(path.dirname(file), target)).replace(/\.js$/, '.ts');
      uses.set(file, (uses.get(file) ?? new Set()).add(to));
    }
    // A file whose uses have all been taken away stands in no circle.
    for (let isChanged = true; isChanged;) {
      isChanged = false;
      for (const [file, targets] of uses) {
        for (const to of targets) if (!uses.has(to)) isChanged = targets.delete(to) || isChanged;
        if (targets.size === 0) isChanged = uses.delete(file) || isChanged;
      }
    }
    // What is left lies in circles, or uses what does.
    const circles = [...uses.keys()].filter((file) => reaches(file, file, uses));
    expect(circles).toEqual([]);
  });

  test('the language knows no Node, no editor and no server', () => {
    const allowed = /^(\.|langium($|\/lsp$|\/grammar$)|chevrotain$|vscode-languageserver-types$|d3-(scale|shape)$)/;
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
    const allowed = /^(\.|vscode$|vscode-languageclient(\/node|\/browser)?$|node:worker_threads$)/;
    const wrong = importsOf('extension/src/**/*.ts').filter(({ target }) => !allowed.test(target));
    expect(wrong.map(({ file, target }) => `${file} imports ${target}`)).toEqual([]);
  });
});
