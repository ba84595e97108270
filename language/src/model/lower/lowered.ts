import type { AstNode, URI } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import type { VisibleDocuments } from '../../syntax/scope.js';
import type { Problem } from '../problems.js';
import type {
  Control,
  Instance,
  Link,
  Part,
  Practice,
  Requirement,
  Run,
  Scenario,
  StatedOutcome,
  System,
} from '../types.js';
import type { Surroundings } from './evaluate.js';
import type { Evaluated } from './evaluated.js';
import type { ScenarioValues } from './measures.js';

/** What the model needs of the language services. */
export interface LoweringServices {
  readonly visible: VisibleDocuments;
  /** Whether a file may be read: inside the workspace folder. */
  readonly mayUse: (from: URI, to: URI) => boolean;
  /** What would allow a file that may not be read; undefined where nothing but copying it does. */
  readonly howToAllow: (to: URI) => string | undefined;
  /** Why a file that may be read was not, where it is there. */
  readonly whyUnread: (uri: URI) => string | undefined;
  readonly isLoaded: (uri: URI) => boolean;
  /** The practice of designs that state none; the first of the language unless the project of the file says one. */
  readonly basis?: Practice;
  /** The doc comment before a node, without its marks. */
  readonly comment: (node: AstNode) => string | undefined;
  /** Whether another loaded file draws this one in. */
  readonly isUsed: (uri: URI) => boolean;
  /** Names of the quantities that are computed for a kind, those at a terminal included (`dc.current`). */
  readonly quantityNames: (kind: string) => readonly string[];
  /** Functions whose first argument is a thing of the design: `chargeTime`. */
  readonly designFunctions: readonly string[];
}

/** A design read from text: the immutable system, and how to work out its requirements once calculations exist. */
export interface LoweredDesign {
  readonly system: System;
  /** Works out an expression of this design; `values` gives properties and computed quantities by path. */
  readonly evaluate: (node: ast.Expression, values: DesignValues, report?: Surroundings['report']) => Evaluated;
  /** The condition of a requirement, or what was read of a scenario. */
  readonly conditionOf: (asked: Requirement | StatedOutcome) => ast.Expression | undefined;
  /** A variant that cannot be carried out as it stands: it is not the one that is meant, so that nothing is judged of it. */
  readonly isBroken: boolean;
  /** The `let` values of the design, for `calc`. */
  readonly lets: readonly ast.Let[];
}

/** Values that only the analysed design can give. */
export interface DesignValues {
  /** A computed quantity, or undefined when the thing has none of this name. */
  readonly quantity: (thing: string, name: string) => Evaluated | undefined;
  /** A function whose first argument is a thing: `chargeTime(Bank, 20 %, 90 %)`. */
  readonly call: (name: string, given: readonly { name?: string; value: Evaluated }[]) => Evaluated | undefined;
  /** The scenario whose requirement is worked out: its results, or what is noted of them before it is played. */
  readonly scenario?: ScenarioValues;
}

export interface LoweredFile {
  readonly uri: string;
  readonly problems: readonly Problem[];
  readonly designs: readonly LoweredDesign[];
  readonly parts: readonly Part[];
  /** The parts of a kind that this file can use, its own, those it draws in and the standard library's. */
  readonly partsOf: (kind: string) => readonly Part[];
}

/** A thing of a design that others speak of by name. */
export type Named = Instance | Run | Link | Control | Scenario;

export type Body = ast.Body | undefined;
