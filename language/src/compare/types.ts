import type { Severity } from '../checks/define.js';
import type { Derivation, Origin, Place } from '../derivation/index.js';
import type { Analysis } from '../analyse/types.js';

/** What a change does, the worst first. */
export const CLASSES = ['fails', 'less', 'runs', 'trust', 'better', 'edits'] as const;

export type DiffClass = (typeof CLASSES)[number];

/** A value as one side states it. */
export interface Stated {
  /** As written, or of a default as the kind documents it. */
  readonly text: string;
  readonly origin: 'stated' | 'assumed' | 'default';
  readonly place?: Place;
}

export type EditKind =
  | 'value'
  | 'part'
  | 'added'
  | 'removed'
  | 'renamed'
  | 'replaced'
  | 'wiring'
  | 'rule'
  | 'basis'
  | 'requirement'
  | 'accept'
  | 'reading'
  | 'scenario';

/** One change of one property of a thing that got another part. */
export interface PropertyChange {
  readonly property: string;
  readonly before?: Stated;
  readonly after?: Stated;
}

/** One edit of a design, by meaning: what a reviewer would call one change. */
export interface DesignEdit {
  /** `e1`, in the order of the design. */
  readonly id: string;
  readonly kind: EditKind;
  /** The thing by its name after the change; of what is removed, its name before. */
  readonly subject: string;
  /** The property or what was changed of the thing: `currentLimit`, `start when soc(Bank) <`. */
  readonly property?: string;
  readonly before?: Stated;
  readonly after?: Stated;
  /** Of another part: what it changes. */
  readonly properties: readonly PropertyChange[];
  /** Whether a scenario may play otherwise for it. */
  readonly isPlayed: boolean;
  readonly place?: Place;
}

/** One number of a check held against its limit: `use` is the share of what is allowed. */
export interface LoadUse {
  readonly check: string;
  /** Name of the thing that it is of: the run, or the device where the rating of one is the limit. */
  readonly thing: string;
  /** What is held against what, in the trade's words: `ampacity`. */
  readonly label: string;
  readonly demand: Derivation;
  readonly capacity: Derivation;
  readonly use: number;
  /** Whether what is held against the limit is itself a share, shown in percent. */
  readonly isShare?: true;
  /** Whether it is a choice among ratings rather than a load, so that it is no margin. */
  readonly isChoice?: true;
  readonly place?: Place;
}

/** A number on both sides, as people read it. */
export interface Pair {
  readonly before: string;
  readonly after: string;
}

export interface LineBase {
  readonly class: DiffClass;
  /** The thing it is of, by name; the design's own name for what is of all of it. */
  readonly subject: string;
  /** Ids of the edits that moved it; where another part did, with its property: `e2/rated`. */
  readonly causes: readonly string[];
  /** Whether any one of the causes may have moved it: plays have no derivation. */
  readonly isAnyOf?: boolean;
  readonly place?: Place;
  /** What else holds of the same thing, folded under it. */
  readonly also: readonly Line[];
  /** Variants in which the same is new, with the numbers there. */
  readonly variants: readonly { readonly name: string; readonly values?: Pair }[];
}

/** One line of a review, as data; its words are the face's. */
export type Line = LineBase &
  (
    | {
        readonly kind: 'requirement';
        readonly text: string;
        readonly scenario?: string;
        readonly before?: string;
        readonly after?: string;
        readonly limit?: string;
        readonly use?: readonly [before: number, after: number];
        readonly outcome: readonly [before: RequirementOutcome | 'none', after: RequirementOutcome];
      }
    | {
        readonly kind: 'finding';
        readonly check: string;
        readonly severity: Severity;
        readonly change: 'new' | 'gone' | 'worse' | 'better';
        readonly headline: string;
        readonly message: string;
        readonly fixes: readonly string[];
        readonly values?: Pair;
        readonly limit?: string;
      }
    | {
        readonly kind: 'margin';
        readonly check: string;
        readonly label: string;
        readonly values: Pair;
        readonly limits: Pair;
        readonly use: readonly [before: number, after: number];
      }
    | { readonly kind: 'unchecked'; readonly checks: readonly string[]; readonly missing: readonly string[] }
    | { readonly kind: 'checked'; readonly checks: readonly string[] }
    | {
        readonly kind: 'total';
        readonly scenario: string;
        readonly what: TotalKind;
        readonly values: Pair;
      }
    | { readonly kind: 'unreadable'; readonly side: 'before' | 'after'; readonly reason: string }
    | { readonly kind: 'gone'; readonly what: 'design' | 'requirement' | 'scenario' | 'reading'; readonly text: string }
    | { readonly kind: 'looser'; readonly text: string; readonly before: string }
    | { readonly kind: 'origin'; readonly property: string; readonly before: Stated; readonly after: Stated }
    | {
        readonly kind: 'accept';
        readonly check: string;
        readonly change: 'new' | 'gone' | 'longer' | 'changed';
        readonly reason?: string;
        readonly until?: string;
      }
    | { readonly kind: 'reading'; readonly date?: string; readonly property: string }
    | { readonly kind: 'basis'; readonly values: Pair }
  );

