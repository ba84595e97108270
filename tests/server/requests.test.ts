import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type {
  CompletionItem,
  DocumentLink,
  DocumentSymbol,
  FoldingRange,
  Hover,
  InlayHint,
  Location,
  LocationLink,
  Range,
  SemanticTokens,
  SignatureHelp,
  TextEdit,
  WorkspaceEdit,
  WorkspaceSymbol,
} from 'vscode-languageserver-protocol';
import { type Position, withCursor } from '../helpers/fixture.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

// Every test talks to a process of its own or waits for one; slow machines need room.

/** A bank and a charger of our own invention. */
const PARTS = `/** Pack of the hut. Invented. */
part battery HutPack extends LithiumIronPhosphate { voltage: 51.2 V   capacity: 280 Ah   cells: 16 }
let margin = 25 %
`;

const HUT = `use "parts.watt"

design Hut "Hut by the stream" {
  basis: nec
  site { altitude: 300 m   ambient: 5..30 degC }

  battery Bank : HutPack
  fuse MainFuse { class: T   rating: 125 A }
  bus DcBus { rating: 200 A }
  load Heater { power: 1.2 kW }

  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 2/0 AWG   type: FineStranded90   length: 1.2 m }
  run Feed: DcBus -> Heater { size: 6 AWG   type: FineStranded90   length: 2 m }
}
`;

const folder = temporaryFolder({ 'parts.watt': PARTS, 'hut.watt': HUT });
const uriOf = (name: string): string => pathToFileURL(`${folder}/${name}`).href;
const hut = uriOf('hut.watt');

let client: LanguageClient;
let fresh = 0;

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(hut, HUT);
  await client.diagnostics(hut);
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

/** Where a text stands in the hut, `inside` characters in. */
function place(text: string, inside = 0): Position {
  const offset = HUT.indexOf(text);
  expect(offset, `${text} is in the design`).toBeGreaterThanOrEqual(0);
  const lines = HUT.slice(0, offset + inside).split('\n');
  return { line: lines.length - 1, character: lines.at(-1)!.length };
}

/** Asks about the cursor of a new file; rules out that one test sees the text of another. */
async function askAt<T>(method: string, marked: string, extra: object = {}): Promise<T> {
  const { text, cursor } = withCursor(marked);
  const uri = uriOf(`new-${(fresh += 1)}.watt`);
  await client.open(uri, text);
  const answer = await client.request<T>(method, { textDocument: { uri }, position: cursor, ...extra });
  await client.close(uri);
  return answer;
}

const hoverAt = async (position: Position): Promise<string> => {
  const hover = await client.request<Hover | null>('textDocument/hover', { textDocument: { uri: hut }, position });
  return hover ? (hover.contents as { value: string }).value : '';
};

const completed = async (marked: string): Promise<CompletionItem[]> =>
  (await askAt<{ items: CompletionItem[] } | null>('textDocument/completion', marked))?.items ?? [];
const labels = async (marked: string): Promise<string[]> => (await completed(marked)).map((item) => item.label);

const textIn = (text: string, { start, end }: Range): string => {
  const lines = text.split('\n');
  return start.line === end.line
    ? lines[start.line]!.slice(start.character, end.character)
    : lines[start.line]!.slice(start.character);
};

