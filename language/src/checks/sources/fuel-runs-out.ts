import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isSet } from '../../model/roles.js';
import type { Instance, Scenario } from '../../model/types.js';
import { type ScenarioResult, formatSpan } from '../../simulate/index.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { notChecked, passed } from '../verdicts.js';
import { PRACTICE } from './shared.js';

const isAsked = (scenario: Scenario, context: DesignContext): boolean =>
  context.system.requirements.some(
    ({ scenario: of, text }) => of === scenario.name && /\b(fuelLeft|timeToEmpty)\b/.test(text),
  );

/** What is kept in hand of a tank that states its size. */
function keptOf(set: Instance, context: DesignContext): Derivation {
  const [tank, reserve] = [context.maybe(set, 'tank'), context.setting('fuelReserve')];
  const share = tank && reserve ? numberIn(reserve, '') : 0;
  return derive('fuel kept in hand', tank ? share * numberIn(tank, 'L') : 0, 'L', {
    formula: 'reserve·V',
    inputs: [...(reserve ? [reserve] : []), ...(tank ? [tank] : [])],
  });
}

/** When its tank is filled, as the scenario or the set says. */
function filledText(set: Instance, scenario: Scenario, context: DesignContext): string {
  const refills = scenario.tanks.find((each) => each.of === set && each.refills)?.refills;
  const interval = context.maybe(set, 'refillInterval');
  if (refills) {
    const [first] = refills;
    if (first === undefined) return 'its tank is not refilled';
    return `its tank is refilled ${refills.length} times, first after ${formatSpan(first)}`.replace(
      '1 times, first',
      'once,',
    );
  }
  return interval ? `its tank is refilled every ${displayValue(interval)}` : 'its tank is not refilled';
}

function* judgePlay(context: DesignContext, scenario: Scenario, result: ScenarioResult): Generator<Verdict> {
  for (const set of context.system.instances) {
    const lefts = result.totals.flatMap(({ fuelLeft }) => fuelLeft.get(set.name) ?? []);
    if (lefts.length === 0) continue;
    const left = derive(`least fuel left in the tank of ${set.name}`, Math.min(...lefts) * 1000, 'L', {
      notes: [`scenario ${scenario.name}`],
    });
    const kept = keptOf(set, context);
    const emptyAt = Math.min(...result.totals.map(({ timeToEmpty }) => timeToEmpty.get(set.name) ?? Infinity));
    const use = atLeast(left, kept);
    const numbers = { left, kept };
    const isHeld = emptyAt === Infinity && numberIn(left, 'L') >= numberIn(kept, 'L') * (1 - 1e-9);
    // A requirement of the scenario says how much must be left, and is judged as such.
    if (isHeld || isAsked(scenario, context)) {
      yield passed(set, use, numbers);
      continue;
    }
    const isDry = emptyAt < Infinity;
    yield {
      verdict: 'failed',
      subject: set.path,
      place: scenario.place,
      headline: isDry
        ? `In ${scenario.name} the tank of ${set.name} is empty after ${formatSpan(emptyAt)}`
        : `In ${scenario.name} the tank of ${set.name} gets down to ${displayValue(left, 3)}; ${displayValue(kept, 3)} to keep`,
      why: filledText(set, scenario, context),
      ...(isDry ? {} : { rule: 'common practice, no source; set by `fuelReserve`' }),
      ...(isDry ? { consequence: 'it stands still until fuel comes' } : {}),
      advice: 'Refill it more often, use a larger tank, or require what must be left with `fuelLeft(…)`.',
      use,
      numbers,
      related: [{ place: set.place, text: `${set.name} burns the fuel` }],
    };
  }
}

export const fuelRunsOut = defineCheck({
  id: 'fuel-runs-out',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'In a simulated scenario the tank of a generator runs empty before it is refilled, or its reserve is used.',
    guards: 'A road closed by snow, and a site that goes dark two days before the fuel comes.',
    how: 'A tank is finite where the scenario says what is in it (`fuelLeft(Genset): 30 L`) or when it is filled (`refilled(Genset): 10 d, 24 d`, or `never`), or where the generator states its `refillInterval`; else it counts as filled whenever it is empty. The least that is left in any run is held against `fuelReserve` of the design times the tank. A generator whose tank is empty stands still until it is filled. A scenario with a requirement on `fuelLeft` or `timeToEmpty` is judged by that.',
    fix: 'Refuel in time, fit a larger tank, or let other sources carry more, so that fuel is left at the end.',
    sources: [PRACTICE],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 20 L   powerFactor: 1   burn: { 0 %: 0.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 16 mohm   cellTemperature: 20 degC }
  load Fan { power: 300 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Start of Genset { start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 % }
  scenario Snow { from: 2027-01-10   duration: 8 d   sun: none   soc(Bank): 90 %   refilled(Genset): never }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 20 L   powerFactor: 1   burn: { 0 %: 0.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 16 mohm   cellTemperature: 20 degC }
  load Fan { power: 300 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Start of Genset { start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 % }
  scenario Snow { from: 2027-01-10   duration: 8 d   sun: none   soc(Bank): 90 %   refilled(Genset): 2 d, 4 d, 6 d }
}
`,
  },
  judge: () => [],
  judgePlayed: function* (context, scenario, played) {
    if (played.kind === 'played') yield* judgePlay(context, scenario, played.result);
    else if (played.kind === 'missing')
      for (const { of } of scenario.tanks)
        if (isSet(of)) yield notChecked(of, { kind: 'missing', missing: played.missing });
  },
});
