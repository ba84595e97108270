import { existsSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type {
  CallHierarchyItem,
  CodeAction,
  CodeLens,
  Hover,
  InlayHint,
  LinkedEditingRanges,
  LocationLink,
  SelectionRange,
  SemanticTokens,
  SemanticTokensDelta,
  TextDocumentEdit,
  TextEdit,
  WorkspaceEdit,
} from 'vscode-languageserver-protocol';
import { withCursor } from '../helpers/fixture.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/** Invented parts, and a hut of our own invention that uses them. */
const PARTS = `part battery HutPack {
  chemistry: lfp   voltage: 51.2 V   capacity: 280 Ah   cells: 16
}
part battery LargePack extends HutPack { capacity: 560 Ah }
`;
const HUT = `use "parts/packs.watt"

/** A hut. */
design Hut {
  basis: nec 2023
  site { altitude: 300 m   ambient: 5..30 degC }
  generator Genset { rated: 5 kW   voltage: 120 V   frequency: 60 Hz }
  charger Rect { currentLimit: 60 A }
  battery Bank : HutPack
  fuse MainFuse { class: T   rating: 125 A }
  bus DcBus { rating: 200 A }
  load Heater { power: 1.2 kW   supply: dc }
  run Cord: Genset -> Rect.ac { size: 10 AWG   type: SOOW   length: 10 m   conductors: 2 }
  run RectFeed: DcBus -> Rect.dc { size: 2 AWG   type: FineStranded90   length: 1 m   conductors: 2 }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 2/0 AWG   type: FineStranded90   length: 1.2 m   conductors: 2 }
  run Feed: DcBus -> Heater { size: 6 AWG   type: FineStranded90   length: 2 m   conductors: 2 }
  scenario Night "One night" { from: 2027-01-10   duration: 12 h   soc(Bank): 90 %   require min(soc(Bank)) >= 20 % }
}

variant Big of Hut { Bank.parallel = 2 }
`;

const folder = temporaryFolder({ 'parts/packs.watt': PARTS, 'hut.watt': HUT });
const uriOf = (name: string): string => pathToFileURL(`${folder}/${name}`).href;
const uri = uriOf('hut.watt');
let client: LanguageClient;
let fresh = 0;

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(uri, HUT);
  await client.diagnostics(uri);
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

const position = (text: string, inside = 0, within = HUT): { line: number; character: number } => {
  const lines = within.slice(0, within.indexOf(text) + inside).split('\n');
  return { line: lines.length - 1, character: lines.at(-1)!.length };
};
const at = (text: string, inside = 0): object => ({ textDocument: { uri }, position: position(text, inside) });

const offsetOf = (text: string, { line, character }: { line: number; character: number }): number =>
  text.split('\n').slice(0, line).join('\n').length + (line > 0 ? 1 : 0) + character;

/** A text after some edits, from its end on; what is inserted goes before what is replaced at the same place. */
function edited(text: string, edits: readonly TextEdit[]): string {
  const places = edits.map(({ range, newText }) => ({
    from: offsetOf(text, range.start),
    to: offsetOf(text, range.end),
    newText,
  }));
  return places
    .sort((left, right) => right.from - left.from || right.to - left.to)
    .reduce((so, { from, to, newText }) => so.slice(0, from) + newText + so.slice(to), text);
}

describe('power flow', () => {
  const prepared = async (text: string, inside: number): Promise<CallHierarchyItem> =>
    (await client.request<CallHierarchyItem[]>('textDocument/prepareCallHierarchy', at(text, inside)))[0]!;
  const next = async (method: 'incomingCalls' | 'outgoingCalls', item: CallHierarchyItem): Promise<string[]> =>
    (await client.request<{ from?: CallHierarchyItem; to?: CallHierarchyItem }[]>(`callHierarchy/${method}`, { item }))
      .map(({ from, to }) => (from ?? to)!.name)
      .sort();

  test('is the hierarchy of calls: what feeds a thing and what it feeds, whichever way its runs are written', async () => {
    const bus = await prepared('bus DcBus', 5);
    expect(bus.name).toBe('DcBus');
    // RectFeed is written from the bus to the charger, and power goes from the charger to the bus.
    expect(await next('incomingCalls', bus)).toEqual(['MainFuse', 'Rect']);
    expect(await next('outgoingCalls', bus)).toEqual(['Heater']);
    expect(await next('incomingCalls', await prepared('charger Rect', 9))).toEqual(['Genset']);
    expect(await next('incomingCalls', await prepared('generator Genset', 11))).toEqual([]);
  });

  test('begins at what a run leads power from', async () => {
    expect((await prepared('run RectFeed', 5)).name).toBe('Rect');
  });
});

describe('parts', () => {
  const names = (links: LocationLink[], text: (uri: string) => string): string[] =>
    links.map(({ targetUri, targetSelectionRange: { start, end } }) =>
      text(targetUri).split('\n')[start.line]!.slice(start.character, end.character),
    );
  const texts = (target: string): string => (target === uri ? HUT : PARTS);

  test('are the types of things, and of the parts that extend them', async () => {
    expect(names(await client.request('textDocument/typeDefinition', at('battery Bank', 9)), texts)).toEqual([
      'HutPack',
    ]);
    expect(await client.request('textDocument/typeDefinition', at('bus DcBus', 5))).toEqual([]);
  });

  test('are implemented by what extends them and by things, and designs by variants', async () => {
    const found = names(await client.request('textDocument/implementation', at(': HutPack', 3)), texts);
    expect(found.sort()).toEqual(['Bank', 'LargePack']);
    expect(names(await client.request('textDocument/implementation', at('design Hut', 8)), texts)).toEqual(['Big']);
  });
});

test('a selection grows from a word to the file', async () => {
  const [selection] = await client.request<SelectionRange[]>('textDocument/selectionRange', {
    textDocument: { uri },
    positions: [position('1.2 kW', 1)],
  });
  const texts: string[] = [];
  for (let each: SelectionRange | undefined = selection; each; each = each.parent)
    texts.push(HUT.slice(offsetOf(HUT, each.range.start), offsetOf(HUT, each.range.end)));
  expect(texts.slice(0, 2)).toEqual(['1.2 kW', 'power: 1.2 kW']);
  expect(texts).toContain('load Heater { power: 1.2 kW   supply: dc }');
  expect(texts.at(-1)).toContain('use "parts');
  for (const [index, text] of texts.entries())
    if (index > 0) expect(text.length).toBeGreaterThan(texts[index - 1]!.length);
});

test('a name of one file can be typed anew at all its places, one of several files cannot', async () => {
  const linked = await client.request<LinkedEditingRanges>('textDocument/linkedEditingRange', at('bus DcBus', 5));
  expect(linked.ranges).toHaveLength(4);
  expect(new RegExp(`^${linked.wordPattern}$`).test('Dc-Bus2')).toBe(true);
  expect(await client.request('textDocument/linkedEditingRange', at(': HutPack', 3))).toBeNull();
  expect(await client.request('textDocument/linkedEditingRange', at('rating: 200', 1))).toBeNull();
});

test('a closed block is put in order while typing, and nothing else', async () => {
  const { text, cursor } = withCursor('design D {\n  basis: nec\n  load   A{power:5W}$0\n  load   B{power:5W}\n}\n');
  const own = uriOf(`typed-${(fresh += 1)}.watt`);
  await client.open(own, text);
  const edits = await client.request<TextEdit[]>('textDocument/onTypeFormatting', {
    textDocument: { uri: own },
    position: cursor,
    ch: '}',
    options: { tabSize: 2, insertSpaces: true },
  });
  expect(edited(text, edits)).toBe('design D {\n  basis: nec\n  load A { power: 5 W }\n  load   B{power:5W}\n}\n');
  await client.close(own);
});

test('colours come as differences after an edit', async () => {
  const own = uriOf(`coloured-${(fresh += 1)}.watt`);
  await client.open(own, HUT);
  const whole = await client.request<SemanticTokens>('textDocument/semanticTokens/full', {
    textDocument: { uri: own },
  });
  const start = position('altitude');
  await client.edit(own, { start, end: start }, 'latitude: 46 deg   ');
  const delta = await client.request<SemanticTokensDelta>('textDocument/semanticTokens/full/delta', {
    textDocument: { uri: own },
    previousResultId: whole.resultId,
  });
  const after = await client.request<SemanticTokens>('textDocument/semanticTokens/full', {
    textDocument: { uri: own },
  });
  const data = [...whole.data];
  for (const { start: from, deleteCount, data: inserted } of [...delta.edits].sort((a, b) => b.start - a.start))
    data.splice(from, deleteCount, ...(inserted ?? []));
  expect(data).toEqual(after.data);
  expect(delta.edits.flatMap((edit) => edit.data ?? []).length).toBeLessThan(after.data.length / 2);
  await client.close(own);
});

describe('lenses', () => {
  test('tell of a design what is found and how long it charges, and of a scenario what came of it', async () => {
    const lenses = await client.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } });
    const titles = await Promise.all(
      lenses.map(async (each) => (await client.request<CodeLens>('codeLens/resolve', each)).command!.title),
    );
    const ofHut = titles.slice(0, 3);
    expect(ofHut[0]).toMatch(/error|warning|open question|nothing found/);
    expect(ofHut[1]).toMatch(/^charges from 20 % to 90 %: Bank \d+(\.\d+)? h/);
    expect(titles.some((title) => title.startsWith('simulate'))).toBe(true);
  });

  test('say nothing of a set that has nothing to run for', async () => {
    const own = 'untitled:idle-set';
    const design = (loads: string): string => `design Shed {
  generator Genset { rated: 3 kW   voltage: 230 V   fuel: petrol   consumption: { 50 %: 1 L/h, 100 %: 1.6 L/h } }
  charger Rect { maximumCurrent: 40 A   currentLimit: 40 A   efficiency: 90 %   powerFactor: 0.98   output: 40..60 V   input: 180..260 V   absorb: 56 V   float: 54 V }
  battery Bank { voltage: 51.2 V   capacity: 200 Ah   chemistry: lfp }
  run Cord: Genset -> Rect.ac   run Feed: Bank -> Rect.dc
  ${loads}
  control Start of Genset { start when soc(Bank) < 30 %   stop when soc(Bank) > 90 % }
}
`;
    const said = async (): Promise<string> => {
      const lenses = await client.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: own } });
      const all = lenses.map(async (each) => (await client.request<CodeLens>('codeLens/resolve', each)).command!.title);
      return (await Promise.all(all)).join('\n');
    };
    await client.open(own, design('load Lamp { power: 100 W   supply: dc }   run Line: Bank -> Lamp'));
    expect(await said()).toMatch(/Genset a day: \d/);
    await client.change(own, design(''));
    expect(await said()).not.toContain('a day');
    await client.close(own);
  });

  test('play a scenario by a command of the server', async () => {
    const text = await client.request<string>('workspace/executeCommand', {
      command: 'wattwright.server.simulate',
      arguments: [uri, 'Hut', 'Night'],
    });
    expect(text).toMatch(/^Hut\.Night/);
    const nothing = { command: 'wattwright.server.simulate', arguments: [uri, 'Hut', 'Nowhere'] };
    expect(await client.request('workspace/executeCommand', nothing)).toBeNull();
  });
});

