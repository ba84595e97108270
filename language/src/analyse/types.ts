import type { Fix, RelatedPlace, RequirementResult, Severity, TraceStep } from '../checks/define.js';
import type { Derivation, Place, Result, Source } from '../derivation/index.js';
import type { Expression } from '../grammar/generated/ast.js';
import type { DesignContext } from '../model/context.js';
import type { System } from '../model/types.js';

/** One finding, ready for any face: editor, command line, report. */
export interface Finding {
  readonly check: string;
  readonly severity: Severity;
  readonly place: Place;
  readonly subject: string;
  readonly message: string;
  readonly numbers: Readonly<Record<string, Derivation>>;
  readonly sources: readonly Source[];
  readonly related: readonly RelatedPlace[];
  readonly fixes: readonly Fix[];
  /** The shortest way of states that shows it, for faults of rules. */
  readonly trace?: readonly TraceStep[];
  /** Set when an `accept` of the design silences it; accepted findings are listed but count for nothing. */
  readonly accepted?: { readonly reason: string; readonly until?: string };
}

/** What a check had to leave open, for the list of questions. */
export interface OpenQuestion {
  readonly check: string;
  readonly subject: string;
  readonly place: Place;
  readonly missing: readonly string[];
  /** No fact lacks: a calculation does not hold for these values, and `missing` says why. */
  readonly isRefused?: boolean;
}

/** One design (or variant) with its calculations. */
export interface AnalysedDesign {
  readonly system: System;
  readonly context: DesignContext;
  /** Works out an expression node of this design, with its computed quantities at hand. */
  readonly evaluate: (node: Expression) => Result;
}

/** Everything there is to say about one file. */
export interface Analysis {
  readonly uri: string;
  readonly findings: readonly Finding[];
  readonly requirements: readonly RequirementResult[];
  readonly questions: readonly OpenQuestion[];
  readonly designs: readonly AnalysedDesign[];
  /** How many checks passed, failed and were left open, over all subjects. */
  readonly counts: { readonly passed: number; readonly failed: number; readonly notChecked: number };
}

export type { RequirementResult };
