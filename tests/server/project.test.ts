import { rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import {
  type Diagnostic,
  DiagnosticSeverity,
  DiagnosticTag,
  FileChangeType,
} from 'vscode-languageserver-protocol/node';
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