describe('hover', () => {
  test('on a second word for a property or a value says what it means', async () => {
    const run = await askAt<Hover | null>('textDocument/hover', 'design D {\n  run R: A -> B { gro$0und: 8 AWG }\n}\n');
    expect((run?.contents as { value: string }).value).toContain('**earth** of run');
    expect((run?.contents as { value: string }).value).toContain('Also written `ground`.');
    const fuel = await askAt<Hover | null>('textDocument/hover', 'design D {\n  generator G { fuel: gaso$0line }\n}\n');
    expect((fuel?.contents as { value: string }).value).toContain('petrol (gasoline)');
  });

  test('on a run shows how its current comes about, and leads to all of it and to the cautions', async () => {
    const first = await hoverAt(place('run Feed', 5));
    expect(first).toContain('**run Feed**');
    expect(first).toMatch(/current.* = \*\*\d+(\.\d+)? A\*\*/);
    expect(first).toMatch(/\d+ % of its tightest limit: \S+ \S+ of at (most|least) /);
    const [, page, file] = /\[more\]\(wattwright-explain:\/([^?]+)\.md\?([^)]+)\)/.exec(first) ?? [];
    const ask = (...given: string[]): Promise<string> =>
      client.request('workspace/executeCommand', { command: 'wattwright.server.explain', arguments: given });
    const whole = await ask(decodeURIComponent(page!), decodeURIComponent(file!));
    expect(whole).toContain('## `current`');
    expect(whole).toContain('## `ampacity`');
    expect(whole.length).toBeGreaterThan(first.length);
    for (const text of [whole, await ask('cautions')]) expect(text).toContain('Carbon monoxide');
    expect(await ask('Hut.Nothing', decodeURIComponent(file!))).toBeNull();
  });

  test('on a breaker says what it uses of a limit, and counts none of its poles for one', async () => {
    const hover = await askAt<Hover | null>(
      'textDocument/hover',
      `design D {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker B1$0 { rating: 16 A   poles: 1 }
  load Lamp { power: 1 kW }
  run Line: Mains -> B1 -> Lamp { size: 2.5 mm2   length: 5 m }
}
`,
    );
    const { value } = hover!.contents as { value: string };
    expect(value).toContain('**breaker B1**');
    expect(value).not.toContain('breaker-poles');
  });

  test('on a conductor size gives it in the other measures', async () => {
    const text = await hoverAt(place('6 AWG', 1));
    expect(text).toContain('13.3 mm²');
    // ASTM B258 gives 26.25 kcmil; NEC Chapter 9 Table 8 rounds to 26 240 circular mils.
    expect(text).toContain('26.25 kcmil');
    expect(text).toMatch(/between 10 mm² and 16 mm²/);
    expect(text).toContain('ampacity');
  });

  test('on the ampacity of a run whose type has a table of its own says that it is read there', async () => {
    const text = await askAt<Hover>(
      'textDocument/hover',
      `part conductor Special { insulation: 90 degC   ampacities: { 6 AWG: 50 A } }
design Own {
  battery Bank : Lfp24V200Ah
  load Heater { power: 1 kW   supply: dc }
  run Line: Bank -> Heater { size: 6 AWG   type: Special   length: 2 m }
  require Line.ampa$0city >= 50 A
}
`,
    );
    expect((text.contents as { value: string }).value).toContain('own table of the design: ampacities of Special');
  });

  test('on a property says what it is, what it takes and where its value comes from', async () => {
    const text = await hoverAt(place('length: 2 m', 2));
    expect(text).toContain('Length one way');
    expect(text).toContain('`2 m`');
    expect(text).toContain('voltageDrop');
  });

  test('on a part, a kind, a word of the language and a word of a property', async () => {
    expect(await hoverAt(place(': HutPack', 4))).toContain('Pack of the hut. Invented.');
    expect(await hoverAt(place('battery Bank', 2))).toContain('capacity');
    expect(await hoverAt(place('use "parts', 1))).toContain('Brings in');
    expect(await hoverAt(place('nec', 1))).toContain('NFPA 70');
  });

  test('on a function gives its arguments', async () => {
    const hover = await askAt<Hover>('textDocument/hover', 'let a = volt$0ageDrop(current: 5 A)\n');
    expect((hover.contents as { value: string }).value).toContain('length');
    expect(await client.request('wattwright/explain', { id: 'voltageDrop' })).toContain('**Sources:**');
  });

  test('on a control gives all that acts on its bank in order', async () => {
    const text = await askAt<Hover>(
      'textDocument/hover',
      `design Ordered {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   protectionLow: 44.8 V }
  control Auto$0start of Genset { start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %   start when voltage(Bank) < 50 V }
}
`,
    );
    const { value } = text.contents as { value: string };
    expect(value).toMatch(/\| 50 V \| Autostart starts Genset below \|\n\| 44\.8 V \| the BMS of Bank/);
    expect(value).toMatch(/\| 80 % \| Autostart stops Genset above \|\n\| 40 % \| Autostart starts Genset below/);
  });

  test('on nothing is nothing', async () => {
    expect(await hoverAt({ line: 1, character: 0 })).toBe('');
  });
});

