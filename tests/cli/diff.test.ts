import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { CABIN_PARTS, ScratchRepository, cabin, growingCabin } from '../helpers/scratch-repository.js';
import { STATION, STATION_PARTS, afterSevenEdits } from '../helpers/seven-edits.js';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

interface Diff {
  readonly designs: readonly {
    readonly name: string;
    readonly status: string;
    readonly edits: readonly { readonly kind: string; readonly subject: string }[];
    readonly lines: readonly { readonly class: string; readonly kind: string; readonly subject: string }[];
  }[];
  readonly summary: Readonly<Record<string, unknown>>;
}

const told = ({ designs }: Diff): string[] =>
  designs.flatMap(({ lines }) => lines.map(({ class: is, kind, subject }) => `${is} ${kind} ${subject}`));

describe('a design that grows, commit by commit', () => {
  const { repository, commits } = growingCabin();
  const at = (nth: number): string => commits[nth]!;
  const compare = async (from: number, to: number): Promise<Diff> => {
    const { code, stdout } = await call(['diff', at(from), at(to), '--format', 'json'], { cwd: repository.folder });
    expect(code).toBe(0);
    const diff = JSON.parse(stdout) as Diff;
    expect(againstSchema('diff', diff)).toEqual([]);
    return diff;
  };

  test('layout and units alone are no change, and neither is a move into a folder', async () => {
    expect((await compare(0, 1)).designs).toEqual([]);
    expect((await compare(8, 9)).designs).toEqual([]);
  });

  test('a larger inverter breaks device and terminals; the gear to go with it mends both', async () => {
    const { code, stdout } = await call(['diff', at(2), at(3), '--fail-on', 'fails'], { cwd: repository.folder });
    expect(code).toBe(1);
    // Hand calculation: 125 % of 3 kW / (0.9 · 46 V) = 90.6 A.
    expect(stdout).toMatch(/^FAILS {2}protection-continuous on F1 +60\.4 A -> 90\.6 A of 70 A {2}by Inv\.rated/m);
    expect(stdout).toContain('price +400 EUR; mass +3 kg');
    expect(told(await compare(3, 4)).filter((line) => line.startsWith('better'))).toEqual([
      'better finding F1',
      'better finding Feed',
    ]);
  });

  test('a rename is one edit; a guess and a requirement that is gone rest on trust', async () => {
    const diff = await compare(4, 8);
    expect(diff.designs[0]!.edits.map(({ kind, subject }) => `${kind} ${subject}`)).toEqual([
      'renamed ReadingLamp',
      'value Feed',
      'added Fan',
      'added FanLine',
      'requirement Cabin',
    ]);
    expect(told(diff).filter((line) => line.startsWith('trust'))).toEqual(['trust gone Cabin', 'trust origin Feed']);
  });

  test('the comment says a new requirement with its outcome, and unfolds nothing where nothing is folded', async () => {
    const comment = async (from: number): Promise<string> =>
      (await call(['diff', at(from), at(from + 1), '--format', 'md'], { cwd: repository.folder })).stdout;
    expect(await comment(1)).toMatch(/^- requirement Feed\.voltageDrop &lt;= 1 V: .*`cabin\.watt:13`$/m);
    const renamed = await comment(4);
    expect(renamed.match(/<details>/g)).toHaveLength(1);
    expect(renamed).toContain('47 checks passed (before: 47) · 3 open points (before: 3)');
  });

  test('a file that cannot be read on one side is told', async () => {
    const { designs } = await compare(10, 11);
    expect(designs.map(({ name, status }) => `${name} ${status}`)).toEqual(['Cabin unreadable']);
    expect(told({ designs, summary: {} })).toEqual(['fails unreadable Cabin']);
  });
});

test('seven edits of a station with a variant: nine ranked lines by hand as well, then what runs, rests on trust or was renamed', async () => {
  const repository = ScratchRepository.create();
  repository.commit('One', { 'station.watt': STATION, 'parts.watt': STATION_PARTS });
  repository.write(afterSevenEdits());
  const { stdout } = await call(['diff'], { cwd: repository.folder });
  const [, verdict, ...lines] = stdout.trimEnd().split('\n');
  expect(verdict).toMatch(/^less safe: 1 requirement now fails, 2 new or worse errors/);
  const words = lines.map((line) => line.split(' ')[0]);
  expect(words.filter((word) => word === 'FAILS' || word === 'LESS')).toHaveLength(9);
  expect(words).toEqual([
    ...['FAILS', 'FAILS', 'FAILS', 'FAILS', 'LESS', 'LESS', 'LESS', 'LESS', 'LESS'],
    ...['RUNS', 'RUNS', 'TRUST', 'TRUST', 'TRUST', 'EDIT', 'NAME', '4'],
  ]);
  // What decides when the generator starts is named first among what may have moved the charge.
  expect(lines[0]).toMatch(/29\.7 % -> 14\.8 % of 15 % {2}by any of Autostart: start when soc\(Bank\) <, Inv part, /);
});

