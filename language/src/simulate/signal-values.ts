import type { Bus } from '../solve/bus.js';
import type { Configuration, Plan, SignalPlan } from './plan.js';
import { isSetPlan } from './plan-questions.js';

/** What a recorded value is. */
const CODE = {
  soc: 0,
  bankVoltage: 1,
  bankCurrent: 2,
  bankPower: 3,
  busVoltage: 4,
  regulatorCurrent: 5,
  regulatorPower: 6,
  inverter: 7,
  source: 8,
  array: 9,
  load: 10,
  supply: 11,
} as const;

function codeOf({ among, signal }: SignalPlan): number {
  switch (among) {
    case 'banks':
      return { soc: CODE.soc, voltage: CODE.bankVoltage, current: CODE.bankCurrent, power: CODE.bankPower }[signal];
    case 'buses':
      return CODE.busVoltage;
    case 'regulators':
      return signal === 'current' ? CODE.regulatorCurrent : CODE.regulatorPower;
    case 'inverters':
      return CODE.inverter;
    case 'sources':
      return CODE.source;
    case 'supplies':
      return CODE.supply;
    case 'arrays':
      return CODE.array;
    case 'loads':
      return CODE.load;
  }
}

/** What signals read of the direct-current side, once it is solved. */
interface Solved {
  readonly buses: readonly Bus[];
  readonly configuration: Configuration;
  /** The buses of banks and regulators, and their places there. */
  readonly busOfBank: readonly Bus[];
  readonly bankPlace: Int32Array;
  readonly busOfRegulator: readonly Bus[];
  readonly place: Int32Array;
  readonly isInverterOn: Uint8Array;
  readonly isTurning: Uint8Array;
  readonly isSourceLive: Uint8Array;
  /** W. */
  readonly inverterLoad: Float64Array;
  readonly inverterExtra: Float64Array;
  readonly sourcePower: Float64Array;
  readonly taken: Float64Array;
  readonly bankVolts: (bus: Bus, place: number) => number;
}

/** The values that are recorded and that rules watch, read off the direct-current side. */
export class SignalValues {
  /** What is recorded, and behind it the time of day, the day, and what rules alone ask for. */
  readonly values: Float64Array;
  /** Whether rules watch what follows from the flows, which must have been filled then. */
  readonly watchesFlows: boolean;
  /** What each recorded value is, and of which thing. */
  private readonly codes: Int32Array;
  private readonly places: Int32Array;
  /** Positions of what is recorded. */
  private kept: Int32Array;
  private readonly watched: Int32Array;

  constructor(
    private readonly plan: Plan,
    private readonly side: Solved,
  ) {
    this.codes = Int32Array.from(plan.signals, codeOf);
    this.places = Int32Array.from(plan.signals, ({ index }) => index);
    this.kept = Int32Array.from(plan.signals, (_, at) => at);
    const asked = new Set(plan.control.comparisons.flatMap((comparison) => [...comparison.signals]));
    this.watched = this.kept.filter((at) => asked.has(at));
    this.watchesFlows = this.watched.some((at) => this.codes[at] === CODE.source || this.codes[at] === CODE.array);
    this.values = new Float64Array(plan.signals.length + 2 + plan.control.asked.length);
  }

  /** Takes over what loads get (W), which stands until something switches. */
  takeServed(served: Float64Array): void {
    for (let at = 0; at < this.codes.length; at += 1)
      if (this.codes[at] === CODE.load) this.values[at] = served[this.places[at]!]!;
  }

  /** Has only some of the signals recorded, by position; all unless told. */
  keepOnly(positions: Int32Array): void {
    this.kept = positions;
  }

  /** Works out what is recorded. Powers of sources and arrays are those of the flows filled last. */
  fillKept(charge: Float64Array): void {
    this.fill(charge, this.kept);
  }

  /** Works out only what rules watch. */
  fillWatched(charge: Float64Array): void {
    this.fill(charge, this.watched);
  }

  private fill(charge: Float64Array, which: Int32Array): void {
    const { plan, side, values, codes, places } = this;
    for (let each = 0; each < which.length; each += 1) {
      const at = which[each]!;
      const index = places[at]!;
      switch (codes[at]!) {
        case CODE.soc:
          values[at] = charge[index]! / plan.banks[index]!.capacity;
          break;
        case CODE.bankVoltage:
          values[at] = side.bankVolts(side.busOfBank[index]!, side.bankPlace[index]!);
          break;
        case CODE.bankCurrent:
          values[at] = side.busOfBank[index]!.current[side.bankPlace[index]!]!;
          break;
        case CODE.bankPower: {
          const [bus, place] = [side.busOfBank[index]!, side.bankPlace[index]!];
          values[at] = side.bankVolts(bus, place) * bus.current[place]!;
          break;
        }
        case CODE.busVoltage:
          values[at] = side.buses[index]!.voltage;
          break;
        case CODE.regulatorCurrent:
          values[at] = side.busOfRegulator[index]!.given[side.place[index]!]!;
          break;
        case CODE.regulatorPower: {
          const bus = side.busOfRegulator[index]!;
          values[at] = bus.given[side.place[index]!]! * bus.voltage;
          break;
        }
        case CODE.inverter:
          values[at] =
            side.isInverterOn[index] && !side.configuration.passes[index]
              ? side.inverterLoad[index]! + side.inverterExtra[index]!
              : 0;
          break;
        case CODE.source:
          values[at] = side.sourcePower[index]!;
          break;
        case CODE.array:
          values[at] = side.taken[index]!;
          break;
        case CODE.supply: {
          const source = plan.sources[index]!;
          // A set makes voltage as soon as it turns, before it is loaded.
          values[at] = (isSetPlan(source) ? side.isTurning : side.isSourceLive)[index] ? source.volts : 0;
          break;
        }
        // What loads get stands until something switches.
        case CODE.load:
      }
    }
  }
}
