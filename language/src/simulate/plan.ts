import type { Result } from '../derivation/index.js';
import type { BankNumbers } from '../quantities/plant/banks.js';
import type { ArrayPlan, SunPlan, TurbinePlan, WindPlan } from '../quantities/weather/plans.js';
import type { InverterNumbers } from '../quantities/plant/inverters.js';
import type { RegulatorNumbers } from '../quantities/plant/regulators.js';
import type { FeederLimits } from '../solve/budget.js';
import type { Lines } from '../solve/conductor-losses.js';
import type { ControlMachine, ControlState } from '../control/index.js';
import type { Instance } from '../model/types.js';
import type { ComparisonSign, RuleSignal } from '../model/conditions.js';

export type { ArrayPlan, SunPlan, TurbinePlan, WindPlan } from '../quantities/weather/plans.js';

/*
 * What the engine plays: plain numbers in coherent SI (W, V, A, ohm, s, C for charge, J, m³, m³/s), things by their position in lists.
 * `prepare` makes it from a design; nothing here knows units, text or derivations.
 */

/** A bank as it starts a play. */
export interface BankPlan extends BankNumbers {
  readonly soc: number;
  /** State of charge from which it counts as full. */
  readonly fullFrom: number;
}

/** Anything that pushes current into a direct-current bus, with where else it stands in the plan. */
export interface RegulatorPlan extends RegulatorNumbers {
  /** Arrays behind it. */
  readonly arrays: Int32Array;
  /** Source (in `sources`) that must be there for it to give, for direct-current sources; −1 when there is none. */
  readonly source: number;
  /** Inverter it is built into; −1 when it stands alone. */
  readonly inverter: number;
  /** Link over which the bank limits its current; −1 when there is none. */
  readonly link: number;
  /** Wind turbine that it is; −1 for all others. */
  readonly turbine: number;
  /** Target of the control machine that it is; −1: always on. */
  readonly control: number;
}

export interface InverterPlan extends InverterNumbers {
  /** Link over which a bank limits what it draws, and that bank; −1 when there is none. */
  readonly link: number;
  readonly bank: number;
  readonly stopsWithoutLink: boolean;
  readonly limits: FeederLimits;
  /** W; how long it can be given does not count. */
  readonly surge: number;
  readonly delay: number;
  /** Target of the control machine that it is; −1: always on. */
  readonly control: number;
}

export interface SourcePlan {
  readonly name: string;
  /** `set`: started and stopped, burning fuel. `supply`: there or not. `direct`: a source of direct current. */
  readonly kind: 'set' | 'supply' | 'direct';
  /** V that rules see while it makes voltage, between lines; NaN where it is not stated. */
  readonly volts: number;
  readonly limits: FeederLimits;
  /** W up to which chargers are served: less than the limit where they need a cleaner wave than the set has above it. */
  readonly chargerWatts: number;
  /** Fuel in m³/s at shares of rated power; empty for other sources. */
  readonly burnShare: Float64Array;
  readonly burnRate: Float64Array;
  /** Why the fuel of a set is not known; its curve is empty then. */
  readonly fuelUnknown?: Result;
  readonly rated: number;
  /** m³; infinite when not stated. */
  readonly tank: number;
  /** m³ in it at the start where it is filled at stated times alone; absent where it is filled whenever it is empty. */
  readonly fuelAtStart?: number;
  /** Position of the source that stands for its machine, which has the tank and burns the fuel: itself, or the first outlet of the same machine. */
  readonly machine: number;
  /** Target of the control machine that it is; −1: no control commands it. */
  readonly control: number;
  /** Mean s between outages and of an outage; 0 when it has no random outages. */
  readonly betweenOutages: number;
  readonly outage: number;
}

export interface LoadPlan {
  readonly name: string;
  /** W when it runs, all pieces, duty counted; and while it draws. */
  readonly watts: number;
  readonly peak: number;
  readonly powerFactor: number;
  /** Bus it hangs on; −1 for alternating current. */
  readonly bus: number;
  /** W drawn over W used, for loads behind a converter. */
  readonly upstream: number;
  /** Ohm of its cable out and back on direct current; what that loses follows from the voltage before it. */
  readonly wire: number;
  /** V that a converter before its cable holds; 0 where its bus is what feeds it. */
  readonly fedVolts: number;
  /** V below which it does not work; 0 where none is stated. */
  readonly leastVolts: number;
  /** Place among the input cables of converters of that before the converter that feeds it; −1 where none loses. */
  readonly inlet: number;
  /** V at the converter that feeds it below which that stops; 0 where there is none, or it states no input range. */
  readonly leastBusVolts: number;
  readonly priority: number;
  readonly startFactor: number;
  /** Share of its power by the time of day: from s after midnight, until the next; ascending, the first at 0. */
  readonly shareFrom: Float64Array;
  readonly share: Float64Array;
  /** Target of the control machine that it is; −1: always on. */
  readonly control: number;
}

