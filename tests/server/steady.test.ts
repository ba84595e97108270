import { rmSync, writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { CancellationTokenSource, type Diagnostic, type ResponseError } from 'vscode-languageserver-protocol/node';
import type { Server } from '../../server/src/create-server.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/*
 * What happens to a server that is pushed about: files opened all at once, requests at the wrong moment, texts that hold half characters,
 * and faults of its own.
 */

const running: LanguageClient[] = [];
afterEach(async () => {
  for (const client of running.splice(0)) await client.stop();
});

async function start(folder?: string): Promise<{ client: LanguageClient; server: Server }> {
  const started = await LanguageClient.startWithin(folder);
  running.push(started.client);
  await started.client.notify('initialized', {});
  return started;
}

const codes = (diagnostics: readonly Diagnostic[]): string[] => diagnostics.map((each) => String(each.code));
const uriOf = (file: string): string => pathToFileURL(file).href;
const pause = (milliseconds: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, milliseconds));

/** The same numbers in every run. Source: the generator of Park and Miller (1988), multiplier 16807. */
function random(seed: number): () => number {
  let state = seed;
  return () => (state = (state * 16807) % 2147483647) / 2147483647;
}

const PART = 'part bus Bar { rating: 200 A }\n';
const design = (part: string, name = 'D'): string =>
  `use "parts.watt"\ndesign ${name} {\n  basis: nec\n  bus B : ${part}\n}\n`;
const FAULTY = 'unknown-name';

describe('files that are opened at once with texts that differ from the disk', () => {
  const next = random(7);
  test.each(Array.from({ length: 24 }, (_, round) => round))('all get their findings, round %i', async (round) => {
    const folder = temporaryFolder({
      'parts.watt': PART,
      'a.watt': design('Bar', 'A'),
      'b.watt': design('Bar', 'B'),
      'c.watt': 'design C { basis: nec }\n',
    });
    const { client } = await LanguageClient.startWithin(folder);
    running.push(client);
    const opened = {
      'a.watt': design('NoSuchA', 'A'),
      'b.watt': design('NoSuchB', 'B'),
      'parts.watt': `${PART}let wrong = missing\n`,
    };
    const names = Object.keys(opened).slice(0, 2 + (round % 2)) as (keyof typeof opened)[];
    const initialize = (): Promise<void> => client.notify('initialized', {});
    if (round % 3 !== 0) await initialize();
    for (const name of names) {
      // An editor that restores its files opens them in the same moment, or within some milliseconds.
      if (round % 4 !== 0) await pause(next() * 40);
      void client.open(uriOf(`${folder}/${name}`), opened[name]);
    }
    if (round % 3 === 0) await initialize();
    for (const name of names) expect(codes(await client.diagnostics(uriOf(`${folder}/${name}`)))).toContain(FAULTY);
  });
});

test('a file keeps its findings when another is opened in the very moment they are ready', async () => {
  const { client, server } = await start(temporaryFolder({ 'parts.watt': PART }));
  await client.workspaceRead();
  const [first, second] = ['untitled:first', 'untitled:second'];
  const { DocumentValidator } = server.wattwright.validation;
  const validate = DocumentValidator.validateDocument.bind(DocumentValidator);
  vi.spyOn(DocumentValidator, 'validateDocument').mockImplementation(async (document, ...more) => {
    const found = await validate(document, ...more);
    if (document.uri.toString() === first && !server.shared.workspace.TextDocuments.get(second)) {
      void client.open(second, design('NoSuchPart'));
      // The build under way is cancelled as soon as the text has arrived.
      while (!server.shared.workspace.TextDocuments.get(second)) await pause(1);
      await pause(5);
    }
    return found;
  });
  await client.open(first, design('NoSuchPart'));
  expect(codes(await client.diagnostics(second))).toContain(FAULTY);
  expect(codes(await client.diagnostics(first))).toContain(FAULTY);
});

