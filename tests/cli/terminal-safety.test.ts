import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { UNSAFE } from '../../server/src/cli/output/safe-text.js';
import { call, temporaryFolder } from './helpers/program.js';

/** Red text, a cleared screen, a changed title, an eight-bit control, an override and an isolate of direction, a hidden joiner. */
const HOSTILE = '\u001b[31m\u001b[2J\u001b]0;x\u0007\u009b1A\u202egnp.\u2066\u2069\u200f\u200b\ufeff\u2028';

/** A design of our own invention that carries it wherever a text may stand. */
const design = `/** ${HOSTILE} */
part load Lamp "${HOSTILE}" { power: 40 W   note: "${HOSTILE}"   dataSheet: "${HOSTILE}" }
design Hut "${HOSTILE}" {
  battery Bank "${HOSTILE}" { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 6 mohm }
  load L "${HOSTILE}" : Lamp { supply: dc   profile: always   powr: 5 W }
  run Line "${HOSTILE}": Bank -> L { size: 1 mm2   length: 50 m   type: "${HOSTILE}" }
  accept voltage-drop on Line because "${HOSTILE}" until 2020-01-01
  require Bank.energy >= 90 kWh because "${HOSTILE}"
  reading Line.current = 3 A on 2026-05-02 "${HOSTILE}"
  scenario S "${HOSTILE}" { from: 2027-01-10   duration: 1 h   soc(Bank): 90 %   require min(soc(Bank)) >= 99 % because "${HOSTILE}" }
  ${HOSTILE} use
}
use "${HOSTILE}.watt"
`;
const sound = design
  .replace('   powr: 5 W', '')
  .replace(/ {3}type: "[^"]*"/, '')
  .replace(/^ {2}\S* use$/m, '')
  .replace(/^use .*$/m, '');

const folder = (): string => {
  const cwd = temporaryFolder({ 'sound.watt': sound });
  const sub = path.join(cwd, HOSTILE.replaceAll('/', ''));
  mkdirSync(sub);
  writeFileSync(path.join(sub, 'wrong.watt'), design);
  return cwd;
};

const unsafe = (text: string): string[] =>
  [...text.matchAll(UNSAFE)].filter(([character]) => character !== '\n').map(([character]) => character);

describe('nothing of a design acts on the terminal', () => {
  test.each([
    ['check', '--questions', '--fail-on', 'info'],
    ['check', '--format', 'json'],
    ['check', '--format', 'sarif'],
    ['check', '--design', HOSTILE],
    ['calc', 'sound.watt'],
    ['calc', 'sound.watt', '--worked'],
    ['calc', 'sound.watt', '--format', 'md'],
    ['calc', 'sound.watt', '--format', 'json'],
    ['simulate', 'sound.watt'],
    ['simulate', 'sound.watt', '--format', 'json'],
    ['simulate', 'sound.watt', '--csv', '/dev/stdout', '-q'],
    ['eval', 'Line.voltageDrop', '--in', 'sound.watt'],
    ['eval', 'Line.voltageDrop', '--in', 'sound.watt', '--format', 'md'],
    ['eval', `"${HOSTILE}"`],
    ['explain', HOSTILE],
    ['fmt', '--check'],
    ['fmt'],
    ['new', HOSTILE],
    [HOSTILE],
    ['check', `--${HOSTILE}`],
    ['check', `${HOSTILE}.watt`],
  ])('%j', async (...args) => {
    const { stdout, stderr } = await call(args, { cwd: folder() });
    expect(`${stdout}${stderr}`).not.toBe('');
    expect(unsafe(stdout)).toEqual([]);
    expect(unsafe(stderr)).toEqual([]);
  });

  test('and what it says is there to be read', async () => {
    const { stdout } = await call(['check', '--format', 'pretty'], { cwd: folder() });
    expect(stdout).toContain('\\u{1b}[31m');
    expect(stdout).toContain('\\u{202e}');
    const json = await call(['check', '--format', 'json'], { cwd: folder() });
    // Escaped in the text of the output, and whole when it is read.
    expect(json.stdout).toContain('\\u202e');
    expect(JSON.stringify(JSON.parse(json.stdout))).toContain(HOSTILE.slice(-6, -3));
  });
});
