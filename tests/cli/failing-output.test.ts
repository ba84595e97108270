import { spawn, spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, readFileSync, readdirSync, statSync, watch } from 'node:fs';
import path from 'node:path';
import { describe, expect, test, vi } from 'vitest';
import { outputFault } from '../../server/src/cli/output/failing-output.js';
import { call, programFile, root, temporaryFolder } from './helpers/program.js';
import { sunnyHut } from './helpers/sunny-hut.js';

interface Ended {
  readonly code: number | null;
  readonly stderr: string;
}

/** Runs a line of the shell in which `$1` is the program's file and `$0` this Node. */
async function shell(line: string, cwd: string): Promise<Ended> {
  const program = await programFile();
  const child = spawn('bash', ['-c', line, process.execPath, program], { cwd, stdio: ['ignore', 'ignore', 'pipe'] });
  let stderr = '';
  child.stderr.setEncoding('utf8').on('data', (text: string) => (stderr += text));
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, stderr })));
}

const folder = (): string => temporaryFolder({ 'site.watt': 'design   Hut { load Lamp { power: 40 W } }\n' });

// Writing to /dev/full fails as a full disk does. Source: full(4), Linux manual pages.
const FULL = existsSync('/dev/full');

describe.runIf(FULL)('a full disk', () => {
  const told = 'wattwright: cannot write the output: the disk is full; what is there of it is not whole\n';

  test.each([
    'check',
    'check --format json',
    'check --format sarif',
    'calc site.watt',
    "eval '1 V + 1 V'",
    'explain',
    'explain run-ampacity --format json',
    'fmt --check',
    '--help',
    '--version',
    'help check',
  ])('%s says so in one line and ends with 2', async (command) => {
    expect(await shell(`"$0" "$1" ${command} > /dev/full`, folder())).toEqual({ code: 2, stderr: told });
  });

  test('fmt of standard input says so too', async () => {
    const ended = await shell('"$0" "$1" fmt - < site.watt > /dev/full', folder());
    expect(ended).toEqual({ code: 2, stderr: told });
  });

  test('where it cannot be told either, the exit code still says it', async () => {
    expect((await shell('"$0" "$1" check > /dev/full 2> /dev/full', folder())).code).toBe(2);
    expect((await shell('"$0" "$1" chekc 2> /dev/full', folder())).code).toBe(2);
  });

  test.each(['--csv', '--svg'])('%s to it says so and ends with 2', async (option) => {
    const cwd = temporaryFolder({
      'site.watt': sunnyHut('sun.csv').replace('weather: "sun.csv"', 'sun: clear'),
    });
    const { code, stdout, stderr } = await call(['simulate', 'site.watt', option, '/dev/full'], { cwd });
    expect({ code, stdout, stderr }).toEqual({
      code: 2,
      stdout: '',
      stderr: `wattwright: cannot write ${path.relative(cwd, '/dev/full')}: the disk is full\n`,
    });
    expect(statSync('/dev/full').isCharacterDevice()).toBe(true);
  });

  /** A small file system of our own, where the machine lets a user have one. */
  const SMALL_DISK = `unshare --user --map-root-user --mount sh -c 'mount -t tmpfs -o size=32k tmpfs set'`;
  const HAS_SMALL_DISK =
    spawnSync('sh', ['-c', `mkdir -p set && ${SMALL_DISK}`], { cwd: temporaryFolder() }).status === 0;

  test.runIf(HAS_SMALL_DISK)(
    'a hand-over set that does not fit leaves the set of before as it was, and nothing beside it',
    async () => {
      const cwd = temporaryFolder({
        'site.watt': 'design Hut { battery Bank : Lfp24V100Ah\n load Lamp { power: 40 W   supply: dc } }\n',
      });
      mkdirSync(path.join(cwd, 'set'));
      // The disk has room for the tables, but not for the page.
      const script = [
        'mount -t tmpfs -o size=32k tmpfs set',
        'echo before > set/Hut.html; echo before > set/wires.csv',
        '"$0" "$1" report site.watt -o set --no-pdf; echo "code $?" >&2',
        'cat set/Hut.html set/wires.csv >&2; ls -A set >&2; df --output=pcent set | tail -1 >&2',
      ].join('; ');
      const { stderr } = await shell(`unshare --user --map-root-user --mount sh -c '${script}' "$0" "$1"`, cwd);
      const [told, ...rest] = stderr.trim().split('\n');
      expect(told).toMatch(
        /^wattwright: cannot write set\/Hut\.html: the disk is full; all \d+ files are as they were$/,
      );
      expect(rest.slice(0, 5)).toEqual(['code 2', 'before', 'before', 'Hut.html', 'wires.csv']);
    },
  );

  test('of several files none is written where the last does not fit', async () => {
    const cwd = temporaryFolder({ 'site.watt': `design Hut { load Lamp { power: 40 W } }\n` });
    // The shell allows files of 8 kB: SARIF holds all rules and is longer, the other is not.
    const line = 'trap "" XFSZ; ulimit -f 8; "$0" "$1" check site.watt --output gitlab:a.json --output sarif:b.sarif';
    const { code, stderr } = await shell(line, cwd);
    expect(code).toBe(2);
    expect(stderr).toMatch(/^wattwright: cannot write b\.sarif: .*; all 2 files are as they were$/m);
    expect(readdirSync(cwd)).toEqual(['site.watt']);
  });

  test('a file stays whole where its new text does not fit, and nothing is left beside it', async () => {
    const cwd = temporaryFolder({ 'site.watt': `design   Hut {}\n// ${'x'.repeat(20_000)}\n` });
    const before = readFileSync(path.join(cwd, 'site.watt'), 'utf8');
    // The shell allows files of 8 kB: writing more fails as on a disk without room for it.
    const { code, stderr } = await shell('trap "" XFSZ; ulimit -f 8; "$0" "$1" fmt site.watt', cwd);
    expect(code).toBe(2);
    expect(stderr).toMatch(/^wattwright: cannot write site\.watt: .*; the file is as it was\n$/);
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(before);
    expect(readdirSync(cwd)).toEqual(['site.watt']);
  });
});

