import type { DaySums, RunSums } from './day-sums.js';
import type { DirectSide } from './direct-side.js';
import type { Plan } from './plan.js';
import type { Standing } from './standing.js';
import type { SunLine } from './sun-line.js';

/** What adds up over a play beside the flows of the direct-current side, and all sums at each midnight. */
export class Tally {
  /** s and starts, by source. */
  readonly runTime: Float64Array;
  readonly starts: Float64Array;
  private readonly served: Float64Array;
  private readonly unserved: Float64Array;
  private readonly shed: Float64Array;
  /** J that arrays could have given. */
  private readonly available: Float64Array;
  private readonly noted: { time: number; sums: RunSums }[] = [];

  constructor(
    private readonly plan: Plan,
    private readonly direct: DirectSide,
    /** The sums of the flows of the direct-current side. */
    private readonly flows: Float64Array,
  ) {
    const { sources, loads, arrays } = plan;
    [this.runTime, this.starts] = [new Float64Array(sources.length), new Float64Array(sources.length)];
    [this.served, this.unserved, this.shed] = [0, 1, 2].map(() => new Float64Array(loads.length)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    this.available = new Float64Array(arrays.length);
  }

  /** Adds a step of so many s. */
  add(length: number, { profile, wanted, turning }: Standing, sun: SunLine): void {
    const { loads } = this.plan;
    for (let at = 0; at < loads.length; at += 1) {
      const served = this.direct.served[at]!;
      this.served[at]! += served * length;
      const asked = loads[at]!.watts * profile[at]!;
      if (wanted[at]! < asked) this.shed[at]! += asked * length;
      else if (served < asked) this.unserved[at]! += (asked - served) * length;
    }
    for (let at = 0; at < turning.length; at += 1) if (turning[at]) this.runTime[at]! += length;
    for (let at = 0; at < this.available.length; at += 1)
      this.available[at]! += (sun.watts[at]! + (sun.wattsRate[at]! * length) / 2) * length;
  }

  /** Keeps the sums as they stand at a time in s. */
  noteDay(time: number): void {
    this.noted.push({ time, sums: this.now() });
  }

  get days(): DaySums {
    return this.noted;
  }

  private now(): RunSums {
    const { plan, direct, flows } = this;
    const bySource = (flow: (at: number) => number): Float64Array =>
      Float64Array.from(plan.sources, (_, at) => flows[flow(at)]!);
    const taken = Float64Array.from(plan.arrays, (_, at) => flows[direct.arrayFlow(at)]!);
    return {
      runTime: this.runTime.slice(),
      starts: this.starts.slice(),
      fuel: bySource((at) => direct.fuelFlow(at)),
      spare: bySource((at) => direct.spareFlow(at)),
      given: bySource((at) => direct.sourceFlow(at)),
      drawn: Float64Array.from(plan.banks, (_, at) => flows[direct.drawnFlow(at)]!),
      served: this.served.slice(),
      unserved: this.unserved.slice(),
      shed: this.shed.slice(),
      curtailed: this.available.map((sum, at) => Math.max(0, sum - taken[at]!)),
      taken,
    };
  }
}
