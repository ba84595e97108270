import { rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import {
  type Diagnostic,
  DiagnosticSeverity,
  DiagnosticTag,
  FileChangeType,
} from 'vscode-languageserver-protocol/node';
import { startBrowserServer } from '../../server/src/browser-server.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

const running: LanguageClient[] = [];
afterEach(async () => {
  for (const client of running.splice(0)) await client.stop();
});

const uriOf = (file: string): string => pathToFileURL(file).href;

/** A cabin of our own invention; its feed is too thin for its lamp. */
const CABIN = `use "stock/lamps.watt"
design Cabin {
  battery Bank : Lfp24V100Ah
  load Lamp : InventedLamp
  run Feed: Bank -> Lamp { size: 1.5 mm2   length: 12 m   type: H07V-K }
}
`;
const LAMP = 'part load InventedLamp { power: 400 W   supply: dc }\n';

const severityOf = (list: readonly Diagnostic[], check: string): DiagnosticSeverity | undefined =>
  list.find(({ code }) => code === check)?.severity;

describe('the project file in the editor', () => {
  async function started(project: string, workspace = '.') {
    const folder = temporaryFolder({
      '.git/HEAD': 'ref: refs/heads/main\n',
      'wattwright.json': project,
      'shared/lamps.watt': LAMP,
      'site/cabin.watt': CABIN,
      'site/old.watt': 'design Old {\n  load Lamp { powr: 5 W }\n}\n',
    });
    const { client } = await LanguageClient.startWithin(path.join(folder, workspace));
    running.push(client);
    await client.notify('initialized', {});
    const file = path.join(folder, 'wattwright.json');
    const change = async (text: string | undefined): Promise<void> => {
      if (text === undefined) rmSync(file);
      else writeFileSync(file, text);
      const type = text === undefined ? FileChangeType.Deleted : FileChangeType.Changed;
      await client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: uriOf(file), type }] });
    };
    const uri = (name: string): string => uriOf(path.join(folder, name));
    return { client, change, uri, project: uriOf(file) };
  }

  const GOOD = '{ "basis": "iec", "parts": { "stock": "shared" }, "severity": { "run-unprotected": "warning" } }';

  test('counts as it does on the command line, and is read again when it changes', async () => {
    const { client, change, uri } = await started(GOOD);
    const cabin = uri('site/cabin.watt');
    const is = (severity: DiagnosticSeverity) => (list: readonly Diagnostic[]) =>
      severityOf(list, 'run-unprotected') === severity;
    const list = await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Warning));
    expect(severityOf(list, 'unknown-name')).toBeUndefined();
    await change(GOOD.replace('"warning"', '"info"'));
    await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Information));
    await change(undefined);
    // Without it the name of the folder means nothing.
    await client.diagnosticsWhen(cabin, (each) => severityOf(each, 'unknown-name') === DiagnosticSeverity.Error);
    await change(GOOD);
    await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Warning));
  });

  test('is found above the folder that is open, and the parts that it names are read from there', async () => {
    const { client, uri } = await started(GOOD, 'site');
    const list = await client.diagnosticsWhen(uri('site/cabin.watt'), (each) => each.length > 0);
    expect(severityOf(list, 'unknown-name')).toBeUndefined();
    expect(severityOf(list, 'import-outside')).toBeUndefined();
    expect(severityOf(list, 'run-unprotected')).toBe(DiagnosticSeverity.Warning);
  });

  test('is watched above the folder that is open, up to the top of the repository', async () => {
    const folder = temporaryFolder({
      'top/.git/HEAD': 'ref: refs/heads/main\n',
      'top/wattwright.json': GOOD,
      'top/a/site/cabin.watt': CABIN,
      'top/b/other.watt': CABIN,
    });
    const above = ({ watched }: LanguageClient): string[] =>
      watched.flatMap(({ globPattern }) => {
        if (typeof globPattern === 'string') return [];
        expect(globPattern.pattern).toBe('wattwright.json');
        return [path.relative(folder, fileURLToPath(globPattern.baseUri as string))];
      });
    const begin = async (relativePatternSupport: boolean): Promise<LanguageClient> => {
      const { client } = await LanguageClient.startWithin(path.join(folder, 'top/a/site'), undefined, {
        workspace: { didChangeWatchedFiles: { dynamicRegistration: true, relativePatternSupport } },
      });
      running.push(client);
      await client.notify('initialized', {});
      await client.until(() => client.watched.length > 0 || undefined, 'a watch');
      return client;
    };
    expect(above(await begin(false))).toEqual([]);
    const client = await begin(true);
    expect(above(client)).toEqual(['top/a', 'top']);
    const other = { uri: uriOf(path.join(folder, 'top/b')), name: 'b' };
    const was = client.watched;
    await client.notify('workspace/didChangeWorkspaceFolders', {
      event: { added: [other], removed: [{ uri: uriOf(path.join(folder, 'top/a/site')), name: 'workspace' }] },
    });
    await client.until(() => client.watched !== was || undefined, 'another watch');
    expect(above(client)).toEqual(['top']);
  });

  test('what is wrong with it stands in it, and goes when it is put right; the rest of it counts', async () => {
    const { client, change, uri, project } = await started(
      '{ "basis": "iec",\n  "basic": 1, "severity": { "one-bond": "info" }, "parts": { "stock": "shared" } }',
    );
    const list = await client.diagnosticsWhen(project, (each) => each.length === 2);
    expect(list).toMatchObject([
      {
        severity: DiagnosticSeverity.Error,
        range: { start: { line: 1, character: 2 }, end: { line: 1, character: 9 } },
      },
      { severity: DiagnosticSeverity.Warning, tags: [DiagnosticTag.Deprecated] },
    ]);
    await client.diagnosticsWhen(uri('site/cabin.watt'), (each) => severityOf(each, 'run-unprotected') !== undefined);
    await change(GOOD);
    await client.diagnosticsWhen(project, (each) => each.length === 0);
  });

  test('files that it leaves out are judged only while they are open', async () => {
    const { client, change, uri } = await started('{}');
    const old = uri('site/old.watt');
    await client.diagnosticsWhen(old, (list) => list.length > 0);
    await change('{ "exclude": ["old.watt"] }');
    await client.diagnosticsWhen(old, (list) => list.length === 0);
    await client.open(old, 'design Old {\n  load Lamp { powr: 5 W }\n}\n');
    await client.diagnosticsWhen(old, (list) => list.length > 0);
  });
});

