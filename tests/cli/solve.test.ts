import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

const line = (rating: string, size: string, length = '2 m'): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: ${rating} }
  load Heater { power: 2 kW   supply: dc   minimumVoltage: 40 V }
  // The size is still open.
  run Line: Bank -> F1 @ 100 mm -> Heater { size: ${size}   type: THHN   length: ${length}   conductors: 2   terminals: 75 degC }
}
`;

function folder(text: string): string {
  const cwd = temporaryFolder();
  writeFileSync(path.join(cwd, 'hut.watt'), text);
  return cwd;
}

interface SolvedJson {
  readonly designs: readonly {
    readonly holes: readonly { readonly path: string; readonly range: { readonly start: { readonly line: number } } }[];
    readonly answers: readonly { readonly values: Record<string, string>; readonly heldBy: readonly object[] }[];
    readonly conflict: readonly { readonly kind: string }[] | null;
    readonly questions: readonly { readonly path: string }[];
  }[];
}

describe('solve', () => {
  test('prints the values with what holds them', async () => {
    const { code, stdout, stderr } = await call(['solve', 'hut.watt', '-q'], { cwd: folder(line('?', '?')) });
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toContain('Hut: 2 values left open');
    expect(stdout).toContain('F1.rating: 70 A');
    expect(stdout).toContain('held by protection-continuous on Line: 70 A, at least 62.5 A (89 %)');
    expect(stdout).toContain('Line.size: 6 AWG');
  });

  test('JSON follows its published schema, byte for byte the same each time', async () => {
    const cwd = folder(line('?', '?'));
    const [first, second] = [
      await call(['solve', 'hut.watt', '--format', 'json'], { cwd }),
      await call(['solve', 'hut.watt', '--format', 'json'], { cwd }),
    ];
    expect(second.stdout).toBe(first.stdout);
    const json = JSON.parse(first.stdout) as SolvedJson;
    expect(againstSchema('solve', json)).toEqual([]);
    const [design] = json.designs;
    expect(design!.holes.map(({ path: own, range }) => [own, range.start.line])).toEqual([
      ['Hut.F1.rating', 5],
      ['Hut.Line.size', 8],
    ]);
    expect(design!.answers[0]!.values).toEqual({ 'Hut.F1.rating': '70 A', 'Hut.Line.size': '6 AWG' });
    expect(design!.answers[0]!.heldBy).toHaveLength(2);
  });

  test('--write writes exactly these values, and what it wrote is answered', async () => {
    const cwd = folder(line('? in 60 A..100 A', '?'));
    expect((await call(['solve', 'hut.watt', '--write'], { cwd })).code).toBe(0);
    expect(readFileSync(path.join(cwd, 'hut.watt'), 'utf8')).toBe(line('70 A', '6 AWG'));
    const again = await call(['solve', 'hut.watt'], { cwd });
    expect(again).toMatchObject({ code: 0, stdout: expect.stringContaining('nothing is left open') as string });
  });

  test('what has no answer ends with 1, names the conflict and writes nothing', async () => {
    const text = line('400 A', '? in 14 AWG..6 AWG');
    const cwd = folder(text);
    const { code, stdout } = await call(['solve', 'hut.watt', '--write', '--format', 'json'], { cwd });
    expect(code).toBe(1);
    const json = JSON.parse(stdout) as SolvedJson;
    expect(againstSchema('solve', json)).toEqual([]);
    expect(json.designs[0]!.conflict!.map(({ kind }) => kind)).toContain('check');
    expect(readFileSync(path.join(cwd, 'hut.watt'), 'utf8')).toBe(text);
  });

  test('a fact that lacks is asked for', async () => {
    const { code, stdout } = await call(['solve', 'hut.watt'], {
      cwd: folder(line('70 A', '?').replace('length: 2 m', '')),
    });
    expect(code).toBe(1);
    expect(stdout).toContain('Line.size stays open (hut.watt:8:51): State length of Line.');
  });

  test('an unusable call or file ends with 2', async () => {
    const cwd = folder('design Hut { run');
    for (const args of [
      ['solve', 'hut.watt'],
      ['solve', 'nothing.watt'],
      ['solve', 'hut.watt', '--top', '0'],
      ['solve', '-', '--write'],
    ])
      expect(await call(args, { cwd, input: line('?', '6 AWG') })).toMatchObject({ code: 2, stdout: '' });
  });
});
