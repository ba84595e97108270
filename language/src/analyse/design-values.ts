import type { DesignContext } from '../model/context.js';
import { type Evaluated, knownValue, pending } from '../model/lower/evaluated.js';
import type { DesignValues } from '../model/lower/lower.js';
import type { Thing } from '../model/types.js';
import { finite } from '../quantities/context.js';
import { DESIGN_FUNCTIONS } from '../quantities/design-functions.js';
import { quantitiesOf } from '../quantities/index.js';
import { terminalQuantity, terminalQuantityNames } from '../quantities/readings/terminals.js';

/** Values of a design for its expressions. */
export function designValues(context: DesignContext): DesignValues {
  const { system } = context;
  const things = new Map<string, Thing>(
    [...system.instances, ...system.runs, ...system.links, ...system.controls].map((thing) => [thing.name, thing]),
  );
  const quantity = (name: string, quantityName: string): Evaluated | undefined => {
    const thing = things.get(name);
    if (!thing) return undefined;
    // `Rect.dc.current`: the last step names the quantity, the terminal before it the side.
    const direct =
      context.quantityNames(thing).find((each) => each === quantityName) ?? terminalQuantity(thing.kind, quantityName);
    return direct ? fromResult(context.quantity(thing, direct)) : undefined;
  };
  return {
    quantity,
    call: (name, given) => {
      const definition = DESIGN_FUNCTIONS.get(name);
      const first = given[0]?.value;
      const thing = first?.kind === 'thing' ? things.get(first.name) : undefined;
      if (!definition || !thing) return undefined;
      const facts = given.slice(1).flatMap(({ value }) => (value.kind === 'pending' ? value.missing : []));
      if (facts.length > 0) return pending(undefined, ...facts);
      const rest = given
        .slice(1)
        .flatMap(({ name: argument, value }) =>
          value.kind === 'known' ? [{ ...(argument ? { name: argument } : {}), derivation: value.derivation }] : [],
        );
      return fromResult(finite(() => definition.compute(thing, rest, context), `${name}(${thing.name}, …)`));
    },
  };
}

/** Names of everything that is computed for a kind, as expressions write them. */
export const quantityNames = (kind: string): readonly string[] => [
  ...quantitiesOf(kind).map(({ name }) => name),
  ...terminalQuantityNames(kind),
];

/** A result as the value of an expression. */
export function fromResult(result: ReturnType<DesignContext['quantity']>): Evaluated {
  if (result.kind === 'known') return knownValue(result.derivation);
  return result.kind === 'missing' ? pending(undefined, ...result.missing) : { kind: 'bad', reason: result.reason };
}
