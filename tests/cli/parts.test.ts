import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

/** Parts of our own invention. */
const SHEET = `/** A cell pack for huts. */
part battery HutBank "hut bank" { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah   resistance: 4..9 mohm }
part battery LargeHutBank extends HutBank { capacity: 200 Ah }
part load HutLamp { power: assumed 12 W   supply: dc }
`;

const project = (): string =>
  temporaryFolder({
    '.git/HEAD': 'ref: refs/heads/main\n',
    'wattwright.json': '{ "parts": { "stock": "shared/parts" } }',
    'shared/parts/huts.watt': SHEET,
    'site/empty.txt': '',
  });

const names = async (cwd: string, ...args: readonly string[]): Promise<readonly string[]> => {
  const { stdout } = await call(['parts', ...args, '--format', 'json'], { cwd });
  return (JSON.parse(stdout) as { parts: { name: string }[] }).parts.map(({ name }) => name);
};

describe('parts in reach', () => {
  test('are those of the folders that the project names and of the library, by kind, name and ratings', async () => {
    const cwd = path.join(project(), 'site');
    expect(await names(cwd, '--own')).toEqual(['HutBank', 'LargeHutBank', 'HutLamp']);
    expect(await names(cwd, 'battery', '--own')).toEqual(['HutBank', 'LargeHutBank']);
    expect(await names(cwd, 'hut bank')).toEqual(['HutBank']);
    expect(await names(cwd, 'hut', 'capacity>100 Ah')).toEqual(['LargeHutBank']);
    expect(await names(cwd, 'hut', 'capacity>=0.1 kAh', 'capacity<200 Ah')).toEqual(['HutBank']);
    // A range fits where all of it does; with = where the value lies in it.
    expect(await names(cwd, 'hut', 'resistance<=9 mohm')).toHaveLength(2);
    expect(await names(cwd, 'hut', 'resistance<9 mohm')).toEqual([]);
    expect(await names(cwd, 'hut', 'resistance=5 mohm')).toHaveLength(2);
    expect(await names(cwd, 'hut', 'supply=dc')).toEqual(['HutLamp']);
    const library = await names(cwd, 'battery', 'chemistry=lfp', 'voltage=51.2 V');
    expect(library).toContain('Lfp48V100Ah');
    expect(library).not.toContain('HutBank');
  });

  test('are told with their ratings and the path that draws them in, as text and as data', async () => {
    const cwd = project();
    const text = await call(['parts', 'hut', '--own'], { cwd });
    expect(text.stdout).toContain('HutLamp  load  use "stock/huts.watt"\n   power assumed 12 W · supply dc\n3 parts\n');
    const narrow = await call(['parts', 'HutBank', '--own'], { cwd, environment: { COLUMNS: '50' } });
    const lines = narrow.stdout.split('\n');
    expect(Math.max(...lines.filter((line) => line.startsWith('   ')).map((line) => line.length))).toBeLessThanOrEqual(
      50,
    );
    expect(lines.filter((line) => line.startsWith('   ')).length).toBeGreaterThan(2);
    const { stdout } = await call(['parts', 'LargeHutBank', '--format', 'json'], { cwd });
    const json = JSON.parse(stdout) as { parts: object[] };
    expect(againstSchema('parts', json)).toEqual([]);
    expect(json.parts).toMatchObject([
      {
        name: 'LargeHutBank',
        extends: 'HutBank',
        use: 'stock/huts.watt',
        ratings: {
          capacity: { value: 200, unit: 'Ah', text: '200 Ah' },
          resistance: { range: [0.004, 0.009], unit: 'ohm' },
          chemistry: { text: 'lfp' },
        },
      },
    ]);
  });

  test('everything of the library is told, valid by the schema', async () => {
    const { stdout } = await call(['parts', '--format', 'json'], { cwd: temporaryFolder() });
    const json = JSON.parse(stdout) as { parts: { ratings: object }[] };
    expect(againstSchema('parts', json)).toEqual([]);
    expect(json.parts.length).toBeGreaterThan(100);
  });

  test('none that fits ends with 1, a filter that is none with 2', async () => {
    const cwd = project();
    expect(await call(['parts', 'nosuch'], { cwd })).toMatchObject({
      code: 1,
      stdout: expect.stringMatching(/^0 of/) as string,
    });
    for (const [filter, complaint] of [
      ['capacty>1 Ah', 'did you mean capacity?'],
      ['capacity>1 V', 'of another kind than capacity'],
      ['capacity>banana', 'banana is no value'],
      ['chemistry>lfp', 'can only be compared with ='],
      ['>5', 'compares nothing'],
    ] as const) {
      const { code, stderr, stdout } = await call(['parts', filter], { cwd });
      expect([code, stdout, stderr]).toEqual([2, '', expect.stringContaining(complaint) as string]);
    }
    expect((await call(['parts', '--in', 'nosuch'], { cwd })).stderr).toContain('cannot read nosuch');
  });
});

