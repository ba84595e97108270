import { type Derivation, type Source, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { type Quantity, formatPair } from '../../quantity/index.js';
import { acFlow } from '../../quantities/flow.js';

export const PRACTICE: Source = { standard: 'common practice, no source', provenance: 'common practice, no source' };

/** Two derived quantities as texts that visibly differ. */
export function pairText(left: Derivation, right: Derivation): readonly [string, string] {
  const plain = ({ value }: Derivation): Quantity => {
    const { unit: _unit, ...rest } = value as Quantity;
    return rest;
  };
  return formatPair(plain(left), plain(right));
}

/** A set point rounded down to a step chargers can be set to. */
export const roundDown = (value: number, step: number): number =>
  Number((Math.floor(value / step + 1e-9) * step).toFixed(3));
export const roundUp = (value: number, step: number): number =>
  Number((Math.ceil(value / step - 1e-9) * step).toFixed(3));

/** `with Genset running` and the like, from the governing corner of a derivation. */
export const governedBy = (derivation: Derivation): string => (derivation.governing ? `, ${derivation.governing}` : '');

/** Something in the path of a current that limits it. */
export interface PathLimit {
  readonly current: Derivation;
  /** `breaker Main`, `outlet L14-30 of Genset`. */
  readonly title: string;
}

/** The AC runs that carry the input current of a charger from a source in any state, in no particular order. */
export function runsTo(charger: Instance, terminal: string, context: DesignContext): Run[] {
  const key = `${charger.name}.${terminal}`;
  return context.system.runs.filter(
    (run) =>
      run.carries === 'ac' &&
      context.circuitStates.some(({ circuit }) => acFlow(run, circuit, context)?.nodes.has(key) ?? false),
  );
}

/** What limits the current between a source and a charger: devices, receptacles and plugs in the path, the outlet and breaker of the source. */
export function pathLimits(charger: Instance, source: Instance, terminal: string, context: DesignContext): PathLimit[] {
  const limits: PathLimit[] = [];
  const add = (owner: Instance, property: string, title: string): void => {
    const current = context.maybe(owner, property);
    if (current) limits.push({ current, title });
  };
  const plugOf = (owner: Instance, property: string, title: string): void => {
    const value = owner.properties.get(property)?.value;
    if (value?.type !== 'part') return;
    const rating = value.part.properties.get('rating')?.value;
    if (rating?.type === 'quantity')
      limits.push({
        current: {
          name: `rating of ${value.part.name}`,
          value: rating.quantity,
          unit: 'A',
          origin: 'stated',
          inputs: [],
          notes: [],
          parts: {},
        },
        title: `${title} ${value.part.name}`,
      });
  };
  for (const run of runsTo(charger, terminal, context)) {
    for (const { instance } of [run.from, ...run.through, ...run.to]) {
      if (['breaker', 'fuse', 'receptacle', 'transfer', 'switch'].includes(instance.kind))
        add(instance, 'rating', `${instance.kind} ${instance.name}`);
      if (instance.kind === 'receptacle') plugOf(instance, 'plug', `${instance.name}, a`);
    }
  }
  if (source.kind === 'generator') add(source, 'breaker', `the breaker of ${source.name}`);
  if (source.kind !== 'generator') add(source, 'rating', `the service of ${source.name}`);
  plugOf(source, 'outlet', `the outlet of ${source.name},`);
  plugOf(charger, 'plug', `the plug of ${charger.name},`);
  return limits.sort((a, b) => numberIn(a.current, 'A') - numberIn(b.current, 'A'));
}
