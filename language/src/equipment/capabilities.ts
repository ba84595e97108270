import type { Leaf, Named } from './formula/index.js';
import type { OnlyIf } from './terminal.js';

/** "It does not do that": an answer as good as any, but one that has to be given. */
export const none = 'none';
export type OrNone<T> = T | typeof none;

/** Where the energy of a source comes from. */
export type EnergyFrom = 'fuel' | 'utility' | 'vehicle' | 'sun' | 'wind' | 'water' | 'engine';

/** A source of energy of its own: what the source states of a design switch on and off. */
export interface Source<P extends string = string, T extends string = string> {
  readonly at: T;
  readonly carries: 'ac' | 'dc';
  readonly from: EnergyFrom;
  readonly if?: OnlyIf<P>;
  /** The device that holds its current at its own terminals: a breaker built into it, or that of the service behind its outlet. */
  readonly heldBy: OrNone<{ readonly rating: P; readonly as: 'breaker' | 'service' }>;
}

/** Pushes current into a direct-current bus and so charges what stores there. */
export interface Charger<P extends string = string, T extends string = string> {
  readonly at: T;
  readonly if?: OnlyIf<P>;
  /** Where it takes its power: an alternating supply, an array, another bus, or itself. */
  readonly supply:
    | { readonly kind: 'alternating'; readonly at: T }
    | { readonly kind: 'array'; readonly at: T }
    | { readonly kind: 'bus'; readonly at: T }
    | OwnSupply<P>;
  /** Properties that state voltages it holds, the first the one it charges with; none for what holds no voltage. */
  readonly setPoints: readonly P[];
  /** Its voltage follows the bank's: it states no set point because it has none (an array wired to the bus). */
  readonly isUnregulated?: true;
  readonly bounds: ChargerBounds<P>;
}

/** A source that charges by itself. */
export interface OwnSupply<P extends string = string> {
  readonly kind: 'own';
  /** What drives it, where that follows from what it states. */
  readonly drive: OrNone<Drive<P>>;
  /** Whether its set point is set for the bank, as that of a charger is, and no nominal voltage. */
  readonly regulates: boolean;
}

/** A fact of a formula and the property that states it; where it states none, what a table says of a word that another property does. */
export interface DriveFact<P extends string = string> {
  readonly leaf: Leaf;
  readonly property: P;
  readonly byWord?: { readonly property: P; readonly table: DriveTable };
}

/** Tables of words that facts of a drive may be read from. */
export type DriveTable = 'pipe-roughness';

/** How water is led to what it drives: formulas and properties by which the way is judged. */
export interface WaterWay<P extends string = string> {
  /** Gross head, what is lost of it, and the velocity that loses it. */
  readonly head: Leaf;
  readonly loss: Named;
  readonly velocity: Named;
  readonly diameter: P;
  /** Flow that the stream has to give, beyond what must stay in it. */
  readonly available: Named;
  /** Properties that state the flow it is made for, and the least that it runs with. */
  readonly madeFor: P;
  readonly least: P;
}

/** What drives a source, in any way. */
export type Drive<P extends string = string> = FormulaDrive<P> | WindDrive<P>;

/** Its power as a formula of facts, of which one may differ from month to month. */
export interface FormulaDrive<P extends string = string> extends AnyDrive<P> {
  readonly by: 'formula';
  readonly power: Named;
  readonly facts: readonly DriveFact<P>[];
  /** The fact that follows the months, and the table that states it by month; that goes before the one value for the whole year. */
  readonly seasonal: { readonly leaf: Leaf; readonly byMonth: P };
}

/** The wind of the site, which rises and falls from hour to hour: the properties that say what a turbine makes of it. */
export interface WindDrive<P extends string = string> extends AnyDrive<P> {
  readonly by: 'wind';
  /** Without this nobody knows what the wind makes it give. */
  readonly curve: P;
  readonly hubHeight: P;
  readonly shear: P;
  readonly regulation: P;
  /** What bounds the curve. */
  readonly rated: P;
  readonly currentLimit: P;
  readonly voltage: P;
}

