import type { Carries, InstanceKind, Terminal } from '../equipment/index.js';
import type { Derivation, Place } from '../derivation/index.js';
import type { Quantity } from '../quantity/index.js';
import type { Condition, Signal } from './conditions.js';

/** An alternating-current voltage system: `230 V`, `120/240 V` (split phase), `three 400 V`. Voltages in V. */
export interface AcSystem {
  readonly phases: 'single' | 'split' | 'three';
  /** Line to neutral for single phase and split phase (per leg); line to neutral for three-phase systems. */
  readonly lineToNeutral: number;
  /** Line to line; equals `lineToNeutral` for single phase. */
  readonly lineToLine: number;
  readonly text: string;
}

/** One row of a table such as `25 %: 1.8 L/h`. */
export interface TableRow {
  readonly key: Quantity;
  readonly value: Quantity;
}

/** One row of a table such as `Post30: 24 A`: what holds while that supply feeds. */
export interface SupplyRow {
  readonly supply: string;
  readonly quantity: Quantity;
  /** The value as written. */
  readonly text: string;
  readonly isAssumed: boolean;
  readonly place: Place;
}

/** One window of a daily profile: from and to in seconds after midnight, `share` of the load's power (ratio). */
export interface ProfileWindow {
  readonly from: number;
  readonly to: number;
  readonly share: Quantity;
}

/** The value of a property, checked against its type. */
export type PropertyValue =
  | { readonly type: 'quantity'; readonly quantity: Quantity }
  | { readonly type: 'word'; readonly word: string }
  | { readonly type: 'flag'; readonly flag: boolean }
  | { readonly type: 'text'; readonly text: string }
  | { readonly type: 'date'; readonly date: string }
  | { readonly type: 'system'; readonly system: AcSystem }
  | { readonly type: 'part'; readonly part: Part }
  | { readonly type: 'table'; readonly rows: readonly TableRow[] }
  | { readonly type: 'bySupply'; readonly rows: readonly SupplyRow[] }
  | { readonly type: 'profile'; readonly windows: readonly ProfileWindow[] }
  | { readonly type: 'words'; readonly words: readonly string[] }
  /**
   * Quiet hours in seconds after midnight (they may run over midnight), and the condition that overrides them: as written, and as
   * `exception`, which is absent where it cannot be read or rests on a missing fact (`missing`).
   */
  | {
      readonly type: 'quiet';
      readonly from: number;
      readonly to: number;
      readonly unless?: string;
      readonly exception?: Condition;
      readonly missing?: readonly string[];
    };

/** A property in force on a part or instance: its value and where the value came from. */
export interface Property {
  readonly name: string;
  readonly value: PropertyValue;
  /** `stated` in the design or a part, `assumed` by the designer, or the documented `default` of the kind. */
  readonly origin: 'stated' | 'assumed' | 'default';
  /** The part that states it, when it is inherited; undefined when the thing itself states it or it is a default. */
  readonly inheritedFrom?: string;
  /** Place of the value in the text; undefined for defaults. */
  readonly place?: Place;
  /** Place of the whole `name: value`. */
  readonly whole?: Place;
  /** Text of the value as written; the default's text for defaults. */
  readonly text: string;
  /** Why the default holds, or the doc comment of the property. */
  readonly note?: string;
}

/** A data sheet: kind, name and properties, inherited ones included. */
export interface Part {
  readonly kind: string;
  readonly name: string;
  readonly label?: string;
  readonly doc?: string;
  readonly library: boolean;
  /** The part it extends. */
  readonly base?: Part;
  readonly place: Place;
  readonly properties: ReadonlyMap<string, Property>;
  /** Properties that it or a base states, but wrongly, so that they have no value. */
  readonly wrong: readonly string[];
}

/** A hole `?`: a property the tool is asked to work out. */
export interface Hole {
  readonly property: string;
  readonly place: Place;
}

/** One thing placed in a design. */
export interface Instance {
  readonly kind: InstanceKind;
  readonly name: string;
  /** `RidgeStation.Genset`. */
  readonly path: string;
  readonly label?: string;
  readonly doc?: string;
  readonly part?: Part;
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly Hole[];
  readonly terminals: readonly Terminal[];
  /** Place of the name. */
  readonly place: Place;
  /** Place of the whole declaration. */
  readonly whole: Place;
  /** Where a new property can be written, and the text around it. */
  readonly insert: InsertionPoint;
}

/** How to add `name: value` to a thing: put `before + 'name: value' + after` at `place` (an empty stretch). */
export interface InsertionPoint {
  readonly place: Place;
  readonly before: string;
  readonly after: string;
}

