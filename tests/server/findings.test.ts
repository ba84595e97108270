import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { URI } from 'langium';
import { NodeFileSystem } from 'langium/node';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CodeAction, Diagnostic, TextEdit } from 'vscode-languageserver-protocol';
import { TextDocument } from 'vscode-languageserver-textdocument';
import {
  CHECKS,
  addLibrary,
  alsoText,
  analyse,
  createLanguageServices,
  findCheck,
  foldedFindings,
  loadUsed,
  messageWithVariant,
} from '../../language/src/index.js';
import { type Announced, parseFixture } from '../helpers/fixture.js';
import { LanguageClient } from '../helpers/language-client.js';

// Every test talks to a process of its own or waits for one; slow machines need room.

const ROOT = path.resolve(import.meta.dirname, '../..');
// Waivers have dates: the day is fixed, as reproducible-builds.org asks.
const DAY = '2026-11-25';
const SECONDS = String(Date.parse(`${DAY}T12:00:00Z`) / 1000);

let client: LanguageClient;
let fresh = 0;

beforeAll(async () => {
  client = await LanguageClient.start(undefined, { SOURCE_DATE_EPOCH: SECONDS });
});
afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

interface Opened {
  readonly uri: string;
  readonly diagnostics: readonly Diagnostic[];
}

async function opened(text: string): Promise<Opened> {
  fresh += 1;
  // An example that leads back to itself names the file it stands in.
  const [, name] = /^\/\/ in the file (\S+)\n/.exec(text) ?? [];
  const uri = name === undefined ? `untitled:Fixture-${fresh}` : `file:///fixtures/${fresh}/${name}`;
  await client.open(uri, text);
  return { uri, diagnostics: await client.diagnostics(uri) };
}

const actionsFor = (uri: string, diagnostics: readonly Diagnostic[], only = 'quickfix'): Promise<CodeAction[]> =>
  client.request('textDocument/codeAction', {
    textDocument: { uri },
    range: diagnostics[0]?.range ?? { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } },
    context: { diagnostics, only: [only] },
  });

const applied = (text: string, uri: string, action: CodeAction): string =>
  TextDocument.applyEdits(TextDocument.create(uri, 'wattwright', 0, text), action.edit!.changes![uri] as TextEdit[]);

const SEVERITIES = ['', 'error', 'warning', 'info'];

/** Findings in the form in which a fixture announces them; the message is left to the caller. */
const asAnnounced = ({ range, severity, code }: Diagnostic): Omit<Announced, 'message'> => ({
  line: range.start.line,
  from: range.start.character,
  to: range.end.character,
  severity: SEVERITIES[severity ?? 0]!,
  check: String(code),
});

/** The checks whose findings are folded under the finding of a diagnostic. */
const foldedIn = ({ message }: Diagnostic): string[] => {
  const also = /\nalso: (.+)$/.exec(typeof message === 'string' ? message : message.value)?.[1];
  return also?.split(', ').map((each) => each.replace(/ on .*/, '')) ?? [];
};

/** Whether a diagnostic tells of a check, by itself or folded under it. */
const tells =
  (check: string) =>
  (diagnostic: Diagnostic): boolean =>
    diagnostic.code === check || foldedIn(diagnostic).includes(check);

describe('a finding', () => {
  test('marks exactly the place it is about', async () => {
    const [{ text, announced } = { text: '', announced: [] }] = parseFixture(`design D {
  basis: nec
  load Lamp { powr: 5 W   power: 5 V }
  //   ^^^^ warning not-connected: Lamp
  //          ^^^^ error unknown-name: power
  //                             ^^^ error wrong-dimension: voltage
}
`);
    const { diagnostics } = await opened(text);
    const ofText = diagnostics.filter(({ code }) => findCheck(String(code))?.group === 'text');
    expect(ofText.map(asAnnounced)).toEqual(announced.map(({ message: _, ...rest }) => rest));
    announced.forEach(({ message }, index) => expect(ofText[index]!.message).toContain(message));
  });

  test('names where the other thing stands when two disagree', async () => {
    const text = 'design D {\n  basis: nec\n  bus A\n  bus A\n}\n';
    const { uri, diagnostics } = await opened(text);
    const found = diagnostics.find(({ code }) => code === 'duplicate-name');
    expect(found?.relatedInformation).toEqual([
      {
        location: { uri, range: { start: { line: 2, character: 6 }, end: { line: 2, character: 7 } } },
        message: expect.any(String),
      },
    ]);
  });
});

