import { rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import type { Diagnostic } from 'vscode-languageserver-protocol';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

// Every test talks to a process of its own or waits for one; slow machines need room.

const running: LanguageClient[] = [];

async function start(folder?: string, environment: Readonly<Record<string, string>> = {}): Promise<LanguageClient> {
  const client = await LanguageClient.start(folder, environment);
  running.push(client);
  return client;
}

afterEach(async () => {
  for (const client of running.splice(0)) expect(await client.stop()).toBe(0);
});

const codes = (diagnostics: readonly Diagnostic[]): string[] => diagnostics.map((each) => String(each.code));

/** A design with a bus of the given part. */
const design = (use: string, part: string): string =>
  `${use ? `use "${use}"\n` : ''}design D {\n  basis: nec\n  bus B : ${part}\n}\n`;
const PART = 'part bus Bar { rating: 200 A }\n';

describe('findings', () => {
  test('of a file opened alone come at once, with id, page and version', async () => {
    const client = await start();
    const uri = 'untitled:Untitled-1';
    await client.open(uri, design('', 'NoSuchPart'));
    const found = (await client.diagnostics(uri)).find((each) => each.code === 'unknown-name');
    expect(found).toMatchObject({
      source: 'wattwright',
      severity: 1,
      codeDescription: { href: 'wattwright-explain:/unknown-name.md' },
      range: { start: { line: 2, character: 10 }, end: { line: 2, character: 20 } },
    });
    expect(found!.message).toContain('NoSuchPart');
  });

  test('of a broken text include its syntax errors, and go when it is mended', async () => {
    const client = await start();
    const uri = 'untitled:Untitled-1';
    await client.open(uri, 'design D {\n  load L { power: }\n}\n');
    expect(codes(await client.diagnostics(uri))).toContain('syntax-error');
    await client.change(uri, 'design D {\n  load L { power: 5 W }\n}\n');
    expect(codes(await client.diagnostics(uri))).not.toContain('syntax-error');
  });

  test('of files that nobody opened come too, after the open one', async () => {
    const folder = temporaryFolder({ 'closed.watt': design('', 'NoSuchPart') });
    const client = await start(folder);
    const closed = pathToFileURL(`${folder}/closed.watt`).href;
    expect(codes(await client.diagnostics(closed))).toContain('unknown-name');
  });
});

describe('files brought in by use', () => {
  const opened = async (folder: string | undefined, file: string, text: string): Promise<string[]> => {
    const client = await start(folder);
    const uri = pathToFileURL(file).href;
    await client.open(uri, text);
    return codes(await client.diagnostics(uri));
  };

  test('are read within the workspace folder, also upward', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'deep/d.watt': design('../parts.watt', 'Bar') });
    expect(await opened(folder, `${folder}/deep/d.watt`, design('../parts.watt', 'Bar'))).not.toContain('unknown-name');
  });

  test('are not read outside of it', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'deep/d.watt': '' });
    const found = await opened(`${folder}/deep`, `${folder}/deep/d.watt`, design('../parts.watt', 'Bar'));
    expect(found).toContain('unknown-name');
    expect(found).toContain('import-outside');
  });

  test('are not read through a symbolic link that leads outside', async () => {
    const outside = temporaryFolder({ 'parts.watt': PART });
    const folder = temporaryFolder({ 'd.watt': '' });
    symlinkSync(`${outside}/parts.watt`, `${folder}/parts.watt`);
    expect(await opened(undefined, `${folder}/d.watt`, design('parts.watt', 'Bar'))).toContain('unknown-name');
  });

  test('are not read through links that lead in a circle', async () => {
    const folder = temporaryFolder({ 'd.watt': '' });
    symlinkSync('again.watt', `${folder}/parts.watt`);
    symlinkSync('parts.watt', `${folder}/again.watt`);
    expect(await opened(undefined, `${folder}/d.watt`, design('parts.watt', 'Bar'))).toContain('unknown-name');
  });

  test('are read from the own folder of a file opened alone', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'd.watt': '' });
    expect(await opened(undefined, `${folder}/d.watt`, design('parts.watt', 'Bar'))).not.toContain('unknown-name');
  });

  test('count as they are in the editor, else as they are on the disk', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'd.watt': design('parts.watt', 'Bar') });
    const client = await start(folder);
    const [uri, parts] = [pathToFileURL(`${folder}/d.watt`).href, pathToFileURL(`${folder}/parts.watt`).href];
    const lacks = (list: readonly Diagnostic[]): boolean => codes(list).includes('unknown-name');
    await client.open(uri, design('parts.watt', 'Bar'));
    expect(lacks(await client.diagnostics(uri))).toBe(false);
    await client.open(parts, PART.replace('Bar', 'Rail'));
    await client.diagnosticsWhen(uri, lacks);
    await client.close(parts);
    await client.diagnosticsWhen(uri, (list) => !lacks(list));
    writeFileSync(`${folder}/parts.watt`, PART.replace('Bar', 'Rail'));
    await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: parts, type: 2 }] });
    await client.diagnosticsWhen(uri, lacks);
    writeFileSync(`${folder}/parts.watt`, PART);
    await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: parts, type: 2 }] });
    await client.diagnosticsWhen(uri, (list) => !lacks(list));
    rmSync(`${folder}/parts.watt`);
    await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: parts, type: 3 }] });
    await client.diagnosticsWhen(uri, lacks);
  });

  test('that can no longer be read hold nothing up', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'd.watt': design('parts.watt', 'Bar') });
    const client = await start(folder);
    const [uri, parts] = [pathToFileURL(`${folder}/d.watt`).href, pathToFileURL(`${folder}/parts.watt`).href];
    await client.open(uri, design('parts.watt', 'Bar'));
    await client.diagnosticsWhen(uri, (list) => !codes(list).includes('unknown-name'));
    rmSync(`${folder}/parts.watt`);
    // An editor may tell of a change where the file is gone by the time it is read.
    await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: parts, type: 2 }] });
    await client.diagnosticsWhen(uri, (list) => codes(list).includes('unknown-name'));
    expect(await client.request('workspace/symbol', { query: 'D' })).toHaveLength(1);
  });

  test('may use each other in a circle', async () => {
    const folder = temporaryFolder({ 'a.watt': 'use "b.watt"\n', 'b.watt': `use "a.watt"\n${PART}` });
    expect(await opened(folder, `${folder}/a.watt`, design('b.watt', 'Bar'))).toContain('import-loop');
  });
});

