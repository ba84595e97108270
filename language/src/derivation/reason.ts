import type { Quantity } from '../quantity/index.js';
import type { ClauseName } from './clause.js';

/** What can bound the output of a device, each a reason that code may ask for. */
export type BoundKind =
  | 'setting'
  | 'rating'
  | 'power'
  | 'inputSetting'
  | 'inputRating'
  | 'supply'
  | 'drive'
  | 'modules'
  | 'bank'
  | 'link'
  | 'temperature'
  | 'hold'
  | 'nothingLeft';

/** The bound of a device that decided. */
export interface BoundReason {
  readonly kind: 'bound';
  readonly bound: BoundKind;
  /** The thing whose bound it is, by name. */
  readonly subject: string;
  /** Whether the loads that it passes its supply on to had been taken off. */
  readonly lessPassed?: true;
}

/** The source state in which a value holds. */
export interface StateReason {
  readonly kind: 'state';
  readonly id: string;
  readonly title: string;
}

/** The end of a range that was unfavourable. */
export interface RangeEnd {
  /** The name of the value among what it was put into: `voltage`. */
  readonly fact: string;
  /** What the value is by itself: `voltage of Bank`. */
  readonly subject: string;
  readonly end: 'low' | 'high';
  readonly value: Quantity;
}

/** In which way a conductor is too small for what is asked of it. */
export interface Shortfall {
  readonly what: 'ampacity' | 'ampacityBeforeCorrection' | 'device';
  /** A. */
  readonly has: number;
  /** A. */
  readonly wants: number;
  /** For devices: the rule that limits them. */
  readonly rule?: ClauseName;
}

/** The row and column in which a table of ampacities was read. */
export interface TableCell {
  readonly size: string;
  readonly metal: string;
  readonly celsius: number;
  /** How the conductors are laid and how many carry current, where the table asks. */
  readonly installed?: { readonly method: string; readonly loaded: number };
}

/** How everything at a direct-current network runs together. */
export type NetworkMode = 'demand' | 'supply' | 'both' | 'power' | 'surge' | 'stated';

/**
 * Why a value is what it is. Data only: words are made of it in `glossary/reason-text.ts` alone, where it is shown, and nothing reads words
 * back. A derivation has a list of them, in the order in which they are told.
 */
