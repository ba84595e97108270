import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

const cabin = (scenario: string): string => `
design Cabin {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 6 mohm   cellTemperature: 25 degC }
  inverter Inv { rated: 1 kW   apparent: 1 kVA   voltage: 230 V   efficiency: 90 %   idle: 10 W   cutOff: 23 V   reconnect: 25.5 V }
  load Lamp { power: 100 W   voltage: 230 V   profile: always }
  run Feed: Bank -> Inv.dc { }
  run Line: Inv.ac -> Lamp { }
  ${scenario}
}

variant Large of Cabin { Bank.parallel = 2 }
`;
const NIGHT = `scenario Night "One night" {
    from: 2027-01-10   at: 18:00   duration: 12 h   soc(Bank): 90 %
    require min(soc(Bank)) >= 30 %
    require unserved == 0 kWh
  }`;
const WEEK = 'scenario Week { from: 2027-01-10   duration: 7 d   soc(Bank): 90 %   require min(soc(Bank)) >= 30 % }';
const folder = (text: string): string => temporaryFolder({ 'cabin.watt': text });

describe('simulate', () => {
  test('prints what came of a scenario, a small plot, its requirements and what was assumed', async () => {
    const { code, stdout, stderr } = await call(['simulate', 'cabin.watt'], { cwd: folder(cabin(NIGHT)) });
    expect(code).toBe(0);
    expect(stderr).toBe('');
    expect(stdout).toContain('Cabin.Night: One night\n  2027-01-10 18:00, 12 h\n');
    expect(stdout).toMatch(/Bank +lowest charge +\d+(\.\d+)? %, 12 h after the start/);
    expect(stdout).toMatch(/Loads +served +1\.2 kWh/);
    expect(stdout).toContain('█');
    expect(stdout).toMatch(/PASS min\(soc\(Bank\)\) = \d+(\.\d+)? % \(limit ≥ 30 %\), Cabin in Night/);
    expect(stdout).toContain('Assumed');
    expect(stdout).toContain('local codes');
    // Nothing is played of the variant unless it is asked for.
    expect(stdout).not.toContain('Large');
  });

  test.each([
    ['lost(Mains): 30 h .. 6 h', 'its first value is above its second'],
    ['runs: -3', 'it cannot be below 1'],
    ['runs: 1e9', 'it cannot be above 100000'],
    ['duration: 0 d', 'it must be above zero'],
    ['duration: -5 d', 'it cannot be negative'],
    ['temperature(Bank): -300 degC', 'it is below absolute zero'],
  ])('does not play a scenario with an error, and says so: %s', async (statement, message) => {
    const text = statement.startsWith('duration')
      ? NIGHT.replace('duration: 12 h', statement)
      : NIGHT.replace('soc(Bank)', `${statement}   soc(Bank)`);
    const cwd = folder(cabin(`grid Mains { }\n  ${text}\n  ${WEEK}`));
    const { code, stdout } = await call(['simulate', 'cabin.watt', '--scenario', 'Night', '-q'], { cwd });
    expect(code).toBe(1);
    const plain = stdout.replace(/\s+/g, ' ');
    expect(plain).toMatch(
      /Cabin\.Night: One night cannot be simulated: its text has errors, the first at cabin\.watt:1\d:\d+: /,
    );
    expect(plain).toContain(message);
    expect(plain).not.toMatch(/PASS|FAIL/);
    expect(plain).toContain('OPEN min(soc(Bank)) >= 30 %, Cabin in Night');
  });

  test('does not play a design whose text has errors, nor its variants; its neighbours it does', async () => {
    const other = cabin(NIGHT)
      .replace('design Cabin', 'design Other')
      .replace(/variant.*/, '');
    const cwd = folder(`${cabin(NIGHT).replace('idle: 10 W', 'idle: -10 W')}${other}`);
    const { code, stdout } = await call(['simulate', 'cabin.watt', '--format', 'json'], { cwd });
    expect(code).toBe(1);
    const { scenarios } = JSON.parse(stdout) as { scenarios: { design: string; reason?: string; runs?: unknown }[] };
    expect(scenarios).toMatchObject([
      { design: 'Cabin', reason: expect.stringMatching(/^its text has errors, the first at cabin\.watt:6:/) as string },
      { design: 'Other', runs: [{}] },
    ]);
    expect(scenarios[0]!.runs).toBeUndefined();
    expect((await call(['simulate', 'cabin.watt', '--variant', 'Large'], { cwd })).code).toBe(1);
  });

  test('plays the scenario that is asked for and no other', async () => {
    // A century of minutes would take far longer than the test may.
    const endless =
      'scenario Century { from: 2027-01-10   duration: 36500 d   runs: 2   soc(Bank): 90 %   require min(soc(Bank)) >= 0 % }';
    const cwd = folder(cabin(`${endless}\n  ${NIGHT}`));
    const { code, stdout } = await call(['simulate', 'cabin.watt', '--scenario', 'Night'], { cwd });
    expect(code).toBe(0);
    expect(stdout).toContain('Cabin.Night');
    expect(stdout).not.toContain('Century');
  });

  test('quiet leaves out cautions and assumptions', async () => {
    const { stdout } = await call(['simulate', 'cabin.watt', '-q'], { cwd: folder(cabin(NIGHT)) });
    expect(stdout).not.toContain('local codes');
    expect(stdout).not.toContain('Assumed');
    expect(stdout).toContain('Requirements');
  });

  test('ends with 1 when a requirement fails or a fact lacks, and with 0 for the variant that suffices', async () => {
    const cwd = folder(cabin(`${NIGHT}\n${WEEK}`));
    const failing = await call(['simulate', 'cabin.watt', '--scenario', 'Week'], { cwd });
    expect(failing.code).toBe(1);
    expect(failing.stdout).toMatch(/FAIL min\(soc\(Bank\)\) = .*, Cabin in Week/);
    expect(failing.stdout).not.toContain('Night');
    expect((await call(['simulate', 'cabin.watt', '--scenario', 'Night'], { cwd })).code).toBe(0);
    expect(
      (await call(['simulate', 'cabin.watt', '--variant', 'Large', '--scenario', 'Night'], { cwd })).stdout,
    ).toContain('Large.Night');
    const lacking = await call(['simulate', 'cabin.watt'], {
      cwd: folder(cabin(NIGHT).replace('resistance: 6 mohm', '')),
    });
    expect(lacking.code).toBe(1);
    expect(lacking.stdout).toContain('cannot be simulated: missing resistance of Bank');
  });

  test('shows the middle of many runs, and where nine in ten of them lie', async () => {
    const grid = `grid Mains { voltage: 230 V   rating: 16 A   betweenOutages: 12 h   outageTime: 4 h }
  charger Rect { currentLimit: 20 A   maximumCurrent: 20 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1   input: 180..264 V }
  run MainsRun: Mains -> Rect.ac { }
  run RectRun: Bank -> Rect.dc { }
  ${NIGHT.replace('12 h ', '3 d ').replace('soc(Bank): 90 %', 'soc(Bank): 90 %   runs: 40   seed: 7')}`;
    const { stdout, code } = await call(['simulate', 'cabin.watt', '-q'], { cwd: folder(cabin(grid)) });
    expect(stdout).toContain('40 runs, seed 7');
    expect(stdout).toMatch(/lowest charge +[\d.]+ % \([\d.]+ % to [\d.]+ % in nine of ten runs, mean [\d.]+ %\)/);
    expect(stdout).toContain('charge of Bank in the first run');
    // A requirement must hold in every run; in the worst of these the bank comes down too far.
    expect(stdout).toMatch(/FAIL min\(soc\(Bank\)\) = [\d.]+\.\.[\d.]+ % \(limit ≥ 30 %\), Cabin in Night/);
    expect(code).toBe(1);
    // What is the same in all runs is said once.
    expect(stdout).toMatch(/Loads +served +[\d.]+ kWh\n/);
  });

  test('JSON follows its published schema, in the units of the other outputs', async () => {
    const { code, stdout } = await call(['simulate', 'cabin.watt', '--format', 'json'], { cwd: folder(cabin(NIGHT)) });
    expect(code).toBe(0);
    const json = JSON.parse(stdout) as {
      scenarios: {
        runs: { energy: Record<string, number>; balance: Record<string, number> }[];
        requirements: object[];
      }[];
    };
    expect(againstSchema('simulate', json)).toEqual([]);
    const [night] = json.scenarios;
    expect(night).toMatchObject({ design: 'Cabin', scenario: 'Night', from: '2027-01-10T18:00:00', duration: 43200 });
    expect(night!.runs[0]!.energy.Lamp).toBeCloseTo(1200, 6);
    expect(night!.requirements).toHaveLength(2);
    const { fromSources, toLoads, lost, stored } = night!.runs[0]!.balance as Record<string, number>;
    expect(fromSources! - toLoads! - lost! - stored!).toBeCloseTo(0, 2);
    const lacking = await call(['simulate', 'cabin.watt', '--format', 'json'], {
      cwd: folder(cabin(NIGHT).replace('resistance: 6 mohm', '')),
    });
    expect(againstSchema('simulate', JSON.parse(lacking.stdout))).toEqual([]);
  });

  test('writes the series and the plot of one scenario', async () => {
    const cwd = folder(cabin(NIGHT));
    const args = ['simulate', 'cabin.watt', '--csv', 'night.csv', '--every', '3600', '--svg', 'night.svg', '-q'];
    const { code, stderr } = await call(args, { cwd });
    expect(code).toBe(0);
    expect(stderr).toBe('wrote night.csv\nwrote night.svg\n');
    const rows = readFileSync(path.join(cwd, 'night.csv'), 'utf8').trim().split('\n');
    expect(rows[0]).toBe('time,seconds,soc(Bank),voltage(Bank) V,current(Bank) A,power(Inv) W,power(Lamp) W');
    expect(rows).toHaveLength(14);
    expect(rows[1]).toMatch(/^2027-01-10T18:00:00,0,0\.9,/);
    expect(rows.at(-1)).toMatch(/^2027-01-11T06:00:00,43200,/);
    const svg = readFileSync(path.join(cwd, 'night.svg'), 'utf8');
    expect(svg).toMatch(/^<\?xml[^>]*>\n<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    expect(svg).toContain('Night: One night');
    expect(svg).toContain('prefers-color-scheme:dark');
  });

  test('holds a log of the site against one scenario, and readings of it, in every output', async () => {
    const cwd = folder(cabin(NIGHT.replace('require', 'reading energy(Lamp) = 1 kWh "meter"\n    require')));
    const series = await call(['simulate', 'cabin.watt', '--csv', 'own.csv', '--every', '600', '-q'], { cwd });
    expect(series.code).toBe(0);
    const rows = readFileSync(path.join(cwd, 'own.csv'), 'utf8').trim().split('\n');
    // Three hours are missing, and the logger shows 10 W too much.
    const log = rows.flatMap((row, index) => {
      const cells = row.split(',');
      if (index === 0) return ['# made for this test', 'time,power(Lamp) W'];
      return index > 20 && index < 39 ? [] : [`${cells[0]},${Number(cells.at(-1)) + 10}`];
    });
    writeFileSync(path.join(cwd, 'log.csv'), `${log.join('\r\n')}\r\n`);
    const args = ['simulate', 'cabin.watt', '--against', 'log.csv'];
    const told = await call([...args, '--plot', 'both.svg'], { cwd });
    expect(told.code).toBe(0);
    expect(told.stdout).toMatch(/power\(Lamp\) +55 +-10 W +10 W +10 W/);
    expect(told.stdout).toContain(
      'covers 8 h 50 min of 12 h, with gaps that count for nothing: 2027-01-10 21:10 to 2027-01-11 00:20',
    );
    expect(told.stdout).toMatch(/energy\(Lamp\): simulated .*, measured 1 kWh/);
    expect(readFileSync(path.join(cwd, 'both.svg'), 'utf8')).toContain('Lamp, measured');
    const data = await call([...args, '--format', 'json'], { cwd });
    const output = JSON.parse(data.stdout) as { scenarios: { against: { signals: { meanError: number }[] } }[] };
    expect(againstSchema('simulate', output)).toEqual([]);
    expect(output.scenarios[0]!.against.signals[0]!.meanError).toBeCloseTo(-10, 6);

    const refused = async (...more: string[]): Promise<string> =>
      (await call(['simulate', 'cabin.watt', ...more], { cwd })).stderr;
    expect(await refused('--against', 'none.csv')).toBe('wattwright: there is no file none.csv\n');
    expect(await refused('--against', '.')).toContain('is a folder; only regular files are read');
    writeFileSync(path.join(cwd, 'bad.csv'), 'time,lamp\n');
    expect(await refused('--against', 'bad.csv')).toContain('bad.csv is no log: no column is named as a signal');
    expect(await refused('--against', 'log.csv', '--log-ahead', 'much')).toContain('It must be a number.');
  });

  test('says on one line what cannot be done', async () => {
    const cwd = folder(cabin(`${NIGHT}\n${WEEK}`));
    const refused = async (...args: string[]): Promise<string> => {
      const { code, stderr, stdout } = await call(['simulate', 'cabin.watt', ...args], { cwd });
      expect(code).toBe(2);
      expect(stdout).toBe('');
      return stderr;
    };
    expect(await refused('--csv', 'x.csv')).toBe(
      'wattwright: --csv needs one scenario, and there are Cabin.Night, Cabin.Week; choose with --scenario and --design\n',
    );
    expect(await refused('--scenario', 'Nigth')).toBe('wattwright: no scenario is named Nigth; did you mean Night?\n');
    expect(await refused('--every', '0')).toContain('number of seconds');
    const none = await call(['simulate', 'cabin.watt'], { cwd: folder(cabin('')) });
    expect(none.code).toBe(2);
    expect(none.stderr).toContain('there is no scenario in cabin.watt');
    const broken = await call(['simulate', 'cabin.watt'], { cwd: folder('design {') });
    expect(broken.code).toBe(2);
    expect(broken.stderr).toContain('`wattwright check cabin.watt` says what is wrong');
  });

  test('text of a design cannot act on the terminal or break out of the drawing', async () => {
    const cwd = folder(cabin(NIGHT.replace('One night', '</text><script>\u001b[31m')));
    const { stdout } = await call(['simulate', 'cabin.watt', '--svg', 'night.svg', '-q'], { cwd });
    expect(stdout).not.toContain('\u001b');
    const svg = readFileSync(path.join(cwd, 'night.svg'), 'utf8');
    expect(svg).not.toContain('<script>');
    expect(svg).not.toContain('\u001b');
  });
});
