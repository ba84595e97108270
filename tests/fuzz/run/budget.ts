/** The time a run may take: it stops trying when that is spent, and judges nothing by it. */
export class Budget {
  private readonly began = Date.now();

  constructor(private readonly milliseconds: number) {}

  isSpent(): boolean {
    return Date.now() - this.began >= this.milliseconds;
  }

  /** A budget of its own for one task, within this one's clock. */
  static readonly ofMinutes = (minutes: number): Budget => new Budget(minutes * 60_000);
}