describe('inlay hints', () => {
  const hints = (): Promise<InlayHint[]> =>
    client.request('textDocument/inlayHint', {
      textDocument: { uri },
      range: { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } },
    });

  test('are chosen by kind, and show their calculation when they are looked at', async () => {
    expect((await hints()).every(({ label }) => /^[\d.]+ A$/.test(label as string))).toBe(true);
    const settings = { wattwright: { inlayHints: { current: false, drop: true, margin: true, assumed: true } } };
    await client.notify('workspace/didChangeConfiguration', { settings });
    const chosen = (await hints()).map(({ label }) => label as string);
    expect(chosen.some((label) => / % drop$/.test(label))).toBe(true);
    expect(chosen.some((label) => /^uses \d+(\.\d+)? % of /.test(label))).toBe(true);
    expect(chosen.some((label) => /^assumes /.test(label))).toBe(true);
    expect(chosen.some((label) => /^[\d.]+ A$/.test(label))).toBe(false);
    const drop = (await hints()).find(({ label }) => (label as string).endsWith('drop'))!;
    const resolved = await client.request<InlayHint>('inlayHint/resolve', drop);
    expect((resolved.tooltip as { value: string }).value).toContain('ratio');
    await client.notify('workspace/didChangeConfiguration', { settings: { wattwright: {} } });
  });
});

