import { describe, expect, test } from 'vitest';
import { DAY } from '../../../language/src/control/index.js';
import { drawnWorlds } from '../../../language/src/proof/draws.js';
import { Planner, type World, worldTitle } from '../../../language/src/proof/worlds.js';
import { read } from '../../agreement/answers.js';

/* Worlds by chance in which rules are proven. The site is an invention. */
const SITE = `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..16 mohm   cellTemperature: 20..25 degC }
  load Fan { power: 512 W   supply: dc   duty: 40 % }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  link BmsLink: Bank -> Genset { medium: can   timeOut: 30 s }
  control Autostart of Genset {
    start when soc(Bank) < 40 % and hour >= 8 h
    stop when soc(Bank) > 90 %
    without BmsLink { start when voltage(Bank) < 50.4 V for 3 min   stop when voltage(Bank) > 54.6 V for 20 min }
  }
}
`;

async function drawn() {
  const { analysis } = await read(SITE);
  const planner = new Planner(analysis.designs[0]!.context);
  const prepared = planner.prepared({ sun: 'none', cells: 'warm' });
  if (prepared.kind !== 'ready') throw new Error(JSON.stringify(prepared));
  const { plan } = prepared;
  const { machine } = plan.control;
  return { planner, plan, machine, worlds: drawnWorlds(machine, plan, planner.hasTwoEnds) };
}

describe('worlds by chance', () => {
  test('are the same each time', async () => {
    expect((await drawn()).worlds).toEqual((await drawn()).worlds);
  });

  test('reach all that can be drawn, and nothing beyond', async () => {
    const { worlds } = await drawn();
    const seen = <T>(of: (world: World) => T): T[] => [...new Set(worlds.map(of))].sort();
    expect(seen(({ others }) => others)).toEqual(['absent', 'brief', 'coming', 'present']);
    expect(seen(({ cells }) => cells)).toEqual(['cold', 'warm']);
    expect(seen(({ lost }) => lost.length)).toEqual([0, 1]);
    expect(seen(({ sun }) => sun)).toEqual(['none']);
    const near = (soc: number): boolean => worlds.some((world) => Math.abs(world.soc - soc) < 0.03);
    expect([0.05, 0.4, 0.9].filter((soc) => !near(soc))).toEqual([]);
    for (const { soc, timeOfDay, unsettled, days } of worlds) {
      expect(soc).toBeGreaterThanOrEqual(0);
      expect(soc).toBeLessThanOrEqual(1);
      expect(timeOfDay).toBeGreaterThanOrEqual(0);
      expect(timeOfDay).toBeLessThan(DAY);
      for (const { from, to } of unsettled?.spans ?? []) {
        expect(from).toBeLessThan(to);
        expect(to).toBeLessThanOrEqual(unsettled!.until);
      }
      expect((unsettled?.until ?? 0) / DAY).toBeLessThan(days!);
    }
    expect(seen(({ unsettled }) => unsettled !== undefined)).toEqual([false, true]);
  });

  test('keep loads at their mean or below it, whatever the hour takes', async () => {
    const { planner, plan, worlds } = await drawn();
    for (const world of worlds) {
      const [{ share, shareFrom, watts }] = planner.plan(world, plan).loads as [(typeof plan.loads)[0]];
      const mean = share.reduce((sum, each, at) => sum + each * ((shareFrom[at + 1] ?? DAY) - shareFrom[at]!), 0) / DAY;
      const use = typeof world.loads === 'object' ? world.loads.use : NaN;
      expect(mean * watts).toBeCloseTo(0.4 * 512 * use, 6);
      expect(Math.min(...share)).toBeGreaterThanOrEqual(0);
      expect(Math.max(...share)).toBeLessThanOrEqual(1);
    }
  });

  test('are told of in words', async () => {
    const { worlds, machine } = await drawn();
    const titles = worlds.map((world) => worldTitle(world, machine)).join('\n');
    expect(titles).toMatch(/^BmsLink lost, other sources there for 20 min in 4 h, /m);
    expect(titles).toMatch(/other sources and links come and go for 36 h before/);
    expect(titles).toMatch(
      /loads at 50 % of their mean, \d+ % less from \d\d:\d\d to \d\d:\d\d and more in the other half of the day$/m,
    );
  });
});
