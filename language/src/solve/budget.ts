/** What a feeder of alternating current can give: W, VA, and A on each leg. Infinite where nothing bounds it. */
export interface FeederLimits {
  readonly watts: number;
  readonly voltAmperes: number;
  readonly legAmperes: number;
}

export const LEGS = 3;
/** What counts as within a limit in spite of rounding. */
const SLACK = 1 + 1e-9;

/** What takes power of a feeder: its power factor, A per W on each leg (from `LEGS · at` on), and W that conductors lose on the way to it. */
export interface Taking {
  readonly powerFactor: number;
  readonly legs: ArrayLike<number>;
  readonly at: number;
  readonly lost?: number;
}

/**
 * What a feeder has given away of its limits. What conductors lose on the way is given too, at a power factor of 1; a leg carries more by as
 * much as the power of what is fed there is less than what is given.
 */
export class Budget {
  watts = 0;
  /** W of conductors, beside these. */
  lost = 0;
  voltAmperes = 0;
  readonly amperes = new Float64Array(LEGS);

  clear(): void {
    this.watts = 0;
    this.lost = 0;
    this.voltAmperes = 0;
    this.amperes.fill(0);
  }

  fits(limits: FeederLimits, watts: number, { powerFactor, legs, at, lost = 0 }: Taking): boolean {
    if (this.watts + this.lost + watts + lost > limits.watts * SLACK) return false;
    if (this.voltAmperes + watts / powerFactor + lost > limits.voltAmperes * SLACK) return false;
    const onLegs = watts + lost * powerFactor;
    for (let leg = 0; leg < LEGS; leg += 1)
      if (this.amperes[leg]! + onLegs * legs[LEGS * at + leg]! > limits.legAmperes * SLACK) return false;
    return true;
  }

  take(watts: number, { powerFactor, legs, at, lost = 0 }: Taking): void {
    this.watts += watts;
    this.lost += lost;
    this.voltAmperes += watts / powerFactor + lost;
    const onLegs = watts + lost * powerFactor;
    for (let leg = 0; leg < LEGS; leg += 1) this.amperes[leg]! += onLegs * legs[LEGS * at + leg]!;
  }

  /** The share of a demand, 0 to 1, that still fits while conductors lose so many W for it. */
  share(limits: FeederLimits, { watts, voltAmperes, amperes }: Budget, lost = 0): number {
    let share = 1;
    const cut = (left: number, asked: number): void => {
      if (asked > 0 && left < asked * share) share = Math.max(0, left / asked);
    };
    cut(limits.watts - this.watts - this.lost - lost, watts);
    cut(limits.voltAmperes - this.voltAmperes - lost, voltAmperes);
    for (let leg = 0; leg < LEGS; leg += 1)
      cut(
        limits.legAmperes - this.amperes[leg]! - (lost > 0 ? (lost * amperes[leg]!) / voltAmperes : 0),
        amperes[leg]!,
      );
    return share;
  }
}

/** Rounds in which what is lost for a demand is settled. */
const MOST_ROUNDS = 12;
const SETTLED = 1e-9;

/**
 * The share of a demand that fits beside what conductors lose for that very share (`lostAt`, W; it grows with the square of what flows, and is
 * a small part of it).
 */
export function shareWithLosses(
  given: Budget,
  limits: FeederLimits,
  asked: Budget,
  lostAt: (share: number) => number,
): number {
  let share = given.share(limits, asked);
  for (let round = 0; round < MOST_ROUNDS && share > 0; round += 1) {
    const next = given.share(limits, asked, lostAt(share));
    if (Math.abs(next - share) <= SETTLED) return next;
    // Where cables lose more than they bring, going half the way settles all the same.
    share = round < 4 ? next : (share + next) / 2;
  }
  return share;
}
