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
}

const folder = temporaryFolder({ 'lodge.watt': LODGE });
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
});
