import type { Derivation, Place, Source } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import type { Curve, Proof } from '../proof/index.js';
import type { Played } from '../simulate/types.js';
import type { ConductorWay } from './conductors/ways.js';

export type Severity = 'error' | 'warning' | 'info';

/** One change of text: what stands at `place` becomes `text`. An empty place inserts. */
export interface TextEdit {
  readonly place: Place;
  readonly text: string;
  /** The properties of things that it gives, for what a variant of a design in another file says in its own. */
  readonly gives?: readonly { readonly thing: string; readonly property: string; readonly text: string }[];
}

/** A change of text. `safe` only when the meaning of the design cannot change; the command line applies safe fixes by itself. */
export interface Fix {
  readonly title: string;
  readonly safe: boolean;
  /** The one to apply first when there are several. */
  readonly preferred?: boolean;
  readonly edits: readonly TextEdit[];
  /** Other findings that it ends as well, where it has been tried. */
  readonly clears?: readonly { readonly check: string; readonly subject: string }[];
}

/** A way in which a check says that something could be mended: the edits themselves, or what `propose` makes them of. */
export type Way = Fix | ConductorWay;

export interface RelatedPlace {
  readonly place: Place;
  readonly text: string;
}

/** One step of the way that shows a fault of rules: what happens, and how things stand then, by signal or thing. */
export interface TraceStep {
  readonly event: string;
  readonly state: Readonly<Record<string, string>>;
}

/**
 * How much of a limit a subject uses: what counts, what it is held to, and on which side it must stay. Margins are read from it wherever
 * they are shown, of what holds as of what does not.
 */
export interface Use {
  readonly value: Derivation;
  readonly limit: Derivation;
  readonly sense: 'at-most' | 'at-least';
}

/** Said by a check that compares no number with another: a thing fits or does not, is there or is missing. */
export const NO_LIMIT = 'no-limit';

/** Required of every verdict, so that a check which forgets it does not compile. */
export type UseOfLimit = Use | typeof NO_LIMIT;

/** What counts must stay at or below its limit. */
export const atMost = (value: Derivation, limit: Derivation): Use => ({ value, limit, sense: 'at-most' });

/** What counts must reach its limit. */
export const atLeast = (value: Derivation, limit: Derivation): Use => ({ value, limit, sense: 'at-least' });

/** What a check says of one subject. */
export type Verdict = Failed | Passed | NotChecked;

export interface Failed {
  readonly verdict: 'failed';
  /** Path of the thing it is about: `RidgeStation.RectFeed`. */
  readonly subject: string;
  readonly place: Place;
  /** One sentence without a full stop, at most 100 characters: the subject, its value, its limit. No rule, no advice. */
  readonly headline: string;
  /** How the value comes about: the terms, the corner and the state that govern. With the headline at most 200 characters. */
  readonly why?: string;
  /** The table or clause that gives the limit, where it is narrower than the sources of the check. */
  readonly rule?: string;
  /** Values that were not stated and count, beyond those that the numbers rest on. */
  readonly assumes?: readonly string[];
  /** What comes of it, in a clause, where that is worth one. */
  readonly consequence?: string;
  /** What to do where no change can be worked out; told only when none is offered. */
  readonly advice?: string;
  readonly use: UseOfLimit;
  /** Overrides the severity of the check, for example because a value is from memory. */
  readonly severity?: Severity;
  readonly related?: readonly RelatedPlace[];
  /** The shortest way of states that shows it. */
  readonly trace?: readonly TraceStep[];
  /** What a bank did in the week that shows it. */
  readonly curve?: Curve;
  /** The quantities that decided, by name. */
  readonly numbers?: Readonly<Record<string, Derivation>>;
  /** Ways of mending it. Nobody sees them before `propose` has tried them on the whole design. */
  readonly fixes?: readonly Way[];
  /** Sources beyond those of the check itself, for example the table row that was read. */
  readonly sources?: readonly Source[];
}

export interface Passed {
  readonly verdict: 'passed';
  readonly subject: string;
  readonly use: UseOfLimit;
  readonly numbers?: Readonly<Record<string, Derivation>>;
}