describe('completion', () => {
  test('offers kinds and snippets where a thing may begin', async () => {
    const items = await labels('design D {\n  $0\n}\n');
    expect(items).toEqual(
      expect.arrayContaining(['battery', 'charger', 'run', 'control', 'scenario', 'accept', 'basis']),
    );
  });

  test('offers the properties of the kind that are not stated yet', async () => {
    const items = await labels('design D {\n  battery Bank { chemistry: lfp   $0 }\n}\n');
    expect(items).toContain('capacity');
    expect(items).not.toContain('chemistry');
    expect(items).not.toContain('currentLimit');
  });

  test('offers second words of properties and values, and none of a property that is stated under either', async () => {
    const run = (body: string): Promise<string[]> => labels(`design D {\n  run R: A -> B { ${body} $0 }\n}\n`);
    expect(await run('size: 6 AWG  ')).toEqual(expect.arrayContaining(['earth', 'ground']));
    for (const word of ['earth', 'ground']) {
      const items = await run(`${word}: 8 AWG  `);
      expect(items).not.toContain('earth');
      expect(items).not.toContain('ground');
    }
    expect(await labels('design D {\n  generator G { fuel: $0 }\n}\n')).toEqual(
      expect.arrayContaining(['petrol', 'gasoline']),
    );
  });

  test('offers the words of a property, with their meaning', async () => {
    const items = await completed('design D {\n  generator G { waveform: $0 }\n}\n');
    expect(items.map((item) => item.label)).toEqual(['conventional', 'inverter']);
    expect(items[1]!.documentation).toContain('output stage');
  });

  test('offers units that fit the property behind a number, the usual one first', async () => {
    const [first, ...others] = await completed('design D {\n  bus B { rating: 100 $0 }\n}\n');
    expect(first!.label).toBe('A');
    expect(others.map((item) => item.label)).toContain('kA');
    expect(others.map((item) => item.label)).not.toContain('V');
  });

  test('puts the space between a number and its unit', async () => {
    const [item] = await completed('design D {\n  bus B { rating: 100$0 }\n}\n');
    expect(item!.textEdit!.newText).toBe(' A');
  });

  test('offers parts of the right kind, those of other files and of the library too', async () => {
    const items = await labels('use "parts.watt"\ndesign D {\n  battery Bank : $0\n}\n');
    expect(items).toContain('HutPack');
    expect(items).toContain('LithiumIronPhosphate');
    expect(items).not.toContain('THWN-2');
    expect(await labels('design D { run R: A -> B { type: $0 } }')).toContain('THWN-2');
  });

  test('offers names of things as stops and terminals behind the dot', async () => {
    const design = (run: string): string => `design D {\n  charger Rect\n  bus DcBus\n  run Feed: ${run}\n}\n`;
    expect(await labels(design('$0'))).toEqual(['Rect', 'DcBus']);
    expect(await labels(design('Rect.$0'))).toEqual(['ac', 'dc']);
  });

  test('offers checks to accept', async () => {
    expect(await labels('design D {\n  accept $0\n}\n')).toContain('bank-voltage');
  });

  test('offers functions, and the arguments that are still missing', async () => {
    expect(await labels('let a = $0')).toContain('voltageDrop');
    const items = await labels('let a = voltageDrop(current: 5 A, $0)');
    expect(items).toContain('length');
    expect(items).not.toContain('current');
  });

  test('stays out of comments and texts', async () => {
    expect(await labels('// $0\n')).toEqual([]);
    expect(await labels('design D "$0"')).toEqual([]);
  });
});

describe('names', () => {
  const at = (position: Position): object => ({ textDocument: { uri: hut }, position });

  test('lead to where they are declared, in other files and the library too', async () => {
    const [thing] = await client.request<LocationLink[]>('textDocument/definition', at(place('DcBus -> Heater', 1)));
    expect(thing!.targetUri).toBe(hut);
    expect(textIn(HUT, thing!.targetSelectionRange)).toBe('DcBus');
    const [part] = await client.request<LocationLink[]>('textDocument/definition', at(place('HutPack', 1)));
    expect(part!.targetUri).toBe(uriOf('parts.watt'));
    const [library] = await client.request<LocationLink[]>('textDocument/definition', at(place('FineStranded90', 1)));
    expect(library!.targetUri).toMatch(/^wattwright-library:/);
    const { text } = await client.request<{ text: string }>('workspace/textDocumentContent', {
      uri: library!.targetUri,
    });
    expect(textIn(text, library!.targetSelectionRange)).toBe('FineStranded90');
  });

  test('are found wherever they are used', async () => {
    const uses = await client.request<Location[]>('textDocument/references', {
      ...at(place('bus DcBus', 5)),
      context: { includeDeclaration: true },
    });
    expect(uses).toHaveLength(3);
    const ofPart = await client.request<Location[]>('textDocument/references', {
      ...at(place('HutPack', 1)),
      context: { includeDeclaration: true },
    });
    expect(new Set(ofPart.map((use) => use.uri))).toEqual(new Set([hut, uriOf('parts.watt')]));
  });

  test('are renamed over all files', async () => {
    const edit = await client.request<WorkspaceEdit>('textDocument/rename', {
      ...at(place('HutPack', 1)),
      newName: 'Pack',
    });
    expect(Object.keys(edit.changes!).sort()).toEqual([hut, uriOf('parts.watt')].sort());
    for (const change of Object.values(edit.changes!).flat()) expect(change.newText).toBe('Pack');
  });

  test('of properties and of the library are not renamed, nor to what is no name', async () => {
    expect(await client.request('textDocument/prepareRename', at(place('length: 2 m', 1)))).toBeNull();
    expect(await client.request('textDocument/rename', { ...at(place('rating: 200', 1)), newName: 'x' })).toBeNull();
    expect(await client.request('textDocument/prepareRename', at(place('FineStranded90', 1)))).toBeNull();
    for (const newName of ['two words', '5x', 'run', 'a-', '']) {
      await expect(client.request('textDocument/rename', { ...at(place('bus DcBus', 5)), newName })).rejects.toThrow(
        'cannot be a name',
      );
    }
  });

  test('make up the outline of a file and of the workspace', async () => {
    const outline = await client.request<DocumentSymbol[]>('textDocument/documentSymbol', {
      textDocument: { uri: hut },
    });
    expect(outline.map((symbol) => symbol.name)).toEqual(['Hut']);
    expect(outline[0]!.children!.map((symbol) => symbol.name)).toEqual([
      'Bank',
      'MainFuse',
      'DcBus',
      'Heater',
      'BankFeed',
      'Feed',
    ]);
    const found = await client.request<WorkspaceSymbol[]>('workspace/symbol', { query: 'HutPack' });
    expect(found.map((symbol) => symbol.name)).toEqual(['HutPack']);
    const library = await client.request<WorkspaceSymbol[]>('workspace/symbol', { query: 'FineStranded90' });
    expect(library).toEqual([]);
  });

  test('light up together', async () => {
    const lights = await client.request<unknown[]>('textDocument/documentHighlight', at(place('bus DcBus', 5)));
    expect(lights).toHaveLength(3);
  });
});

