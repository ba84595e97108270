import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import { isLoad, passingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';

const BEHIND = query<Instance, ReadonlySet<Instance>>('loads that an inverter passes its supply on to');

/**
 * The loads that an inverter passes its supply on to. Its input limit bounds what it takes in all; charging gets what they leave.
 */
export const loadsBehind = (inverter: Instance, context: DesignContext): ReadonlySet<Instance> =>
  context.kept(BEHIND, inverter, () => {
    const behind = new Set<Instance>();
    const passes = passingOf(inverter);
    if (!passes) return behind;
    const seen = new Set<string>();
    const queue = [context.graph.nodes.get(`${inverter.name}.${passes.to}`)];
    for (let start = queue.pop(); start; start = queue.pop()) {
      for (const node of context.graph.reach(start).values()) {
        if (seen.has(node.key)) continue;
        seen.add(node.key);
        if (isLoad(node.instance)) behind.add(node.instance);
        const goesOn = passingOf(node.instance);
        if (goesOn?.from.includes(node.terminal.name))
          queue.push(context.graph.nodes.get(`${node.instance.name}.${goesOn.to}`));
      }
    }
    return behind;
  });

/** What charging may take of a bound (in `unit`) when loads are passed through: the bound less what they take, never below zero. */
export function leftByLoads(
  charger: Instance,
  demand: Derivation,
  bound: Derivation,
  passed: readonly Derivation[],
  unit: 'A' | 'VA',
): Derivation {
  const left = Math.max(0, numberIn(bound, unit) - passed.reduce((sum, part) => sum + numberIn(part, unit), 0));
  if (numberIn(demand, unit) <= left) return demand;
  return derive(demand.name, left, unit, {
    ...(demand.symbol ? { symbol: demand.symbol } : {}),
    formula: 'max(0, limit − loads passed through)',
    inputs: [{ ...bound, symbol: 'limit' }, ...passed],
    ...(demand.subject ? { subject: demand.subject } : {}),
    governing: [{ kind: 'bound', bound: 'inputSetting', subject: charger.name, lessPassed: true }],
  });
}
