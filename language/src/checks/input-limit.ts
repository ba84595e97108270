import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { isAcSource } from '../model/roles.js';
import type { Instance } from '../model/types.js';
import { limitsToSet, supplyTerminal } from '../quantities/supply/input-limit.js';
import type { Fix } from './define.js';
import { propose, setProperty } from './fixes.js';

/** Whether a thing is fed through an inlet that takes one of several cords: then each supply may need a limit of its own. */
export function hasSupplies(thing: Instance, context: DesignContext): boolean {
  if (thing.properties.has('inputLimitFrom')) return true;
  const terminal = supplyTerminal(thing);
  const exclusive = new Set(context.graph.inlets.flatMap(({ cords }) => cords.flatMap(({ sources }) => sources)));
  if (terminal === undefined || exclusive.size === 0) return false;
  const feeders = context.circuitStates.flatMap(({ circuit }) => [
    ...(circuit.supply.get(`${thing.name}.${terminal}`) ?? []),
  ]);
  return new Set(feeders.filter((each) => isAcSource(each) && exclusive.has(each))).size > 1;
}

/** The change that limits the input of a thing: for the supply that asks for it alone where it has several, else for all. */
export function limitInput(
  thing: Instance,
  source: Instance | undefined,
  amperes: number,
  preferred: boolean,
  context: DesignContext,
): Fix {
  if (!source || !isAcSource(source) || !hasSupplies(thing, context))
    return propose(
      `Limit the input of ${thing.name} to ${amperes} A`,
      [setProperty(thing, 'inputLimit', `${amperes} A`)],
      preferred,
    );
  // One limit for everything on the way: what clears this finding clears the others of the same supply.
  const toSet = limitsToSet(thing, context).find((each) => each.source === source)?.result;
  const most = toSet?.kind === 'known' ? Math.floor(numberIn(toSet.derivation, 'A') * 10 + 1e-6) / 10 : amperes;
  const limit = most >= 1 ? Math.min(amperes, most) : amperes;
  const stated = thing.properties.get('inputLimitFrom')?.value;
  const rows = stated?.type === 'bySupply' ? stated.rows.filter(({ supply }) => supply !== source.name) : [];
  const all = [
    ...rows.map(({ supply, text, isAssumed }) => `${supply}: ${isAssumed ? 'assumed ' : ''}${text}`),
    `${source.name}: ${limit} A`,
  ];
  return propose(
    `Limit the input of ${thing.name} to ${limit} A when fed from ${source.name}`,
    [setProperty(thing, 'inputLimitFrom', `{ ${all.join(', ')} }`)],
    preferred,
  );
}

/** A change before others, none of which is the preferred one any more. */
export const beforeOthers = (first: Fix, others: readonly Fix[]): Fix[] => [
  first,
  ...others.map(({ preferred: _preferred, ...rest }) => rest),
];
