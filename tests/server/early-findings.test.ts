import type { Diagnostic } from 'vscode-languageserver-protocol/node';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { largeDesign } from '../bench/large-design.mjs';
import { LanguageClient } from '../helpers/language-client.js';

const URI = 'file:///early/large.watt';

let client: LanguageClient;
beforeAll(async () => {
  client = await LanguageClient.start();
});
afterAll(() => client.stop());

/** Every publication for a version, in order, until the findings are those wanted. */
async function publications(change: () => Promise<void>, wanted: (last: readonly Diagnostic[]) => boolean) {
  const all: (readonly Diagnostic[])[] = [];
  const subscription = client.connection.onNotification('textDocument/publishDiagnostics', (parameters: unknown) => {
    all.push((parameters as { diagnostics: Diagnostic[] }).diagnostics);
  });
  await change();
  for (let waited = 0; !(all.length > 1 && wanted(all.at(-1)!)) && waited < 300_000; waited += 20)
    await new Promise((resolve) => setTimeout(resolve, 20));
  subscription.dispose();
  return all;
}

const shown = (diagnostics: readonly Diagnostic[]): string[] =>
  diagnostics.map(({ code, range, message }) => `${range.start.line} ${code}: ${message}`).sort();

describe('findings of a long text', () => {
  it('come early from reading it, beside those that still hold, and then whole', async () => {
    const text = largeDesign(1000).replace('size: 12 AWG', 'size: 20 AWG');
    const [readOnly, whole] = await publications(
      () => client.open(URI, text),
      (last) => last.length > 0,
    );
    const judged = whole!.filter(({ code }) => !readOnly!.some((each) => each.code === code));
    expect(judged.length).toBeGreaterThan(0);

    // A line is put in at the beginning: everything that was judged moves down, and the slip is told at once.
    const slip = `let slip = unheardOf.thing\n${text}`;
    const [early, final] = await publications(
      () => client.change(URI, slip),
      (last) => last.some(({ code }) => code === 'unknown-name'),
    );
    expect(early!.map(({ code }) => code)).toContain('unknown-name');
    for (const { code, range, message } of judged)
      expect(shown(early!)).toContain(`${range.start.line + 1} ${code}: ${message}`);
    expect(shown(final!)).toEqual(shown(early!));
  });

  it('are of the text that is open when somebody asks about the whole workspace right behind a keystroke', async () => {
    const text = largeDesign(1000).replace('design Large', 'design Renamed');
    const changed = client.change(URI, text);
    const symbols = client.request<{ name: string }[]>('workspace/symbol', { query: 'Renamed' });
    await changed;
    expect((await symbols).map(({ name }) => name)).toContain('Renamed');
  });

  it('do not hold up others when the text is closed before it is read', async () => {
    const other = 'file:///early/other.watt';
    await client.open(other, largeDesign(1000));
    await client.request('textDocument/documentSymbol', { textDocument: { uri: other } });
    await client.change(other, `${largeDesign(1000)}\n`);
    await client.notify('textDocument/didClose', { textDocument: { uri: other } });
    expect(await client.request('workspace/symbol', { query: 'Renamed' })).not.toEqual([]);
  });
});
