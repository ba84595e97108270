import type { Plan } from './plan.js';
import type { Random } from './random.js';
import { isLeap } from '../quantities/weather/dates.js';

export const DAY = 86400;
/** Last day of the year of each month, in years that are not leap years. */
const MONTH_ENDS = [31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];
/** Times closer than this are one, in s; events are found to it. */
export const INSTANT = 1e-6;

/** Something that begins (`by` 1) or ends (−1) at a time in s: a source is lost, a link falls silent, gear takes a link as lost, a tank is filled. */
export interface Edge {
  readonly time: number;
  readonly of: 'source' | 'link' | 'lost' | 'tank';
  readonly index: number;
  readonly by: 1 | -1;
}

/** Days, the times of day at which profiles change, and outages: what changes whatever the system does. Times count in s from the start. */
export class Calendar {
  /** Days since the first, and the time of the midnight with which this one began. */
  day = 0;
  dayStart: number;
  dayOfYear: number;
  year: number;
  /** Times of day at which the profile of any load changes. */
  private readonly dayTimes: Float64Array;
  private dayPointer = 0;
  private readonly edges: readonly Edge[];
  private edgePointer = 0;

  constructor(plan: Plan, random: Random | undefined) {
    this.dayStart = -plan.timeOfDay;
    this.dayOfYear = plan.dayOfYear;
    this.year = plan.year;
    this.dayTimes = Float64Array.from(
      [...new Set([0, ...plan.loads.flatMap((load) => [...load.shareFrom])])]
        .filter((time) => time < DAY)
        .sort((a, b) => a - b),
    );
    while (this.dayPointer < this.dayTimes.length && this.dayTimes[this.dayPointer]! <= plan.timeOfDay)
      this.dayPointer += 1;
    this.edges = edgesOf(plan, random);
  }

  timeOfDay(time: number): number {
    return time - this.dayStart;
  }

  /** Of this day, from 0 for January. */
  get month(): number {
    const leap = isLeap(this.year) ? 1 : 0;
    return MONTH_ENDS.findIndex((end, at) => this.dayOfYear <= end + (at > 0 ? leap : 0));
  }

  /** The next midnight, change of a profile, beginning or end of an outage. */
  nextChange(): number {
    let next = this.dayStart + DAY;
    if (this.dayPointer < this.dayTimes.length) {
      const profile = this.dayStart + this.dayTimes[this.dayPointer]!;
      if (profile < next) next = profile;
    }
    const edge = this.edges[this.edgePointer];
    return edge && edge.time < next ? edge.time : next;
  }

  /** Goes on to the next day when its midnight has come. */
  passMidnight(time: number): boolean {
    if (this.timeOfDay(time) < DAY - INSTANT) return false;
    this.dayStart += DAY;
    this.day += 1;
    this.dayOfYear += 1;
    if (this.dayOfYear > (isLeap(this.year) ? 366 : 365)) [this.year, this.dayOfYear] = [this.year + 1, 1];
    this.dayPointer = 0;
    return true;
  }

  /** Whether any profile changes at a time; each change is told once. */
  passProfiles(time: number): boolean {
    const before = this.dayPointer;
    while (this.dayPointer < this.dayTimes.length && this.timeOfDay(time) >= this.dayTimes[this.dayPointer]! - INSTANT)
      this.dayPointer += 1;
    return this.dayPointer > before;
  }

  /** The next beginning or end of an outage that has come; each is told once. */
  passEdge(time: number): Edge | undefined {
    const edge = this.edges[this.edgePointer];
    if (!edge || edge.time > time + INSTANT) return undefined;
    this.edgePointer += 1;
    return edge;
  }
}

/** Beginnings and ends of outages and lost links in order; links count as lost to gear that listens to them after their time-out. */
function edgesOf(plan: Plan, random: Random | undefined): Edge[] {
  const edges: Edge[] = [];
  const add = (of: 'source' | 'link' | 'lost', index: number, from: number, to: number): void => {
    if (from >= plan.duration || to <= from) return;
    edges.push({ time: Math.max(0, from), of, index, by: 1 });
    if (to < plan.duration) edges.push({ time: to, of, index, by: -1 });
  };
  for (const { of, index, from, to } of plan.spans) {
    add(of, index, from, to);
    if (of === 'link') add('lost', index, from + plan.links[index]!.timeOut, to);
  }
  for (const { source, at } of plan.refills)
    if (at < plan.duration) edges.push({ time: at, of: 'tank', index: source, by: 1 });
  if (random)
    plan.sources.forEach(({ betweenOutages, outage }, index) => {
      if (!(betweenOutages > 0) || !(outage > 0)) return;
      for (let at = random.waiting(betweenOutages); at < plan.duration; at += random.waiting(betweenOutages)) {
        const length = random.waiting(outage);
        add('source', index, at, at + length);
        at += length;
      }
    });
  return edges.sort((a, b) => a.time - b.time);
}