export interface SpanPlan {
  readonly of: 'source' | 'link';
  readonly index: number;
  readonly from: number;
  readonly to: number;
}

/** A value the engine works out at every step; `values[index]`. */
export interface SignalPlan {
  readonly name: string;
  readonly of: Instance;
  readonly signal: 'soc' | 'voltage' | 'current' | 'power';
  /** What it is of, and the position there. */
  readonly among: 'banks' | 'buses' | 'regulators' | 'inverters' | 'sources' | 'supplies' | 'arrays' | 'loads';
  readonly index: number;
}

/** What rules alone ask for; it stands behind the clock and is not recorded. */
export interface AskedPlan {
  readonly signal: RuleSignal;
  /** Position of the set among the sources, or of the bank among the banks. */
  readonly index: number;
}

export interface ComparisonPlan {
  /** Positions in the engine's values; the two behind the last are the time of day (s) and the day (the first is 1), then what rules alone ask for. */
  readonly signals: Int32Array;
  readonly factors: Float64Array;
  readonly sign: ComparisonSign;
  readonly limit: number;
}

/** The rules of the design, and where what they watch and command stands in the plan. */
export interface ControlPlan {
  readonly machine: ControlMachine;
  /** The machine's comparisons, in its order. */
  readonly comparisons: readonly ComparisonPlan[];
  readonly asked: readonly AskedPlan[];
  /** The machine's links as positions in `links`. */
  readonly links: Int32Array;
  /** How the machine stands as a play begins; at rest for long unless said. */
  readonly start?: ControlState;
}

/**
 * Feeders of loads, one entry for each that carries a part of a load. Entries of one `group` share its fraction of the load by weight, as far
 * as they run; a load is served only while each of its groups has a feeder that runs.
 */
export interface FeedPlan {
  readonly start: Int32Array;
  /** A source's position, or `sources.length` + an inverter's position. */
  readonly feeder: Int32Array;
  readonly group: Int32Array;
  readonly fraction: Float64Array;
  readonly weight: Float64Array;
  /** A per W of its part on each of three legs, three numbers for each entry. */
  readonly legs: Float64Array;
}

/** Who feeds what while certain alternating-current sources are live. */
export interface Configuration {
  /** What feeds each load, by part: a load is fed by the parts from `start[load]` on, before those of the next. */
  readonly feeds: FeedPlan;
  /** Inverter whose transfer each load is passed through; −1 when none. */
  readonly loadPassage: Int32Array;
  /** The same for regulators that are chargers. */
  readonly chargerFeeder: Int32Array;
  readonly chargerLegs: Float64Array;
  /** W each charger takes at most by its own input limits. */
  readonly chargerMost: Float64Array;
  /** For each inverter, whether it passes its supply on, and A per leg it passes at most. */
  readonly passes: Uint8Array;
  readonly passageAmperes: Float64Array;
  /** Source that a passing inverter takes its own idle power from; −1 when none. */
  readonly passageSource: Int32Array;
  /** A per W of that idle power on each of three legs. */
  readonly passageLegs: Float64Array;
  /** Buses in an order in which each comes after all it feeds. */
  readonly busOrder: Int32Array;
  readonly lines: Lines;
  /** Whether size or length of a run that carries alternating current is not stated: it loses nothing. */
  readonly isAnyLineUnknown: boolean;
}

export interface Plan {
  /** s after midnight, and the day of the year and year of the first day. */
  readonly timeOfDay: number;
  readonly year: number;
  readonly dayOfYear: number;
  readonly duration: number;
  /** What the first day counts as in rules; 1 unless said. */
  readonly firstDay?: number;
  readonly buses: number;
  /** Whether the buses of banks begin cut off, as after a bank that was emptied. */
  readonly startsCutOff?: boolean;
  /** Nominal V of each bus, for the loss in leads. */
  readonly busVolts: Float64Array;
  readonly banks: readonly BankPlan[];
  readonly regulators: readonly RegulatorPlan[];
  readonly inverters: readonly InverterPlan[];
  readonly sources: readonly SourcePlan[];
  readonly loads: readonly LoadPlan[];
  /** Ohm out and back of the input cables of converters that feed loads. */
  readonly inlets: Float64Array;
  readonly arrays: readonly ArrayPlan[];
  readonly links: readonly { readonly name: string; readonly timeOut: number }[];
  readonly spans: readonly SpanPlan[];
  /** When tanks are filled, s from the start, by the source that stands for the machine. */
  readonly refills: readonly { readonly source: number; readonly at: number }[];
  readonly delays: DelayPlan;
  readonly control: ControlPlan;
  /** What is recorded, in the order of the engine's values. */
  readonly signals: readonly SignalPlan[];
  readonly configuration: (live: number) => Configuration;
  readonly sun: SunPlan;
  readonly turbines: readonly TurbinePlan[];
  readonly wind: WindPlan;
}

/** How long gear waits before it acts, s. */
export interface DelayPlan {
  /** A protection that closes again by itself, and a dead bus that takes loads again. */
  readonly reset: number;
}