export interface NotChecked {
  readonly verdict: 'not-checked';
  readonly subject: string;
  readonly place: Place;
  /** The facts that lack, in words a designer can act on: `length of Feed`. */
  readonly missing: readonly string[];
  /** No fact lacks: a calculation does not hold for these values, and `missing` says why. */
  readonly isRefused?: boolean;
  /** Only the marking of terminals is asked for: no change makes it worse, and reading it answers it. */
  readonly isOfMarking?: boolean;
}

/** A requirement of a design with its outcome. `holds` is undefined when it could not be decided. */
export interface RequirementResult {
  readonly design: string;
  readonly scenario?: string;
  readonly text: string;
  readonly reason?: string;
  readonly holds?: boolean;
  readonly left?: Derivation;
  readonly right?: Derivation;
  /** The comparison that decides it, where it consists of such. */
  readonly use?: Use;
  /** The left side and the sign of a single comparison, as they are written. */
  readonly compared?: { readonly left: string; readonly sign: string };
  /** Why it could not be decided. */
  readonly undecided?: string;
  /** Set when the facts lack that decide it. */
  readonly missing?: readonly string[];
  /** Set while the scenario it belongs to has not been played. */
  readonly isWaiting?: boolean;
  /** Set when a fault in its text, reported by itself, keeps it from being decided. */
  readonly isFaulty?: boolean;
  readonly place: Place;
}

/** The documentation of a check: the catalogue page, `explain`, the SARIF rule and the tests of both examples come from here. */
export interface CheckDocs {
  /** What is wrong, in one sentence that starts with a capital letter. */
  readonly finds: string;
  /** What it protects from. */
  readonly guards: string;
  /** How it is worked out, with thresholds and whether they are a rule of thumb; in `points` where one paragraph would be long. */
  readonly how: string;
  /** What to change so that it passes, in a sentence. */
  readonly fix: string;
  readonly sources: readonly Source[];
  /** A design that gives exactly one finding of this check. Everything needed is in it; other checks may be silent or not. */
  readonly failing: string;
  /** The same design put right: no finding of this check. */
  readonly passing: string;
}

/** Prose as a sentence that leads and a point for each case after it: nobody finds the one that matters to them in one long paragraph. */
export const points = (lead: string, ...each: readonly string[]): string =>
  [lead, ...(each.length > 0 ? [each.map((one) => `- ${one}`).join('\n')] : [])].join('\n\n');

/** One check of a design. One file each; see DEVELOPERS.md, life of a check. */
export interface Check {
  readonly id: string;
  /** The id it had before, which `accept`, `explain` and the project file still understand. */
  readonly formerly?: string;
  readonly group: CheckGroup;
  readonly severity: Severity;
  readonly since: string;
  readonly docs: CheckDocs;
  /** Yields a verdict for each subject it can speak about. Must be pure, and finish quickly: it runs on every keystroke. */
  readonly judge: (context: DesignContext, requirements: readonly RequirementResult[]) => Iterable<Verdict>;
  /**
   * For what only time shows: verdicts on a played scenario. Asked once for each scenario after it was played, never at a keystroke.
   * Places are those of `scenario` and of the context; `played` may come from an earlier play of the same content.
   */
  readonly judgePlayed?: (context: DesignContext, scenario: Scenario, played: Played) => Iterable<Verdict>;
  /** For what only playing the rules shows: verdicts on their proof. Asked behind everything else, never at a keystroke. */
  readonly judgeProof?: (context: DesignContext, proof: Proof) => Iterable<Verdict>;
}

export const CHECK_GROUPS = {
  text: 'Text and meaning',
  conductors: 'Conductors, terminations, protection',
  sources: 'Sources and converters',
  storage: 'Storage',
  control: 'Control rules and links',
  requirements: 'Requirements, scenarios and readings',
} as const;

export type CheckGroup = keyof typeof CHECK_GROUPS;

export const defineCheck = (check: Check): Check => check;
