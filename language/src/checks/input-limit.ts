import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { isAcSource } from '../model/roles.js';
import type { Instance } from '../model/types.js';
import { limitsToSet, supplyTerminal } from '../quantities/supply/input-limit.js';
import type { Fix, TextEdit } from './define.js';
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

/** A limit on the input of a thing: in words (`Rect to 8 A`), and as a change. */
interface InputLimit {
  readonly text: string;
  readonly edit: TextEdit;
}

/** For the supply that asks for it alone where a thing has several, else for all. */
function inputLimit(
  thing: Instance,
  source: Instance | undefined,
  amperes: number,
  context: DesignContext,
): InputLimit {
  if (!source || !isAcSource(source) || !hasSupplies(thing, context))
    return { text: `${thing.name} to ${amperes} A`, edit: setProperty(thing, 'inputLimit', `${amperes} A`) };
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
  return {
    text: `${thing.name} to ${limit} A when fed from ${source.name}`,
    edit: setProperty(thing, 'inputLimitFrom', `{ ${all.join(', ')} }`),
  };
}

/** The change that limits the input of a thing. */
export function limitInput(
  thing: Instance,
  source: Instance | undefined,
  amperes: number,
  preferred: boolean,
  context: DesignContext,
): Fix {
  const { text, edit } = inputLimit(thing, source, amperes, context);
  return propose(`Limit the input of ${text}`, [edit], preferred);
}

/** The preferred change that limits the inputs of several things together. */
export function limitInputs(
  limits: readonly (readonly [thing: Instance, amperes: number])[],
  source: Instance | undefined,
  context: DesignContext,
): Fix {
  const all = limits.map(([thing, amperes]) => inputLimit(thing, source, amperes, context));
  const texts = all.map(({ text }) => text);
  return propose(
    `Limit the inputs of ${texts.slice(0, -1).join(', ')} and ${texts.at(-1)!}`,
    all.map(({ edit }) => edit),
    true,
  );
}

/** A change before others, none of which is the preferred one any more. */
export const beforeOthers = (first: Fix, others: readonly Fix[]): Fix[] => [
  first,
  ...others.map(({ preferred: _preferred, ...rest }) => rest),
];