describe('a hand-over set that cannot be written', () => {
  test('is told in one line where its page does not fit, and nothing half-written is left', async () => {
    const cwd = temporaryFolder({ 'site.watt': sunnyHut('sun.csv').replace('weather: "sun.csv"', 'sun: clear') });
    const { code, stderr } = await shell(
      'trap "" XFSZ; ulimit -f 8; "$0" "$1" report site.watt -o set --sheet wires --sheet commissioning --no-pdf',
      cwd,
    );
    expect(code).toBe(2);
    expect(stderr).toMatch(/^wattwright: cannot write set\/\w+\.html: .*; all \d+ files are as they were\n$/);
    // The folder was made for it and goes as well.
    expect(readdirSync(cwd)).toEqual(['site.watt']);
  });

  test('leaves whole files alone where it is ended while it writes', async () => {
    const cwd = temporaryFolder({ 'site.watt': sunnyHut('sun.csv').replace('weather: "sun.csv"', 'sun: clear') });
    mkdirSync(path.join(cwd, 'set'));
    const child = spawn(process.execPath, [await programFile(), 'report', 'site.watt', '-o', 'set', '--no-pdf'], {
      cwd,
    });
    const watching = watch(path.join(cwd, 'set'), () => child.kill('SIGTERM'));
    await new Promise((resolve) => child.on('close', resolve));
    watching.close();
    for (const name of readdirSync(path.join(cwd, 'set'))) {
      const text = readFileSync(path.join(cwd, 'set', name), 'utf8');
      expect(name).toMatch(/^\w[\w-]*\.(html|csv)$/);
      expect(text, name).toMatch(name.endsWith('.html') ? /<\/html>\n$/ : /\r\n$/);
    }
  });

  test('takes along what prints it, and the folder that this works in, where it is ended meanwhile', async () => {
    // In place of a browser: says who it is and never comes to an end.
    const cwd = temporaryFolder({
      'site.watt': sunnyHut('sun.csv').replace('weather: "sun.csv"', 'sun: clear'),
      'programs/chromium': '#!/bin/sh\necho $$ > ../marks/printing\nexec sleep 600\n',
      'marks/.keep': '',
      'temporary/.keep': '',
    });
    chmodSync(path.join(cwd, 'programs', 'chromium'), 0o755);
    const mark = path.join(cwd, 'marks', 'printing');
    const child = spawn(process.execPath, [await programFile(), 'report', '../site.watt', '-o', '../set'], {
      cwd: path.join(cwd, 'programs'),
      env: { ...process.env, PATH: `${path.join(cwd, 'programs')}:/usr/bin:/bin`, TMPDIR: path.join(cwd, 'temporary') },
    });
    const isMarked = (): boolean => existsSync(mark) && readFileSync(mark, 'utf8').endsWith('\n');
    const watching = watch(path.join(cwd, 'marks'), () => {
      if (isMarked()) child.kill('SIGTERM');
    });
    const signal = await new Promise((resolve) => child.on('close', (_, by) => resolve(by)));
    watching.close();
    expect(signal).toBe('SIGTERM');
    expect(isMarked()).toBe(true);
    // Node keeps its compiled code there as well.
    expect(readdirSync(path.join(cwd, 'temporary')).filter((name) => name.startsWith('wattwright'))).toEqual([]);
    expect(existsSync(path.join(cwd, 'set'))).toBe(false);
    // What ended stays known, as defunct, where nobody waits for it.
    const state = (): string =>
      spawnSync('ps', ['-o', 'stat=', '-p', readFileSync(mark, 'utf8').trim()], { encoding: 'utf8' }).stdout.trim();
    await vi.waitFor(() => expect(state()).toMatch(/^(Z.*)?$/));
  });
});