/** One stop of a run: an instance, one of its terminals, and how far along the run it sits. */
export interface Stop {
  readonly instance: Instance;
  /** Undefined for gear the run passes through. */
  readonly terminal?: Terminal;
  /** Distance along the run from its first stop, in m. */
  readonly distance?: Derivation;
  readonly place: Place;
}

/** The conductors of one path: from a source end through gear in series to one or several far ends. */
export interface Run {
  readonly kind: 'run';
  readonly name: string;
  readonly path: string;
  readonly label?: string;
  readonly doc?: string;
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly Hole[];
  readonly from: Stop;
  /** Gear in series, in order from `from`. */
  readonly through: readonly Stop[];
  /** Far ends; more than one when the run feeds several loads. */
  readonly to: readonly Stop[];
  readonly carries: Carries;
  readonly place: Place;
  readonly whole: Place;
  readonly insert: InsertionPoint;
}

export interface Link {
  readonly kind: 'link';
  readonly name: string;
  readonly path: string;
  readonly label?: string;
  readonly doc?: string;
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly Hole[];
  readonly from: Instance;
  readonly to: Instance;
  readonly place: Place;
  readonly whole: Place;
  readonly insert: InsertionPoint;
}

/** What a control rule watches, when it is a comparison of one signal with a constant. */
export interface Threshold {
  /** `soc`, `voltage`, `current` or `power`. */
  readonly signal: string;
  readonly of: Instance;
  readonly comparison: '<' | '<=' | '>' | '>=';
  readonly limit: Quantity;
  readonly place: Place;
  /** Place of the limit alone, for fixes. */
  readonly limitPlace: Place;
}

export interface Rule {
  /** `start` and `on` switch on; `stop` and `off` switch off. */
  readonly verb: 'start' | 'stop' | 'on' | 'off';
  /** Comparisons joined by and/or that the condition consists of; empty when it is of another form. */
  readonly thresholds: readonly Threshold[];
  /** How the thresholds are joined when there are several. */
  readonly joined: 'and' | 'or' | 'single' | 'other';
  /** The whole condition. Absent where it cannot be read, which is reported, or where it rests on missing facts. */
  readonly condition?: Condition;
  /** Facts that lack for the condition, such as `continuous of Inv`. */
  readonly missing?: readonly string[];
  /** Dwell in s; 0 when none is stated. */
  readonly dwell: number;
  readonly text: string;
  readonly place: Place;
  /** An empty place after the condition, where `for …` can be written. */
  readonly afterCondition: Place;
}

/** What holds while a link is lost: its rules in place of the control's own, and its properties where it states them. */
export interface Fallback {
  readonly link: Link;
  readonly rules: readonly Rule[];
  /** Properties that it states itself; for all others those of the control hold. */
  readonly properties: ReadonlyMap<string, Property>;
  readonly place: Place;
}

export interface Control {
  readonly kind: 'control';
  readonly name: string;
  readonly path: string;
  readonly label?: string;
  readonly doc?: string;
  readonly target: Instance;
  readonly rules: readonly Rule[];
  readonly fallbacks: readonly Fallback[];
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly Hole[];
  readonly place: Place;
  readonly whole: Place;
  readonly insert: InsertionPoint;
}

/** A time span to be played. Times of spans count in s from its start. */
export interface Scenario {
  readonly kind: 'scenario';
  readonly name: string;
  readonly path: string;
  readonly label?: string;
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly Hole[];
  /** First day as `YYYY-MM-DD` where it is stated, and the time of day it starts at in s after midnight (00:00 unless stated). */
  readonly start: { readonly date?: string; readonly timeOfDay: number };
  /** In s; absent where it is not stated. */
  readonly duration?: number;
  /** What holds at the start: `soc(Bank): 90 %`. */
  readonly initial: readonly InitialValue[];
  /** Spans in which a source or a link is lost: `lost(Mains): 6 h .. 30 h`. */
  readonly absences: readonly Absence[];
  /** What is plugged into inlets that take one cord at a time: `plugged(Inlet): Post30`. */
  readonly plugged: readonly Plugged[];
  /** Tanks that are not simply filled whenever they are empty: `fuelLeft(Genset): 30 L`, `refilled(Genset): 10 d, 24 d`. */
  readonly tanks: readonly TankStatement[];
  /** Loads that run otherwise than the design says: `profile(Pump): always`. */
  readonly profiles: readonly ScenarioProfile[];
  /** Number of plays with other random numbers; 1 unless stated. */
  readonly runs: number;
  /** Seed of the random numbers; 1 unless stated. */
  readonly seed: number;
  /** What the sun does; absent where it is not stated. */
  readonly sun?: 'none' | 'clear' | 'months';
  readonly wind?: 'none' | 'months' | 'strong';
  /** Path of a weather file, as written. */
  readonly weather?: string;
  /** Facts that lack for what the scenario states itself: `capacity of Bank`. */
  readonly missing: readonly string[];
  /** Whether something in its text is wrong: it is not played then, since it would not be the one that is meant. */
  readonly isFaulty: boolean;
  readonly place: Place;
}