describe('half characters and other texts that are no names of files', () => {
  test('do not end the server, whatever is done with them', async () => {
    const folder = temporaryFolder({ 'd.watt': '' });
    const { client, server } = await start(folder);
    const uri = uriOf(`${folder}/d.watt`);
    const site = 'site { latitude: 46 deg   longitude: 9 deg   timeZone: ';
    const broken = [
      '\ud83d',
      '\ude00',
      '\ud83d.watt',
      '%',
      '%zz',
      '%ud83d',
      '//a//b',
      '..',
      '.',
      '',
      ' ',
      '#',
      '?',
      'a:b',
      '\u0000',
      '\u202e',
      '[',
      '\\',
    ];
    for (const text of broken) {
      for (const whole of [
        `use "${text}"\nuse "${text}.watt"\n`,
        `design D "${text}" {\n  basis: nec\n  ${site}"${text}" }\n  scenario S { from: 9999-12-31   duration: 1 d   weather: "${text}" }\n}\n`,
        `design D { ${text} }\n`,
        `// ${text}\n/** ${text} */ part bus B { note: "${text}" }\ndesign D { bus C : B }\n`,
        `part bus ${text} { }\nlet ${text} = ${text}\n`,
      ]) {
        await client.open(uri, whole);
        await client.diagnostics(uri);
        const at = { textDocument: { uri }, position: { line: 0, character: 6 } };
        for (const method of ['hover', 'completion', 'definition', 'signatureHelp', 'documentHighlight'])
          await client.request(`textDocument/${method}`, at);
        for (const method of ['documentSymbol', 'foldingRange', 'semanticTokens/full', 'documentLink'])
          await client.request(`textDocument/${method}`, { textDocument: { uri } });
        await client.request('textDocument/formatting', {
          textDocument: { uri },
          options: { tabSize: 2, insertSpaces: true },
        });
        await client.close(uri);
      }
    }
    await client.request('workspace/symbol', { query: '\ud83d' });
    await client.open(uri, 'use "\ud83d.watt"\n');
    expect(codes(await client.diagnostics(uri))).toEqual(['import-outside']);
    expect(client.log).toEqual([]);
    expect(server.shared.workspace.LangiumDocuments.all.count()).toBeGreaterThan(1);
  });

  test('as addresses of documents are refused, and the next is served', async () => {
    const { client } = await start();
    for (const uri of ['file:///\ud83d.watt', '\ud83d', 'file://a b/%', '1:2']) {
      await client.open(uri, 'let a = 1 V\n');
      const hover = { textDocument: { uri }, position: { line: 0, character: 1 } };
      await client.request('textDocument/hover', hover).catch(() => undefined);
      await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri, type: 2 }] });
      await client.close(uri);
    }
    await client.open('untitled:Untitled-1', 'let a = missing\n');
    expect(codes(await client.diagnostics('untitled:Untitled-1'))).toContain(FAULTY);
  });
});

describe('a process', () => {
  test('outlives half a character, and one that was killed is followed by one that knows what is open', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'd.watt': design('Bar') });
    const uri = uriOf(`${folder}/d.watt`);
    const first = await LanguageClient.start(folder);
    await first.open(uri, 'use "\ud83d.watt"\n');
    expect(codes(await first.diagnostics(uri))).toEqual(['import-outside']);
    await first.change(uri, design('Unsaved'));
    const before = await first.diagnostics(uri);
    const ended = new Promise((resolve) => first.process!.once('exit', resolve));
    first.process!.kill('SIGKILL');
    await ended;
    // What the editor's client does then: it starts another one and opens what is open, as it is.
    const second = await LanguageClient.start(folder);
    running.push(second);
    await second.open(uri, design('Unsaved'));
    expect(await second.diagnostics(uri)).toEqual(before);
  });
});

