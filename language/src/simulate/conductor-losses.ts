import { LEGS } from '../solve/budget.js';
import type { Configuration, LinesPlan, Plan } from './plan.js';

/**
 * What alternating-current conductors lose: of each run the resistance of a conductor times the square of what it carries, its return
 * included. Loads stand until something switches; what chargers take comes on top at every step.
 */
export class ConductorLosses {
  /** W lost on the way from each source, and behind them from each inverter, as filled last. */
  readonly byFeeder: Float64Array;
  /** The same for lines that carry loads alone, and A of loads on the legs of every line. */
  private readonly standing: Float64Array;
  private legs = new Float64Array(0);
  private readonly now = new Float64Array(LEGS);
  private lines: LinesPlan | undefined;

  constructor({ sources, inverters }: Plan) {
    this.byFeeder = new Float64Array(sources.length + inverters.length);
    this.standing = new Float64Array(this.byFeeder.length);
  }

  /** Takes over what loads draw: W by entry of the feed plan. */
  settle({ feeds, lines }: Configuration, entryWatts: Float64Array): void {
    if (this.lines !== lines) this.legs = new Float64Array(LEGS * lines.ohms.length);
    this.lines = lines;
    this.standing.fill(0);
    for (let line = 0; line < lines.ohms.length; line += 1) {
      const own = this.legs.subarray(LEGS * line, LEGS * (line + 1)).fill(0);
      let watts = 0;
      const [from, to] = [lines.entryStart[line]!, lines.entryStart[line + 1]!];
      for (let at = from; at < to; at += 1) {
        const entry = lines.entry[at]!;
        watts += entryWatts[entry]!;
        for (let leg = 0; leg < LEGS; leg += 1) own[leg]! += entryWatts[entry]! * feeds.legs[LEGS * entry + leg]!;
      }
      if (watts === 0 || lines.chargerStart[line + 1]! > lines.chargerStart[line]!) continue;
      const lost = this.lostIn(lines, line, own);
      // Those who carry it together lose as they carry.
      for (let at = from; at < to; at += 1) {
        const entry = lines.entry[at]!;
        this.standing[feeds.feeder[entry]!]! += (lost * entryWatts[entry]!) / watts;
      }
    }
    this.byFeeder.set(this.standing);
  }

  /** Adds what chargers take: W by regulator. */
  fill({ chargerFeeder, chargerLegs, lines }: Configuration, chargerWatts: Float64Array): void {
    const { byFeeder, now, legs } = this;
    for (let at = 0; at < byFeeder.length; at += 1) byFeeder[at] = this.standing[at]!;
    for (let line = 0; line < lines.ohms.length; line += 1) {
      const [from, to] = [lines.chargerStart[line]!, lines.chargerStart[line + 1]!];
      if (from === to) continue;
      for (let leg = 0; leg < LEGS; leg += 1) now[leg] = legs[LEGS * line + leg]!;
      for (let at = from; at < to; at += 1) {
        const charger = lines.charger[at]!;
        for (let leg = 0; leg < LEGS; leg += 1)
          now[leg]! += chargerWatts[charger]! * chargerLegs[LEGS * charger + leg]!;
      }
      // A source carries such a line alone.
      byFeeder[chargerFeeder[lines.charger[from]!]!]! += this.lostIn(lines, line, now);
    }
  }

  /** W lost in a run whose lines carry so many A. */
  private lostIn({ ohms, isThreePhase }: LinesPlan, line: number, [one, two, three]: Float64Array): number {
    const [a, b, c] = [one!, two!, three!];
    const squares = a * a + b * b + c * c;
    // In the return the lines of three phases add at thirds of a turn, the two of a split phase against each other.
    const back = isThreePhase[line] ? squares - a * b - b * c - c * a : (a - b) * (a - b);
    return ohms[line]! * (squares + back);
  }
}