export type LineOf<K extends Line['kind']> = Extract<Line, { readonly kind: K }>;

export type RequirementOutcome = 'holds' | 'fails' | 'open';

export type TotalKind =
  | 'shed'
  | 'unserved'
  | 'curtailed'
  | 'quietStarts'
  | 'starts'
  | 'runTime'
  | 'fuel'
  | 'outOfFuel'
  | 'lowestCharge'
  | 'trips'
  | 'notPlayed';

/** A computed quantity that reads otherwise. */
export interface QuantityChange {
  /** `GenCord.voltageDrop`, with the name after the change. */
  readonly path: string;
  readonly before: Derivation;
  readonly after: Derivation;
  readonly causes: readonly string[];
}

/** Price or mass of all parts of a design that state one. */
export interface Total {
  readonly what: 'price' | 'mass';
  readonly unit: string;
  readonly before: number;
  readonly after: number;
  /** Things that state none, on each side. */
  readonly without: readonly [before: number, after: number];
}

export interface DesignDiff {
  readonly name: string;
  /** The name it had, where that was another. */
  readonly formerName?: string;
  /** Path of its file on the side after, else before, as the address of the document. */
  readonly uri: string;
  /** Where its file was before, where that was another place. */
  readonly formerUri?: string;
  readonly status: 'same' | 'changed' | 'added' | 'removed' | 'unreadable';
  readonly basis: { readonly before?: string; readonly after?: string };
  readonly edits: readonly DesignEdit[];
  /** Ranked, the worst first; what is folded stands under the line of its thing. */
  readonly lines: readonly Line[];
  readonly findings: { readonly new: number; readonly gone: number; readonly same: number };
  readonly checked: readonly [before: number, after: number];
  readonly open: readonly [before: number, after: number];
  readonly quantities: readonly QuantityChange[];
  readonly totals: readonly Total[];
  /** Variants of the design that were compared with it. */
  readonly variants: readonly string[];
  readonly worst: DiffClass | undefined;
}

/** Something that a project file says otherwise than before. */
export interface SettingChange {
  readonly class: 'trust' | 'edits';
  /** Address of the project file. */
  readonly uri: string;
  /** `severity of run-ampacity`, `left out`. */
  readonly setting: string;
  readonly before?: string;
  readonly after?: string;
}

export interface RevisionDiff {
  /** Those that are not the same in meaning. */
  readonly designs: readonly DesignDiff[];
  /** What is found in files outside of any design, such as data sheets, on one side only. */
  readonly texts: readonly LineOf<'finding'>[];
  /** What project files say otherwise. Findings of both sides are as grave as the side before has it. */
  readonly settings: readonly SettingChange[];
  readonly summary: Readonly<Record<DiffClass, number>>;
  readonly worst: DiffClass | undefined;
}

/** One side of a comparison: the files that hold designs, analysed with their scenarios played. */
export interface RevisionSide {
  readonly files: readonly ReadFile[];
}

export interface ReadFile {
  readonly uri: string;
  readonly analysis: Analysis;
  /** Why nothing of it can be compared: it holds syntax errors. */
  readonly unreadable?: string;
}

export type { Origin };
