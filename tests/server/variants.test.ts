import { AstUtils, type LangiumDocument } from 'langium';
import { describe, expect, test } from 'vitest';
import type { Hover, WorkspaceEdit } from 'vscode-languageserver';
import { TextDocument } from 'vscode-languageserver-textdocument';
import type { ast } from '../../language/src/index.js';
import { type Folder, folderInServer } from '../helpers/server-in-process.js';

/** Invented. */
const TEXT = `design Hut {
  grid Post { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  grid Wall { voltage: 120 V   rating: 15 A }
  receptacle Inlet { plug: TT-30   oneCord: yes }
  charger Rect { input: 95..135 V   currentLimit: 30 A   absorb: 28 V   inputLimitFrom: { Wall: 8 A, Post: 20 A } }
  battery Bank : Lfp24V200Ah
  run PostCord: Post -> Inlet { size: 10 AWG   length: 8 m }
  run WallCord: Wall -> Inlet { size: 10 AWG   length: 8 m }
  run Feed: Inlet -> Rect.ac { size: 10 AWG   length: 2 m }
  run Out: Rect.dc -> Bank { size: 4 AWG   length: 1 m }
  scenario Night { from: 2027-01-10   duration: 8 h   soc(Bank): 50 %   plugged(Inlet): Post }
}
variant Weak of Hut {
  remove Wall, WallCord
  replace grid Post { voltage: 120 V   rating: 20 A }
  add load Lamp { power: 20 W   supply: dc }
  add run LampLine: Bank -> Lamp { size: 12 AWG   length: 1 m }
  Post.rating = 16 A
}
`;
const FILES = { 'hut.watt': TEXT };
const documentOf = (folder: Folder): LangiumDocument => folder.documents.get('hut.watt')!;

async function renamed(at: string, within: string, newName: string): Promise<string> {
  const folder = await folderInServer(FILES);
  const document = documentOf(folder);
  const edit = (await folder.server.wattwright.lsp.RenameProvider!.rename(document, {
    textDocument: { uri: document.uri.toString() },
    position: document.textDocument.positionAt(TEXT.indexOf(within) + within.indexOf(at)),
    newName,
  })) as WorkspaceEdit | undefined;
  return TextDocument.applyEdits(document.textDocument, edit?.changes?.[document.uri.toString()] ?? []);
}

const hover = async (at: string, within: string): Promise<string> => {
  const folder = await folderInServer(FILES);
  const document = documentOf(folder);
  const found = (await folder.server.wattwright.lsp.HoverProvider!.getHoverContent(document, {
    textDocument: { uri: document.uri.toString() },
    position: document.textDocument.positionAt(TEXT.indexOf(within) + within.indexOf(at) + 1),
  })) as Hover | undefined;
  return found ? (found.contents as { value: string }).value : '';
};

const everywhere = (name: string, other: string): string => TEXT.replace(new RegExp(`\\b${name}\\b`, 'g'), other);

describe('renames', () => {
  test.each([
    ['at the thing itself', 'Wall', 'grid Wall'],
    ['at its removal', 'Wall', 'remove Wall'],
    ['in the limits of its supplies', 'Wall', 'Wall: 8 A'],
  ])('reach removals, limits and scenarios, %s', async (_where, at, within) => {
    expect(await renamed(at, within, 'Socket')).toBe(everywhere('Wall', 'Socket'));
  });

  test.each(['grid Post', 'replace grid Post', 'plugged(Inlet): Post', 'Post.rating', 'Post: 20 A'])(
    'keep the name of a thing and of what replaces it together, from %s',
    async (within) => {
      expect(await renamed('Post', within, 'Pier')).toBe(everywhere('Post', 'Pier'));
    },
  );

  test('of what a variant adds stay in the variant', async () => {
    expect(await renamed('Lamp', 'add load Lamp', 'Bulb')).toBe(everywhere('Lamp', 'Bulb'));
  });

  test('are refused where a variant adds a thing of that name, and to words of the language', async () => {
    await expect(renamed('Bank', 'battery Bank', 'Lamp')).rejects.toThrow('`Lamp` is taken');
    await expect(renamed('Lamp', 'add load Lamp', 'Bank')).rejects.toThrow('`Bank` is taken');
    await expect(renamed('Bank', 'battery Bank', 'remove')).rejects.toThrow('cannot be a name');
  });
});

describe('hovers', () => {
  test('say what a variant does, and what it adds', async () => {
    expect(await hover('remove', 'remove Wall')).toContain('that a variant does without');
    expect(await hover('Wall', 'remove Wall')).toContain('Wall');
    expect(await hover('Lamp', 'add load Lamp')).toContain('load Lamp');
    expect(await hover('oneCord', 'oneCord: yes')).toContain('one cord at a time');
    expect(await hover('plugged', 'plugged(Inlet)')).toContain('one cord at a time');
  });
});

describe('the names of a variant', () => {
  test('lead where the model takes them to', async () => {
    const { parseResult } = documentOf(await folderInServer(FILES));
    const file = parseResult.value as ast.File;
    const [design, variant] = file.declarations as [ast.Design, ast.Variant];
    const targets = AstUtils.streamAllContents(variant)
      .flatMap((node) => AstUtils.streamReferences(node))
      .map(({ reference }) => [reference.$refText, 'ref' in reference ? reference.ref?.$container : undefined] as const)
      .toArray();
    for (const [name, container] of targets) {
      if (name === 'Wall' || name === 'WallCord' || name === 'Bank') expect(container, name).toBe(design);
      if (name === 'Lamp' || name === 'Post') expect(container?.$container, name).toBe(variant);
    }
  });
});
