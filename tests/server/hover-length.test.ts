import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { CstUtils } from 'langium';
import { beforeAll, describe, expect, test } from 'vitest';
import { LANGUAGE_UNIT } from '../helpers/language-units.js';
import { folderInServer } from '../helpers/server-in-process.js';

/** What a hover shows at most: characters as they are read, with what findings at the place add and without, and lines. */
const MOST_WITH_FINDINGS = 1100;
const MOST_CHARACTERS = 900;
const MOST_LINES = 24;

const root = path.resolve(import.meta.dirname, '../..');

interface Shown {
  readonly at: string;
  readonly text: string;
}

/** Markdown as it is read: without the addresses of links, marks and empty lines. */
const read = (markdown: string): string =>
  markdown
    .replace(/\]\([^)]*\)/g, ']')
    .replace(/[*`\\#]|^\s*[-|: ]+$/gm, '')
    .replace(/\n\s*\n/g, '\n')
    .trim();

const shown: Shown[] = [];

/** A hover over the middle of every token of every example. */
beforeAll(async () => {
  for (const folder of globSync('examples/*', { cwd: root })) {
    const files = Object.fromEntries(
      globSync(`${folder}/*.watt`, { cwd: root }).map((file) => [
        path.basename(file),
        readFileSync(path.join(root, file), 'utf8'),
      ]),
    );
    const { server, documents } = await folderInServer(files);
    await server.shared.workspace.DocumentBuilder.build([...documents.values()], { validation: true });
    for (const [name, document] of documents) {
      const seen = new Set<string>();
      for (const leaf of CstUtils.flattenCst(document.parseResult.value.$cstNode!)) {
        if (leaf.hidden) continue;
        const hover = await server.wattwright.lsp.HoverProvider!.getHoverContent(document, {
          textDocument: { uri: document.uri.toString() },
          position: document.textDocument.positionAt(leaf.offset + Math.floor(leaf.length / 2)),
        });
        const text = hover && (hover.contents as { value: string }).value;
        if (!text || seen.has(text)) continue;
        seen.add(text);
        shown.push({ at: `${folder}/${name}:${leaf.range.start.line + 1} ${leaf.text}`, text });
      }
    }
  }
});

const longest = (measure: (text: string) => number): Shown & { readonly length: number } =>
  shown
    .map((each) => ({ ...each, length: measure(each.text) }))
    .reduce((so, next) => (next.length > so.length ? next : so));

describe('hovers of all examples', () => {
  test('are many', () => {
    expect(shown.length).toBeGreaterThan(2000);
    console.info(`${shown.length} hovers`);
  });

  test(`are read in ${MOST_CHARACTERS} characters, where findings are in ${MOST_WITH_FINDINGS}`, () => {
    const hasFinding = (text: string): boolean => /^- (?:rule|assumes|fix|risk): /m.test(text);
    const plain = longest((text) => (hasFinding(text) ? 0 : read(text).length));
    const most = longest((text) => read(text).length);
    console.info(`longest hover without findings (${plain.length}), ${plain.at}:\n${read(plain.text)}`);
    console.info(`longest hover (${most.length}), ${most.at}:\n${read(most.text)}`);
    expect(plain.length).toBeLessThanOrEqual(MOST_CHARACTERS);
    expect(most.length).toBeLessThanOrEqual(MOST_WITH_FINDINGS);
  });

  test(`have ${MOST_LINES} lines`, () => {
    const most = longest((text) => read(text).split('\n').length);
    console.info(`tallest hover (${most.length}), ${most.at}:\n${read(most.text)}`);
    expect(most.length).toBeLessThanOrEqual(MOST_LINES);
  });

  test('write units as people do, but in what is quoted of the text', () => {
    const prose = shown.map(({ at, text }) => ({
      at,
      text: text.replace(/^```[^]*?^```/gm, '').replace(/`[^`]*`/g, ''),
    }));
    expect(prose.filter(({ text }) => /\d (?:°C|m?Ω|mm²)/.test(text)).length).toBeGreaterThan(100);
    expect(prose.filter(({ text }) => LANGUAGE_UNIT.test(text))).toEqual([]);
  });

  test('with a calculation lead to the whole of it and to the cautions, in one line', () => {
    const worked = shown.filter(
      ({ text }) => text.includes('[more](wattwright-explain:/') && text.includes('cautions'),
    );
    expect(worked.length).toBeGreaterThan(200);
    for (const { text } of worked) {
      const lines = text.split('\n').filter((line) => /local codes/i.test(line));
      expect(lines).toHaveLength(1);
      expect(lines[0]).toMatch(
        /^\[more\]\(wattwright-explain:\/\S+\) · .*\[cautions\]\(wattwright-explain:\/cautions\.md\)/,
      );
    }
  });
});
