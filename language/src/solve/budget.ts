/** What a feeder of alternating current can give: W, VA, and A on each leg. Infinite where nothing bounds it. */
export interface FeederLimits {
  readonly watts: number;
  readonly voltAmperes: number;
  readonly legAmperes: number;
}

export const LEGS = 3;
/** What counts as within a limit in spite of rounding. */
const SLACK = 1 + 1e-9;

/** What a feeder has given away of its limits. */
export class Budget {
  watts = 0;
  voltAmperes = 0;
  readonly amperes = new Float64Array(LEGS);

  clear(): void {
    this.watts = 0;
    this.voltAmperes = 0;
    this.amperes.fill(0);
  }

  fits(limits: FeederLimits, watts: number, voltAmperes: number, legs: Float64Array, at: number): boolean {
    if (this.watts + watts > limits.watts * SLACK) return false;
    if (this.voltAmperes + voltAmperes > limits.voltAmperes * SLACK) return false;
    for (let leg = 0; leg < LEGS; leg += 1)
      if (this.amperes[leg]! + watts * legs[LEGS * at + leg]! > limits.legAmperes * SLACK) return false;
    return true;
  }

  /** `legs` holds A per W on each leg, from `LEGS · at` on. */
  take(watts: number, voltAmperes: number, legs: ArrayLike<number>, at: number): void {
    this.watts += watts;
    this.voltAmperes += voltAmperes;
    for (let leg = 0; leg < LEGS; leg += 1) this.amperes[leg]! += watts * legs[LEGS * at + leg]!;
  }

  /** The share of a demand, 0 to 1, that still fits. */
  share(limits: FeederLimits, { watts, voltAmperes, amperes }: Budget): number {
    let share = 1;
    const cut = (left: number, asked: number): void => {
      if (asked > 0 && left < asked * share) share = Math.max(0, left / asked);
    };
    cut(limits.watts - this.watts, watts);
    cut(limits.voltAmperes - this.voltAmperes, voltAmperes);
    for (let leg = 0; leg < LEGS; leg += 1) cut(limits.legAmperes - this.amperes[leg]!, amperes[leg]!);
    return share;
  }
}
