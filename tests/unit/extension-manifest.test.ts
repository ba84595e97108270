import { existsSync, globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { EmptyFileSystem } from 'langium';
import { describe, expect, test } from 'vitest';
import { PROJECT_FILE, projectSchema } from '../../language/src/project/index.js';
import { createLanguageServices } from '../../language/src/syntax/module.js';

const root = path.resolve(import.meta.dirname, '../..');
const read = (file: string): string => readFileSync(path.join(root, file), 'utf8');

interface Manifest {
  version: string;
  icon: string;
  contributes: {
    commands: { command: string }[];
    languages: { configuration: string; icon: Record<string, string> }[];
    grammars: { path: string; scopeName: string }[];
    snippets: { path: string }[];
    configuration: { properties: Record<string, unknown> };
    jsonValidation: { fileMatch: string; url: string }[];
  };
}
const manifest = JSON.parse(read('extension/package.json')) as Manifest;
const { contributes } = manifest;
const clientSource = globSync('**/*.ts', { cwd: path.join(root, 'extension/src') })
  .map((file) => read(`extension/src/${file}`))
  .join('\n');

/** A snippet as it lands in the file when every placeholder is left as proposed. */
function expand(body: string | string[]): string {
  let text = [body].flat().join('\n').replaceAll('$0', '');
  const proposals = new Map<string, string>();
  text = text.replace(/\$\{(\d+)\|([^,|]*)[^|]*\|\}|\$\{(\d+):([^}]*)\}/g, (_, choice, first, number, proposal) => {
    const key = (choice ?? number) as string;
    if (!proposals.has(key)) proposals.set(key, (first ?? proposal) as string);
    return proposals.get(key)!;
  });
  return text;
}

describe('the extension manifest', () => {
  test('names files that exist', () => {
    const media = [manifest.icon, ...contributes.languages.flatMap((language) => Object.values(language.icon))];
    for (const file of media) expect(existsSync(path.join(root, 'extension', file)), file).toBe(true);
    const copied = [
      ...contributes.languages.map((language) => language.configuration),
      ...contributes.grammars.map((grammar) => grammar.path),
      ...contributes.snippets.map((snippets) => snippets.path),
    ];
    // These are copied from the top-level folder when the extension is built.
    for (const file of copied) expect(existsSync(path.join(root, file)), file).toBe(true);
  });

  test('associates project files with the schema that is published with the command line', () => {
    const [{ fileMatch, url } = { fileMatch: '', url: '' }] = contributes.jsonValidation;
    expect(fileMatch).toBe(PROJECT_FILE);
    // It is copied when the extension is built.
    expect(read(`server/${url}`)).toBe(`${JSON.stringify(projectSchema(), undefined, 2)}\n`);
    expect((JSON.parse(read('extension/package.json')) as { files: string[] }).files).toContain('schemas');
  });

  test('offers exactly the commands that the client registers', () => {
    const registered = [...clientSource.matchAll(/registerCommand\('([^']+)'/g)].map((match) => match[1]!);
    expect(registered.sort()).toEqual(contributes.commands.map(({ command }) => command).sort());
  });

  test('has one version with the language and the server', () => {
    for (const part of ['language', 'server']) {
      expect((JSON.parse(read(`${part}/package.json`)) as Manifest).version).toBe(manifest.version);
    }
  });
});

describe('snippets', () => {
  const snippets = JSON.parse(read('syntaxes/snippets.json')) as Record<
    string,
    { prefix: string; body: string | string[] }
  >;
  const { LangiumParser } = createLanguageServices(EmptyFileSystem).wattwright.parser;
  const topLevel = new Set(['design', 'part']);

  test.each(Object.entries(snippets))('%s parses as proposed', (_, { prefix, body }) => {
    const text = expand(body);
    const { parserErrors, lexerErrors } = LangiumParser.parse(topLevel.has(prefix) ? text : `design D {\n${text}\n}`);
    expect([...lexerErrors, ...parserErrors].map((error) => error.message)).toEqual([]);
  });
});
