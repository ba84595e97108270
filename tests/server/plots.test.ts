import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { PlotData } from '../../language/src/index.js';
import { LanguageClient, temporaryFolder } from '../helpers/language-client.js';

/** The lodge that the editor is tried with, of our own invention: a generator started by rule, a variant that draws less. */
const LODGE = readFileSync(path.join(import.meta.dirname, '../editor/workspace/lodge.watt'), 'utf8');
const DAY = 86400;

interface Answer {
  readonly scenarios: readonly { readonly name: string; readonly unplayed?: string }[];
  readonly isWaiting: boolean;
  readonly plots: readonly ({ readonly name: string } & PlotData)[];
  readonly table?: string;
  readonly remarks: readonly string[];
}

const exampleOf = (name: string): string =>
  readFileSync(path.join(import.meta.dirname, '../../examples/mill-stream', name), 'utf8');
const folder = temporaryFolder({
  'lodge.watt': LODGE,
  'mill.watt': exampleOf('mill.watt'),
  'parts.watt': exampleOf('parts.watt'),
});
const uri = pathToFileURL(path.join(folder, 'lodge.watt')).href;
let client: LanguageClient;

const plots = (more: object = {}): Promise<Answer> =>
  client.request<Answer>('wattwright/plots', { textDocument: { uri }, ...more });