describe('moved files', () => {
  test('are found by `use` afterwards, folders too', async () => {
    const files = (from: string, to: string): object => ({ files: [{ oldUri: uriOf(from), newUri: uriOf(to) }] });
    const moved = await client.request<WorkspaceEdit>(
      'workspace/willRenameFiles',
      files('parts/packs.watt', 'stock.watt'),
    );
    expect(moved.changes![uri]!.map(({ newText }) => newText)).toEqual(['"stock.watt"']);
    const inFolder = await client.request<WorkspaceEdit>('workspace/willRenameFiles', files('parts', 'lib/all'));
    expect(inFolder.changes![uri]!.map(({ newText }) => newText)).toEqual(['"lib/all/packs.watt"']);
    const own = await client.request<WorkspaceEdit>('workspace/willRenameFiles', files('hut.watt', 'huts/hut.watt'));
    expect(own.changes![uri]!.map(({ newText }) => newText)).toEqual(['"../parts/packs.watt"']);
    expect(await client.request('workspace/willRenameFiles', files('other.watt', 'another.watt'))).toBeNull();
  });
});

describe('changes of form', () => {
  /** The text after the action of a title at a place. */
  async function after(marked: string, title: RegExp, only?: string): Promise<string> {
    const { text, cursor } = withCursor(marked);
    const own = uriOf(`form-${(fresh += 1)}.watt`);
    await client.open(own, text);
    await client.diagnostics(own);
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: own },
      range: { start: cursor, end: cursor },
      context: { diagnostics: [], ...(only ? { only: [only] } : {}) },
    });
    const action = actions.find((each) => title.test(each.title));
    await client.close(own);
    if (!action?.edit) return `none of ${actions.map((each) => each.title).join(', ')}`;
    return edited(text, action.edit.changes?.[own] ?? []);
  }

  test('make a part of a thing, and write a part out again', async () => {
    const whole = await after('design D {\n  battery Ba$0nk { capacity: 5 Ah }\n}\n', /^Make a part of Bank$/);
    expect(whole).toBe('part battery BankPart { capacity: 5 Ah }\n\ndesign D {\n  battery Bank : BankPart\n}\n');
    const inlined = await after(
      'part battery Base { cells: 4 }\npart battery Pack extends Base { capacity: 5 Ah }\ndesign D {\n  battery Ba$0nk : Pack { parallel: 2 }\n}\n',
      /^Write out Pack in Bank$/,
    );
    expect(inlined).toContain('battery Bank {\n    parallel: 2\n    capacity: 5 Ah\n    cells: 4\n  }');
  });

  test('convert a unit where it stands, and keep the value', async () => {
    expect(
      await after('design D {\n  bus B { note: "x" }\n  site { altitude: 10$000 ft }\n}\n', /^Write as 304\.8 m$/),
    ).toContain('altitude: 304.8 m');
  });

  test('sort out what is used', async () => {
    const text = await after(
      'use "parts/$0packs.watt"\nuse "parts/packs.watt"\n\ndesign D { battery Bank : HutPack }\n',
      /^Sort out/,
      'source.organizeImports',
    );
    expect(text).toBe('use "parts/packs.watt"\n\ndesign D { battery Bank : HutPack }\n');
    const unused = await after(
      'use "parts/$0packs.watt"\n\ndesign D { bus B }\n',
      /^Sort out/,
      'source.organizeImports',
    );
    expect(unused).not.toContain('use "parts');
  });

  test('add the properties that a thing lacks, as holes', async () => {
    const text = await after(
      'design D {\n  battery Bank { chemistry: lfp }\n  load He$0ater { supply: dc }\n  run F: Bank -> Heater { size: 6 AWG   type: FineStranded90   length: 2 m }\n}\n',
      /^Add the properties that Heater needs$/,
    );
    expect(text).toMatch(/load Heater \{[^}]*power: \?/);
  });

  test('move a part to a file of its own that the design then uses', async () => {
    const text = '/** Invented. */\npart battery ThinPack { capacity: 5 Ah }\n\ndesign D { battery Bank : ThinPack }\n';
    const own = uriOf('movable.watt');
    await client.open(own, text);
    await client.diagnostics(own);
    const start = position('ThinPack', 2, text);
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: own },
      range: { start, end: start },
      context: { diagnostics: [], only: ['refactor.move'] },
    });
    const [created, filled, changed] = actions[0]!.edit!.documentChanges as [
      object,
      TextDocumentEdit,
      TextDocumentEdit,
    ];
    expect(created).toMatchObject({ kind: 'create', uri: uriOf('thin-pack.watt') });
    expect((filled.edits[0] as TextEdit).newText).toBe('/** Invented. */\npart battery ThinPack { capacity: 5 Ah }\n');
    expect(edited(text, changed.edits as TextEdit[])).toBe(
      'use "thin-pack.watt"\n\ndesign D { battery Bank : ThinPack }\n',
    );
    expect(existsSync(`${folder}/thin-pack.watt`)).toBe(false);
    await client.close(own);
  });
});

