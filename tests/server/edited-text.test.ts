import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { textsOf, typings } from '../fuzz/typing.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

const EXAMPLES = path.resolve(import.meta.dirname, '../../examples');
const read = (file: string): string => readFileSync(path.join(EXAMPLES, file), 'utf8');

/** Designs whose scenarios are not played at each change: what is compared is what is said of the text. */
const withoutScenarios = (text: string): string => {
  const cut = text.indexOf('\n  scenario ');
  return cut < 0 ? text : `${text.slice(0, cut)}\n}\n`;
};

const FOLDERS = ['mountain-hut', 'ridge-station', 'book-bus', 'field-mistakes'];
const DESIGNS = FOLDERS.flatMap((folder) =>
  globSync('*.watt', { cwd: path.join(EXAMPLES, folder) })
    .filter((file) => file !== 'parts.watt')
    .sort()
    .map((file) => ({ folder, file, text: withoutScenarios(read(`${folder}/${file}`)) })),
);

/** What an editor is shown of a text besides its findings. */
const REQUESTS = ['documentSymbol', 'semanticTokens/full', 'foldingRange', 'codeLens'];

let edited: LanguageClient;
let fresh: LanguageClient;
let folder: string;

beforeAll(async () => {
  folder = temporaryFolder(
    Object.fromEntries(FOLDERS.map((name) => [`${name}/parts.watt`, read(`${name}/parts.watt`)])),
  );
  edited = (await LanguageClient.startWithin(folder)).client;
  fresh = (await LanguageClient.startWithin(folder)).client;
  for (const client of [edited, fresh]) {
    await client.notify('initialized', {});
    await client.workspaceRead();
  }
});

afterAll(async () => {
  await edited.stop();
  await fresh.stop();
});

/** Everything that a server says of a text; hovers at some places all over it. */
async function saidOf(client: LanguageClient, uri: string, text: string): Promise<object> {
  const findings = await client.diagnostics(uri);
  const textDocument = { uri };
  const shown = await Promise.all(REQUESTS.map((each) => client.request(`textDocument/${each}`, { textDocument })));
  const lines = text.split('\n');
  const places = lines.flatMap((line, index) =>
    index % 7 === 3 && line.trim() !== '' ? [{ line: index, character: Math.min(line.length - 1, 8) }] : [],
  );
  const hovers = await Promise.all(
    places.map((position) => client.request('textDocument/hover', { textDocument, position })),
  );
  const targets = await Promise.all(
    places.map((position) => client.request('textDocument/definition', { textDocument, position })),
  );
  return { findings, shown, hovers, targets };
}

/** Up to three lines that differ, each beside what is said of a text that was just opened. */
function differences(said: object, wanted: object): string[][] {
  const [left, right] = [said, wanted].map((each) =>
    JSON.stringify(each, undefined, 1).replaceAll('\\n', '\n').split('\n'),
  );
  const length = Math.max(left!.length, right!.length);
  const pairs = Array.from({ length }, (_, index) => [left![index] ?? '', right![index] ?? '']);
  // Tokens of a text have a number of their own each time that they are asked for.
  return pairs.filter(([own, other]) => own !== other && !own!.includes('"resultId"')).slice(0, 3);
}

describe('a text that was edited', () => {
  it('is spoken of as one that was just opened', async () => {
    let opened = 0;
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...DESIGNS), typings, async ({ folder: name, file, text }, typing) => {
        opened += 1;
        const uri = pathToFileURL(`${folder}/${name}/${opened}-${file}`).href;
        await edited.open(uri, text);
        await edited.diagnostics(uri);
        let last = text;
        for (const now of textsOf(text, typing)) {
          last = now;
          await edited.change(uri, now);
          await edited.diagnostics(uri);
        }
        await fresh.open(uri, last);
        const [said, wanted] = [await saidOf(edited, uri, last), await saidOf(fresh, uri, last)];
        await edited.close(uri);
        await fresh.close(uri);
        expect(differences(said, wanted)).toEqual([]);
      }),
      { numRuns: Number(process.env.FUZZ_RUNS ?? 12) },
    );
  }, 600_000);
});
