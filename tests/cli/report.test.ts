import { chmodSync, existsSync, mkdirSync, readFileSync, readdirSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { againstSchema } from './helpers/schemas.js';
import { chromium } from '../../server/src/cli/pdf.js';
import { callHere } from './helpers/in-process.js';
import { temporaryFolder } from './helpers/program.js';

/** Invented. Texts of people hold markup, quotes and what a table program would take for a formula. */
const CABIN = `
design Cabin "Cabin <b>by</b> the lake" {
  basis: iec
  customer: "=cmd()"
  revision: "B"   checkedBy: "N. N."
  grid Mains { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  battery Bank "=2+3, \\"large\\"" { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah   location: closet }
  inverter Inv { rated: 1 kW   apparent: 1 kVA   voltage: 230 V   efficiency: 90 %   cutOff: 23 V   reconnect: 25 V }
  charger Rect { currentLimit: 20 A   absorb: 28.4 V   float: 27.2 V }
  bus Bar { rating: 200 A }
  fuse Main { class: gG   rating: 100 A   location: "+shed" }
  load Lamp { power: assumed 100 W   voltage: 230 V   profile: always }
  run Feed: Bank -> Main -> Bar { size: 25 mm2   type: H07V-K   length: 1 m   colour: "red, black"   number: "W1" }
  run InvFeed: Bar -> Inv.dc { size: 25 mm2   type: H07V-K   length: 2 m }
  run Line: Inv.ac -> Lamp { size: 1.5 mm2   length: 8 m }
  run Supply: Mains -> Rect.ac { size: 1.5 mm2   length: 5 m }
  run Charge: Rect.dc -> Bar { size: 6 mm2   length: 1 m }
  link Pack: Bank -> Rect { medium: can   pins: "4, 5 to 7, 2" }
  control Keep of Lamp { off when soc(Bank) < 20 %
    on when soc(Bank) > 40 % }
  reading Bank.voltage = 26.3 V on 2026-09-14
}
variant Large of Cabin { Bank.parallel = 2 }
`;

const SHEETS = [
  'commissioning',
  'cuts',
  'labels',
  'links',
  'loads',
  'parts',
  'protection',
  'run-tests',
  'settings',
  'wires',
  'wiring',
];

describe('report', () => {
  test('writes the page and the sheets, the same bytes each time, and its data', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const first = await callHere(['report', 'cabin.watt', '-o', 'set', '--no-pdf', '--format', 'json'], cwd);
    expect(first.code).toBe(0);
    const names = [...SHEETS.map((name) => `${name}.csv`), 'Cabin.html'].sort();
    expect(readdirSync(path.join(cwd, 'set')).sort()).toEqual(names);
    await callHere(['report', 'cabin.watt', '-o', 'again', '--no-pdf'], cwd);
    for (const name of names)
      expect(readFileSync(path.join(cwd, 'again', name), 'utf8'), name).toBe(
        readFileSync(path.join(cwd, 'set', name), 'utf8'),
      );

    const data = JSON.parse(first.stdout) as { written: string[]; sheets: Record<string, Record<string, unknown>[]> };
    expect(data.written.map((name) => path.basename(name)).sort()).toEqual(names);
    expect(againstSchema('report', data)).toEqual([]);
    const feed = data.sheets['wires']!.find(({ name }) => name === 'Feed')!;
    expect(feed).toMatchObject({
      from: 'Bank',
      through: 'Main',
      to: 'Bar',
      size: { text: '25 mm²', unit: 'mm2' },
      colour: 'red, black',
      number: 'W1',
      length: { value: 1, unit: 'm' },
      cut: { missing: expect.stringContaining('cutAllowance of the design') as string },
    });
    expect((feed['size'] as { value: number }).value).toBeCloseTo(25);
    expect(data.sheets['loads']![0]).toMatchObject({ power: { value: 100, unit: 'W', assumed: true } });
    expect(data.sheets['links']![0]).toMatchObject({ pins: '4, 5 to 7, 2' });
    // 26.3 V is what was measured; it stands in the box of the step that asks for it.
    const step = data.sheets['steps2']!.find(({ measure }) => measure === 'voltage of the bank')!;
    expect(step['measured']).toMatchObject({ value: 26.3, unit: 'V' });

    const page = readFileSync(path.join(cwd, 'set', 'Cabin.html'), 'utf8');
    expect(page).toMatch(/^<!doctype html>\n<html lang="en">/);
    expect(page).toContain('default-src &#39;none&#39;');
    expect(page).not.toMatch(/<b>|<script|<link |https?:\/\/(?!www\.w3\.org\/2000\/svg)/);
    expect(page).toContain('Cabin &#60;b&#62;by&#60;/b&#62; the lake');
    for (const sheet of [
      'summary',
      'loads',
      'diagram',
      'wires',
      'protection',
      'parts',
      'settings',
      'links',
      'plan',
      'commissioning',
      'owner',
      'derivations',
    ])
      expect(page).toContain(
        `<section class="${/parts|settings|links|plan|owner|derivations/.test(sheet) ? 'sheet' : 'sheet wide'}" id="${sheet}"`,
      );
    // Each number that was worked out leads to its derivation.
    const asked = new Set([...page.matchAll(/href="#(d\d+)"/g)].map(([, id]) => id!));
    expect(asked.size).toBeGreaterThan(10);
    for (const id of asked) expect(page).toContain(`<h3 id="${id}">`);
    // One heading of the first rank, tables with captions and headings that say what they head.
    expect(page.match(/<h1/g)).toHaveLength(1);
    expect(page.match(/<table/g)!.length).toBe(page.match(/<caption/g)!.length);
    expect(page).not.toMatch(/<th(?! scope)[ >]/);

    const parts = readFileSync(path.join(cwd, 'set', 'parts.csv'), 'utf8');
    expect(parts).toContain('"\'=2+3, ""large"""');
    expect(parts.endsWith('\r\n')).toBe(true);
  });

  test('names what an earlier set has left in the folder, and leaves it', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const call = (...more: string[]) => callHere(['report', 'cabin.watt', '-o', 'set', '--no-pdf', ...more], cwd);
    expect((await call()).stderr).not.toContain('earlier');
    expect((await call()).stderr).not.toContain('earlier');
    writeFileSync(path.join(cwd, 'set', 'Cabin.pdf'), 'old');
    writeFileSync(path.join(cwd, 'set', 'notes.txt'), 'of somebody else');
    const others = SHEETS.filter((name) => name !== 'loads');
    const { code, stderr } = await call('--sheet', 'loads');
    expect(code).toBe(0);
    const told = /left from an earlier set, and not of this one: (.*); remove what is not wanted/.exec(stderr)![1]!;
    expect(told.split(', ').sort()).toEqual(['Cabin.pdf', ...others.map((name) => `${name}.csv`)].sort());
    expect(readdirSync(path.join(cwd, 'set'))).toContain('wires.csv');
  });

  test('what the design leaves open stands on the first sheet, with what holds and what is asked', async () => {
    const hut = (length: string): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: 70 A }
  load Heater { power: 2 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: ?   type: THHN   ${length}   conductors: 2   terminals: 75 degC }
}
`;
    const cwd = temporaryFolder({ 'known.watt': hut('length: 2 m'), 'asked.watt': hut('') });
    const leftOpen = async (name: string): Promise<string> => {
      const called = await callHere(['report', `${name}.watt`, '-o', name, '--no-pdf', '--sheet', 'summary'], cwd);
      expect(called.code).toBe(0);
      const page = readFileSync(path.join(cwd, name, 'Hut.html'), 'utf8');
      return page.slice(page.indexOf('Left open in the design'), page.indexOf('What the checks found'));
    };
    const known = await leftOpen('known');
    // What `tests/choose` and the editor find for the same run.
    for (const part of ['Line.size', '6 AWG', 'run-protection']) expect(known).toContain(part);
    const asked = await leftOpen('asked');
    expect(asked).toContain('length of Line');
    expect(asked).not.toContain('AWG');
  });

  test('one sheet, of a variant', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const { code } = await callHere(
      ['report', 'cabin.watt', '-o', 'set', '--no-pdf', '--variant', 'Large', '--sheet', 'wires'],
      cwd,
    );
    expect(code).toBe(0);
    expect(readdirSync(path.join(cwd, 'set')).sort()).toEqual([
      'Cabin-Large.html',
      'cuts.csv',
      'wires.csv',
      'wiring.csv',
    ]);
    expect(readFileSync(path.join(cwd, 'set', 'Cabin-Large.html'), 'utf8')).not.toContain('id="owner"');
  });

  test('is set for the paper of its practice, or for the one that is named', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN, 'lodge.watt': CABIN.replace('basis: iec', 'basis: nec 2023') });
    const sizes = async (file: string, ...more: string[]): Promise<string[]> => {
      const args = ['report', file, '-o', 'set', '--no-pdf', '--sheet', 'diagram', '--sheet', 'wires', ...more];
      expect((await callHere(args, cwd)).code).toBe(0);
      const page = readFileSync(path.join(cwd, 'set', 'Cabin.html'), 'utf8');
      return [...page.matchAll(/@page[^{]*\{size:([^;]+);/g)].map(([, size]) => size!);
    };
    const [a4, letter] = [
      ['A4', 'A3 landscape', 'A4 landscape'],
      ['Letter', '17in 11in', 'Letter landscape'],
    ];
    expect(await sizes('cabin.watt')).toEqual(a4);
    expect(await sizes('lodge.watt')).toEqual(letter);
    expect(await sizes('cabin.watt', '--paper', 'Letter')).toEqual(letter);
    expect(await sizes('lodge.watt', '--paper', 'A4')).toEqual(a4);
  });

  test.skipIf(chromium() === undefined)('is printed on that paper', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const box = async (...more: string[]): Promise<number[]> => {
      expect((await callHere(['report', 'cabin.watt', '-o', 'set', '--sheet', 'owner', ...more], cwd)).code).toBe(0);
      const file = readFileSync(path.join(cwd, 'set', 'Cabin.pdf'), 'latin1');
      return /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(file)!.slice(1).map(Number);
    };
    // In points: 210 by 297 mm, and 8.5 by 11 inches.
    const within = (found: number[], wanted: number[]): void =>
      found.forEach((length, index) => expect(Math.abs(length - wanted[index]!)).toBeLessThan(1));
    within(await box(), [595.3, 841.9]);
    within(await box('--paper', 'Letter'), [612, 792]);
  });

  test('errors are said on every page, or keep the set from being written where that is asked for', async () => {
    // 1.5 mm² behind a fuse of 100 A.
    const cwd = temporaryFolder({
      'cabin.watt': CABIN.replace('Main -> Bar { size: 25 mm2', 'Main -> Bar { size: 1.5 mm2'),
    });
    expect((await callHere(['report', 'cabin.watt', '-o', 'set', '--no-pdf', '--sheet', 'summary'], cwd)).code).toBe(0);
    const page = readFileSync(path.join(cwd, 'set', 'Cabin.html'), 'utf8');
    expect(page).toContain('Has errors: not for construction.');
    expect(page).toContain('@top-center{content:"HAS ERRORS: not for construction"');
    const refused = await callHere(['report', 'cabin.watt', '-o', 'other', '--no-pdf', '--fail-on', 'error'], cwd);
    expect(refused.code).toBe(1);
    expect(refused.stderr).toContain('nothing was written');
    expect(existsSync(path.join(cwd, 'other'))).toBe(false);
  });

  test.each([
    [['-o', 'cabin.watt'], 'cabin.watt is no folder; name one for the hand-over set'],
    [['-o', 'missing/set'], 'cannot make the folder missing/set: there is no such file or folder'],
    [['-o', 'set', '--paper', 'A3'], "option '--paper <size>' argument 'A3' is invalid"],
    [['-o', 'set', '--sheet', 'wire'], 'no sheet is named wire; did you mean wires?'],
    [['-o', 'linked'], 'linked/Cabin.html is a link; remove it, since nothing is written outside of the folder'],
    [[], "required option '-o, --output <folder>' not specified"],
  ])('says in one line what is wrong with a call, and writes nothing: %j', async (args, message) => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    mkdirSync(path.join(cwd, 'linked'));
    writeFileSync(path.join(cwd, 'elsewhere'), 'kept');
    symlinkSync(path.join(cwd, 'elsewhere'), path.join(cwd, 'linked', 'Cabin.html'));
    const { code, stderr } = await callHere(['report', 'cabin.watt', '--no-pdf', ...args], cwd);
    expect(code).toBe(2);
    expect(stderr).toContain(message);
    expect(stderr.trim().split('\n')).toHaveLength(1);
    expect(readdirSync(cwd).sort()).toEqual(['cabin.watt', 'elsewhere', 'linked']);
    expect(readFileSync(path.join(cwd, 'elsewhere'), 'utf8')).toBe('kept');
  });

  test('a folder that may not be written to is told, and nothing half-written is left', async (context) => {
    if (process.getuid?.() === 0) context.skip();
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    mkdirSync(path.join(cwd, 'set'));
    chmodSync(path.join(cwd, 'set'), 0o500);
    const { code, stderr } = await callHere(['report', 'cabin.watt', '-o', 'set', '--no-pdf', '--sheet', 'wires'], cwd);
    expect(code).toBe(2);
    expect(stderr).toContain('permission was refused');
    expect(readdirSync(path.join(cwd, 'set'))).toEqual([]);
  });
});
