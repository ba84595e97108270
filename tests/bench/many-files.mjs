// How long somebody waits who opens one file of a folder with many: for its own findings, and for those of all.
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { LanguageServerProcess } from './language-server-process.mjs';
import { largeDesign } from './large-design.mjs';

const BANK = 'battery Bank { voltage: 51.2 V   capacity: 560 Ah   chemistry: lfp }';

/**
 * Designs of about 100 lines that all draw in one file of parts, which every second of them names.
 * @param {string} server @param {number} count
 * @returns {Promise<{ open: number, all: number }>} milliseconds since the server was started
 */
export async function manyFiles(server, count) {
  const folder = path.join(mkdtempSync(path.join(tmpdir(), 'bench-')), 'designs');
  mkdirSync(folder);
  const texts = Array.from({ length: count }, (_, index) => {
    const bank = index % 2 === 0 ? 'battery Bank : Pack' : BANK;
    const design = largeDesign(100).replace('design Large', `design Large${index}`).replace(BANK, bank);
    return `use "parts.watt"\n${design}`;
  });
  writeFileSync(path.join(folder, 'parts.watt'), `part ${BANK.replace('Bank', 'Pack')}\n`);
  texts.forEach((text, index) => writeFileSync(path.join(folder, `${index}.watt`), text));
  const uris = texts.map((_, index) => pathToFileURL(path.join(folder, `${index}.watt`)).href);
  const opened = Math.floor(count / 2);
  const begun = performance.now();
  const client = new LanguageServerProcess(server);
  try {
    const since = async (/** @type {Promise<unknown>} */ what) => {
      await what;
      return performance.now() - begun;
    };
    const own = since(client.findingsOf(uris[opened], 1));
    const others = uris.filter((_, index) => index !== opened).map((uri) => client.findingsOf(uri, 0));
    const all = since(Promise.all([own, ...others]));
    await client.initialize(pathToFileURL(folder).href);
    const textDocument = { uri: uris[opened], languageId: 'wattwright', version: 1, text: texts[opened] };
    client.notify('textDocument/didOpen', { textDocument });
    return { open: await own, all: await all };
  } finally {
    await client.stop();
    rmSync(path.dirname(folder), { recursive: true });
  }
}
