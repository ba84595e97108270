import type { SourcePlan } from './plan.js';

/** What became of a tank that is filled at stated times alone. */
export interface TankOutcome {
  /** Position of the source that stands for its machine. */
  readonly source: number;
  /** m³: the least that was left. */
  readonly least: number;
  /** s at which it was first empty; infinite where it never was. */
  readonly emptyAt: number;
}

/** Tanks that run dry, since nobody fills them but at stated times. Fuel in m³, times in s. */
export class Tanks {
  /** Whether each source stands still because its tank is empty, by position of its machine. */
  readonly isEmpty: Uint8Array;
  /** Positions of the machines that have such a tank. */
  readonly finite: readonly number[];
  /** What has been put in so far, with what was there at the start. */
  private readonly filled: Float64Array;
  private readonly least: Float64Array;
  private readonly emptyAt: Float64Array;

  constructor(private readonly sources: readonly SourcePlan[]) {
    this.finite = sources.flatMap(({ fuelAtStart }, at) => (fuelAtStart === undefined ? [] : [at]));
    this.filled = Float64Array.from(sources, ({ fuelAtStart }) => fuelAtStart ?? Infinity);
    this.least = this.filled.slice();
    this.isEmpty = Uint8Array.from(this.filled, (left) => (left > 0 ? 0 : 1));
    this.emptyAt = Float64Array.from(this.filled, (left) => (left > 0 ? Infinity : 0));
  }

  /** Whether a machine burns the last of its tank, having burnt so much since the start. */
  runsDry(at: number, burnt: number): boolean {
    return !this.isEmpty[at] && burnt >= this.filled[at]!;
  }

  /** Goes on to a time up to which a machine has burnt so much. Answers whether its tank has just become empty. */
  advance(at: number, time: number, burnt: number): boolean {
    this.noteLeast(at, burnt);
    if (!this.runsDry(at, burnt)) return false;
    this.isEmpty[at] = 1;
    this.emptyAt[at] = Math.min(this.emptyAt[at]!, time);
    return true;
  }

  /** Fills the tank of a machine that has burnt so much since the start. */
  fill(at: number, burnt: number): void {
    this.noteLeast(at, burnt);
    this.filled[at] = burnt + this.sources[at]!.tank;
    this.isEmpty[at] = 0;
  }

  private noteLeast(at: number, burnt: number): void {
    this.least[at] = Math.min(this.least[at]!, Math.max(0, this.filled[at]! - burnt));
  }

  outcome(): TankOutcome[] {
    return this.finite.map((source) => ({ source, least: this.least[source]!, emptyAt: this.emptyAt[source]! }));
  }
}
