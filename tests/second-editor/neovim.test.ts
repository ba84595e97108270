import { spawn, spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';
import { bundledServer, temporaryFolder } from '../helpers/language-client.js';

/** A second editor, of which Debian has 0.7.2; `npm test` installs it where it can. */
const NEOVIM = process.env['NEOVIM'] ?? 'nvim';
const isThere = spawnSync(NEOVIM, ['--version'], { stdio: 'ignore' }).status === 0;
if (!isThere) console.warn('SECOND EDITOR SKIPPED: neovim is not installed (apt-get install neovim)');

/** A hut of our own invention, with a conductor that is too thin for its heater. */
const HUT = `design Hut {
  basis: nec 2023
  site { altitude: 300 m   ambient: 5..30 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 280 Ah   cells: 16   shortCircuitCurrent: 4 kA   resistance: 10..25 mohm }
  fuse MainFuse { class: T   rating: 125 A }
  bus DcBus { rating: 200 A }
  load Heater { power: 2 kW   supply: dc }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus {
    size: 2/0 AWG   type: FineStranded90   length: 1.2 m   conductors: 2
  }
  run Feed: DcBus -> Heater { size: 14 AWG   type: FineStranded90   length: 2 m   conductors: 2 }
}
`;

interface Seen {
  readonly fault?: string;
  readonly findings: readonly { readonly code: string; readonly line: number; readonly message: string }[];
  readonly encoding: string;
  readonly hover: string;
  readonly list: readonly string[];
  readonly feeds: readonly string[];
  readonly lenses: readonly string[];
  readonly actions: readonly string[];
}

test.skipIf(!isThere)(
  'a person works on a design in neovim: findings, hover, list, lenses, way of power, change',
  async () => {
    const folder = temporaryFolder({ 'hut.watt': HUT });
    const [file, answer] = [path.join(folder, 'hut.watt'), path.join(folder, 'seen.json')];
    writeFileSync(path.join(folder, 'init.lua'), '');
    const editor = spawn(
      NEOVIM,
      ['--clean', '--headless', '-n', '-c', `luafile ${path.resolve(import.meta.dirname, 'session.lua')}`],
      {
        env: {
          ...process.env,
          HOME: folder,
          XDG_STATE_HOME: folder,
          XDG_CACHE_HOME: folder,
          WATTWRIGHT_NODE: process.execPath,
          WATTWRIGHT_SERVER: await bundledServer(),
          WATTWRIGHT_FILE: file,
          WATTWRIGHT_ANSWER: answer,
        },
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
    const said: string[] = [];
    for (const stream of [editor.stdout, editor.stderr])
      stream.on('data', (data: Buffer) => said.push(data.toString()));
    const code = await new Promise((resolve) => editor.on('exit', resolve));
    const seen = (existsSync(answer) ? JSON.parse(readFileSync(answer, 'utf8')) : {}) as Seen;
    expect({ code, fault: seen.fault, said: seen.fault ? said.join('') : '' }).toEqual({
      code: 0,
      fault: undefined,
      said: '',
    });

    const line = HUT.split('\n').findIndex((each) => each.includes('14 AWG'));
    expect(seen.findings).toContainEqual(expect.objectContaining({ code: 'run-ampacity', line }));
    expect(seen.encoding).toBe('utf-16');
    expect(seen.hover).toMatch(/current.*A/);
    expect(seen.list.slice(0, 3).every((label) => /^\d+ A$/.test(label))).toBe(true);
    expect(seen.feeds).toEqual(['Heater']);
    expect(seen.lenses[0]).toMatch(/error/);
    expect(seen.actions[0]).toMatch(/AWG/);
    const saved = readFileSync(file, 'utf8');
    expect(saved).not.toContain('14 AWG');
    expect(saved).toMatch(/run Feed: DcBus -> Heater \{[^}]*size: [\d/]+ AWG/);
  },
);