describe('a data sheet by itself', () => {
  const found = async (text: string): Promise<string[]> => {
    const cwd = temporaryFolder({ 'parts.watt': text });
    const { stdout } = await call(['check', 'parts.watt', '--format', 'json', '--fixes', 'none'], { cwd });
    const { findings } = JSON.parse(stdout) as {
      findings: { check: string; severity: string; range: { start: { line: number; column: number } } }[];
    };
    return findings.map(
      ({ check, severity, range: { start } }) => `${start.line}:${start.column} ${severity} ${check}`,
    );
  };

  test.each([
    [
      'part solar M { power: 400 W   openCircuitVoltage: 30 V   maximumPowerVoltage: 37 V   shortCircuitCurrent: 14 A }',
      ['1:51 error contradictory-ratings'],
    ],
    [
      'part battery B { voltage: 12 V   capacity: 5 Ah   protectionLow: 14 V   protectionHigh: 14 V }',
      ['1:89 error contradictory-ratings'],
    ],
    ['part generator G { rated: 3 kW   surge: 3 kW }', []],
    ['part charger C { maximumCurrent: 30 A   currentLimit: 40 A }', ['1:34 error contradictory-ratings']],
    ['part inverter I { rated: -3 kW }', ['1:26 error value-out-of-range']],
    ['part inverter I { efficiency: 90 % }', ['1:15 info missing-rating']],
    // What a base leaves to the parts that extend it is no lack; what is wrong in it is told there alone.
    ['part battery B { voltage: 12 V }\npart battery C extends B { capacity: 5 Ah }', []],
    [
      'part charger C { float: 30 V   absorb: 28 V   maximumCurrent: 9 A }\npart charger D extends C { maximumCurrent: 10 A }',
      ['1:40 error contradictory-ratings'],
    ],
    [
      'part charger C { float: 27 V   maximumCurrent: 9 A }\npart charger D extends C { absorb: 26 V }',
      ['2:36 error contradictory-ratings'],
    ],
  ])('%s', async (text, expected) => {
    expect(await found(`${text}\n`)).toEqual(expected);
  });

  test('its fault is found in its own file when a folder is checked, not in the design that draws it in', async () => {
    const cwd = project();
    writeFileSync(path.join(cwd, 'shared/parts/huts.watt'), SHEET.replace('capacity: 200 Ah', 'capacity: 0 Ah..-5 Ah'));
    writeFileSync(
      path.join(cwd, 'site/hut.watt'),
      'use "stock/huts.watt"\ndesign Hut {\n  battery Bank : HutBank\n}\n',
    );
    const { stdout } = await call(['check', '--format', 'json', '--fixes', 'none'], { cwd });
    const { findings } = JSON.parse(stdout) as { findings: { file: string; severity: string }[] };
    expect([...new Set(findings.filter(({ severity }) => severity === 'error').map(({ file }) => file))]).toEqual([
      'shared/parts/huts.watt',
    ]);
  });
});
