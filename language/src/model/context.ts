import type { QuantityName } from './quantity-names.js';
import type { PropertyName } from '../equipment/index.js';
import type { Derivation, Result } from '../derivation/index.js';
import type { Graph } from './graph.js';
import type { CircuitState, SourceState } from './network.js';
import type { Instance, Part, System, Thing } from './types.js';
import type { Watch } from './watch.js';

/** A question whose answers a design keeps: keys of type `K`, answers of type `V`. Compared by identity. */
export interface Query<K, V> {
  /** For reading in a debugger. */
  readonly title: string;
  /** Never set: it carries the types. */
  readonly types?: readonly [K, V];
}

export const query = <K, V>(title: string): Query<K, V> => ({ title });

/**
 * A design with its calculations: what checks, hovers, `calc` and requirements read. Every quantity is worked out at most once and
 * carries its derivation.
 */
export interface DesignContext {
  readonly system: System;
  /** Today as `YYYY-MM-DD`, given from outside so that the same input gives the same findings. */
  readonly today: string;
  /** The states the design can be in, in a fixed order; see network.ts. */
  readonly states: readonly SourceState[];
  /** What feeds what in one state. */
  readonly inState: (state: SourceState) => CircuitState;
  /** The wiring as nodes and segments. */
  readonly graph: Graph;
  readonly circuitStates: readonly { readonly state: SourceState; readonly circuit: CircuitState }[];
  /**
   * A computed quantity of a thing by name, such as `current` of a run or `usablePower` of a generator (the list is in
   * quantities/index.ts). Unknown names are refused.
   */
  readonly quantity: (thing: Thing, name: QuantityName) => Result;
  /** The names of the quantities that exist for a thing. */
  readonly quantityNames: (thing: Thing) => readonly QuantityName[];
  /** A property as a known value, or `missing` with a name a designer understands: `length of Feed`. */
  readonly fact: (thing: Thing, property: PropertyName) => Result;
  /** A property's derivation when it is there. */
  readonly maybe: (thing: Thing, property: PropertyName) => Derivation | undefined;
  /** A property of the site when it is stated. */
  readonly siteFact: (property: string) => Derivation | undefined;
  /** A setting of the design, such as `dcDropLimit`, when it is stated or has a default. */
  readonly setting: (property: string) => Derivation | undefined;
  /**
   * What is worked out once for this design and kept with it: the answer to a query for a key, made when it is first asked for. A query
   * is one object for the whole program; answers live and end with the design.
   */
  readonly kept: <K, V>(query: Query<K, V>, key: K, make: () => V) => V;
  /** The same for two keys together. An object as the second is not held on to. */
  readonly keptFor: <K, L, V>(query: Query<readonly [K, L], V>, key: K, further: L, make: () => V) => V;
  readonly instance: (name: string) => Instance | undefined;
  /** The parts of a kind that this design can use, those of the standard library included, in the order of their texts. */
  readonly parts: (kind: string) => readonly Part[];
  /** Notes what looks at values that are going to change; none where nothing changes. A design made of this one has it too. */
  readonly watch?: Watch;
}