test('what an editor may ask for is told at the start, with the encoding of positions', () => {
  expect(client.capabilities).toMatchObject({
    positionEncoding: 'utf-16',
    completionProvider: { resolveProvider: true },
    codeActionProvider: { resolveProvider: true },
    codeLensProvider: { resolveProvider: true },
    inlayHintProvider: { resolveProvider: true },
    selectionRangeProvider: true,
    linkedEditingRangeProvider: true,
    typeDefinitionProvider: true,
    implementationProvider: true,
    callHierarchyProvider: {},
    semanticTokensProvider: { full: { delta: true } },
    documentOnTypeFormattingProvider: { firstTriggerCharacter: '}' },
    workspace: { fileOperations: { willRename: {} } },
  });
  // This client does not ask for findings.
  expect(client.capabilities.diagnosticProvider).toBeUndefined();
});

test('positions are the same behind signs of two units', async () => {
  const own = uriOf('signs.watt');
  await client.open(own, 'design D "🔋🔋" { load Heater { power: 5 W } }\n');
  const character = 'design D "🔋🔋" { lo'.length;
  const hover = await client.request<Hover>('textDocument/hover', {
    textDocument: { uri: own },
    position: { line: 0, character },
  });
  expect(hover.range!.start.character).toBe('design D "🔋🔋" { '.length);
  await client.close(own);
});

