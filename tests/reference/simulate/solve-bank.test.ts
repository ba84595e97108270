import { describe, expect, test } from 'vitest';
import { openCircuitCurve } from '../../../language/src/reference/energy/index.js';
import type { BankPlan, Plan } from '../../../language/src/simulate/plan.js';
import { between } from '../../../language/src/quantities/weather/between.js';
import { restCurve } from '../../../language/src/equipment/bank-curve.js';
import { planOf, run, small } from '../../unit/simulate/designs.js';
import solved from './solve_bank.json' with { type: 'json' };

const HOUR = 3600;

interface Case {
  readonly name: string;
  readonly chemistry: string;
  readonly cells: number;
  readonly capacity_Ah: number;
  readonly resistance_ohm: number;
  readonly soc: number;
  readonly hours: number;
  readonly load_W: number;
  readonly limit_A?: number;
  readonly held_V?: number;
  readonly lead?: boolean;
  readonly peukert?: number;
  readonly rated_A?: number;
  readonly time_s: readonly number[];
  readonly soc_over_time: readonly number[];
}

const unlimited = { watts: Infinity, voltAmperes: Infinity, legAmperes: Infinity };

/** The same bank, load and charger as numbers of the engine. */
async function planFor(given: Case): Promise<Plan> {
  const made = await planOf(small({ rules: '', scenario: 'duration: 1 h   soc(Bank): 50 %' }));
  const bank: BankPlan = {
    ...made.banks[0]!,
    capacity: given.capacity_Ah * HOUR,
    curve: restCurve(openCircuitCurve(given.chemistry)!.points, given.cells),
    resistance: given.resistance_ohm,
    leads: 0,
    efficiency: given.lead ? 0.97 : 1,
    efficiencyFull: given.lead ? 0.5 : 1,
    knee: given.lead ? 0.8 : 1,
    acceptance: given.lead ? 1 / HOUR : Infinity,
    chargeLimit: Infinity,
    selfDischarge: 0,
    peukert: given.peukert ?? 1,
    ratedCurrent: given.rated_A ?? Infinity,
    protectionLow: 0,
    protectionHigh: Infinity,
    soc: given.soc,
  };
  const regulator = { ...made.regulators[0]!, link: -1, droop: 1e-9, rebulk: 0 };
  return {
    ...made,
    duration: given.hours * HOUR,
    banks: [bank],
    sources: [{ ...made.sources[0]!, kind: 'supply', limits: unlimited }],
    regulators: [
      given.limit_A === undefined
        ? { ...regulator, currentLimit: 0, absorb: 1, float: 1 }
        : { ...regulator, currentLimit: given.limit_A, absorb: given.held_V!, float: given.held_V! },
    ],
    inverters: [
      {
        ...made.inverters[0]!,
        limits: unlimited,
        idle: 0,
        linear: 0,
        quadratic: 0,
        leads: 0,
        cutOff: 0,
        reconnect: 0,
      },
    ],
    loads: [{ ...made.loads[0]!, watts: given.load_W }],
  };
}

describe('the charge of a bank over time, against SciPy', () => {
  test.each((solved.cases as readonly Case[]).map((each) => [each.name, each] as const))('%s', async (_, given) => {
    const outcome = run(await planFor(given));
    const time = Float64Array.from(outcome.recorder.time);
    const soc = Float64Array.from(outcome.of('soc(Bank)'));
    // Between recorded points the straight line is off by the bend of the curve; at the end nothing is.
    expect(Math.abs(soc.at(-1)! - given.soc_over_time.at(-1)!)).toBeLessThan(1e-7);
    given.time_s.forEach((at, index) => {
      expect(Math.abs(between(time, soc, at) - given.soc_over_time[index]!)).toBeLessThan(5e-5);
    });
    const moved = Math.abs(given.soc - given.soc_over_time.at(-1)!);
    expect(moved).toBeGreaterThan(0.2);
  });

  test('steps shrink with the bend of the curve, so that the end is as near with any longest step', async () => {
    const given = (solved.cases as readonly Case[])[2]!;
    const ends: number[] = [];
    for (const resolution of [10, 60, 900]) {
      const outcome = run(await planFor(given), { resolution });
      ends.push(outcome.of('soc(Bank)').at(-1)! - given.soc_over_time.at(-1)!);
    }
    for (const end of ends) expect(Math.abs(end)).toBeLessThan(1e-7);
  });
});