describe('the project file of an editor that reads the files itself, such as one in a browser', () => {
  const at = (name: string): string => `vscode-vfs://host/repository/${name}`;
  const GOOD = '{ "basis": "iec", "parts": { "stock": "shared" }, "severity": { "run-unprotected": "warning" } }';

  async function opened() {
    const { client } = await LanguageClient.startWithin(undefined, startBrowserServer);
    running.push(client);
    await client.notify('initialized', {});
    await client.notify('workspace/didChangeWorkspaceFolders', {
      event: { added: [{ uri: at('').slice(0, -1), name: 'repository' }], removed: [] },
    });
    await client.open(at('shared/lamps.watt'), LAMP);
    await client.open(at('site/cabin.watt'), CABIN);
    const tell = (files: unknown): Promise<void> => client.notify('wattwright/projectFiles', { files });
    return { client, tell, cabin: at('site/cabin.watt'), project: at('wattwright.json') };
  }
  const is = (severity: DiagnosticSeverity) => (list: readonly Diagnostic[]) =>
    severityOf(list, 'run-unprotected') === severity;

  test('counts once it is told of, again when it is told anew, and no longer when it is gone', async () => {
    const { client, tell, cabin, project } = await opened();
    await client.diagnosticsWhen(cabin, (list) => severityOf(list, 'unknown-name') === DiagnosticSeverity.Error);
    await tell([{ uri: project, text: GOOD }]);
    const list = await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Warning));
    expect(severityOf(list, 'unknown-name')).toBeUndefined();
    await tell([{ uri: project, text: GOOD.replace('"warning"', '"info"') }]);
    await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Information));
    await tell([]);
    await client.diagnosticsWhen(cabin, (each) => severityOf(each, 'unknown-name') === DiagnosticSeverity.Error);
  });

  test('says what is wrong with it at its own address; what is no list of files changes nothing', async () => {
    const { client, tell, cabin, project } = await opened();
    await tell([{ uri: project, text: GOOD.replace('{', '{ "basic": 1,') }, { uri: 5 }, null]);
    const [problem] = await client.diagnosticsWhen(project, (list) => list.length === 1);
    expect(problem!.message).toContain('basic');
    await client.diagnosticsWhen(cabin, is(DiagnosticSeverity.Warning));
    await tell('nothing');
    await tell([{ uri: project }]);
    const [unread] = await client.diagnosticsWhen(project, (list) => JSON.stringify(list).includes('cannot be read'));
    expect(unread!.severity).toBe(DiagnosticSeverity.Error);
  });
});