/** The answer once everything has been simulated. */
async function settled(more: object = {}): Promise<Answer> {
  for (;;) {
    const answer = await plots(more);
    if (!answer.isWaiting) return answer;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

beforeAll(async () => {
  client = await LanguageClient.start(folder);
  await client.open(uri, LODGE);
  await client.diagnostics(uri);
});

afterAll(async () => {
  expect(await client.stop()).toBe(0);
});

describe('the plots that an editor asks for', () => {
  test('are those of the first scenario, with panels, thresholds and what runs when', async () => {
    const { scenarios, plots: shown } = await settled();
    expect(scenarios).toMatchObject([{ name: 'Lodge.Week' }, { name: 'Frugal.Week' }]);
    expect(shown.map(({ name }) => name)).toEqual(['Lodge.Week']);
    const [plot] = shown;
    expect(plot!.start).toBe(Date.parse('2027-01-10T00:00:00Z') / 1000);
    expect(plot!.duration).toBe(14 * DAY);
    expect(plot!.panels.map(({ title }) => title)).toEqual([
      'State of charge',
      'Voltage of banks',
      'Power from sources',
      'Power to loads',
    ]);
    const [charge, , sources, loads] = plot!.panels;
    expect(charge!.thresholds.map(({ at }) => at).sort()).toEqual([0.4, 0.85]);
    expect(Math.min(...charge!.values[0]!.map(Number))).toBeCloseTo(0.4, 3);
    expect(sources!.names).toEqual(['Genset']);
    expect(loads!.names).toEqual(['Lights', 'Fridge']);
    expect(loads!.isStacked).toBe(true);
    expect(plot!.strips.map(({ name, kind }) => `${name} ${kind}`)).toEqual(['Genset run']);
    for (const { time, values } of plot!.panels) {
      expect(time.every((at, row) => row === 0 || at >= time[row - 1]!)).toBe(true);
      for (const row of values) expect(row.length).toBe(time.length);
    }
  });

  test('hold no less than what can be seen, and more where one looks closer', async () => {
    const whole = (await settled({ columns: 50 })).plots[0]!.panels[0]!;
    const close = (await settled({ columns: 50, from: 3 * DAY, to: 4 * DAY })).plots[0]!.panels[0]!;
    expect(whole.time.length).toBeLessThanOrEqual(4 * 51);
    expect(close.time.every((at) => at >= 3 * DAY && at <= 4 * DAY)).toBe(true);
    const within = whole.time.filter((at) => at >= 3 * DAY && at <= 4 * DAY).length;
    expect(close.time.length).toBeGreaterThan(3 * within);
  });

  test('are two over each other, and a table of the first', async () => {
    const { plots: both, table } = await settled({ names: ['Lodge.Week', 'Frugal.Week'], isForFile: true });
    expect(both.map(({ name }) => name)).toEqual(['Lodge.Week', 'Frugal.Week']);
    const lines = table!.trimEnd().split('\n');
    expect(lines[0]).toMatch(/^time,seconds,soc\(Bank\)/);
    expect(lines.length).toBe(1 + 14 * 24 * 60 + 1);
  });

  test('are none of a text with errors, which are told; nonsense in a request is put right', async () => {
    await client.change(uri, LODGE.replace('150 W', '150 V'));
    const { scenarios, plots: shown } = await settled();
    expect(scenarios.map(({ unplayed }) => unplayed)).toEqual(['its text has errors', 'its text has errors']);
    expect(shown).toEqual([]);
    await client.change(uri, LODGE);
    const odd = await settled({ from: 'x', to: -3, columns: 1e300 });
    expect(odd.plots[0]!.panels[0]!.time[0]).toBe(0);
    await expect(client.request('wattwright/plots', { textDocument: 7 })).rejects.toThrow();
  });

  test('have a log over them, with its gaps, and say why a text is none', async () => {
    const hours = [0, 1, 2, 3, 4, 20, 21, 22];
    const rows = hours.map((hour) => `2027-01-10T${String(hour).padStart(2, '0')}:00,${60 - hour}`);
    const log = ['time,soc(Bank) %', ...rows].join('\n');
    const { plots: shown, remarks } = await settled({ log });
    const [charge, voltage] = shown[0]!.panels;
    const [line] = charge!.measured;
    expect(line!.name).toBe('Bank, measured');
    // The hole of sixteen hours, and what is behind the last row, have a row without a value, so that no line leads over them.
    expect(line!.values).toEqual([0.6, 0.59, 0.58, 0.57, 0.56, null, 0.4, 0.39, 0.38, null]);
    expect(line!.time.at(-2)).toBe(22 * 3600);
    expect(voltage!.measured).toEqual([]);
    expect(remarks).toEqual([]);
    const none = await settled({ log: 'a letter' });
    expect(none.plots.map(({ name }) => name)).toEqual(['Lodge.Week']);
    expect(none.remarks).toEqual(['The log is not shown: its first line names no column `time`, but a letter.']);
  });

  test('lie over those of an earlier state of the file', async () => {
    const earlier = { title: '4f00d5e1', text: LODGE.replace('power: 60 W', 'power: 120 W') };
    const { plots: both, remarks } = await settled({ earlier });
    expect(both.map(({ name }) => name)).toEqual(['Lodge.Week', 'Lodge.Week, 4f00d5e1']);
    const [now, before] = both.map(({ panels }) => panels.find(({ title }) => title === 'Power to loads')!);
    const fridge = ({ names, values }: NonNullable<typeof now>): number =>
      Math.max(...values[names.indexOf('Fridge')]!.map(Number));
    expect([fridge(now!), fridge(before!)]).toEqual([60, 120]);
    expect(remarks).toEqual([]);
    const gone = await settled({ earlier: { title: 'old', text: 'design Lodge { basis: iec }' } });
    expect(gone.plots).toHaveLength(1);
    expect(gone.remarks).toEqual(['old: there is no scenario Week of Lodge in it']);
  });

  test('of several runs have the band of all of them behind the first', async () => {
    const own = pathToFileURL(path.join(folder, 'mill.watt')).href;
    await client.open(own, exampleOf('mill.watt'));
    await client.diagnostics(own);
    const ask = () =>
      client.request<Answer>('wattwright/plots', {
        textDocument: { uri: own },
        names: ['MillAndWind.FrozenIntake'],
      });
    let answer = await ask();
    while (answer.isWaiting) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      answer = await ask();
    }
    const [charge] = answer.plots[0]!.panels;
    expect(charge!.names).toEqual(['Bank, first run']);
    const [band] = charge!.bands;
    expect(band!.name).toBe('Bank, 20 runs');
    expect(band!.time.at(-1)).toBe(14 * DAY);
    for (const [at, middle] of band!.middle.entries()) {
      expect(band!.low[at]!).toBeLessThanOrEqual(middle!);
      expect(band!.high[at]!).toBeGreaterThanOrEqual(middle!);
    }
    expect(band!.high.some((high, at) => high! - band!.low[at]! > 0.05)).toBe(true);
  });
});