export type Reason =
  | BoundReason
  | StateReason
  | { readonly kind: 'corner'; readonly ends: readonly RangeEnd[] }
  | { readonly kind: 'clause'; readonly clause: ClauseName }
  /** s from midnight at which most runs together. */
  | { readonly kind: 'timeOfDay'; readonly seconds: number }
  /** The month of a mean day, 1 to 12. */
  | { readonly kind: 'month'; readonly month: number }
  /** s after the start of a scenario. */
  | { readonly kind: 'moment'; readonly seconds: number }
  | { readonly kind: 'notWithinScenario' }
  /** The load that starts. */
  | { readonly kind: 'start'; readonly load: string }
  | { readonly kind: 'leg'; readonly leg: string }
  | { readonly kind: 'conductor'; readonly conductor: string }
  | { readonly kind: 'heavierLeg'; readonly leg: 1 | 2 }
  | { readonly kind: 'farthestLine'; readonly line: 1 | 2 | 3 }
  | { readonly kind: 'legsInPhase' }
  /** °C of the coldest cells. */
  | { readonly kind: 'cellTemperature'; readonly celsius: number }
  | { readonly kind: 'noCharging' }
  /** Nobody has stated how much of it there is: `wind`. */
  | { readonly kind: 'unstatedWeather'; readonly from: string }
  /** It may be still at any one time, however much of it there is: `wind`. */
  | { readonly kind: 'stillWeather'; readonly from: string }
  | { readonly kind: 'coldCompensation' }
  | { readonly kind: 'noSetPoint' }
  /** The set point of a device that is the highest; without a property the nominal voltage that it gives. */
  | { readonly kind: 'setPoint'; readonly subject: string; readonly property: string | undefined }
  /** The voltage was the lowest there is: on the bus, or at which the inverter runs. */
  | { readonly kind: 'lowestVoltage'; readonly of: 'bus' | 'inverter' }
  | { readonly kind: 'inputWindow'; readonly subject: string }
  | { readonly kind: 'supplyTolerance'; readonly subject: string }
  /** How all that hangs on a solved network runs. */
  | { readonly kind: 'network'; readonly mode: NetworkMode }
  /** How all that meets at a node runs. */
  | { readonly kind: 'meeting'; readonly mode: 'demand' | 'supply' | 'both' }
  /** A stated fact that another one contradicts: what counts lies above or below it. */
  | { readonly kind: 'contradicted'; readonly by: 'more' | 'less'; readonly fact: string }
  | { readonly kind: 'maximumPower' }
  | { readonly kind: 'noBank' }
  /** The source that drives a fault. */
  | { readonly kind: 'faultSource'; readonly source: string }
  | { readonly kind: 'faultPlace'; readonly at: string; readonly source: string }
  | { readonly kind: 'farFault'; readonly isOverOneWay: boolean }
  | { readonly kind: 'aboveCurve' }
  /** What the standard of a class of devices allows every one of them, not what this one does; `onDirect` where it holds for alternating current. */
  | { readonly kind: 'classBound'; readonly of: string; readonly onDirect?: true }
  /** The device protects its conductors against overload, and so against what it opens at less than its instantaneous or limiting current. */
  | { readonly kind: 'overloadDevice' }
  /** The device with the smallest rating. */
  | { readonly kind: 'smallestDevice'; readonly device: string }
  | { readonly kind: 'ratedOutput'; readonly inverters: readonly string[]; readonly heldTo?: Quantity }
  | { readonly kind: 'withoutOtherSources'; readonly bank: string }
  | { readonly kind: 'nothingDrawn' }
  /** The bank takes no more. */
  | { readonly kind: 'chargeLimit' }
  | { readonly kind: 'leftByLoads' }
  /** A that the loads take more than the chargers give; 0 where they take just that. */
  | { readonly kind: 'deficit'; readonly amperes: number }
  | { readonly kind: 'lowFigure' }
  /** What a bank is sized by. */
  | { readonly kind: 'sizedBy'; readonly need: 'depth' | 'ageing' | 'dailyDepth' }
  /** The ends at which current is taken off a row of strings. */
  | { readonly kind: 'takeOff'; readonly at: string }
  | { readonly kind: 'ownCoefficient' }
  /** The ampacity at the temperature of the terminals, and where it was read. */
  /** `conductor`: A that the conductor carries without regard to what it ends at. */
  | { readonly kind: 'terminalLimit'; readonly cell: TableCell; readonly conductor: number }
  /** The ampacity in the column that the type of conductor may not be taken above, and where it was read. */
  | { readonly kind: 'columnLimit'; readonly cell: TableCell }
  | { readonly kind: 'ampacity'; readonly by: 'table' | 'corrections' }
  /** Sizes below this one do not do. */
  | { readonly kind: 'smallestSize'; readonly size: string }
  | { readonly kind: 'smallerSize'; readonly size: string; readonly shortfall: Shortfall }
  /** A that the next standard rating has to reach. */
  | { readonly kind: 'nextRating'; readonly amperes: number }
  | { readonly kind: 'noReduction' }
  /** The factor that takes most away. */
  | { readonly kind: 'largestReduction'; readonly factor: string; readonly value: Quantity };

export type ReasonKind = Reason['kind'];
/** The reason of a kind. */
export type ReasonOf<K extends ReasonKind> = Extract<Reason, { readonly kind: K }>;

/** That a value holds in a source state. */
export const inState = ({ id, title }: { readonly id: string; readonly title: string }): StateReason => ({
  kind: 'state',
  id,
  title,
});

/** What has reasons: a derivation. */
interface Governed {
  readonly governing?: readonly Reason[];
}

/** The first reason of a kind that decided a value. */
export const reasonOf = <K extends ReasonKind>({ governing }: Governed, kind: K): ReasonOf<K> | undefined =>
  governing?.find((reason): reason is ReasonOf<K> => reason.kind === kind);

/** The bound of a device that decided a value. */
export const boundOf = (derivation: Governed): BoundKind | undefined => reasonOf(derivation, 'bound')?.bound;

/** Reasons ahead of those a value has, as a fact to spread into it; nothing where there are none at all. */
export function becauseOf(
  { governing = [] }: Governed,
  ...ahead: readonly Reason[]
): { readonly governing?: readonly Reason[] } {
  const all = [...ahead, ...governing];
  return all.length > 0 ? { governing: all } : {};
}

/** The reasons of a value but those of a kind. */
export const otherReasons = ({ governing = [] }: Governed, kind: ReasonKind): readonly Reason[] =>
  governing.filter((reason) => reason.kind !== kind);
