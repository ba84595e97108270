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
    walkthroughs: { steps: { media: { image: string } }[] }[];
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
    const steps = contributes.walkthroughs.flatMap((each) => each.steps);
    const media = [
      manifest.icon,
      ...contributes.languages.flatMap((language) => Object.values(language.icon)),
      ...steps.map((step) => step.media.image),
    ];
    // Each step has a picture of its own.
    expect(new Set(steps.map((step) => step.media.image)).size).toBe(steps.length);
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

describe('texts of the extension', () => {
  const texts = (file: string): Record<string, string> =>
    JSON.parse(read(`extension/${file}`)) as Record<string, string>;

  test('of the manifest stand in English and in German, and none is left over', () => {
    const used = [...read('extension/package.json').matchAll(/"%([^%"]+)%"/g)].map((match) => match[1]!);
    expect(used.length).toBeGreaterThan(20);
    for (const file of ['package.nls.json', 'package.nls.de.json'])
      expect(Object.keys(texts(file)).sort()).toEqual([...new Set(used)].sort());
    const [english, german] = [texts('package.nls.json'), texts('package.nls.de.json')];
    for (const [key, text] of Object.entries(english)) {
      expect(german[key], key).not.toBe(text);
      // Commands that a text links to are the same in every tongue.
      const links = (each: string): string[] => each.match(/\(command:[^)]*\)/g) ?? [];
      expect(links(german[key]!), key).toEqual(links(text));
    }
  });

  test('of its commands, settings and tasks all come from there', () => {
    const { commands, configuration } = contributes as unknown as {
      commands: { title: string }[];
      configuration: { properties: Record<string, { markdownDescription?: string; description?: string }> };
    };
    for (const { title } of commands) expect(title).toMatch(/^%.+%$/);
    for (const [name, each] of Object.entries(configuration.properties))
      expect(each.markdownDescription ?? each.description, name).toMatch(/^%.+%$/);
  });

  test('that it shows while it runs stand in German with the same places to fill in', () => {
    const shown = [...clientSource.matchAll(/l10n\.t\(\s*'((?:[^'\\]|\\.)*)'/g)].map((match) =>
      match[1]!.replaceAll("\\'", "'"),
    );
    const german = texts('l10n/bundle.l10n.de.json');
    expect(Object.keys(german).sort()).toEqual([...new Set(shown)].sort());
    const places = (text: string): string[] => (text.match(/\{\d+\}/g) ?? []).sort();
    for (const [text, translated] of Object.entries(german)) expect(places(translated), text).toEqual(places(text));
    // Messages go through the translation: a text of a sentence's length that does not is forgotten.
    expect(clientSource).not.toMatch(/show(?:Information|Warning|Error)Message\(\s*['`]/);
  });
});

describe('the problem matcher', () => {
  const [{ pattern } = { pattern: { regexp: '' } }] = (
    contributes as unknown as { problemMatchers: { pattern: { regexp: string } }[] }
  ).problemMatchers;

  test.each([
    [
      'huts/hut.watt:8:7 warning torque-missing: No torque is stated',
      ['huts/hut.watt', '8', '7', 'warning', 'torque-missing', 'No torque is stated'],
    ],
    ['C:\\huts\\hut.watt:1:1 error syntax-error: x', ['C:\\huts\\hut.watt', '1', '1', 'error', 'syntax-error', 'x']],
  ])('reads %s', (line, parts) => {
    expect(new RegExp(pattern.regexp).exec(line)?.slice(1)).toEqual(parts);
  });

  test.each(['   why      needed from 50 A on', '8 |   run BankFeed', '1 design in 1 file: 3 errors'])(
    'leaves %s alone',
    (line) => {
      expect(new RegExp(pattern.regexp).test(line)).toBe(false);
    },
  );
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