export interface InitialValue {
  readonly signal: Signal;
  readonly value: Derivation;
  readonly place: Place;
}

/** A span in which a source gives nothing or a link carries nothing, in s from the start of the scenario. `to` may lie behind its end. */
export interface Absence {
  readonly of: Instance | Link;
  readonly from: number;
  readonly to: number;
  readonly place: Place;
}

/** What is plugged into an inlet while a scenario lasts: a source, the run of a cord, or nothing. */
export interface Plugged {
  readonly inlet: Instance;
  readonly by?: Instance | Run;
  readonly place: Place;
}

/** What a scenario says of the tank of a generator: the fuel in it at the start, or when it is filled. */
export interface TankStatement {
  readonly of: Instance;
  /** m³ at the start. */
  readonly start?: Derivation;
  /** s from the start, ascending; empty where it is never filled. */
  readonly refills?: readonly number[];
  readonly place: Place;
}

export interface ScenarioProfile {
  readonly load: Instance;
  readonly windows: readonly ProfileWindow[];
  readonly place: Place;
}

/** A requirement as written; its outcome is worked out by the analysis. */
export interface Requirement {
  readonly scenario?: string;
  readonly text: string;
  readonly reason?: string;
  readonly until?: string;
  readonly place: Place;
  readonly whole: Place;
}

export interface Accept {
  readonly check: string;
  /** Path of the thing the finding is on, without the design's name; undefined for the whole design. */
  readonly subject?: string;
  readonly reason?: string;
  readonly until?: string;
  readonly place: Place;
  readonly checkPlace: Place;
}

export interface Reading {
  /** Path without the design's name: `Rect.dc.current`. */
  readonly subject: string;
  /** The thing it was taken at, its terminal where one is named, and what was measured: `Rect`, `dc`, `current`. */
  readonly of: string;
  readonly terminal?: string;
  readonly what: string;
  readonly value: Quantity;
  readonly date?: string;
  readonly note?: string;
  readonly place: Place;
}

/** What really came of the time that a scenario plays, by a meter or as published: `reading runTime(Genset) = 1790 h`. */
export interface StatedOutcome {
  readonly scenario: string;
  /** What was read, as written: `runTime(Genset)`. */
  readonly text: string;
  readonly value: Quantity;
  readonly date?: string;
  readonly note?: string;
  readonly place: Place;
}

/** Anything of a design that carries properties. */
export type Thing = Instance | Run | Link | Control;

export interface Site {
  readonly properties: ReadonlyMap<string, Property>;
  readonly place?: Place;
  readonly insert?: InsertionPoint;
}

/** The wiring rules a design follows. */
export type Practice = 'nec' | 'iec' | 'craft';

export interface Basis {
  readonly practice: Practice;
  /** Edition as stated, for example `2023`; undefined when the design states none. */
  readonly edition?: string;
  /** `project`: the project file says it for all designs that state none. */
  readonly origin: 'stated' | 'project' | 'default';
  readonly place?: Place;
  /** Place of the edition. */
  readonly editionPlace?: Place;
}

/** A whole design, immutable, with every name resolved and every value typed. */
export interface System {
  readonly name: string;
  readonly label?: string;
  readonly doc?: string;
  /** The variant's name when this is a variant of a design. */
  readonly variant?: string;
  /** The name of the design that it is a variant of. */
  readonly variantOf?: string;
  readonly uri: string;
  readonly basis: Basis;
  readonly site: Site;
  /** Design-level settings such as limits of checks. */
  readonly settings: ReadonlyMap<string, Property>;
  readonly instances: readonly Instance[];
  readonly runs: readonly Run[];
  readonly links: readonly Link[];
  readonly controls: readonly Control[];
  readonly scenarios: readonly Scenario[];
  readonly requirements: readonly Requirement[];
  readonly accepts: readonly Accept[];
  readonly readings: readonly Reading[];
  /** What really came of the times that its scenarios play. */
  readonly outcomes: readonly StatedOutcome[];
  /** Facts that are stated, but wrongly, by the names under which they lack: `capacity of Bank`. */
  readonly wrongFacts: ReadonlySet<string>;
  /** Place of the design's name. */
  readonly place: Place;
  readonly whole: Place;
  readonly insert: InsertionPoint;
}