describe('an editor that asks for findings', () => {
  test('gets them when it asks, in short where they are the same, and is told none of an open file', async () => {
    const pulling = await LanguageClient.start(folder, {}, { textDocument: { diagnostic: {} } });
    expect(pulling.capabilities.diagnosticProvider).toMatchObject({ interFileDependencies: true });
    await pulling.open(uri, HUT.replace('1.2 kW', '6 kW'));
    const report = await pulling.request<{ kind: string; resultId: string; items: { code: string }[] }>(
      'textDocument/diagnostic',
      { textDocument: { uri } },
    );
    expect(report.kind).toBe('full');
    expect(report.items.map(({ code }) => code)).toContain('run-ampacity');
    expect(await pulling.diagnostics(uri)).toEqual([]);
    await pulling.change(uri, HUT.replace('1.2 kW', '6 kW'));
    const again = { textDocument: { uri }, previousResultId: report.resultId };
    expect(await pulling.request('textDocument/diagnostic', again)).toMatchObject({ kind: 'unchanged' });
    expect(await pulling.stop()).toBe(0);
  });
});

test.each([
  ['completionItem/resolve', { label: 'x', data: { of: 'part', uri: 5 } }],
  [
    'codeLens/resolve',
    { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, data: { uri: '::' } },
  ],
  ['inlayHint/resolve', { position: { line: 0, character: 0 }, label: 'x', data: 'nothing' }],
  [
    'codeAction/resolve',
    { title: 'x', data: { refactoring: 'extract-part', uri: uriOf('none.watt'), version: 1, offset: 0 } },
  ],
  ['callHierarchy/incomingCalls', { item: { name: 'x', kind: 1, uri: uriOf('none.watt'), data: null } }],
])('%s of what was never offered changes nothing and breaks nothing', async (method, given) => {
  await client
    .request(method, given)
    .catch((refused: Error) => expect(refused.message).not.toContain('fault of the tool'));
  expect(client.log).toEqual([]);
});
