import { type Result, known, missing, refused } from '../derivation/index.js';
import type { DesignContext, Query } from '../model/context.js';
import { Graph } from '../model/graph.js';
import { kindOf, propertyOf } from '../equipment/index.js';
import { derivationOfProperty } from '../model/lower/property-facts.js';
import { circuitState, sourceStates } from '../model/network.js';
import type { Part, Property, System, Thing } from '../model/types.js';
import { type Keeping, type Watch, madeOnce } from '../model/watch.js';
import { DimensionMismatch, NotFinite } from '../quantity/index.js';
import { quantitiesOf, findQuantity } from './index.js';

/** Values so large or small that there is no finite result, and dimensions that do not go together, refuse instead of throwing. */
export function finite(compute: () => Result, what: string): Result {
  try {
    return compute();
  } catch (error) {
    if (error instanceof NotFinite) return refused(`${what} has no finite value with these facts`);
    if (error instanceof DimensionMismatch) return refused(`${what}: ${error.message}`);
    throw error;
  }
}

const inner = <K, L, V>(outer: Map<K, Map<L, V>>, key: K): Map<L, V> => madeOnce(outer, key, () => new Map<L, V>());

/** Answers by a second key: objects are not held on to. */
interface ByFurther {
  readonly values: Keeping<unknown, unknown>;
  readonly objects: Keeping<unknown, unknown>;
}

/**
 * Makes the context of a design. Nothing is worked out before it is asked for, and nothing twice: with a `watch` again only where a
 * watched value that was looked at has changed.
 */
export function createContext(
  system: System,
  today: string,
  parts: (kind: string) => readonly Part[],
  watch?: Watch,
): DesignContext {
  const once = <K, V>(kept: Keeping<K, V>, key: K, make: () => V): V => madeOnce(kept, key, make, watch);
  const graph = new Graph(system);
  const states = sourceStates(system, graph);
  const circuitStates = states.map((state) => ({ state, circuit: circuitState(system, graph, state) }));
  const byState = new Map(circuitStates.map(({ state, circuit }) => [state, circuit]));
  const byName = new Map(system.instances.map((instance) => [instance.name, instance]));
  const results = new Map<Thing, Map<string, Result>>();
  const busy = new Set<string>();

  const facts = new Map<ReadonlyMap<string, Property>, Map<string, Result>>();
  const answers = new Map<object, Map<unknown, unknown>>();
  const partsByKind = new Map<string, readonly Part[]>();

  const factOf = (properties: ReadonlyMap<string, Property>, name: string, owner: string): Result =>
    once(inner(facts, properties), name, () => {
      const property = properties.get(name);
      const derivation = property && derivationOfProperty(property, owner);
      return derivation ? known(derivation) : missing(`${name} of ${owner}`);
    });

  const quantity = (thing: Thing, name: string): Result => {
    const own = inner(results, thing);
    const kept = own.get(name);
    if (kept) {
      watch?.reuse(own, name);
      return kept;
    }
    const definition = findQuantity(thing.kind, name);
    if (!definition) return refused(`a ${thing.kind} has no computed quantity \`${name}\``);
    const key = `${thing.path} ${name}`;
    if (busy.has(key)) return refused(`${name} of ${thing.name} rests on itself`);
    return once(own, name, () => {
      busy.add(key);
      try {
        return finite(() => definition.compute(thing, context), `${name} of ${thing.name}`);
      } finally {
        busy.delete(key);
      }
    });
  };

  const context: DesignContext = {
    system,
    today,
    states,
    graph,
    circuitStates,
    inState: (state) => byState.get(state)!,
    quantity,
    quantityNames: (thing) =>
      quantitiesOf(thing.kind).flatMap(({ name, isListedFor }) =>
        !isListedFor || isListedFor(thing, context) ? [name] : [],
      ),
    fact: (thing, name) => {
      const result = factOf(thing.properties, name, thing.name);
      return result.kind === 'missing' && !propertyOf(thing.kind, name)
        ? refused(`${kindOf(thing.kind) ? `a ${thing.kind}` : thing.name} has no property \`${name}\``)
        : result;
    },
    maybe: (thing, name) => {
      const result = factOf(thing.properties, name, thing.name);
      return result.kind === 'known' ? result.derivation : undefined;
    },
    siteFact: (name) => {
      const result = factOf(system.site.properties, name, 'the site');
      return result.kind === 'known' ? result.derivation : undefined;
    },
    setting: (name) => {
      const result = factOf(system.settings, name, system.name);
      return result.kind === 'known' ? result.derivation : undefined;
    },
    kept: <K, V>(asked: Query<K, V>, key: K, make: () => V): V => {
      const own = inner(answers, asked) as Map<K, { readonly answer: V }>;
      return once(own, key, () => ({ answer: make() })).answer;
    },
    keptFor: <K, L, V>(asked: Query<readonly [K, L], V>, key: K, further: L, make: () => V): V => {
      const both = inner(answers, asked) as Map<K, ByFurther>;
      const { values, objects } = madeOnce(both, key, () => ({
        values: new Map(),
        objects: new WeakMap<object, unknown>() as Keeping<unknown, unknown>,
      }));
      const own = typeof further === 'object' && further !== null ? objects : values;
      return once(own as Keeping<L, { readonly answer: V }>, further, () => ({ answer: make() })).answer;
    },
    instance: (name) => byName.get(name),
    parts: (kind) => madeOnce(partsByKind, kind, () => parts(kind)),
    ...(watch ? { watch } : {}),
  };
  return context;
}
