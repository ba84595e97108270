import { execFileSync } from 'node:child_process';
import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import type { Hover, MarkupContent } from 'vscode-languageserver-protocol';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';
import { sunnyHut } from '../cli/helpers/sunny-hut.js';

let client: LanguageClient | undefined;
afterEach(async () => {
  await client?.stop();
  client = undefined;
});

const messages = async (uri: string): Promise<string[]> =>
  (await client!.diagnostics(uri)).map(({ message }) => String(message));

describe('files the server cannot read', () => {
  it('are told at the `use` that names them, and a pipe, a device or a folder holds nothing up', async () => {
    const folder = temporaryFolder({ 'latin.watt': '', 'secret.txt': 'part load Lamp {}\n' });
    const inside = path.join(folder, 'site');
    mkdirSync(path.join(inside, 'folder.watt'), { recursive: true });
    execFileSync('mkfifo', ['pipe.watt'], { cwd: inside });
    symlinkSync('/dev/zero', path.join(inside, 'zero.watt'));
    symlinkSync('../secret.txt', path.join(inside, 'link.watt'));
    writeFileSync(path.join(inside, 'latin.watt'), Buffer.from('// Kü\n', 'latin1'));
    client = await LanguageClient.start(inside);
    const uri = pathToFileURL(path.join(inside, 'hut.watt')).href;
    const names = ['pipe', 'zero', 'link', 'latin', 'folder', 'none'];
    await client.open(uri, `${names.map((name) => `use "${name}.watt"`).join('\n')}\ndesign Hut {}\n`);
    expect(await messages(uri)).toEqual([
      'The file `pipe.watt` cannot be read: it is a named pipe; only regular files are read.',
      'The file `zero.watt` cannot be read: it is a link that leads out of the workspace folder.',
      'The file `link.watt` cannot be read: it is a link that leads out of the workspace folder.',
      'The file `latin.watt` cannot be read: it is not UTF-8 text: byte 0xFC at offset 4, in line 1; save it as UTF-8.',
      'The file `folder.watt` cannot be read: it is a folder; only regular files are read.',
      'The file `none.watt` cannot be read.',
    ]);
    // What to do stands where the cursor is.
    const hover: Hover | null = await client.request('textDocument/hover', {
      textDocument: { uri },
      position: { line: names.indexOf('none'), character: 6 },
    });
    expect((hover?.contents as MarkupContent).value).toContain('Write a path relative to this file');
    expect(await messages(pathToFileURL(path.join(inside, 'latin.watt')).href)).toEqual([
      'Nothing was checked: this file is not UTF-8 text: byte 0xFC at offset 4, in line 1; save it as UTF-8.',
    ]);
  });

  it('are told where they are the weather of a scenario', async () => {
    const folder = temporaryFolder();
    execFileSync('mkfifo', ['sun.csv'], { cwd: folder });
    client = await LanguageClient.start(folder);
    const uri = pathToFileURL(path.join(folder, 'hut.watt')).href;
    await client.open(uri, sunnyHut('sun.csv'));
    const found = await client.diagnosticsWhen(uri, (list) =>
      list.some(({ message }) => String(message).includes('sun.csv')),
    );
    expect(found.map(({ message }) => message).join('\n')).toContain('it is a named pipe; only regular files are read');
  });
});
