import { LEGS } from './budget.js';

/** Alternating-current runs that lose: those on the way to something that takes current, of which size and length are stated. */
export interface Lines {
  /** Ohm of one conductor, conductors in parallel counted. */
  readonly ohms: Float64Array;
  readonly isThreePhase: Uint8Array;
  /** Entries of the feed plan that each carries: those of a run from `entryStart[run]` on, before those of the next. */
  readonly entryStart: Int32Array;
  readonly entry: Int32Array;
  /** The same for regulators that are chargers. */
  readonly chargerStart: Int32Array;
  readonly charger: Int32Array;
}

/** Parts of loads by what feeds them: the feeder of each entry, and A per W on each of three legs. */
export interface Entries {
  readonly feeder: Int32Array;
  readonly legs: Float64Array;
}

/** Chargers by what feeds them, as `Entries`; −1 for none. */
interface Fed {
  readonly lines: Lines;
  readonly feeds: Entries;
  readonly chargerFeeder: Int32Array;
  readonly chargerLegs: Float64Array;
}

/**
 * What alternating-current conductors lose: of each run the resistance of a conductor times the square of what it carries, its return
 * included. Loads stand until something switches; what chargers take comes on top at every step.
 */
export class ConductorLosses {
  /** W lost on the way from each feeder, as filled last. */
  readonly byFeeder: Float64Array;
  /** The same while no charger takes anything. */
  readonly standing: Float64Array;
  /** A of loads on the legs of every line, and W that they lose there. */
  private legs = new Float64Array(0);
  private lost = new Float64Array(0);
  /** W of loads that every line carries. */
  private watts = new Float64Array(0);
  /** Lines that carry what chargers take as well, with the feeder of each. */
  private shared: readonly number[] = [];
  /** Lines that carry each entry: those of an entry from `wayStart[entry]` on, before those of the next. */
  private wayStart = new Int32Array(1);
  private way = new Int32Array(0);
  private isStanding = true;
  private lines: Lines | undefined;

  constructor(feeders: number) {
    this.byFeeder = new Float64Array(feeders);
    this.standing = new Float64Array(feeders);
  }

  /** Begins with lines that carry nothing. */
  clear({ lines, feeds }: Pick<Fed, 'lines' | 'feeds'>): void {
    if (this.lines !== lines) this.take(lines, feeds.feeder.length);
    this.legs.fill(0);
    this.lost.fill(0);
    this.watts.fill(0);
  }

  /** W by which the lines of an entry lose more once it carries so many W more. */
  more({ legs }: Entries, entry: number, watts: number): number {
    let sum = 0;
    for (let each = this.wayStart[entry]!; each < this.wayStart[entry + 1]!; each += 1)
      sum += this.lostWith(this.way[each]!, legs, entry, watts) - this.lost[this.way[each]!]!;
    return sum;
  }

  /** Lets an entry carry so many W more. */
  carry({ legs }: Entries, entry: number, watts: number): void {
    for (let each = this.wayStart[entry]!; each < this.wayStart[entry + 1]!; each += 1) {
      const line = this.way[each]!;
      this.lost[line] = this.lostWith(line, legs, entry, watts);
      this.watts[line]! += watts;
      for (let leg = 0; leg < LEGS; leg += 1) this.legs[LEGS * line + leg]! += watts * legs[LEGS * entry + leg]!;
    }
  }

  /** Once all entries carry what they do (W): shares out what is lost among those that feed them. */
  settle({ feeds, lines }: Pick<Fed, 'lines' | 'feeds'>, entryWatts: Float64Array): void {
    const { standing, lost, watts } = this;
    standing.fill(0);
    for (let line = 0; line < lost.length; line += 1) {
      if (!(lost[line]! > 0)) continue;
      // Those who carry it together lose as they carry.
      for (let at = lines.entryStart[line]!; at < lines.entryStart[line + 1]!; at += 1) {
        const entry = lines.entry[at]!;
        standing[feeds.feeder[entry]!]! += (lost[line]! * entryWatts[entry]!) / watts[line]!;
      }
    }
    this.byFeeder.set(standing);
    this.isStanding = true;
  }