describe('a fault of the tool', () => {
  const uri = 'untitled:Untitled-1';
  const params = { textDocument: { uri }, position: { line: 1, character: 3 } };

  test('in a request is answered, told once with what is needed to repeat it, and the next request works', async () => {
    const { client, server } = await start();
    await client.open(uri, design('Bar'));
    await client.diagnostics(uri);
    const { HoverProvider } = server.wattwright.lsp;
    const hover = vi.spyOn(HoverProvider!, 'getHoverContent').mockImplementation(() => {
      throw new Error('made to fail');
    });
    for (let time = 0; time < 3; time += 1)
      await expect(client.request('textDocument/hover', params)).rejects.toMatchObject({
        code: -32603,
        message: expect.stringContaining('made to fail') as string,
      } satisfies Partial<ResponseError>);
    expect(client.log).toHaveLength(1);
    for (const part of [
      'textDocument/hover',
      uri,
      'version 1',
      'line 2, character 4',
      'made to fail',
      'getHoverContent',
    ])
      expect(client.log[0]).toContain(part);
    expect(client.log[0]).not.toContain('basis: nec');
    hover.mockRestore();
    expect(await client.request('textDocument/hover', params)).toMatchObject({ contents: { kind: 'markdown' } });
  });

  test.each([
    ['references', 'ReferencesProvider', 'findReferences'],
    ['rename', 'RenameProvider', 'rename'],
    ['completion', 'CompletionProvider', 'getCompletion'],
    ['documentSymbol', 'DocumentSymbolProvider', 'getSymbols'],
    ['semanticTokens/full', 'SemanticTokenProvider', 'semanticHighlight'],
    ['inlayHint', 'InlayHintProvider', 'getInlayHints'],
    ['codeAction', 'CodeActionProvider', 'getCodeActions'],
    ['formatting', 'Formatter', 'formatDocument'],
  ] as const)('in textDocument/%s is told by its name', async (name, service, handler) => {
    const { client, server } = await start();
    await client.open(uri, design('Bar'));
    await client.diagnostics(uri);
    vi.spyOn(server.wattwright.lsp[service] as unknown as Record<string, () => unknown>, handler).mockRejectedValue(
      new TypeError('made to fail'),
    );
    const more = {
      ...params,
      newName: 'x',
      context: { includeDeclaration: true, diagnostics: [] },
      range: { start: { line: 0, character: 0 }, end: { line: 1, character: 0 } },
      options: { tabSize: 2, insertSpaces: true },
    };
    await expect(client.request(`textDocument/${name}`, more)).rejects.toThrow('made to fail');
    expect(client.log).toHaveLength(1);
    expect(client.log[0]).toContain(`textDocument/${name}`);
  });

  test('in the analysis of one document leaves the others alone, and shows', async () => {
    const { client, server } = await start();
    const { DocumentValidator } = server.wattwright.validation;
    const validate = DocumentValidator.validateDocument.bind(DocumentValidator);
    vi.spyOn(DocumentValidator, 'validateDocument').mockImplementation((document, ...more) => {
      if (document.uri.path.endsWith('bad')) throw new Error('made to fail');
      return validate(document, ...more);
    });
    void client.open('untitled:bad', design('Bar'));
    void client.open('untitled:good', design('NoSuchPart'));
    expect(codes(await client.diagnostics('untitled:good'))).toContain(FAULTY);
    expect(codes(await client.diagnostics('untitled:bad'))).toEqual(['analysis-failed']);
    expect(client.log).toHaveLength(1);
    expect(client.log[0]).toMatch(/untitled:bad version 1.*made to fail/);
  });

  test.each(['parser', 'symbols', 'update'] as const)('in the %s leaves the server answering', async (where) => {
    const { client, server } = await start();
    await client.workspaceRead();
    const { DocumentBuilder, LangiumDocumentFactory, IndexManager } = server.shared.workspace;
    const made =
      where === 'parser'
        ? vi.spyOn(LangiumDocumentFactory, 'update').mockRejectedValueOnce(new Error('made to fail'))
        : where === 'symbols'
          ? vi.spyOn(IndexManager, 'updateContent').mockRejectedValueOnce(new Error('made to fail'))
          : // What an update begins with, for all documents together.
            vi
              .spyOn(DocumentBuilder as unknown as { emitUpdate: () => Promise<void> }, 'emitUpdate')
              .mockRejectedValueOnce(new Error('made to fail'));
    await client.open(uri, 'let a = missing\n');
    const symbols = client.request('textDocument/documentSymbol', { textDocument: { uri } });
    await Promise.allSettled([symbols]);
    expect(made).toHaveBeenCalled();
    await client.change(uri, 'let a = alsoMissing\n');
    expect(codes(await client.diagnostics(uri))).toContain(FAULTY);
    expect(await client.request('textDocument/documentSymbol', { textDocument: { uri } })).toHaveLength(1);
    expect(client.log.filter((line) => line.includes('made to fail'))).toHaveLength(1);
  });
});