describe('a change as a drawing', () => {
  const MORE = `  load Fan { power: 60 W   voltage: 120 V }
  run FanLine: Inv.ac -> Fan { size: 14 AWG   type: THWN-2   length: 5 m   conductors: 2   earth: 14 AWG }
`;
  const drawn = async (before: string, after: string, ...args: string[]): Promise<string> => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': before, 'parts.watt': CABIN_PARTS });
    repository.commit('Two', { 'cabin.watt': after });
    const { code, stderr } = await call(['diff', 'HEAD~1', 'HEAD', '--svg', 'change.svg', ...args], {
      cwd: repository.folder,
    });
    return code === 0 ? readFileSync(path.join(repository.folder, 'change.svg'), 'utf8') : stderr;
  };
  /** Words of the groups that are drawn as changed in a manner. */
  const marked = (svg: string, change: string): string[] =>
    [
      ...svg.matchAll(new RegExp(`<g class="(?:symbol|stretch|link)" data-id="([^"]+)" data-change="${change}"`, 'g')),
    ].map(([, id]) => id!);

  test('tells new, changed, affected and removed things apart by words and manner, not by ink alone', async () => {
    const svg = await drawn(cabin({ more: MORE }), cabin({ inverter: 'CabinInverter3k', length: '3 m' }));
    expect(marked(svg, 'removed')).toEqual(['FanLine', 'removed Fan']);
    expect(marked(svg, 'changed')).toEqual(expect.arrayContaining(['Feed', 'Inv']));
    expect(marked(svg, 'affected')).toContain('F1');
    expect(marked(svg, 'added')).toEqual([]);
    for (const word of [
      '− removed',
      '± changed',
      '→ affected',
      'length 2 m → 3 m',
      'part CabinInverter2k → CabinInverter3k',
    ])
      expect(svg).toContain(word);
    const removed = /<g class="stretch" data-id="FanLine" data-change="removed">(.*?)<\/g>/s.exec(svg)![1]!;
    expect(removed).toContain('stroke-dasharray');
    const back = await drawn(cabin(), cabin({ more: MORE }));
    expect(marked(back, 'added')).toEqual(['FanLine', 'Fan']);
    expect(back).toContain('+ new');
  });

  test('is the same each time, well formed, and says nothing that a design could smuggle in', async () => {
    const hostile = cabin({ length: '3 m' }).replace('"An invented cabin"', '"<script>alert(1)</script> & <!-- "');
    const [one, two] = [await drawn(cabin(), hostile), await drawn(cabin(), hostile)];
    expect(one).toBe(two);
    expect(one).not.toContain('<script');
    // Every tag that opens closes.
    const open: string[] = [];
    for (const [, closing, name, empty] of one.matchAll(/<(\/?)([a-z]+)\b[^>]*?(\/?)>/g))
      if (closing) expect(open.pop()).toBe(name);
      else if (!empty) open.push(name!);
    expect(open).toEqual([]);
  });

  test('a rename is no new thing, and a name that comes back as another kind is drawn once', async () => {
    const svg = await drawn(cabin(), cabin({ lamp: 'ReadingLamp' }));
    expect([marked(svg, 'added'), marked(svg, 'removed')]).toEqual([[], []]);
    expect(svg).toContain('was called Lamp');
  });

  test('of a design that is new everything is new; what cannot be drawn is told before anything is written', async () => {
    const second = cabin().replace('design Cabin', 'design Second');
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS });
    repository.commit('Two', { 'second.watt': second });
    const svg = (...args: string[]) => call(['diff', ...args, '--svg', 'c.svg'], { cwd: repository.folder });
    expect((await svg('HEAD~1', 'HEAD')).code).toBe(0);
    expect(readFileSync(path.join(repository.folder, 'c.svg'), 'utf8')).toContain('+ new');
    expect((await svg('HEAD', 'HEAD~1')).stderr).toContain('cannot draw Second: it is removed');
    expect((await svg('HEAD', 'HEAD')).stderr).toContain('no design has changed');
    repository.commit('Three', { 'second.watt': second.replace('2 m', '3 m'), 'cabin.watt': cabin({ length: '4 m' }) });
    expect((await svg('HEAD~1', 'HEAD')).stderr).toContain('choose with --design among Cabin, Second');
    expect((await svg('HEAD~1', 'HEAD', '--design', 'Second')).code).toBe(0);
    const wrong = await call(['diff', 'HEAD~1', '--svg', 'c.png'], { cwd: repository.folder });
    expect([wrong.code, wrong.stdout]).toEqual([2, '']);
  });
});