/** What holds of whatever drives a source. */
interface AnyDrive<P extends string> {
  /** Property that names the month by which the least is reckoned, where the poorest is not meant. */
  readonly month: P;
  /**
   * What becomes of it while the bus takes less: the property that says what holds it, the word for a load that takes the rest, and the
   * property with the power of that load.
   */
  readonly held: { readonly by: P; readonly diverting: string; readonly power: P };
  readonly water: OrNone<WaterWay<P>>;
}

/** The properties that bound what a charger gives, by what they bound. What is not named does not bound it. */
export interface ChargerBounds<P extends string = string> {
  /** Output current as set, and by data sheet. */
  readonly setting?: P;
  readonly rating?: P;
  readonly power?: P;
  /** Input current as set, and by data sheet. */
  readonly inputSetting?: P;
  readonly inputRating?: P;
  readonly efficiency?: P;
  readonly powerFactor?: P;
  readonly temperatureCompensation?: P;
}

/** Makes alternating current out of direct current. */
export interface Inverts<T extends string = string> {
  readonly from: T;
  readonly to: T;
}

/** Passes a supply on from one terminal to another. */
export interface Passes<P extends string = string, T extends string = string> {
  readonly from: readonly T[];
  readonly to: T;
  readonly if?: OnlyIf<P>;
  /** `one`: gear that stands on one of its supplies, the first that is live. `relay`: a relay that closes while its supply is there. */
  readonly how: 'one' | 'relay';
  /** Property that says that it cannot stand on several supplies at once; it can where that says no. */
  readonly interlock?: P;
}

/** Takes power at a terminal. */
export interface Draws<P extends string = string, T extends string = string> {
  readonly at: T;
  readonly if?: OnlyIf<P>;
  /** For its own use, to charge, to invert, to convert to another direct voltage. */
  readonly to: 'use' | 'charge' | 'invert' | 'convert';
}

/**
 * What drives current into a short circuit at a terminal. `bank`: cells, bounded by their resistance. `set`: an alternator. `service`: a
 * network behind its service device, with the property that states its fault current. `electronics`: power electronics or modules that give
 * little more than their rating.
 */
export type FaultSource<P extends string = string, T extends string = string> = {
  readonly at: T;
  readonly if?: OnlyIf<P>;
} & ({ readonly as: 'bank' | 'set' | 'electronics' } | { readonly as: 'service'; readonly current: P });

/**
 * Gear in the path of conductors. `joint`: where runs meet. `device`: opens on overcurrent, by melting or by tripping. `switch`,
 * `connection` (what is plugged), `measuring`: in series, opens nothing by itself.
 */
export type Conducts =
  | { readonly as: 'joint' | 'switch' | 'connection' | 'measuring' }
  | { readonly as: 'device'; readonly opensBy: 'melting' | 'tripping' };

/** Can join neutral to earth, as the word of a property says; what it means when nothing is said. */
export interface BondsNeutral<P extends string = string, T extends string = string> {
  /** The terminal at which it does, where others of its terminals have a neutral too. */
  readonly at?: T;
  readonly word: P;
  readonly unsaid: 'open' | 'floating';
}

/** Can open on residual (earth-fault) current, as a property says; what it means when nothing is said. */
export interface OpensOnResidual<P extends string = string> {
  readonly says: P;
  readonly unsaid: 'open' | 'no';
}

/**
 * What a kind of thing can do. Every kind answers every question: the rest of the program asks these and not for the name of a kind, so a
 * new kind counts everywhere as soon as it has answered.
 */
export interface Capabilities<P extends string = string, T extends string = string> {
  readonly source: OrNone<readonly Source<P, T>[]>;
  readonly charges: OrNone<Charger<P, T>>;
  readonly inverts: OrNone<Inverts<T>>;
  readonly passes: OrNone<Passes<P, T>>;
  readonly stores: OrNone<{ readonly at: T }>;
  readonly draws: OrNone<readonly Draws<P, T>[]>;
  readonly drivesFault: OrNone<readonly FaultSource<P, T>[]>;
  readonly conducts: OrNone<Conducts>;
  readonly bondsNeutral: OrNone<BondsNeutral<P, T>>;
  readonly opensOnResidual: OrNone<OpensOnResidual<P>>;
  /** How a control commands it: as a set that is started and stopped, or as a thing that is switched on and off. */
  readonly commanded: OrNone<'started' | 'switched'>;
}
