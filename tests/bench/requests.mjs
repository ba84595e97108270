// How long an editor waits for what it asks at every keystroke: lists of what may be written while a text is being judged, and hovers, inlay
// hints and lenses of a text that has been. Alone: `node tests/bench/requests.mjs`; build first.
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';
import { largeDesign } from './large-design.mjs';
import { LanguageServerProcess } from './language-server-process.mjs';

/** Edits that are measured; the first are spent warming up. */
const TIMES = 40;
const WARM = 10;
/** Between two keystrokes of a quick typist, ms. */
const PAUSE = 200;
/** Between a keystroke and the list that an editor asks for because of it, ms. */
const QUICK_SUGGESTIONS = 10;

const median = (/** @type {number[]} */ values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const later = (/** @type {number} */ milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));

/**
 * Medians in ms over a design of so many lines.
 * @param {string} server @param {number} lines
 */
export async function requestTimes(server, lines) {
  const client = new LanguageServerProcess(server);
  await client.initialize();
  const uri = `file:///bench/requests-${lines}.watt`;
  const text = largeDesign(lines);
  const first = client.bothFindingsOf(uri, 1);
  client.notify('textDocument/didOpen', { textDocument: { uri, languageId: 'wattwright', version: 1, text } });
  await (text.length >= 20_000 ? first.whole : first.early);
  const rows = text.split('\n');
  const line = rows.findIndex((row, index) => index > rows.length / 2 && row.includes('size:'));
  const character = rows[line].indexOf('size:') + 'size: '.length;
  const end = rows[line].indexOf('AWG', character) + 'AWG'.length;
  const size = rows[line].slice(character, end);
  const textDocument = { uri };
  /** @type {Record<string, number[]>} */
  const times = { completion: [], hover: [], inlays: [], lens: [] };
  /** @param {string} what @param {() => Promise<unknown>} ask */
  const measured = async (what, ask) => {
    const begun = performance.now();
    await ask();
    times[what].push(performance.now() - begun);
  };
  for (let version = 2; version < 2 + 2 * TIMES; version += 1) {
    const isGone = version % 2 === 0;
    const range = { start: { line, character }, end: { line, character: isGone ? end : character } };
    const done = new Promise((resolve) => void later(PAUSE).then(() => resolve(undefined)));
    client.notify('textDocument/didChange', {
      textDocument: { uri, version },
      contentChanges: [{ range, text: isGone ? '' : size }],
    });
    const position = { line, character };
    if (isGone) {
      await later(QUICK_SUGGESTIONS);
      await measured('completion', () => client.request('textDocument/completion', { textDocument, position }));
    } else {
      await client.request('textDocument/hover', { textDocument, position });
      // Whatever that hover waited for has been done.
      await measured('hover', () => client.request('textDocument/hover', { textDocument, position }));
      const view = { start: { line: Math.max(0, line - 25), character: 0 }, end: { line: line + 25, character: 0 } };
      await measured('inlays', () => client.request('textDocument/inlayHint', { textDocument, range: view }));
      await measured('lens', () => client.request('textDocument/codeLens', { textDocument }));
    }
    await done;
  }
  await client.stop();
  return Object.fromEntries(Object.entries(times).map(([what, all]) => [what, median(all.slice(WARM))]));
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href)
  for (const lines of [150, 1000])
    console.log(lines, await requestTimes(path.join(root, 'extension/dist/server.cjs'), lines));