describe('findings at one place', () => {
  test('that want the same change are offered it once, before the waivers of each', async () => {
    const text = `design D {
  basis: nec
  battery Bank : Lfp48V280Ah
  load Heater { power: 2.4 kW   supply: dc }
  run Feed: Bank -> Heater { size: 14 AWG   type: FineStranded90   length: 2 m   terminals: 75 degC }
}`;
    const { uri, diagnostics } = await opened(text);
    const size = text.split('\n')[4]!.indexOf('14 AWG');
    const here = diagnostics.filter(({ range }) => range.start.line === 4 && range.start.character === size);
    // One cause is told once; what is folded under it is answered with it.
    expect(here.map(({ code }) => code)).toEqual(['run-ampacity']);
    expect(foldedIn(here[0]!)).toEqual(['terminal-temperature', 'voltage-drop']);
    const actions = await actionsFor(uri, here);
    expect(actions.map(({ title, diagnostics: mended }) => [title, mended?.length])).toEqual([
      ['Change size of Feed to 4 AWG', 1],
      ['Accept run-ampacity on Feed because …', 1],
      ['Accept terminal-temperature on Feed because …', 1],
      ['Accept voltage-drop on Feed because …', 1],
    ]);
  });
});

describe('the fix of', () => {
  const withFailing = CHECKS.map((check) => [check.id, check] as const);

  // Fails when a check offers a fix that does not end its own finding.
  test.each(withFailing)('%s ends the finding', async (id, check) => {
    const text = check.docs.failing;
    const { uri, diagnostics: first } = await opened(text);
    // What only a play shows, of a scenario or of the rules, comes behind everything else.
    const isLate = check.judgePlayed !== undefined || check.judgeProof !== undefined;
    const isThere = (list: readonly Diagnostic[]): boolean => list.some(tells(id));
    const diagnostics = isLate ? await client.diagnosticsWhen(uri, isThere) : first;
    const own = diagnostics.filter(tells(id));
    expect(own).toHaveLength(1);
    const fixes = (await actionsFor(uri, own)).filter(({ title }) => !title.startsWith('Accept '));
    expect(fixes.filter(({ isPreferred }) => isPreferred)).toHaveLength(fixes.length > 0 ? 1 : 0);
    for (const fix of fixes) {
      expect(fix.diagnostics?.map(({ code }) => code)).toEqual([own[0]!.code]);
      const mended = await opened(applied(text, uri, fix));
      if (isLate) await new Promise((resolve) => setTimeout(resolve, 1000));
      const last = isLate ? await client.diagnosticsWhen(mended.uri, () => true) : mended.diagnostics;
      expect(last.filter(tells(id))).toEqual([]);
    }
  });
});

describe('accepting', () => {
  test('silences one finding on one thing, and not findings on the text', async () => {
    const check = CHECKS.find(({ group }) => group === 'sources')!;
    const { uri, diagnostics } = await opened(check.docs.failing);
    const own = diagnostics.filter(({ code }) => code === check.id);
    const accept = (await actionsFor(uri, own)).find(({ title }) => title.startsWith(`Accept ${check.id}`));
    expect(accept).toBeDefined();
    const text = applied(check.docs.failing, uri, accept!);
    expect(text).toContain(`accept ${check.id} on `);
    const after = await opened(text);
    expect(after.diagnostics.map(({ code }) => code)).not.toContain(check.id);
    expect(after.diagnostics.map(({ code }) => code)).not.toContain('syntax-error');

    const misspelt = await opened('design D {\n  basis: nec\n  load L { powr: 5 W }\n}\n');
    const titles = (await actionsFor(misspelt.uri, misspelt.diagnostics)).map(({ title }) => title);
    expect(titles.filter((title) => title.startsWith('Accept unknown-name'))).toEqual([]);
  });

  test('a finding of a text that has changed since offers nothing', async () => {
    const { uri, diagnostics } = await opened('design D {\n  basis: nec\n  load L { powr: 5 W }\n}\n');
    await client.change(uri, '\n\n\n');
    expect(await actionsFor(uri, diagnostics)).toEqual([]);
  });
});

describe('the editor and the analysis', () => {
  const designs = readdirSync(path.join(ROOT, 'examples'), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.watt'))
    .map((name) => path.join(ROOT, 'examples', name));

  test('there are examples', () => expect(designs.length).toBeGreaterThanOrEqual(3));

  test.each(designs.map((file) => [path.relative(ROOT, file), file]))('say the same of %s', async (_, file) => {
    const uri = URI.file(file);
    const language = createLanguageServices(NodeFileSystem);
    const library = addLibrary(language.shared);
    const document = await language.shared.workspace.LangiumDocuments.getOrCreateDocument(uri);
    const used = await loadUsed(language.shared, [document], () => true);
    await language.shared.workspace.DocumentBuilder.build([...library, document, ...used], { validation: false });
    const expected = analyse(document, language, { today: DAY }).findings.filter(({ accepted }) => !accepted);

    const asEditor = pathToFileURL(file).href;
    await client.open(asEditor, readFileSync(file, 'utf8'));
    // Findings that rest on a play come after those of the text.
    const told = foldedFindings(expected).map(({ finding, folded }) => {
      const also = alsoText(finding, folded);
      const { check, place } = finding;
      return [check, `${messageWithVariant(finding)}${also ? `\nalso: ${also}` : ''}`, place.line, place.character];
    });
    const diagnostics = await client.diagnosticsWhen(asEditor, (all) => all.length === told.length);
    expect(
      diagnostics.map(({ code, message, range: { start } }) => [code, message, start.line, start.character]),
    ).toEqual(told);
    await client.close(asEditor);
  });
});
