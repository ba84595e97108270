import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type {
  CodeAction,
  CodeLens,
  CompletionList,
  Hover,
  InlayHint,
  Range,
  WorkspaceEdit,
} from 'vscode-languageserver-protocol';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

const hut = (rating: string, size: string, length = 'length: 2 m'): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: ${rating} }
  load Heater { power: 2 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: ${size}   type: THHN   ${length}   conductors: 2   terminals: 75 degC }
}
`;

const folder = temporaryFolder({ 'hut.watt': hut('?', '?'), 'open.watt': hut('70 A', '?', '') });
const uriOf = (name: string): string => pathToFileURL(`${folder}/${name}`).href;

let client: LanguageClient;

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  for (const [name, text] of [
    ['hut.watt', hut('?', '?')],
    ['open.watt', hut('70 A', '?', '')],
  ] as const) {
    await client.open(uriOf(name), text);
    await client.diagnostics(uriOf(name));
  }
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

/** The place of the size of the run in a text. */
function holeIn(text: string): Range {
  const lines = text.split('\n');
  const line = lines.findIndex((each) => each.includes('size: ?'));
  const character = lines[line]!.indexOf('size: ?') + 'size: '.length;
  return { start: { line, character }, end: { line, character: character + 1 } };
}

describe('a hole in the editor', () => {
  const place = holeIn(hut('?', '?'));

  test('says in its hover what holds and why', async () => {
    const hover = await client.request<Hover>('textDocument/hover', {
      textDocument: { uri: uriOf('hut.watt') },
      position: place.start,
    });
    const text = JSON.stringify(hover.contents);
    expect(text).toContain('6 AWG');
    expect(text).toContain('run-protection');
    expect(hover.range).toEqual(place);
  });

  test('is filled by an action, alone or with all others of its design', async () => {
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: uriOf('hut.watt') },
      range: place,
      context: { diagnostics: [] },
    });
    expect(actions.map(({ title }) => title)).toEqual(['Fill in Line.size: 6 AWG', 'Fill in all 2 values of Hut']);
    expect(actions[0]!.edit!.changes![uriOf('hut.watt')]).toEqual([{ range: place, newText: '6 AWG' }]);
    expect(actions[1]!.edit!.changes![uriOf('hut.watt')]!.map(({ newText }) => newText)).toEqual(['70 A', '6 AWG']);
  });

  test('shows its value behind the mark', async () => {
    const hints = await client.request<InlayHint[]>('textDocument/inlayHint', {
      textDocument: { uri: uriOf('hut.watt') },
      range: { start: { line: 0, character: 0 }, end: { line: 9, character: 0 } },
    });
    expect(hints.filter(({ textEdits }) => textEdits).map(({ label }) => label)).toEqual(['= 70 A', '= 6 AWG']);
  });

  test('lists the values that hold, best first, with what holds them', async () => {
    const asked = { textDocument: { uri: uriOf('hut.watt') }, position: place.end };
    let list = await client.request<CompletionList>('textDocument/completion', asked);
    for (let time = 0; list.isIncomplete && time < 100; time += 1) {
      await new Promise((resolve) => setTimeout(resolve, 100));
      list = await client.request<CompletionList>('textDocument/completion', asked);
    }
    expect(list.items[0]).toMatchObject({
      label: '6 AWG',
      preselect: true,
      textEdit: { range: place, newText: '6 AWG' },
    });
    expect(list.items[0]!.detail).toContain('run-protection');
    // Each value that is offered holds together with some rating, so that those below the smallest are not among them.
    expect(list.items.length).toBeGreaterThan(1);
    expect(list.items.map(({ label }) => label)).not.toContain('8 AWG');
  });

  test('is filled by the lens above its design', async () => {
    const textDocument = { uri: uriOf('hut.watt') };
    const lenses = await client.request<CodeLens[]>('textDocument/codeLens', { textDocument });
    const resolved = await Promise.all(lenses.map((each) => client.request<CodeLens>('codeLens/resolve', each)));
    const fill = resolved.find(({ command }) => command!.command === 'wattwright.server.fill')!.command!;
    expect(fill.title).toBe('fill in 2 of 2 open values');
    const edits: WorkspaceEdit[] = [];
    client.connection.onRequest('workspace/applyEdit', ({ edit }: { edit: WorkspaceEdit }) => {
      edits.push(edit);
      return { applied: true };
    });
    const { command, arguments: given } = fill;
    expect(await client.request('workspace/executeCommand', { command, arguments: given })).toBe(true);
    expect(edits[0]!.changes![uriOf('hut.watt')]!.map(({ newText }) => newText)).toEqual(['70 A', '6 AWG']);
  });

  test('that rests on a missing fact asks for it and offers nothing', async () => {
    const own = holeIn(hut('70 A', '?', ''));
    const textDocument = { uri: uriOf('open.watt') };
    const hover = await client.request<Hover>('textDocument/hover', { textDocument, position: own.start });
    expect(JSON.stringify(hover.contents)).toContain('length of Line');
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
      textDocument,
      range: own,
      context: { diagnostics: [] },
    });
    expect(actions).toEqual([]);
  });
});
