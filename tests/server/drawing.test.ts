import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Drawing, Stamp } from '../../language/src/index.js';
import { Pictures } from '../../server/src/drawing/pictures.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';
import { call } from '../cli/helpers/program.js';

/** A boat of our own invention: a charger on shore power, and an inverter for the galley in a variant. */
const BOAT = `design Boat "Boat at the pier" {
  basis: craft
  site { ambient: 5..30 degC }
  grid Shore { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 30 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 200 Ah }
  load Lamps { power: 60 W   supply: dc }
  bus Bar { rating: 100 A }
  run Cord: Shore -> Rect.ac { size: 2.5 mm2   length: 12 m }
  run Feed: Rect.dc -> Bar { size: 16 mm2   length: 1 m }
  run BankFeed: Bank -> Bar { size: 35 mm2   length: 1 m }
  run LampLine: Bar -> Lamps { size: 2.5 mm2   length: 4 m }
  link BankLink: Bank -> Rect { medium: can }
}
variant Bright of Boat { Lamps.power = 90 W }
`;

interface Answer {
  readonly designs: readonly string[];
  readonly design: string;
  readonly drawing: Drawing;
  readonly elements: readonly {
    readonly id: string;
    readonly kind: string;
    readonly uri: string;
    readonly range: { readonly start: { readonly line: number } };
  }[];
  readonly stamp: Stamp;
}

const folder = temporaryFolder({ 'boat.watt': BOAT, 'empty.watt': 'part battery Pack { voltage: 12 V }\n' });
const boat = path.join(folder, 'boat.watt');
const uri = pathToFileURL(boat).href;
let client: LanguageClient;

const drawing = (more: object = {}): Promise<Answer | null> =>
  client.request<Answer | null>('wattwright/drawing', { textDocument: { uri }, ...more });

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(uri, BOAT);
  await client.diagnostics(uri);
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

describe('the drawing that an editor asks for', () => {
  test('names the designs of the file, and where each element stands', async () => {
    const answer = (await drawing())!;
    expect(answer.designs).toEqual(['Boat', 'Bright']);
    expect(answer.design).toBe('Boat');
    const lines = BOAT.split('\n');
    for (const { id, kind, range } of answer.elements)
      expect(lines[range.start.line], id).toMatch(new RegExp(`^  ${kind === 'symbol' ? '\\w+' : kind} ${id}\\b`));
    expect(answer.elements.map(({ id }) => id)).toEqual([
      ...['Shore', 'Rect', 'Bank', 'Lamps', 'Bar'],
      ...['Cord', 'Feed', 'BankFeed', 'LampLine'],
      'BankLink',
    ]);
  });

  test('is that of a variant where one is named', async () => {
    const { design, drawing: drawn } = (await drawing({ design: 'Bright' }))!;
    expect(design).toBe('Bright');
    expect(JSON.stringify(drawn.symbols.find(({ id }) => id === 'Lamps')?.label)).toContain('90 W');
  });

  test('is null where a file has no design, and refused where there is no file', async () => {
    const empty = pathToFileURL(path.join(folder, 'empty.watt')).href;
    await client.open(empty, readFileSync(path.join(folder, 'empty.watt'), 'utf8'));
    expect(await client.request('wattwright/drawing', { textDocument: { uri: empty } })).toBe(null);
    await expect(client.request('wattwright/drawing', {})).rejects.toThrow();
  });

  test('follows a change of the text', async () => {
    await client.change(uri, BOAT.replace('power: 60 W', 'power: 75 W'));
    expect(JSON.stringify((await drawing())!.drawing.symbols)).toContain('75 W');
    await client.change(uri, BOAT);
    expect(JSON.stringify((await drawing())!.drawing.symbols)).toContain('60 W');
  });

  test('kept as a file it is the same to the byte as what the command line draws, stamp and all', async () => {
    const git = (...args: string[]): void => void execFileSync('git', ['-C', folder, ...args]);
    git('init', '--quiet');
    git('add', 'boat.watt');
    git('-c', 'user.name=A', '-c', 'user.email=a@b', 'commit', '--quiet', '-m', 'Boat');
    const output = path.join(folder, 'boat.svg');
    expect((await call(['draw', boat, '-o', output])).code).toBe(0);
    const answer = (await drawing({ isForFile: true }))!;
    expect(answer.stamp.commit).toMatch(/^[0-9a-f]+$/);
    const sent = JSON.parse(JSON.stringify(answer)) as Answer;
    const picture = await new Pictures().answer({
      id: 1,
      view: 'file',
      drawing: sent.drawing,
      write: { stamp: sent.stamp, sheets: 'all' },
    });
    expect('svg' in picture && picture.svg).toBe(readFileSync(output, 'utf8'));
  });
});

describe('pictures of a view', () => {
  test('keep the order of what was there when something is added, and need a drawing first', async () => {
    const pictures = new Pictures();
    const write = { stamp: { tool: 'wattwright' }, sheets: 'whole' } as const;
    expect(await pictures.answer({ id: 1, view: 'a', write })).toEqual({ id: 1, fault: 'There is no drawing yet.' });
    const { drawing: drawn } = (await drawing())!;
    const first = await pictures.answer({ id: 2, view: 'a', drawing: drawn, write });
    if (!('svg' in first)) return expect.fail(JSON.stringify(first));
    await client.change(
      uri,
      BOAT.replace(
        '  bus Bar',
        '  load Pump { power: 40 W   supply: dc }\n  run PumpLine: Bar -> Pump { size: 2.5 mm2   length: 3 m }\n  bus Bar',
      ),
    );
    const next = await pictures.answer({
      id: 3,
      view: 'a',
      drawing: (await drawing())!.drawing,
      former: first.positions,
      write,
    });
    if (!('svg' in next)) return expect.fail(JSON.stringify(next));
    const before = Object.entries(first.positions);
    const flipped = before.flatMap(([a, one]) =>
      before
        .filter(([b, other]) => one.y < other.y && next.positions[a]!.y > next.positions[b]!.y)
        .map(([b]) => `${a} ${b}`),
    );
    expect(flipped).toEqual([]);
    expect(Object.keys(next.positions)).toContain('Pump');
    await client.change(uri, BOAT);
  });

  test('keep where things were dragged in a file of sorted names, and leave alone what is no such file', async () => {
    const pictures = new Pictures();
    const keep = { design: 'Hut', positions: { Lights: { x: 40.4, y: 8 }, Bank: { x: 2, y: 90 } } };
    const kept = await pictures.answer({ id: 7, keep, keptText: '{"designs": {"Attic": {"Bus": {"x": 1, "y": 2}}}}' });
    if (!('text' in kept)) return expect.fail(JSON.stringify(kept));
    expect(JSON.parse(kept.text)).toEqual({
      schema: 1,
      designs: { Attic: { Bus: { x: 1, y: 2 } }, Hut: { Bank: { x: 2, y: 90 }, Lights: { x: 40, y: 8 } } },
    });
    expect(kept.text.indexOf('"Bank"')).toBeLessThan(kept.text.indexOf('"Lights"'));
    expect(await pictures.answer({ id: 8, keep, keptText: 'a letter' })).toEqual({
      id: 8,
      fault: 'The file of positions is left as it is: it is no JSON.',
    });
  });
});
