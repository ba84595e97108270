import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import type { Diagnostic, WorkspaceSymbol } from 'vscode-languageserver-protocol/node';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

const running: LanguageClient[] = [];
afterEach(async () => {
  for (const client of running.splice(0)) await client.stop();
});

async function start(folder: string): Promise<{ client: LanguageClient }> {
  const { client } = await LanguageClient.startWithin(folder);
  running.push(client);
  await client.notify('initialized', {});
  return { client };
}

const codes = (diagnostics: readonly Diagnostic[]): string[] => diagnostics.map((each) => String(each.code));
const uriOf = (file: string): string => pathToFileURL(file).href;

const PART = 'part bus Bar { rating: 200 A }\n';
const design = (part: string): string => `use "parts.watt"\ndesign D {\n  basis: nec\n  bus B : ${part}\n}\n`;
const FAULTY = 'unknown-name';

describe('folders of the workspace', () => {
  const symbols = async (client: LanguageClient, query: string): Promise<string[]> =>
    (await client.request<WorkspaceSymbol[]>('workspace/symbol', { query })).map(({ name }) => name);
  const folderOf = (folder: string): { uri: string; name: string } => ({ uri: uriOf(folder), name: 'folder' });
  const change = (client: LanguageClient, added: readonly string[], removed: readonly string[]): Promise<void> =>
    client.notify('workspace/didChangeWorkspaceFolders', {
      event: { added: added.map(folderOf), removed: removed.map(folderOf) },
    });

  test('that are taken away lose their findings and symbols, and get them again when they come back', async () => {
    const [one, two] = ['One', 'Two'].map((name) =>
      temporaryFolder({ 'd.watt': `design ${name}Hut {\n  basis: nec\n  bus B : NoSuchPart\n}\n` }),
    ) as [string, string];
    const [first, second] = [uriOf(`${one}/d.watt`), uriOf(`${two}/d.watt`)];
    const { client } = await start(one);
    await client.diagnosticsWhen(first, (list) => codes(list).includes(FAULTY));
    await change(client, [two], []);
    await client.diagnosticsWhen(second, (list) => codes(list).includes(FAULTY));
    expect(await symbols(client, 'Hut')).toEqual(expect.arrayContaining(['OneHut', 'TwoHut']));
    await change(client, [], [one]);
    await client.diagnosticsWhen(first, (list) => list.length === 0);
    expect(await symbols(client, 'Hut')).toEqual(['TwoHut']);
    await change(client, [one], [two]);
    await client.diagnosticsWhen(second, (list) => list.length === 0);
    await client.diagnosticsWhen(first, (list) => codes(list).includes(FAULTY));
    expect(await symbols(client, 'Hut')).toEqual(['OneHut']);
    // Away before it has been read.
    await change(client, [two], []);
    await change(client, [], [two]);
    await change(client, [two], []);
    await change(client, [], [two]);
    await client.workspaceRead();
    expect(await symbols(client, 'Hut')).toEqual(['OneHut']);
  });

  test('keep what is open, which then may use its own folder only', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'deep/d.watt': '' });
    const uri = uriOf(`${folder}/deep/d.watt`);
    const { client } = await start(folder);
    await client.open(uri, design('Bar').replace('parts.watt', '../parts.watt'));
    expect(codes(await client.diagnostics(uri))).not.toContain(FAULTY);
    await change(client, [], [folder]);
    await client.diagnosticsWhen(uri, (list) => codes(list).includes('import-outside'));
    await change(client, [folder], []);
    await client.diagnosticsWhen(uri, (list) => !codes(list).includes('import-outside'));
  });

  test('inside of another leave their files to it', async () => {
    const folder = temporaryFolder({ 'deep/d.watt': `design DeepHut {\n  basis: nec\n  bus B : NoSuchPart\n}\n` });
    const { client } = await start(folder);
    const uri = uriOf(`${folder}/deep/d.watt`);
    await client.diagnosticsWhen(uri, (list) => codes(list).includes(FAULTY));
    await change(client, [`${folder}/deep`], []);
    await change(client, [], [`${folder}/deep`]);
    await client.workspaceRead();
    expect(await symbols(client, 'DeepHut')).toEqual(['DeepHut']);
    expect(codes(await client.diagnosticsWhen(uri, () => true))).toContain(FAULTY);
  });

  test('on the disk that go or get another name take their findings along', async () => {
    const folder = temporaryFolder({ 'old/d.watt': `design MovedHut {\n  basis: nec\n  bus B : NoSuchPart\n}\n` });
    const { client } = await start(folder);
    const [old, moved] = ['old', 'new'].map((name) => uriOf(`${folder}/${name}`)) as [string, string];
    await client.diagnosticsWhen(`${old}/d.watt`, (list) => codes(list).includes(FAULTY));
    mkdirSync(`${folder}/new`);
    writeFileSync(`${folder}/new/d.watt`, `design MovedHut {\n  basis: nec\n  bus B : NoSuchPart\n}\n`);
    rmSync(`${folder}/old`, { recursive: true });
    await client.notify('workspace/didRenameFiles', { files: [{ oldUri: old, newUri: moved }] });
    await client.diagnosticsWhen(`${old}/d.watt`, (list) => list.length === 0);
    await client.diagnosticsWhen(`${moved}/d.watt`, (list) => codes(list).includes(FAULTY));
    expect(await symbols(client, 'MovedHut')).toEqual(['MovedHut']);
    rmSync(`${folder}/new`, { recursive: true });
    await client.notify('workspace/didDeleteFiles', { files: [{ uri: moved }] });
    await client.diagnosticsWhen(`${moved}/d.watt`, (list) => list.length === 0);
    expect(await symbols(client, 'MovedHut')).toEqual([]);
  });
});
