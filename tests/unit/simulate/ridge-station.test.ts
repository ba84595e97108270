import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  type ScenarioResult,
  formatSpan,
  playScenario,
  plotThresholds,
  scenarioPlot,
} from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

const folder = path.resolve(import.meta.dirname, '../../../examples/ridge-station');
const read = (name: string): string => readFileSync(path.join(folder, name), 'utf8');

async function fiveDark(change: (text: string) => string = (text) => text): Promise<ScenarioResult> {
  const files = { 'station.watt': change(read('station.watt')), 'parts.watt': read('parts.watt') };
  const { context, system } = (await analyseText(files)).designs[0]!;
  const played = playScenario(context, system.scenarios[0]!);
  if (played.kind !== 'played') expect.fail(JSON.stringify(played));
  return played.result;
}

describe('five days without sun at the ridge station', () => {
  const played = fiveDark();

  test('come to what its page says', async () => {
    const { totals, series, events } = await played;
    const page = read('README.md');
    const { runTime, starts, fuel, energy, unserved, shed } = totals[0]!;
    const rows = new Map(
      [...page.matchAll(/^\| ([^|]+) \| ([^|]+) \|$/gm)].map(([, name, value]) => [name!.trim(), value!.trim()]),
    );
    const soc = series.columns.find(({ name }) => name === 'soc(Bank)')!.values;
    const lowest = soc.reduce((so, value) => Math.min(so, value), 1);
    expect(rows.get('lowest charge of the bank')).toContain(`${Math.round(lowest * 100)} %, on the fifth day at 06:32`);
    const moment = series.time[soc.indexOf(lowest)]!;
    expect(Math.floor(moment / 86400)).toBe(4);
    // The set may start again at 06:30; its warm-up takes two minutes.
    expect((moment % 86400) / 60).toBeCloseTo(6 * 60 + 32, 0);
    expect(rows.get('starts of the generator')).toBe(String(starts.get('Genset')));
    expect(rows.get('running time of the generator')).toContain(formatSpan(runTime.get('Genset')!));
    expect(rows.get('fuel')).toContain(`${(fuel.get('Genset')! * 1000).toFixed(1)} L`);
    expect(events.filter(({ what }) => what === 'out of fuel')).toHaveLength(2);
    const all = (of: ReadonlyMap<string, number>): number => [...of.values()].reduce((sum, value) => sum + value, 0);
    expect(all(unserved) + all(shed)).toBe(0);
    const got = ['Radios', 'Office', 'Pump', 'MastHeater'].reduce((sum, name) => sum + energy.get(name)!, 0) / 3.6e6;
    // By hand for five days: 350 W all day, 300 W for 5.5 h, 750 W for 1 h and 120 W all day are 13.68 kWh a day.
    expect(got).toBeCloseTo(5 * 13.68, 9);
    expect(rows.get('energy the loads wanted')).toContain(`${got.toFixed(1)} kWh`);
  });

  test('charge and discharge as hand calculations of single stretches say', async () => {
    const { series } = await played;
    const column = (name: string): Float64Array => series.columns.find((each) => each.name === name)!.values;
    // From midnight to 06:30 the loads take 470 W: with 45 W of idle draw and little loss about 515 W at 53.4 V, 9.7 A of 400 Ah.
    const row = series.time.findIndex((time) => time >= 6.5 * 3600);
    expect(0.9 - column('soc(Bank)')[row]!).toBeCloseTo((9.75 * 6.5) / 400, 2);
    // While the set runs the charger gives its 75 A, and draws 75 A · 53.5 V / 0.93 = 4.3 kW.
    const running = column('power(Genset)').findIndex((watts) => watts > 0);
    expect(column('current(Rect)')[running]).toBeCloseTo(75, 9);
    expect(column('power(Genset)')[running]!).toBeGreaterThan(4200);
    expect(column('power(Genset)')[running]!).toBeLessThan(4400);
  });

  test('keep the quiet hours', async () => {
    const { events } = await played;
    for (const { time, what } of events) {
      if (what !== 'start') continue;
      const hour = (time % 86400) / 3600;
      expect(hour >= 6.5 - 1e-6 && hour < 22).toBe(true);
    }
  });

  test('are drawn as the file beside the page shows', async () => {
    const result = await played;
    const files = { 'station.watt': read('station.watt'), 'parts.watt': read('parts.watt') };
    const { context } = (await analyseText(files)).designs[0]!;
    const isSame = scenarioPlot(result, { thresholds: plotThresholds(context) }) === read('five-dark.svg');
    const [, told] = /<desc>(.*?)<\/desc>/s.exec(read('five-dark.svg'))!;
    expect(told).toMatch(/^state of charge of Bank\w* from [\d.]+ % to [\d.]+ %; /);
    expect(isSame, 'five-dark.svg is as `simulate --plot` writes it').toBe(true);
  });

  test('ask more of the set when its charger is turned down, as the page says', async () => {
    const { totals } = await fiveDark((text) => text.replace('currentLimit: 75 A', 'currentLimit: 25 A'));
    expect(totals[0]!.starts.get('Genset')).toBe(3);
    expect(totals[0]!.runTime.get('Genset')! / 3600).toBeCloseTo(51, 0);
  });
});