describe('a reader that has gone', () => {
  test('is told in one line, and nobody takes what it got for a whole report', async () => {
    const program = await programFile();
    const child = spawn(process.execPath, [program, 'explain', '--format', 'json'], { cwd: root });
    let stderr = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (stderr += text));
    child.stdout.destroy();
    const code = await new Promise((resolve) => child.on('close', resolve));
    expect({ code, stderr }).toEqual({
      code: 2,
      stderr: 'wattwright: cannot write the output: its reader has gone; what is there of it is not whole\n',
    });
  });

  test('a device that fails is told in its own words', () => {
    expect(outputFault(Object.assign(new Error('EIO: i/o error, write'), { code: 'EIO' }))).toBe(
      'wattwright: cannot write the output: the device reports a fault; what is there of it is not whole\n',
    );
  });
});

describe('a call that is killed', () => {
  test('leaves each file either as it was or laid out, wherever it is caught', async () => {
    const line = 'load  Lamp { power: 40 W }\n';
    const names = Array.from({ length: 40 }, (_, index) => `f${String(index).padStart(2, '0')}.watt`);
    const old = `design   Hut {\n${Array.from({ length: 60 }, (_, at) => line.replace('Lamp', `L${at}`)).join('')}}\n`;
    const laidOut = (await call(['fmt', '-'], { input: old })).stdout;
    for (const after of [0, 1, 5, 20, 39]) {
      const cwd = temporaryFolder(Object.fromEntries(names.map((name) => [name, old])));
      const child = spawn(process.execPath, [await programFile(), 'fmt'], { cwd });
      let written = 0;
      child.stdout.setEncoding('utf8').on('data', (text: string) => {
        written += text.split('\n').length - 1;
        if (written > after) child.kill('SIGKILL');
      });
      if (after === 0) child.kill('SIGKILL');
      await new Promise((resolve) => child.on('close', resolve));
      for (const name of names) expect([old, laidOut]).toContain(readFileSync(path.join(cwd, name), 'utf8'));
      expect((await call(['fmt'], { cwd })).code).toBe(0);
      expect(
        readdirSync(cwd)
          .filter((name) => name.endsWith('.watt'))
          .sort(),
      ).toEqual(names);
      for (const name of names) expect(readFileSync(path.join(cwd, name), 'utf8')).toBe(laidOut);
    }
  });
});