describe('a server that is pushed about', () => {
  test('after cancelled builds says the same as a fresh one', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'more.watt': 'use "parts.watt"\n' });
    const client = await start(folder);
    const [uri, parts, more] = ['d.watt', 'parts.watt', 'more.watt'].map(
      (name) => pathToFileURL(`${folder}/${name}`).href,
    ) as [string, string, string];
    const bars = Array.from({ length: 150 }, (_, index) => `  bus B${index} : Bar\n`).join('');
    const text = (round: number): string =>
      `use "parts.watt"\ndesign D {\n  basis: nec\n${bars}  load L { power: ${round} W }\n}\n`;
    await client.open(uri, text(1));
    await client.open(parts, PART);
    await client.open(more, `use "d.watt"\nuse "parts.watt"\nvariant V of D { L.power = 7 W }\n`);
    for (let round = 2; round < 40; round += 1) {
      // Now the part is there, now it is not; the design changes with it, and nobody waits.
      await client.change(parts, round % 2 === 0 ? PART.replace('Bar', 'Rail') : PART);
      if (round % 3 === 0) await client.change(uri, text(round));
      client
        .request('textDocument/hover', { textDocument: { uri }, position: { line: 4, character: 8 } })
        .catch(() => undefined);
      if (round % 5 === 0) await new Promise((resolve) => setTimeout(resolve, 15));
    }
    await client.change(parts, PART);
    await client.change(uri, text(1));
    const last = await client.diagnostics(uri);
    const definition = { textDocument: { uri }, position: { line: 3, character: 12 } };
    const target = await client.request('textDocument/definition', definition);

    const fresh = await start(folder);
    await fresh.open(parts, PART);
    await fresh.open(more, `use "d.watt"\nuse "parts.watt"\nvariant V of D { L.power = 7 W }\n`);
    await fresh.open(uri, text(1));
    const expected = await fresh.diagnostics(uri);
    expect(codes(expected)).not.toContain('unknown-name');
    expect(last).toEqual(expected);
    expect(target).toEqual(await fresh.request('textDocument/definition', definition));
  });

  test('answers a request about a text it is still reading with that text', async () => {
    const client = await start();
    const uri = 'untitled:Untitled-1';
    await client.open(uri, 'let first = 1 V\n');
    await client.change(uri, 'let second = 2 V\n');
    const symbols = await client.request<{ name: string }[]>('textDocument/documentSymbol', { textDocument: { uri } });
    expect(symbols.map((symbol) => symbol.name)).toEqual(['second']);
  });

  test('refuses what it does not know and goes on', async () => {
    const client = await start();
    const nowhere = { textDocument: { uri: 'file:///nowhere/none.watt' }, position: { line: 0, character: 0 } };
    await expect(client.request('textDocument/hover', nowhere)).rejects.toThrow('not known');
    await expect(client.request('no/such/method', {})).rejects.toThrow();
    await expect(client.request('textDocument/hover', {})).rejects.toThrow();
    await expect(client.request('textDocument/completion', { textDocument: { uri: 5 } })).rejects.toThrow();
    await client.change('file:///nowhere/none.watt', 'text');
    await client.close('file:///nowhere/none.watt');
    await client.notify('textDocument/didChange', { nonsense: true }).catch(() => undefined);
    await client.notify('no/such/notification', {});
    const uri = 'untitled:Untitled-1';
    await client.open(uri, 'let a = 1 V\n');
    expect(await client.diagnostics(uri)).toBeInstanceOf(Array);
  });

  test('survives positions beyond the text and texts that are no designs', async () => {
    const client = await start();
    const uri = 'untitled:Untitled-1';
    for (const text of [
      '',
      '\u0000\u0001',
      '{'.repeat(5000),
      'a '.repeat(5000),
      '"',
      '/*',
      'design D { run R: A -> ',
    ]) {
      await client.open(uri, text);
      await client.diagnostics(uri);
      const position = { line: 99, character: 99 };
      for (const method of ['hover', 'completion', 'definition', 'signatureHelp', 'prepareRename', 'documentHighlight'])
        await client.request(`textDocument/${method}`, { textDocument: { uri }, position });
      for (const method of ['documentSymbol', 'foldingRange', 'semanticTokens/full', 'documentLink'])
        await client.request(`textDocument/${method}`, { textDocument: { uri } });
      await client.close(uri);
    }
  });

  test('a cancelled request ends, and the next is answered', async () => {
    const client = await start();
    const uri = 'untitled:Untitled-1';
    await client.open(uri, `design D {\n${'  load L { power: 5 W }\n'.repeat(300)}}\n`);
    const params = { textDocument: { uri }, position: { line: 1, character: 3 } };
    const { CancellationTokenSource } = await import('vscode-languageserver-protocol/node');
    const source = new CancellationTokenSource();
    const hover = client.connection.sendRequest('textDocument/hover', params, source.token);
    source.cancel();
    await Promise.allSettled([hover]);
    expect(await client.request('textDocument/hover', params)).toMatchObject({ contents: { kind: 'markdown' } });
  });
});