describe('a document in any state', () => {
  const METHODS: readonly (readonly [string, object])[] = [
    ...['hover', 'completion', 'definition', 'signatureHelp', 'documentHighlight', 'prepareRename'].map(
      (name) => [`textDocument/${name}`, {}] as const,
    ),
    ['textDocument/references', { context: { includeDeclaration: true } }],
    ['textDocument/rename', { newName: 'Anew' }],
    ...['documentSymbol', 'foldingRange', 'documentLink', 'semanticTokens/full', 'codeLens'].map(
      (name) => [`textDocument/${name}`, {}] as const,
    ),
    ['textDocument/formatting', { options: { tabSize: 2, insertSpaces: true } }],
    ...['inlayHint', 'semanticTokens/range', 'codeAction'].map(
      (name) =>
        [
          `textDocument/${name}`,
          { range: { start: { line: 0, character: 0 }, end: { line: 9, character: 0 } }, context: { diagnostics: [] } },
        ] as const,
    ),
    ['workspace/symbol', { query: 'D' }],
    ['wattwright/explain', { id: 'bank-voltage' }],
  ];

  /** Sends every request, half of them cancelled at once; each must be answered, with a result or with an error. */
  async function allAnswered(client: LanguageClient, uri: string, during?: () => Promise<unknown>): Promise<void> {
    const answers = METHODS.flatMap(([method, more]) => {
      const params = { textDocument: { uri }, position: { line: 2, character: 4 }, ...more };
      const source = new CancellationTokenSource();
      const cancelled = client.connection.sendRequest(method, params, source.token);
      source.cancel();
      return [client.request(method, params), cancelled];
    });
    await during?.();
    const settled = Promise.allSettled(answers);
    const late = pause(30_000).then(() => 'not all were answered');
    expect(await Promise.race([settled.then((all) => all.length), late])).toBe(METHODS.length * 2);
  }

  test('answers every request', async () => {
    const folder = temporaryFolder({ 'parts.watt': PART, 'd.watt': design('Bar'), 'deep/e.watt': design('Bar') });
    const { client } = await start(folder);
    const [uri, never, deep] = ['d.watt', 'never.watt', 'deep/e.watt'].map((name) => uriOf(`${folder}/${name}`)) as [
      string,
      string,
      string,
    ];
    // Before anything is read; changed and closed before it is opened; never opened.
    await allAnswered(client, uri, () => client.change(never, 'text'));
    await allAnswered(client, never, () => client.close(never));
    // Opened, while it is built and while it changes; cancelled, then edited.
    await client.open(uri, `${design('Bar')}${'let x = 1 V\n'.repeat(2000)}`);
    await allAnswered(client, uri, () => client.change(uri, design('NoSuchPart')));
    await allAnswered(client, uri, () => client.change(uri, design('Bar')));
    expect(codes(await client.diagnostics(uri))).not.toContain(FAULTY);
    // Closed, while requests wait; gone from the disk; come again.
    await client.change(uri, design('NoSuchPart'));
    await allAnswered(client, uri, () => client.close(uri));
    await client.diagnosticsWhen(uri, (list) => !codes(list).includes(FAULTY));
    rmSync(`${folder}/d.watt`);
    await allAnswered(client, uri, () =>
      client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri, type: 3 }] }),
    );
    await client.diagnosticsWhen(uri, (list) => list.length === 0);
    writeFileSync(`${folder}/d.watt`, design('NoSuchPart'));
    await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri, type: 1 }] });
    await client.diagnosticsWhen(uri, (list) => codes(list).includes(FAULTY));
    // Open in the editor while the folder around it goes: the text of the editor counts.
    await client.open(deep, `use "../parts.watt"\n${design('NoSuchPart').replace('use "parts.watt"\n', '')}`);
    await client.diagnostics(deep);
    rmSync(`${folder}/deep`, { recursive: true });
    await allAnswered(client, deep, () =>
      client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: uriOf(`${folder}/deep`), type: 3 }] }),
    );
    await client.diagnosticsWhen(deep, (list) => codes(list).includes(FAULTY));
    // Untitled ones leave nothing behind.
    await client.open('untitled:Untitled-1', design('Bar'));
    await allAnswered(client, 'untitled:Untitled-1', () => client.close('untitled:Untitled-1'));
    await allAnswered(client, 'untitled:Untitled-1');
    expect(client.log).toEqual([]);
  });

  test('says the same after cancelled requests and edits as one that was never disturbed', async () => {
    const { client } = await start();
    const uri = 'untitled:Untitled-1';
    const text = (part: string): string => `${PART}${design(part).replace('use "parts.watt"\n', '')}`;
    await client.open(uri, text('NoSuchPart'));
    for (let round = 0; round < 12; round += 1) {
      const source = new CancellationTokenSource();
      const hover = client.connection.sendRequest(
        'textDocument/hover',
        { textDocument: { uri }, position: { line: 3, character: 8 } },
        source.token,
      );
      if (round % 2 === 0) await pause(round);
      source.cancel();
      await client.change(uri, text(round % 3 === 0 ? 'Bar' : `NoSuchPart${round}`));
      await Promise.allSettled([hover]);
    }
    await client.change(uri, text('Bar'));
    const fresh = await start();
    await fresh.client.open(uri, text('Bar'));
    const plain = (list: readonly Diagnostic[]): unknown => JSON.parse(JSON.stringify(list));
    expect(plain(await client.diagnostics(uri))).toEqual(plain(await fresh.client.diagnostics(uri)));
  });
});
