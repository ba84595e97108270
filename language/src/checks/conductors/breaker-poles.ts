import { derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow, legCurrents } from '../../quantities/flow/flow.js';
import { type Leg, systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf } from '../verdicts.js';
import { MEMORY } from './shared.js';
import { isBreaker } from '../../model/roles.js';

/** The lines that a breaker in a run must open, in the state in which they are most. */
interface Need {
  readonly legs: readonly Leg[];
  readonly source: Instance;
  readonly state: SourceState;
}

function needOf(run: Run, context: DesignContext): Need | undefined {
  let most: Need | undefined;
  for (const { state, circuit } of context.circuitStates) {
    const flow = acFlow(run, circuit, context);
    for (const source of flow?.sources ?? []) {
      const system = systemOf(source);
      if (!system || system.phases === 'single') continue;
      const legs = [...legCurrents(flow!.nodes.values(), source, context).perLeg.keys()].sort();
      if (legs.length > (most?.legs.length ?? 0)) most = { legs, source, state };
    }
  }
  return most;
}

const RULES: Readonly<Record<string, string>> = {
  nec: '240.15(B)',
  iec: '5-53 and 4-46',
  craft: '(ISO 13297, ABYC E-11)',
};

function judgeBreaker(breaker: Instance, run: Run, need: Need, context: DesignContext): Verdict {
  const poles = breaker.properties.get('poles')?.value;
  const count = need.legs.length;
  const stated = poles?.type === 'quantity' ? poles.quantity.value : undefined;
  // Every breaker has one pole.
  if (stated === undefined && count > 1)
    return notChecked(breaker, { kind: 'missing', missing: [`poles of ${breaker.name}`] });
  const has = stated ?? 1;
  const numbers = { poles: derive('poles', has, ''), lines: derive('lines to open', Math.max(count, 1), '') };
  const use = atLeast(numbers.poles, numbers.lines);
  if (has >= count) return passed(breaker, use, numbers);
  const { basis } = context.system;
  const stays = count - has;
  return {
    verdict: 'failed',
    subject: breaker.path,
    place: placeOf(breaker, 'poles'),
    headline: `${breaker.name} opens ${has === 1 ? 'one line' : `${has} lines`} of ${run.name}; it has ${count}`,
    why: `${need.source.name} feeds it over ${need.legs.join(' and ')}; ${stays === 1 ? 'one line stays' : `${stays} lines stay`} live when it is off or tripped`,
    rule: `${basisText(basis)} ${RULES[basis.practice]}`,
    consequence: 'whoever works behind it touches a live line',
    advice: `Use ${count} poles that open together; breakers tied by an identified handle count as one.`,
    use,
    numbers,
    related: [{ place: run.place, text: `${run.name} has the lines ${need.legs.join(', ')}` }],
    fixes: [propose(`Choose ${breaker.name} with ${count} poles`, [setProperty(breaker, 'poles', `${count}`)], true)],
  };
}

export const breakerPoles = defineCheck({
  id: 'breaker-poles',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A breaker has fewer poles than the circuit has lines.',
    guards: 'Appliances that are dead and yet live: one line open, the other still at 120 V or 230 V to earth.',
    how: 'For every source state the lines are counted that the consumers behind a run stand on (by their legs, voltage or input window); a breaker in it must open all of them at once. Supplies of one phase need one pole. Not checked without `poles`. Fuses are not asked: each is of one line.',
    fix: 'Use a breaker with as many poles as the circuit has lines, or tie handles as the code allows.',
    sources: [MEMORY('NEC', '240.15(B)'), MEMORY('IEC 60364-5-53')],
    failing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  breaker HeaterBreaker { rating: 30 A   poles: 1 }
  load Heater { power: 4.5 kW   voltage: 240 V }
  run Line: Mains -> HeaterBreaker -> Heater { size: 10 AWG   length: 10 m }
}
`,
    passing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  breaker HeaterBreaker { rating: 30 A   poles: 2 }
  load Heater { power: 4.5 kW   voltage: 240 V }
  run Line: Mains -> HeaterBreaker -> Heater { size: 10 AWG   length: 10 m }
}
`,
  },
  judge: function* (context) {
    const judged = new Set<Instance>();
    for (const run of context.system.runs) {
      if (run.carries !== 'ac') continue;
      const breakers = [run.from, ...run.through, ...(run.to.length === 1 ? run.to : [])]
        .map(({ instance }) => instance)
        .filter(isBreaker);
      if (breakers.every((breaker) => judged.has(breaker))) continue;
      const need = needOf(run, context);
      if (!need) continue;
      for (const breaker of breakers) {
        if (judged.has(breaker)) continue;
        judged.add(breaker);
        yield judgeBreaker(breaker, run, need, context);
      }
    }
  },
});