describe('a project file that changes', () => {
  const FILES = { 'cabin.watt': cabin({ inverter: 'CabinInverter3k' }), 'parts.watt': CABIN_PARTS };

  test('makes nothing look better by calling it less grave: that rests on trust', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { ...FILES, 'wattwright.json': '{ "failOn": "warning" }' });
    repository.commit('Two', {
      'wattwright.json': '{ "severity": { "protection-continuous": "info" }, "exclude": ["old/"] }',
    });
    const call2 = (...args: string[]) => call(['diff', 'HEAD~1', 'HEAD', ...args], { cwd: repository.folder });
    const { stdout } = await call2();
    expect(stdout.trim().split('\n')).toEqual([
      'TRUST  severity of protection-continuous: error -> info  wattwright.json',
      'TRUST  failOn: warning -> error  wattwright.json',
      'TRUST  left out: old/, new  wattwright.json',
    ]);
    expect((await call2('--format', 'md')).stdout).toContain('**Taken on trust, for all designs**: severity of');
    const json = JSON.parse((await call2('--format', 'json')).stdout) as Diff;
    expect(againstSchema('diff', json)).toEqual([]);
    expect(json.summary).toMatchObject({ trust: 3, better: 0, worst: 'trust' });
    expect((await call2('--fail-on', 'trust')).code).toBe(1);
  });

  test('a design that is newly left out is gone, and a faulty project file is told beside the rest', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', FILES);
    repository.commit('Two', { 'wattwright.json': '{ "exclude": ["cabin.watt"], "basic": 1 }' });
    const { code, stdout } = await call(['diff', 'HEAD~1', 'HEAD'], { cwd: repository.folder });
    expect(code).toBe(0);
    expect(stdout).toMatch(/^FAILS {2}design removed/m);
    expect(stdout).toContain('after: wattwright.json has a fault in line 1: there is no key `basic`');
  });

  test('another practice is told as what it does to the designs', async () => {
    const repository = ScratchRepository.create();
    const files = { ...FILES, 'cabin.watt': FILES['cabin.watt'].replace('basis: nec 2023\n', '') };
    repository.commit('One', files);
    repository.commit('Two', { 'wattwright.json': '{ "basis": "craft" }' });
    const { stdout } = await call(['diff', 'HEAD~1', 'HEAD'], { cwd: repository.folder });
    expect(stdout).toMatch(/^TRUST {2}wiring rules/m);
  });
});

describe('histories of every shape', () => {
  test('a bare repository, a merge, and the common ancestor of two branches', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS });
    repository.git('checkout', '--quiet', '-b', 'longer');
    repository.commit('Longer', { 'cabin.watt': cabin({ length: '3 m' }) });
    repository.git('checkout', '--quiet', 'main');
    repository.commit('Another cabin', { 'second.watt': cabin().replace('design Cabin', 'design Second') });
    repository.git('merge', '--quiet', '--no-edit', 'longer');
    const bare = path.join(temporaryFolder(), 'bare.git');
    repository.git('clone', '--quiet', '--bare', repository.folder, bare);
    const merged = await call(['diff', 'main^1', 'main'], { cwd: bare });
    expect(merged.stdout).toMatch(/^EDIT {3}Feed\.length {2}2 m -> 3 m$/m);
    expect(merged.stdout).not.toContain('Second');
    const branch = await call(['diff', 'main^1...longer', '--format', 'json'], { cwd: bare });
    expect((JSON.parse(branch.stdout) as Diff).designs.map(({ name, status }) => `${name} ${status}`)).toEqual([
      'Cabin changed',
    ]);
    expect((await call(['diff', 'main'], { cwd: bare })).stderr).toContain('name two revisions');
  });

  test('files that are not UTF-8, and links, are left out and told; the rest is compared', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS });
    writeFileSync(path.join(repository.folder, 'broken.watt'), Buffer.from([0x64, 0xff, 0x0a]));
    mkdirSync(path.join(repository.folder, 'a\nb'));
    repository.commit('Two', { 'a\nb/::error::odd.watt': 'design Odd { }\n', 'cabin.watt': cabin({ length: '4 m' }) });
    const { code, stdout } = await call(['diff', 'HEAD~1', 'HEAD'], { cwd: repository.folder });
    expect(code).toBe(0);
    expect(stdout).toContain('broken.watt is not UTF-8 text');
    expect(stdout).toMatch(/Feed\.length {2}2 m -> 4 m/);
    expect(stdout).not.toMatch(/^::error/m);
  });

  test('text of a design does nothing in a comment', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS });
    const reason = '@somebody #12 | --> <img src=x> https://example.org/x `code` [a](b) GH-7';
    const accept = `  accept voltage-drop on Feed because "${reason}" until 2028-01-01\n`;
    repository.commit('Two', { 'cabin.watt': cabin({ more: accept }) });
    const { stdout } = await call(['diff', 'HEAD~1', 'HEAD', '--format', 'md', '--marker', 'a --> <b>'], {
      cwd: repository.folder,
    });
    const [marker, ...rest] = stdout.split('\n');
    expect(marker).toBe('<!-- wattwright-diff: a-b- -->');
    const text = rest.join('\n');
    expect(text).not.toMatch(/@somebody|#12|<img|https:\/\/example|[^\\]\[a\]|GH-7|-->/);
    expect(text).toContain('somebody');
  });
});
