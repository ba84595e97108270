import { execFileSync } from 'node:child_process';
import { createServer } from 'node:net';
import { mkdirSync, readFileSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { decoded, firstBadByte, readText } from '../../server/src/files/read-text.js';
import { call, temporaryFolder } from './helpers/program.js';
import { sunnyHut } from './helpers/sunny-hut.js';

/** A sound text with one `ü` in Latin-1: byte 0xFC. */
const LATIN = Buffer.from('design Hut {\n  load Lamp "Kü" { power: 40 W }\n}\n', 'latin1');
const OFFSET = LATIN.indexOf(0xfc);

const SITE = sunnyHut('sun.csv');

interface Report {
  readonly findings: readonly { readonly check: string; readonly message: string; readonly advice?: string }[];
}

const messages = (stdout: string): string[] => (JSON.parse(stdout) as Report).findings.map(({ message }) => message);

async function expectRefused(args: readonly string[], message: string, cwd: string): Promise<void> {
  const outcome = await call(args, { cwd });
  expect(outcome).toMatchObject({ code: 2, stdout: '' });
  expect(outcome.stderr).toBe(`wattwright: ${message}\n`);
}

describe('bytes that are not UTF-8', () => {
  test.each([
    ['check'],
    ['fmt'],
    ['fmt', '--check'],
    ['check', '--fix'],
    ['calc'],
    ['simulate'],
    ['eval', '1 V', '--in'],
  ])('%s %s refuses the file, names the byte and leaves it as it is', async (...command) => {
    const cwd = temporaryFolder({ 'site.watt': '' });
    writeFileSync(path.join(cwd, 'site.watt'), LATIN);
    const reason = `is not UTF-8 text: byte 0xFC at offset ${OFFSET}, in line 2; save it as UTF-8`;
    await expectRefused([...command.filter(Boolean), 'site.watt'], `site.watt ${reason}`, cwd);
    expect(readFileSync(path.join(cwd, 'site.watt')).equals(LATIN)).toBe(true);
  });

  test('standard input is refused the same way', async () => {
    const outcome = await call(['fmt', '-'], { input: LATIN });
    expect(outcome).toMatchObject({ code: 2, stdout: '' });
    expect(outcome.stderr).toContain(`standard input is not UTF-8 text: byte 0xFC at offset ${OFFSET}`);
  });

  test('a file that is drawn in is told at its `use`, weather at its scenario', async () => {
    const cwd = temporaryFolder({
      'site.watt': `use "parts.watt"\n${SITE}`,
      'hut.watt': SITE,
      'parts.watt': '',
      'sun.csv': '',
    });
    for (const name of ['parts.watt', 'sun.csv']) writeFileSync(path.join(cwd, name), LATIN);
    const { stdout } = await call(['check', 'site.watt', '--format', 'json'], { cwd });
    expect(messages(stdout)).toContain(
      `The file \`parts.watt\` cannot be read: it is not UTF-8 text: byte 0xFC at offset ${OFFSET}, in line 2; save it as UTF-8.`,
    );
    const played = await call(['simulate', 'hut.watt'], { cwd });
    expect(played.stdout.replace(/\s+/g, ' ')).toContain(
      'the weather file sun.csv cannot be read: it is not UTF-8 text',
    );
  });

  test('UTF-16 is called by its name', () => {
    expect(() => decoded(Buffer.from('\uFEFFlet a = 1', 'utf16le'))).toThrow('is UTF-16 text');
  });

  // Source of what is and is not UTF-8: RFC 3629, section 4 (syntax of UTF-8 byte sequences), and its examples in section 7 and 10.
  test.each([
    ['a lone tail', [0x41, 0x80], 1],
    ['a lead at the end', [0x41, 0x42, 0xc3], 2],
    ['an overlong slash', [0x2f, 0xc0, 0xaf], 1],
    ['an overlong NUL', [0xc0, 0x80], 0],
    ['an overlong three', [0x41, 0xe0, 0x80, 0xaf], 1],
    ['a surrogate', [0x41, 0xed, 0xa0, 0x80], 1],
    ['the mark of a lost letter cut short', [0xef, 0xbf, 0xbd, 0xef, 0xbf], 3],
    ['beyond U+10FFFF', [0xf4, 0x90, 0x80, 0x80], 0],
    ['an overlong four', [0xf0, 0x80, 0x80, 0xaf], 0],
    ['a byte that is never used', [0xe2, 0x89, 0xa2, 0xff], 3],
  ])('%s is found at its first byte', (_, bytes, offset) => {
    expect(firstBadByte(Uint8Array.from(bytes))).toBe(offset);
    expect(() => decoded(Buffer.from(bytes))).toThrow(`at offset ${offset}`);
  });

  test('text of every length of sequence is read as it is', () => {
    const text = '\uFEFFA≢Α.日本語𣎴\r\n\uFFFD';
    expect(decoded(Buffer.from(text))).toBe(text);
    expect(firstBadByte(Buffer.from(text))).toBe(Buffer.from(text).length);
  });
});

describe('a byte-order mark and Windows line ends', () => {
  test('fmt keeps both, and --check takes what it has laid out', async () => {
    const cwd = temporaryFolder({ 'a.watt': '\uFEFFdesign   Hut {\r\n load Lamp{power:40 W}\r\n}\r\n' });
    expect((await call(['fmt', '--check'], { cwd })).code).toBe(1);
    expect(await call(['fmt'], { cwd })).toEqual({ code: 0, stdout: 'a.watt\n', stderr: '' });
    const laidOut = '\uFEFFdesign Hut {\r\n  load Lamp { power: 40 W }\r\n}\r\n';
    expect(readFileSync(path.join(cwd, 'a.watt'), 'utf8')).toBe(laidOut);
    expect(await call(['fmt', '--check'], { cwd })).toEqual({ code: 0, stdout: '', stderr: '' });
    expect((await call(['fmt', '-'], { input: laidOut })).stdout).toBe(laidOut);
  });
});

describe('what is no regular file', () => {
  const irregular = (): string => {
    const folder = temporaryFolder({
      'site.watt': 'use "pipe.watt"\nuse "zero.watt"\nuse "folder.watt"\ndesign Hut {}\n',
    });
    execFileSync('mkfifo', ['pipe.watt', 'pipe.csv'], { cwd: folder });
    symlinkSync('/dev/zero', path.join(folder, 'zero.watt'));
    mkdirSync(path.join(folder, 'folder.watt'));
    return folder;
  };

  test('named on the command line it is refused, and nobody waits', async () => {
    const cwd = irregular();
    await expectRefused(['check', 'pipe.watt'], 'pipe.watt is a named pipe; only regular files are read', cwd);
    await expectRefused(['check', 'zero.watt'], 'zero.watt is a device; only regular files are read', cwd);
    await expectRefused(
      ['eval', '1 V', '--in', 'zero.watt'],
      'zero.watt is a device; only regular files are read',
      cwd,
    );
  });

  test('a socket is refused too', async () => {
    const cwd = temporaryFolder();
    const server = createServer().listen(path.join(cwd, 's.watt'));
    await new Promise((resolve) => server.once('listening', resolve));
    await expectRefused(['fmt', 's.watt'], 's.watt is a socket; only regular files are read', cwd);
    server.close();
  });

  test('in a folder it is passed over', async () => {
    const cwd = irregular();
    const { stdout } = await call(['fmt', '.'], { cwd });
    expect(stdout).toBe('');
  });

  test('at a `use` it is told what it is', async () => {
    const cwd = irregular();
    const { code, stdout } = await call(['check', 'site.watt', '--format', 'json'], { cwd });
    expect(code).toBe(1);
    expect((JSON.parse(stdout) as Report).findings.map(({ advice }) => advice)).toContain(
      'Name `.` on the command line as well, or copy the file into one of them.',
    );
    expect(messages(stdout)).toEqual([
      'The file `pipe.watt` cannot be read: it is a named pipe; only regular files are read.',
      '`zero.watt` lies outside the folders that may be read.',
      'The file `folder.watt` cannot be read: it is a folder; only regular files are read.',
    ]);
  });

  test('as weather and as .gitignore it does not hold anything up', async () => {
    const cwd = temporaryFolder({ 'site.watt': SITE });
    execFileSync('mkfifo', ['sun.csv', '.gitignore'], { cwd });
    const { stdout } = await call(['simulate', 'site.watt'], { cwd });
    expect(stdout.replace(/\s+/g, ' ')).toContain('the weather file sun.csv cannot be read: it is a named pipe');
    expect((await call(['fmt', '.'], { cwd })).code).toBe(0);
  });

  test('a file beyond the limit is refused with the limit, whether it says its size or not', async () => {
    const cwd = temporaryFolder({ 'large.watt': '' });
    truncateSync(path.join(cwd, 'large.watt'), 70_000_000);
    await expectRefused(['check', 'large.watt'], 'large.watt holds 70 MB; files of up to 64 MB are read', cwd);
    expect(() => readText('/dev/zero')).toThrow('is a device');
    const endless = await call(['check', '-'], { input: Buffer.alloc(70_000_000, ' ') });
    expect(endless).toMatchObject({ code: 2, stdout: '' });
    expect(endless.stderr).toBe('wattwright: standard input holds more than 64 MB, the most that is read\n');
  });
});

describe('empty standard input', () => {
  test.each([[['check', '-']], [['calc', '-']], [['simulate', '-']], [['eval', '1 V', '--in', '-']]])(
    '%s says so instead of passing',
    async (args) => {
      for (const input of ['', ' \n\t\n']) {
        const outcome = await call(args, { input });
        expect(outcome).toMatchObject({ code: 2, stdout: '' });
        expect(outcome.stderr).toBe('wattwright: standard input is empty; pipe a design into it, or name a file\n');
      }
    },
  );

  test('fmt lays nothing out as nothing', async () => {
    expect(await call(['fmt', '-'])).toEqual({ code: 0, stdout: '', stderr: '' });
  });
});
