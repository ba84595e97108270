import type { RelatedPlace, RequirementResult, Severity, TraceStep, Use, Way } from '../checks/define.js';
import type { Derivation, Place, Result, Source } from '../derivation/index.js';
import type { Expression } from '../grammar/generated/ast.js';
import type { DesignContext } from '../model/context.js';
import type { Scenario, System } from '../model/types.js';
import type { ReadingResult } from '../quantities/readings/readings.js';
import type { OutcomeResult } from './outcomes.js';
import type { Curve } from '../proof/index.js';
import type { Played } from '../simulate/index.js';
import type { PlayableRuns } from './scenarios.js';

/** What a finding is about, wherever it has moved. */
export interface FindingKey {
  readonly check: string;
  readonly subject: string;
}

/** A thing that passed a check, and what it uses of its limit; without that, no number is held against another. */
export interface PassedVerdict extends FindingKey {
  readonly use?: Use;
}

/** A thing that passed a check within a limit. */
export interface Margin extends PassedVerdict {
  readonly use: Use;
}

/** One finding, ready for any face: editor, command line, report. */
export interface Finding {
  readonly check: string;
  readonly severity: Severity;
  readonly place: Place;
  readonly subject: string;
  /** One sentence without a full stop: the subject, its value, its limit. */
  readonly headline: string;
  /** How the value comes about. */
  readonly why?: string;
  /** The table or clause that gives the limit; where a check names none, its sources stand for it. */
  readonly rule?: string;
  /** Values that were not stated and count. */
  readonly assumes: readonly string[];
  readonly consequence?: string;
  /** What to do where no change is offered. */
  readonly advice?: string;
  /** What it uses of its limit; absent where no number is held against another. */
  readonly use?: Use;
  /** The finding that leads where several have one cause. */
  readonly cause?: FindingKey;
  /** The id its check had before. */
  readonly formerly?: string;
  /** Headline and reason as one text, for readers that know no fields. */
  readonly message: string;
  readonly numbers: Readonly<Record<string, Derivation>>;
  readonly sources: readonly Source[];
  readonly related: readonly RelatedPlace[];
  /** The shortest way of states that shows it, for faults of rules. */
  readonly trace?: readonly TraceStep[];
  /** What a bank did in the week of play that shows it. */
  readonly curve?: Curve;
  /** Ways in which its check says that it could be mended. Untried: `propose` makes changes of them and tries each before it is offered. */
  readonly ways: readonly Way[];
  /** The variant that it is found in; absent for what holds of a design itself. */
  readonly variant?: string;
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
  /** Only the marking of terminals is asked for. */
  readonly isOfMarking?: boolean;
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
  /** What is found in variants and in their base alike: same check, same thing, same numbers. `findings` says it of the base alone. */
  readonly repeated: readonly Finding[];
  readonly requirements: readonly RequirementResult[];
  /** What was measured on site, beside what the design predicts. */
  readonly readings: readonly ReadingResult[];
  /** What really came of the times that scenarios play, beside what playing gives. */
  readonly outcomes: readonly OutcomeResult[];
  readonly questions: readonly OpenQuestion[];
  readonly designs: readonly AnalysedDesign[];
  /** How many checks failed and were left open, over all subjects. */
  readonly counts: { readonly failed: number; readonly notChecked: number };
  /** What passed, design by design: without scenarios first, then with them. */
  readonly passed: readonly PassedVerdict[];
  /** What holds, and how much of its limit it uses, where it has one. */
  readonly margins: readonly Margin[];
  /** What came of the scenarios that were played. */
  readonly scenarios: readonly PlayedScenario[];
  /** Scenarios and rules that wait for being played; absent when none does. */
  readonly unplayed?: UnplayedScenarios;
}

export interface PlayedScenario {
  readonly design: string;
  readonly scenario: Scenario;
  readonly played: Played;
}

/** Scenarios whose requirements are undecided, and rules that are unproven, until they are played. */
export interface UnplayedScenarios {
  readonly count: number;
  /** The whole analysis when the cache has every result, at once; undefined when something must be played. */
  readonly kept: () => Analysis | undefined;
  /**
   * Plays them one after the other. Yields now and then with the share that is done (0 to 1), so that its caller can do other things
   * in between, or leave off for good. Gives the whole analysis at the end. With `isAsked` only some scenarios are played, and no rules; the others go on waiting.
   */
  readonly play: (isAsked?: (design: string, scenario: string) => boolean) => Generator<number, Analysis>;
  /**
   * The runs of a scenario one by one, for whoever plays some of them beside another; undefined where there is none that can be played.
   * `alive` is called now and then while one is played.
   */
  readonly runsOf: (design: string, scenario: string, alive: () => void) => PlayableRuns | undefined;
}

export type { RequirementResult };
