import { type KindName, type KindQuestion, kindsThat } from '../equipment/index.js';
import type { QuantityName } from '../model/quantity-names.js';
import type { Derivation, Result } from '../derivation/index.js';
import type { SourceState } from '../model/network.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Thing } from '../model/types.js';

/** Quantities see what checks see. */
export type QuantityContext = DesignContext;

/** One computed quantity of a kind: a function of the language with the design's values filled in. */
export interface QuantityDefinition {
  readonly name: QuantityName;
  readonly kinds: readonly KindName[];
  /** One sentence for hovers and the reference page. */
  readonly doc: string;
  /** Unit symbol in which machine-readable output gives it. */
  readonly unit: string;
  /**
   * Whether the value is the most (or the least) over all states and corners, so that on site less (or more) is measured as well; it is
   * the value itself when not said.
   */
  readonly bound?: 'most' | 'least';
  /** Whether it is listed for this thing; for all of its kinds when not said. */
  readonly isListedFor?: (thing: Thing, context: QuantityContext) => boolean;
  readonly compute: (thing: Thing, context: QuantityContext) => Result;
}

/** The thing as an instance, for quantities whose kinds are kinds of instances. */
export const instance = (thing: Thing): Instance => thing as Instance;

/** A quantity says whose it is: of kinds by name where no instance is meant (`run`), else of every kind that may do what one of `of` asks. */
type DeclaredQuantity = Omit<QuantityDefinition, 'kinds'> &
  ({ readonly kinds: readonly KindName[] } | { readonly of: readonly KindQuestion[] });

export function defineQuantity(declared: DeclaredQuantity): QuantityDefinition {
  if ('kinds' in declared) return declared;
  const { of, ...rest } = declared;
  return { ...rest, kinds: kindsThat(...of) };
}

/** The unfavourable one of several known values of one quantity, one for each state; what is missing if any lacks a fact. */
export interface InState {
  readonly state: SourceState;
  readonly result: Result;
}

export const isKnown = (result: Result): result is { kind: 'known'; derivation: Derivation } => result.kind === 'known';
