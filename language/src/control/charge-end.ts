import { type Derivation, type Result, derive, known, missing, numberIn } from '../derivation/index.js';
import { chargingOf } from '../model/roles.js';
import { heldVoltage, setPointsOf } from '../quantities/plant/chargers.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Run } from '../model/types.js';
import { resistanceAt } from '../quantities/conductors/conductor.js';
import { collect, sumOf, whenKnown } from '../quantities/worst.js';
import { flagIn } from '../model/stated-facts.js';

/** Voltage a run loses at the tail of a charge. The current there is small; a tenth of the charger’s current is taken (common practice, no source). */
const TAIL_SHARE = 0.1;

/** The runs of the shortest way, by stretches, from a charger to a bank; undefined when there is none. */
function runsBetween(charger: Instance, bank: Instance, context: DesignContext): readonly Run[] | undefined {
  const starts = context.graph.nodesOf(charger).filter(({ terminal }) => terminal.direction !== 'in');
  const before = new Map<string, { key: string; run: Run } | undefined>(starts.map(({ key }) => [key, undefined]));
  const queue = [...starts];
  for (const node of queue) {
    if (node.instance === bank) {
      const runs: Run[] = [];
      for (let step = before.get(node.key); step; step = before.get(step.key))
        if (runs.at(-1) !== step.run) runs.push(step.run);
      return runs.reverse();
    }
    for (const { run, from, to } of context.graph.segmentsAt(node)) {
      const other = from.key === node.key ? to : from;
      if (before.has(other.key)) continue;
      before.set(other.key, { key: node.key, run });
      queue.push(other);
    }
  }
  return undefined;
}

function dropIn(run: Run, current: Derivation, context: DesignContext): Result {
  const facts = collect([context.fact(run, 'size'), context.fact(run, 'length')]);
  if (!facts.ok) return facts.result;
  const [size, length] = facts.derivations as [Derivation, Derivation];
  const tail = derive('current at the end of the charge', numberIn(current, 'A') * TAIL_SHARE, 'A', {
    formula: '0.1·I',
    inputs: [current],
    notes: ['a tenth of the charger’s current; common practice, no source'],
  });
  return whenKnown(resistanceAt(run, size, length, undefined, context), (resistance) =>
    known(
      derive(`drop of ${run.name}`, 2 * numberIn(resistance, 'ohm') * numberIn(tail, 'A'), 'V', {
        formula: '2·R·I',
        inputs: [resistance, tail],
      }),
    ),
  );
}

/** Voltage a bank reaches under a charger: its absorption set point with the cells at their warmest, less the drop of the cable unless it senses at the bank. */
export function reachedVoltage(charger: Instance, bank: Instance, context: DesignContext): Result {
  const point = setPointsOf(charger, context).find(({ name }) => name === chargingOf(charger)?.setPoints[0])?.point;
  if (!point) return missing(`${chargingOf(charger)?.setPoints[0] ?? 'absorb'} of ${charger.name}`);
  // Warm cells lower the set point of a charger that follows their temperature.
  const held = heldVoltage(charger, point, context.maybe(bank, 'cellTemperature'), context, 'least');
  const absorb = known(held);
  if (flagIn(charger.properties, 'remoteSense')) return absorb;
  const current = context.quantity(charger, 'outputCurrent');
  const runs = runsBetween(charger, bank, context);
  if (!runs || current.kind !== 'known') return absorb;
  const drops = collect(runs.map((run) => dropIn(run, current.derivation, context)));
  if (!drops.ok) return drops.result;
  const lost = sumOf('voltage lost in the cable', 'ΔU', 'V', drops.derivations);
  return known(
    derive('voltage at the bank', numberIn(held, 'V') - numberIn(lost, 'V'), 'V', {
      symbol: 'U',
      formula: 'U_absorb − ΔU',
      inputs: [held, lost],
    }),
  );
}
