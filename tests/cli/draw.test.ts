import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { chromium } from '../../server/src/cli/pdf.js';
import { callHere } from './helpers/in-process.js';
import { call, temporaryFolder } from './helpers/program.js';

/** Invented. */
const CABIN = `
design Cabin "Cabin by the lake" {
  basis: iec
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah }
  inverter Inv { rated: 1 kW   apparent: 1 kVA   voltage: 230 V   efficiency: 90 % }
  load Lamp { power: 100 W   voltage: 230 V }
  run Feed: Bank -> Inv.dc { size: 25 mm2   length: 1 m }
  run Line: Inv.ac -> Lamp { size: 1.5 mm2   length: 8 m }
}
variant Large of Cabin { Bank.parallel = 2 }
`;

describe('draw', () => {
  test('writes the whole and every state, the same bytes each time', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const first = await call(['draw', 'cabin.watt', '-o', 'cabin.svg'], { cwd });
    expect(first).toEqual({ code: 0, stdout: '', stderr: 'wrote cabin.svg\n' });
    const svg = readFileSync(path.join(cwd, 'cabin.svg'), 'utf8');
    expect(svg).toMatch(/^<\?xml version="1.0" encoding="UTF-8"\?>\n<svg /);
    expect(svg).toContain('State: battery alone');
    await callHere(['draw', 'cabin.watt', '-o', 'again.svg'], cwd);
    expect(readFileSync(path.join(cwd, 'again.svg'), 'utf8')).toBe(svg);
    expect(readdirSync(cwd).sort()).toEqual(['again.svg', 'cabin.svg', 'cabin.watt']);
  });

  test('writes the wiring views, all or one, and says which enclosures there are', async () => {
    const boxed = CABIN.replace('capacity: 100 Ah', 'capacity: 100 Ah   enclosure: "box"');
    const cwd = temporaryFolder({ 'cabin.watt': CABIN, 'boxed.watt': boxed });
    const drawn = async (...args: string[]) => {
      const { code, stderr } = await callHere(['draw', ...args, '-o', 'w.svg'], cwd);
      return code === 0 ? readFileSync(path.join(cwd, 'w.svg'), 'utf8') : stderr;
    };
    const all = await drawn('boxed.watt', '--wiring');
    expect(all).toContain('aria-label="Wiring of box; Wiring of what is in no enclosure"');
    expect(all).toContain('>to Inv</text>');
    expect(await drawn('boxed.watt', '--enclosure', 'box')).toContain('aria-label="Wiring of box"');
    expect(await drawn('boxed.watt', '--enclosure', 'bix')).toContain('no enclosure is named bix; did you mean box?');
    expect(await drawn('cabin.watt', '--enclosure', 'box')).toContain('nothing in Cabin states its enclosure');
    expect(await drawn('cabin.watt', '--wiring')).toContain('what is in no enclosure');
  });

  test.skipIf(chromium() === undefined)('prints on paper, the same bytes each time', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const print = async (name: string, paper: string): Promise<string> => {
      expect((await callHere(['draw', 'cabin.watt', '-o', name, '--paper', paper], cwd)).code).toBe(0);
      return readFileSync(path.join(cwd, name), 'latin1');
    };
    const [first, second] = [await print('a.pdf', 'A4'), await print('b.pdf', 'A4')];
    expect(first.startsWith('%PDF-')).toBe(true);
    expect(first === second).toBe(true);
    // One page for the whole and one for each state, of 297 by 210 mm in points.
    expect(first.match(/\/Type \/Page\b(?!s)/g)).toHaveLength(2);
    const box = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(first)!.slice(1).map(Number);
    expect(box[0]).toBeCloseTo(842, -1);
    expect(box[1]).toBeCloseTo(595, -1);
  });

  test('one state, none, and a variant', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const read = async (...args: string[]): Promise<string> => {
      expect((await callHere(['draw', 'cabin.watt', '-o', 'x.svg', ...args], cwd)).code).toBe(0);
      return readFileSync(path.join(cwd, 'x.svg'), 'utf8');
    };
    expect(await read('--state', 'battery')).not.toContain('of all states');
    expect(await read('--state', 'none')).not.toContain('State: battery alone');
    expect(await read('--variant', 'Large')).toContain('Large (variant of Cabin)');
  });

  test.each([
    [['cabin.watt', '-o', 'x.svg', '--state', 'batery'], 'no state is named batery; did you mean battery?'],
    [['cabin.watt', '-o', 'x.svg', '--design', 'Cabbin'], 'no design is named Cabbin; did you mean Cabin?'],
    [['cabin.watt', '-o', 'x.png'], 'x.png does not end with .svg or .pdf; drawings are written as one of these'],
    [['cabin.watt', '-o', 'x.pdf', '--paper', 'A5'], "option '--paper <size>' argument 'A5' is invalid"],
    [
      ['cabin.watt', '-o', 'missing/x.svg'],
      'cannot write missing/x.svg: there is no such file or folder; the file is as it was',
    ],
    [['cabin.watt', '-o', 'folder.svg'], 'cannot write folder.svg: it is a folder; name a regular file'],
    [['none.watt', '-o', 'x.svg'], 'none.watt'],
    [['cabin.watt'], "required option '-o, --output <file>' not specified"],
  ])('says in one line what is wrong with a call, and writes nothing: %j', async (args, message) => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    mkdirSync(path.join(cwd, 'folder.svg'));
    const { code, stderr } = await callHere(['draw', ...args], cwd);
    expect(code).toBe(2);
    expect(stderr).toContain(message);
    expect(stderr.trim().split('\n')).toHaveLength(1);
    expect(readdirSync(cwd).sort()).toEqual(['cabin.watt', 'folder.svg']);
  });

  test('a text with errors is drawn as far as it is understood, and ends with 1', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN.replace('size: 25 mm2', 'size: 25 mn2') });
    const { code, stderr } = await callHere(['draw', 'cabin.watt', '-o', 'x.svg'], cwd);
    expect(code).toBe(1);
    expect(stderr).toContain('has errors, so things may be missing in the drawing');
    expect(existsSync(path.join(cwd, 'x.svg'))).toBe(true);
  });

  test('positions beside the design are read, and a file of something else is refused', async () => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN });
    const beside = path.join(cwd, 'cabin.layout.json');
    writeFileSync(beside, '{ "schema": 1, "designs": { "Cabin": { "Bank": { "x": 0, "y": 10 } } } }');
    expect((await callHere(['draw', 'cabin.watt', '-o', 'x.svg'], cwd)).code).toBe(0);
    writeFileSync(beside, '[1]');
    const { code, stderr } = await callHere(['draw', 'cabin.watt', '-o', 'y.svg'], cwd);
    expect(code).toBe(2);
    expect(stderr).toContain('cabin.layout.json holds no positions: it has no `designs`');
    expect(existsSync(path.join(cwd, 'y.svg'))).toBe(false);
  });
});