  private take(lines: Lines, entries: number): void {
    this.lines = lines;
    const count = lines.ohms.length;
    this.legs = new Float64Array(LEGS * count);
    this.lost = new Float64Array(count);
    this.watts = new Float64Array(count);
    this.shared = Array.from(this.lost, (_, line) => line).filter(
      (line) => lines.chargerStart[line + 1]! > lines.chargerStart[line]!,
    );
    const ways = Array.from({ length: entries }, (): number[] => []);
    for (let line = 0; line < count; line += 1)
      for (let at = lines.entryStart[line]!; at < lines.entryStart[line + 1]!; at += 1)
        ways[lines.entry[at]!]!.push(line);
    this.wayStart = new Int32Array(entries + 1);
    ways.forEach((way, entry) => (this.wayStart[entry + 1] = this.wayStart[entry]! + way.length));
    this.way = Int32Array.from(ways.flat());
  }

  /** Adds what chargers take: W by charger. */
  fill(fed: Fed, chargerWatts: Float64Array): void {
    const { byFeeder, standing, shared } = this;
    if (!this.isStanding) {
      for (let at = 0; at < byFeeder.length; at += 1) byFeeder[at] = standing[at]!;
      this.isStanding = true;
    }
    for (let each = 0; each < shared.length; each += 1) {
      const more = this.moreByChargers(fed, shared[each]!, chargerWatts);
      if (more === 0) continue;
      byFeeder[feederOfLine(fed, shared[each]!)]! += more;
      this.isStanding = false;
    }
  }

  /** W that the lines of one feeder lose more for what its chargers take (W by charger). */
  byChargers(fed: Fed, feeder: number, chargerWatts: Float64Array): number {
    let sum = 0;
    for (let each = 0; each < this.shared.length; each += 1)
      if (feederOfLine(fed, this.shared[each]!) === feeder)
        sum += this.moreByChargers(fed, this.shared[each]!, chargerWatts);
    return sum;
  }

  /**
   * W that a line loses more for what chargers take. Of what loads lose there as well their own feeders bear the part they would bear alone;
   * what feeds its chargers bears the rest.
   */
  private moreByChargers({ lines, chargerLegs }: Fed, line: number, chargerWatts: Float64Array): number {
    let [watts, one, two, three] = [0, 0, 0, 0];
    for (let at = lines.chargerStart[line]!; at < lines.chargerStart[line + 1]!; at += 1) {
      const charger = lines.charger[at]!;
      const taken = chargerWatts[charger]!;
      watts += taken;
      one += taken * chargerLegs[LEGS * charger]!;
      two += taken * chargerLegs[LEGS * charger + 1]!;
      three += taken * chargerLegs[LEGS * charger + 2]!;
    }
    if (watts === 0) return 0;
    const { legs } = this;
    const first = LEGS * line;
    return this.lostIn(line, legs[first]! + one, legs[first + 1]! + two, legs[first + 2]! + three) - this.lost[line]!;
  }

  private lostWith(line: number, legs: Float64Array, entry: number, watts: number): number {
    const [from, first] = [LEGS * entry, LEGS * line];
    return this.lostIn(
      line,
      this.legs[first]! + watts * legs[from]!,
      this.legs[first + 1]! + watts * legs[from + 1]!,
      this.legs[first + 2]! + watts * legs[from + 2]!,
    );
  }

  /** W lost in a run whose lines carry so many A. */
  private lostIn(line: number, one: number, two: number, three: number): number {
    const { ohms, isThreePhase } = this.lines!;
    return lostInRun(ohms[line]!, isThreePhase[line] === 1, one, two, three);
  }
}

const feederOfLine = ({ lines, chargerFeeder }: Fed, line: number): number =>
  chargerFeeder[lines.charger[lines.chargerStart[line]!]!]!;

/** W lost in a run of so many ohm a conductor whose lines carry so many A, the return included. */
export function lostInRun(ohms: number, isThreePhase: boolean, one: number, two: number, three: number): number {
  const squares = one * one + two * two + three * three;
  // In the return the lines of three phases add at thirds of a turn, the two of a split phase against each other.
  const back = isThreePhase ? squares - one * two - two * three - three * one : (one - two) * (one - two);
  return ohms * (squares + back);
}

/**
 * A through a direct-current cable (ohm out and back) that takes W to a load of constant power from V: the smaller of both solutions of
 * P = (V − I·R)·I; the most that the load can take there (half of V is lost) where there is none.
 */
export function wiredAmperes(ohms: number, watts: number, volts: number): number {
  const inside = volts * volts - 4 * ohms * watts;
  return inside > 0 ? (2 * watts) / (volts + Math.sqrt(inside)) : volts / (2 * ohms);
}

/** W that a cable (ohm out and back) loses before something that takes W behind it from V. */
export const lostBefore = (ohms: number, watts: number, volts: number): number =>
  ohms > 0 && watts > 0 ? volts * wiredAmperes(ohms, watts, volts) - watts : 0;
