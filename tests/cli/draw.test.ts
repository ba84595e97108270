import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
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
    [['cabin.watt', '-o', 'x.pdf'], 'x.pdf does not end with .svg; drawings are written as SVG'],
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
