import type { Place } from '../../derivation/index.js';
import type { Carries } from '../../equipment/index.js';
import type { SymbolName } from '../symbols/shapes.js';
import type { SymbolManner } from '../symbols/symbol.js';

/** A stretch of text of one style. What was assumed stands in italics; what is missing says so. */
export interface Span {
  readonly text: string;
  readonly style: 'name' | 'plain' | 'assumed' | 'missing';
}
export type TextLine = readonly Span[];

/** What checks say of a thing: a finding by its id, or how many checks were not carried out. */
export interface Mark {
  readonly severity: 'error' | 'warning' | 'info' | 'unchecked';
  readonly text: string;
}

/** What a change has done to a thing, where two states of a design are drawn as one; `affected`: nothing of it was edited, its numbers moved. */
export type Change = 'added' | 'changed' | 'affected' | 'removed';

/** Where a line meets a symbol. Several lines may share one; at a bus each has its own. */
export interface Port {
  readonly id: string;
  readonly side: 'left' | 'right' | 'below';
  /** Key of the node of the wiring: `Inv.dc`. */
  readonly node: string;
  readonly carries: Carries;
}

/** One thing of the design as it is drawn. */
export interface DrawnSymbol {
  readonly id: string;
  readonly symbol: SymbolName;
  readonly label: readonly TextLine[];
  readonly marks: readonly Mark[];
  readonly ports: readonly Port[];
  /** Whether it can join neutral and earth in any state. */
  readonly canBond: boolean;
  /** Place of its name in the text. */
  readonly place: Place;
  /** Name, label and ratings in one line, for readers who do not see the picture. */
  readonly description: string;
  readonly change?: Change;
}

/** One stretch of a run between neighbouring stops, from where power comes to where it goes. */
export interface DrawnStretch {
  readonly id: string;
  readonly run: string;
  readonly from: string;
  readonly to: string;
  readonly carries: Carries;
  /** Whether it leads against the order in which the run is written. */
  readonly isReversed: boolean;
  /** The one stretch of a run that carries its words. */
  readonly label?: readonly TextLine[];
  readonly marks: readonly Mark[];
  readonly place: Place;
  readonly change?: Change;
}

/** A run as a whole, for the list of runs. */
export interface DrawnRun {
  readonly id: string;
  readonly carries: Carries;
  readonly description: string;
}

/** A communication link, drawn dashed. */
export interface DrawnLink {
  readonly id: string;
  readonly from: string;
  readonly to: string;
  readonly label: readonly TextLine[];
  readonly marks: readonly Mark[];
  readonly place: Place;
  readonly change?: Change;
}

/** What flows along a run in one state, as words. */
export interface DrawnFlow {
  readonly run: string;
  readonly towards: 'far' | 'near' | 'either';
  readonly text: string;
}

/** One state of the sources. */
export interface DrawnState {
  readonly id: string;
  readonly title: string;
  /** Keys of live nodes. */
  readonly live: readonly string[];
  readonly flows: readonly DrawnFlow[];
  /** Things whose bond of neutral to earth is in force. */
  readonly bonds: readonly string[];
}

/** Who made a sheet, out of what: the same input gives the same stamp. */
export interface Stamp {
  readonly tool: string;
  /** Short name of the commit that the design stands in, and whether it has changed since. */
  readonly commit?: string;
  readonly isChanged?: boolean;
  /** Date of the commit. */
  readonly date?: string;
}

/** A finding as the list below the drawing tells it. */
export interface Note {
  readonly severity: Mark['severity'];
  readonly id: string;
  readonly subject: string;
  readonly text: string;
}

/** A design as a drawing, before anything has a place on paper. */
export interface Drawing {
  readonly design: string;
  readonly title: string;
  readonly variantOf?: string;
  readonly basis: string;
  readonly author?: string;
  readonly checkedBy?: string;
  readonly revision?: string;
  readonly manner: SymbolManner;
  readonly symbols: readonly DrawnSymbol[];
  readonly stretches: readonly DrawnStretch[];
  readonly runs: readonly DrawnRun[];
  readonly links: readonly DrawnLink[];
  readonly states: readonly DrawnState[];
  readonly notes: readonly Note[];
  readonly caution: string;
  /** The two sides that are compared, where it shows a change. */
  readonly changes?: string;
}
