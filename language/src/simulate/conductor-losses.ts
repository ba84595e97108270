import { LEGS } from '../solve/budget.js';
import type { Configuration, LinesPlan, Plan } from './plan.js';

/**
 * What alternating-current conductors lose: of each run the resistance of a conductor times the square of what it carries, its return
 * included. Loads stand until something switches; what chargers take comes on top at every step.
 */
export class ConductorLosses {
  /** W lost on the way from each source, and behind them from each inverter, as filled last. */
  readonly byFeeder: Float64Array;
  /** The same while no charger takes anything. */
  private readonly standing: Float64Array;
  /** A of loads on the legs of every line, and W that they lose there. */
  private legs = new Float64Array(0);
  private lost = new Float64Array(0);
  /** Lines that carry what chargers take as well. */
  private shared: readonly number[] = [];
  private isStanding = true;
  private lines: LinesPlan | undefined;

  constructor({ sources, inverters }: Plan) {
    this.byFeeder = new Float64Array(sources.length + inverters.length);
    this.standing = new Float64Array(this.byFeeder.length);
  }

  /** Takes over what loads draw: W by entry of the feed plan. */
  settle({ feeds, lines }: Configuration, entryWatts: Float64Array): void {
    if (this.lines !== lines) this.take(lines);
    const { standing, legs, lost } = this;
    standing.fill(0);
    legs.fill(0);
    for (let line = 0; line < lost.length; line += 1) {
      let watts = 0;
      const [from, to] = [lines.entryStart[line]!, lines.entryStart[line + 1]!];
      for (let at = from; at < to; at += 1) {
        const entry = lines.entry[at]!;
        watts += entryWatts[entry]!;
        for (let leg = 0; leg < LEGS; leg += 1)
          legs[LEGS * line + leg]! += entryWatts[entry]! * feeds.legs[LEGS * entry + leg]!;
      }
      lost[line] =
        watts > 0 ? this.lostIn(line, legs[LEGS * line]!, legs[LEGS * line + 1]!, legs[LEGS * line + 2]!) : 0;
      if (lost[line] === 0) continue;
      // Those who carry it together lose as they carry.
      for (let at = from; at < to; at += 1) {
        const entry = lines.entry[at]!;
        standing[feeds.feeder[entry]!]! += (lost[line]! * entryWatts[entry]!) / watts;
      }
    }
    this.byFeeder.set(standing);
    this.isStanding = true;
  }

  private take(lines: LinesPlan): void {
    this.lines = lines;
    this.legs = new Float64Array(LEGS * lines.ohms.length);
    this.lost = new Float64Array(lines.ohms.length);
    this.shared = Array.from(this.lost, (_, line) => line).filter(
      (line) => lines.chargerStart[line + 1]! > lines.chargerStart[line]!,
    );
  }

  /** Adds what chargers take: W by regulator. */
  fill({ chargerFeeder, chargerLegs, lines }: Configuration, chargerWatts: Float64Array): void {
    const { byFeeder, standing, legs, lost, shared } = this;
    if (!this.isStanding) {
      for (let at = 0; at < byFeeder.length; at += 1) byFeeder[at] = standing[at]!;
      this.isStanding = true;
    }
    for (let each = 0; each < shared.length; each += 1) {
      const line = shared[each]!;
      const [from, to] = [lines.chargerStart[line]!, lines.chargerStart[line + 1]!];
      let [watts, one, two, three] = [0, 0, 0, 0];
      for (let at = from; at < to; at += 1) {
        const charger = lines.charger[at]!;
        const taken = chargerWatts[charger]!;
        watts += taken;
        one += taken * chargerLegs[LEGS * charger]!;
        two += taken * chargerLegs[LEGS * charger + 1]!;
        three += taken * chargerLegs[LEGS * charger + 2]!;
      }
      if (watts === 0) continue;
      const first = LEGS * line;
      const all = this.lostIn(line, legs[first]! + one, legs[first + 1]! + two, legs[first + 2]! + three);
      // Of what loads lose there as well their own feeders bear the part they would bear alone; a source carries the rest with its chargers.
      byFeeder[chargerFeeder[lines.charger[from]!]!]! += all - lost[line]!;
      this.isStanding = false;
    }
  }

  /** W lost in a run whose lines carry so many A. */
  private lostIn(line: number, one: number, two: number, three: number): number {
    const { ohms, isThreePhase } = this.lines!;
    const squares = one * one + two * two + three * three;
    // In the return the lines of three phases add at thirds of a turn, the two of a split phase against each other.
    const back = isThreePhase[line] ? squares - one * two - two * three - three * one : (one - two) * (one - two);
    return ohms[line]! * (squares + back);
  }
}
