import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { AstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import { describe, expect, test } from 'vitest';
import type { WorkspaceEdit } from 'vscode-languageserver';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { ast } from '../../language/src/index.js';
import { type Folder, folderInServer } from '../helpers/server-in-process.js';

// Each test analyses a design many times over.

/** Every kind of name, each spoken of in every kind of place. Invented. */
const PARTS = `/** Invented. */
part battery Pack extends LithiumIronPhosphate { voltage: 51.2 V   capacity: nominal   cells: 16 }
part battery TallPack extends Pack { capacity: 2 * nominal }
part conductor Cable extends FineStranded90 { note: "invented" }
part fuse Holder { class: T   rating: 125 A }
let nominal = 280 Ah
let doubled = 2 * nominal
profile Mornings { 06:00..09:00: 100 % }
let petrol = 5 A
design Base {
  basis: nec
  battery Spare : Pack
}
`;
const HOUSE = `use "parts.watt"

let floor = 20 %
let cold = -5 degC
profile Evenings { 18:00..22:00: share }
let share = 80 %
let five = 5 W

/** Rests on petrol and Evenings. */
design House "The house of Ann" {
  basis: nec
  site { altitude: 300 m   ambient: cold..30 degC }
  profile Nights { 22:00..06:00: 100 % }
  let margin = 25 %
  let most = margin + floor
  let low = soc(Bank) < 30 % + margin

  grid Mains { voltage: 230 V }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: petrol }
  charger Rect { maximumPower: 3 kW   currentLimit: petrol }
  battery Bank : TallPack { parallel: 1   reserve: floor }
  fuse MainFuse : Holder { rating: 150 A }
  bus DcBus { rating: 200 A }
  inverter Inv { rated: 3 kW   voltage: 230 V }
  load Heater { power: 1.2 kW * (1 + margin)   profile: Mornings   supply: dc }
  load Lamp { power: five   profile: Evenings   supply: dc }
  load Pump { power: 300 W   profile: Nights   supply: dc }
  bus Panel { rating: 63 A   voltage: 230 V }

  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 2/0 AWG   type: Cable   length: 1.2 m }
  run HeaterFeed: DcBus -> Heater, Lamp, Pump { size: 6 AWG   type: Cable   length: 2 m }
  run RectFeed: DcBus -> Rect.dc { size: 6 AWG   type: Cable   length: BankFeed.length }
  run GensetLine: Genset -> Rect.ac { size: 4 mm2   type: Cable   length: 9 m }
  link Bus: Bank -> Rect { protocol: "CAN" }

  control Autostart of Genset {
    start when low or lost(Mains) and hour > 6
    start when soc(Bank) < floor for 10 min
    stop when soc(Bank) > 80 % and voltage(Bank) > 50 V
    quiet: 22:00..06:30 unless soc(Bank) < floor
    without Bus { start when voltage(Bank) < 48 V   stop when voltage(Bank) > 55 V   minimumRun: 1 h }
  }
  scenario Outage {
    duration: 2 d   soc(Bank): 90 % - margin   lost(Mains): 6 h .. 30 h   lost(Bus): always
    profile(Pump): Mornings   profile(Heater): always
    require min(soc(Bank)) >= floor and runTime(Genset) < 5 h
    require unserved(Heater) == 0 kWh
  }

  require HeaterFeed.current <= 2 * petrol
  require chargeTime(Bank, 20 %, most) < 9 h
  require voltageDrop(current: petrol, length: BankFeed.length, size: BankFeed.size) < 1 V
  accept fuse-near-bank on BankFeed because "the Bank stands beside the DcBus" until 2030-01-01
  accept bank-voltage on Outage because "no reason"
  reading Bank.voltage = 52.1 V on 2026-05-01 "Bank at rest"
  reading Rect.dc.current = petrol
}

variant Large of House { Bank.parallel = 2   Heater.profile = Evenings   Lamp.power = 2 * five   site.altitude = 800 m   Outage.duration = 3 d
  Genset.fuel = diesel   HeaterFeed.type = Cable }
variant Larger "twice" of Base { Spare.parallel = 2 }
`;
const FILES = { 'house.watt': HOUSE, 'parts.watt': PARTS };

type Named = { readonly $type: string; readonly name: string };
const namedIn = (document: LangiumDocument): ast.File['declarations'] =>
  AstUtils.streamContents(document.parseResult.value)
    .flatMap((node) => (ast.isDesign(node) ? [node, ...node.members] : [node]))
    .filter((node) => !ast.isProperty(node) && typeof (node as unknown as Named).name === 'string')
    .toArray() as ast.File['declarations'];

interface Place {
  readonly file: string;
  readonly offset: number;
}

/** Where a name stands as a word of its own, outside of texts and comments, and is not a word of a property. */
function placesOf(files: Readonly<Record<string, string>>, name: string): Place[] {
  const passedOver = String.raw`"(?:\\.|[^"\\\n])*"|//[^\n]*|/\*[\s\S]*?\*/|fuel: petrol`;
  return Object.entries(files).flatMap(([file, text]) =>
    [...text.matchAll(new RegExp(`${passedOver}|(?<![\\w-])${name}(?![\\w-])`, 'g'))]
      .filter(({ 0: found }) => found === name)
      .map(({ index }) => ({ file, offset: index })),
  );
}

const rename = async (
  folder: Folder,
  file: string,
  offset: number,
  newName: string,
): Promise<WorkspaceEdit | undefined> => {
  const document = folder.documents.get(file)!;
  const { RenameProvider } = folder.server.wattwright.lsp;
  return RenameProvider!.rename(document, {
    textDocument: { uri: document.uri.toString() },
    position: document.textDocument.positionAt(offset),
    newName,
  }) as Promise<WorkspaceEdit | undefined>;
};

function applied(folder: Folder, edit: WorkspaceEdit): Record<string, string> {
  return Object.fromEntries(
    [...folder.documents].map(([name, { textDocument, uri }]) => [
      name,
      TextDocument.applyEdits(textDocument, edit.changes?.[uri.toString()] ?? []),
    ]),
  );
}

const changedPlaces = (folder: Folder, edit: WorkspaceEdit): Place[] =>
  [...folder.documents].flatMap(([file, { textDocument, uri }]) =>
    (edit.changes?.[uri.toString()] ?? []).map(({ range }) => ({ file, offset: textDocument.offsetAt(range.start) })),
  );

const inOrder = (places: readonly Place[]): string[] => places.map(({ file, offset }) => `${file} ${offset}`).sort();

/** All that is found in a folder, with `newName` called by its old name. */
function findings(folder: Folder, oldName: string, newName: string): string[] {
  return [...folder.documents.keys()]
    .flatMap((file) => {
      const { findings: found, questions } = folder.analyse(file);
      return [
        ...found.map((each) => [file, each.check, each.subject, each.message, Boolean(each.accepted), each.place.line]),
        ...questions.map((each) => [file, each.check, each.subject, ...each.missing]),
      ];
    })
    .map((each) => JSON.stringify(each).replaceAll(newName, oldName))
    .sort();
}

async function expectSameAfterRenaming(folder: Folder, file: string, offset: number, name: string): Promise<void> {
  // As long as the old name, so that messages that list names break at the same places.
  const newName = `Qx${name.slice(2)}x`.replaceAll('-', '_');
  const edit = await rename(folder, file, offset, newName);
  expect(edit, `${name} of ${file} is renamed`).toBeDefined();
  const renamed = await folderInServer(applied(folder, edit!));
  expect(findings(renamed, name, newName)).toEqual(findings(folder, name, name));
}

/** Declarations of a folder with the place of their names. */
const declarationsOf = (folder: Folder): { name: string; sort: string; file: string; offset: number }[] =>
  [...folder.documents].flatMap(([file, document]) =>
    namedIn(document).map((node) => ({
      name: node.name,
      sort: node.$type,
      file,
      offset: GrammarUtils.findNodeForProperty(node.$cstNode, 'name')!.offset,
    })),
  );

describe('a rename', async () => {
  const folder = await folderInServer(FILES);
  const declarations = declarationsOf(folder);

  test('meets every kind of declaration that has a name', () => {
    expect(new Set(declarations.map(({ sort }) => sort))).toEqual(
      new Set([
        'Part',
        'ProfileDeclaration',
        'Let',
        'Design',
        'Variant',
        'Instance',
        'Run',
        'Link',
        'Control',
        'Scenario',
      ]),
    );
    expect(folder.documents.get('house.watt')!.parseResult.parserErrors).toEqual([]);
    expect(folder.analyse('house.watt').findings.filter(({ check }) => check === 'unknown-name')).toEqual([]);
  });

  test.each(declarations.map((each) => [each.sort, each.name, each] as const))(
    'of the %s %s changes every place, from every place, and no finding',
    async (_sort, name, { file, offset }) => {
      const places = placesOf(FILES, name);
      for (const place of places) {
        const edit = await rename(folder, place.file, place.offset, 'Anew');
        expect(edit, `${name} at ${place.file} ${place.offset}`).toBeDefined();
        expect(inOrder(changedPlaces(folder, edit!))).toEqual(inOrder(places));
      }
      const { ReferencesProvider } = folder.server.wattwright.lsp;
      const document = folder.documents.get(file)!;
      const found = await ReferencesProvider!.findReferences(document, {
        textDocument: { uri: document.uri.toString() },
        position: document.textDocument.positionAt(offset),
        context: { includeDeclaration: true },
      });
      expect(found).toHaveLength(places.length);
      await expectSameAfterRenaming(folder, file, offset, name);
    },
  );

  test('leaves words of properties alone, and they lead nowhere', async () => {
    expect(await rename(folder, 'house.watt', HOUSE.indexOf('fuel: petrol') + 7, 'Anew')).toBeUndefined();
  });
});

test('a profile, a part and a thing of one name are told apart by what a property takes', async () => {
  const files = {
    'p.watt':
      'profile Pump { 06:00..09:00: 100 % }\npart battery Pack { voltage: 12 V }\npart conductor Wire { note: "invented" }\n',
    'd.watt':
      'use "p.watt"\ndesign D {\n  bus Pack { rating: 5 A }\n  bus Wire { rating: 5 A }\n  load Pump { power: 5 W   profile: Pump }\n' +
      '  battery Bank : Pack\n  run R: Bank -> Pack -> Wire -> Pump { type: Wire }\n}\n',
  };
  const folder = await folderInServer(files);
  const changed = async (file: 'p.watt' | 'd.watt', text: string): Promise<string[]> => {
    const edit = await rename(folder, file, files[file].indexOf(text) + text.length - 1, 'Anew');
    return Object.values(applied(folder, edit!)).flatMap((each) =>
      each.split('\n').filter((line) => line.includes('Anew')),
    );
  };
  expect(await changed('p.watt', 'profile Pump')).toEqual([
    'profile Anew { 06:00..09:00: 100 % }',
    '  load Pump { power: 5 W   profile: Anew }',
  ]);
  expect(await changed('d.watt', 'load Pump')).toEqual([
    '  load Anew { power: 5 W   profile: Pump }',
    '  run R: Bank -> Pack -> Wire -> Anew { type: Wire }',
  ]);
  expect(await changed('d.watt', 'type: Wire')).toEqual([
    'part conductor Anew { note: "invented" }',
    '  run R: Bank -> Pack -> Wire -> Pump { type: Anew }',
  ]);
  expect(await changed('d.watt', 'bus Pack')).toEqual([
    '  bus Anew { rating: 5 A }',
    '  run R: Bank -> Anew -> Wire -> Pump { type: Wire }',
  ]);
});

describe('a rename is refused', async () => {
  const folder = await folderInServer(FILES);
  const at = (text: string): number => HOUSE.indexOf(text) + text.length - 1;
  const onto = (text: string, newName: string): Promise<unknown> => rename(folder, 'house.watt', at(text), newName);

  test.each([
    ['a thing of the same design', 'battery Bank', 'Rect', 'line 20 of house.watt declares a charger'],
    ['a run onto a thing', 'run BankFeed', 'Mains', 'declares a grid'],
    ['a profile of the same file', 'profile Evenings', 'floor', 'declares a let'],
    ['a profile onto one of a used file', 'profile Evenings', 'Mornings', 'of parts.watt declares a profile'],
    ['a thing onto a value of the file', 'battery Bank', 'floor', 'declares a let'],
    ['a thing onto a part of a used file', 'battery Bank', 'Pack', 'declares a part'],
    ['a value of the file onto a thing that would hide it', 'let floor', 'Bank', 'declares a battery'],
    ['a part of the library', 'battery Bank', 'LithiumIronPhosphate', 'the standard library declares a part'],
    ['a part onto a thing of a file that uses it', 'Bank : TallPack', 'Lamp', 'of house.watt declares a load'],
    ['a variant onto its design', 'variant Large', 'House', 'declares a design'],
    ['a word that conditions look up', 'let margin', 'hour', 'a word of the language'],
    ['a word that a profile may be', 'profile Evenings', 'always', 'a word of the language'],
  ])('onto the name of %s', async (_what, text, newName, message) => {
    await expect(onto(text, newName)).rejects.toThrow(message);
  });

  test('onto what is no name', async () => {
    for (const newName of [
      '',
      ' ',
      'a b',
      '5x',
      'run',
      'and',
      'a-',
      '-a',
      'a.b',
      'a\nb',
      '"a"',
      '\ud83d',
      'a//b',
      'site',
    ])
      await expect(onto('battery Bank', newName), JSON.stringify(newName)).rejects.toThrow('cannot be a name');
  });

  test('where a word that stands for nothing would come to mean it', async () => {
    const text = 'design D {\n  let limit = 5 A\n  bus B { rating: other }\n}\n';
    const small = await folderInServer({ 'd.watt': text });
    await expect(rename(small, 'd.watt', text.indexOf('limit'), 'other')).rejects.toThrow('line 3 of d.watt');
  });

  test('where a part of a file that may speak of it cannot be read', async () => {
    const text = 'design D {\n  bus Bar { rating: 5 A }\n  ) Bar (\n}\n';
    const broken = await folderInServer({ 'd.watt': text });
    await expect(rename(broken, 'd.watt', text.indexOf('Bar'), 'Rail')).rejects.toThrow('line 3 of d.watt');
  });

  test('nowhere for a name of another file that has nothing to do with it', async () => {
    const apart = await folderInServer({ 'a.watt': 'let first = 1 V\n', 'b.watt': 'let second = 2 V\n' });
    expect(await rename(apart, 'a.watt', 4, 'second')).toBeDefined();
  });
});

describe('in the examples', () => {
  const root = path.resolve(import.meta.dirname, '../../examples');
  test.each(['mountain-hut', 'coastal-sloop'])(
    'of %s a rename of any name leaves the findings as they are',
    async (name) => {
      const files = Object.fromEntries(
        readdirSync(path.join(root, name))
          .filter((file) => file.endsWith('.watt'))
          .map((file) => [file, readFileSync(path.join(root, name, file), 'utf8')]),
      );
      const folder = await folderInServer(files);
      const declarations = declarationsOf(folder);
      // Every kind of declaration, and of the many instances and runs each third.
      const chosen = declarations.filter(
        ({ sort }, index) => (sort !== 'Instance' && sort !== 'Run') || index % 3 === 0,
      );
      for (const each of chosen) await expectSameAfterRenaming(folder, each.file, each.offset, each.name);
    },
  );
});