describe('the rest', () => {
  test('signature help marks the argument that is being written', async () => {
    const help = await askAt<SignatureHelp>(
      'textDocument/signatureHelp',
      'let a = voltageDrop(current: 5 A, length: $0)',
    );
    const [signature] = help.signatures;
    const [from, to] = signature!.parameters![help.activeParameter!]!.label as [number, number];
    expect(signature!.label.slice(from, to)).toBe('length');
  });

  test('formatting gives the smallest edits', async () => {
    const uri = uriOf('messy.watt');
    await client.open(uri, 'design   D{basis:nec\n      load L { power: 5W }}\n');
    const edits = await client.request<TextEdit[]>('textDocument/formatting', {
      textDocument: { uri },
      options: { tabSize: 2, insertSpaces: true },
    });
    expect(edits.map((edit) => edit.newText)).toEqual([' ', ' ', '\n  ', ' ', '\n  ', '5 W', '\n']);
    const none = await client.request<TextEdit[]>('textDocument/formatting', {
      textDocument: { uri: hut },
      options: { tabSize: 2, insertSpaces: true },
    });
    expect(none).toEqual([]);
    await client.close(uri);
  });

  test('a design folds, and every line that ends in a brace', async () => {
    const ranges = await client.request<FoldingRange[]>('textDocument/foldingRange', { textDocument: { uri: hut } });
    expect(ranges).toEqual([expect.objectContaining({ startLine: 2, endLine: HUT.split('\n').length - 3 })]);
  });

  test('numbers and units are coloured apart', async () => {
    const { data } = await client.request<SemanticTokens>('textDocument/semanticTokens/full', {
      textDocument: { uri: hut },
    });
    const { tokenTypes } = client.capabilities.semanticTokensProvider!.legend;
    const lines = HUT.split('\n');
    let [line, character] = [0, 0];
    const seen: string[] = [];
    for (let index = 0; index < data.length; index += 5) {
      const [down, right, length, type] = data.slice(index, index + 4) as [number, number, number, number];
      character = down === 0 ? character + right : right;
      line += down;
      seen.push(`${tokenTypes[type]} ${lines[line]!.slice(character, character + length)}`);
    }
    for (const expected of [
      'namespace Hut',
      'type battery',
      'variable Bank',
      'class HutPack',
      'property length',
      'number 1.2',
      'typeParameter kW',
      'number 2/0',
      'typeParameter AWG',
      'class FineStranded90',
      'enumMember nec',
    ])
      expect(seen).toContain(expected);
  });

  test('a `use` is a link to its file', async () => {
    const links = await client.request<DocumentLink[]>('textDocument/documentLink', { textDocument: { uri: hut } });
    expect(links).toEqual([expect.objectContaining({ target: uriOf('parts.watt') })]);
  });

  test('every run shows its design current', async () => {
    const hints = await client.request<InlayHint[]>('textDocument/inlayHint', {
      textDocument: { uri: hut },
      range: { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } },
    });
    expect(hints).toHaveLength(2);
    for (const hint of hints) expect(hint.label).toMatch(/^\d+(\.\d+)? A$/);
  });

  test('a check is explained by request and by command', async () => {
    const text = await client.request<string>('wattwright/explain', { id: 'bank-voltage' });
    expect(text).toMatch(/^# bank-voltage/);
    const command = { command: 'wattwright.server.explain', arguments: ['bank-voltage'] };
    expect(await client.request('workspace/executeCommand', command)).toBe(text);
    expect(await client.request('wattwright/explain', { id: 'no-such-check' })).toBeNull();
    expect(await client.request('wattwright/explain', {})).toBeNull();
  });
});
