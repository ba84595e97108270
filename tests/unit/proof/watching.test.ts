import { describe, expect, test } from 'vitest';
import { DAY } from '../../../language/src/control/index.js';
import { roomFor, watching } from '../../../language/src/proof/watching.js';
import { Planner } from '../../../language/src/proof/worlds.js';
import { Engine } from '../../../language/src/simulate/engine.js';
import { finished } from '../../../language/src/simulate/index.js';
import type { Plan } from '../../../language/src/simulate/plan.js';
import { read } from '../../agreement/answers.js';

/* Plays by which rules are proven. The site is an invention. */
const SITE = `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8 mohm   cellTemperature: 20 degC }
  load Fan { power: 900 W   supply: dc   profile: { 06:00..21:00: 80 % } }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 % for 1 min
    stop when soc(Bank) > 70 % and hour >= 8 h
    minimumRun: 20 min   warmUp: 1 min
  }
}
`;

async function planFrom(soc: number): Promise<Plan> {
  const { analysis } = await read(SITE);
  const planner = new Planner(analysis.designs[0]!.context);
  const prepared = planner.prepared({ sun: 'none', cells: 'warm' });
  if (prepared.kind !== 'ready') throw new Error(JSON.stringify(prepared));
  const world = { lost: [], silent: [], others: 'absent', loads: 'design', sun: 'none', cells: 'warm' } as const;
  return { ...planner.plan({ ...world, soc, firstDay: 1, timeOfDay: 0 }, prepared.plan), duration: 4 * DAY };
}

describe('a play by which rules are proven', () => {
  test('shows the same whatever was played into its room before', async () => {
    const [first, other] = [await planFrom(0.5), await planFrom(0.9)];
    const alone = finished(watching(first));
    const room = roomFor(other);
    finished(watching(other, room));
    const after = finished(watching(first, room));
    expect(after.standings).toEqual(alone.standings);
    expect(after.time).toEqual(alone.time);
    expect(after.column('soc(Bank)')).toEqual(alone.column('soc(Bank)'));
  });

  test('lets a set start and stop when a scenario does, but for some seconds in days', async () => {
    const plan = await planFrom(0.5);
    const { switchings } = finished(watching(plan));
    const { events } = new Engine(plan, { resolution: 600, seed: 1, run: 0, isRandom: false }).play();
    const closely = events.filter(({ what }) => what === 'start' || what === 'stop').map(({ time }) => time);
    const loosely = switchings.filter(({ is }) => is === 1 || is === 0).map(({ time }) => time);
    expect(closely.length).toBeGreaterThan(3);
    expect(loosely).toHaveLength(closely.length);
    loosely.forEach((time, at) => expect(Math.abs(time - closely[at]!)).toBeLessThan(60));
  });
});
