import type { ControlState } from '../control/index.js';
import { type Calendar, DAY, INSTANT } from './calendar.js';
import type { Plan } from './plan.js';

/**
 * Runs the rules of a design. The machine of the rules is told only when something it hears of changes or one of its timers is due;
 * between, what it was told last holds.
 */
export class RuleRunner {
  /** Time at which a timer of the rules is due. */
  due = Infinity;
  private readonly state: ControlState;
  /** Until when the machine has been told. */
  private told = 0;
  private isFresh = true;
  private readonly held: Uint8Array;
  private readonly carries: Uint8Array;

  constructor(
    private readonly control: Plan['control'],
    private readonly firstDay: number,
  ) {
    this.state = control.start?.slice() ?? control.machine.initial();
    this.held = new Uint8Array(control.comparisons.length);
    this.carries = new Uint8Array(control.links.length).fill(1);
  }

  /** Whether a target turns or is on; −1 stands for what no control commands. */
  isRunning(target: number): boolean {
    return target < 0 || this.control.machine.isRunning(this.state, target);
  }

  isLoaded(target: number): boolean {
    return this.control.machine.isLoaded(this.state, target);
  }

  private inputs(time: number, { day, dayStart }: Calendar): Parameters<Plan['control']['machine']['step']>[1] {
    let [today, timeOfDay] = [day + this.firstDay, time - dayStart];
    // The machine may last have been told before midnight.
    while (timeOfDay < -INSTANT) [today, timeOfDay] = [today - 1, timeOfDay + DAY];
    return { truths: this.held, links: this.carries, day: today, timeOfDay: Math.max(0, timeOfDay) };
  }

  /** Lets the time pass in which what the machine was told last held; it has taken that in when it was told. */
  private bringUp(time: number, calendar: Calendar): void {
    if (time > this.told) this.control.machine.pass(this.state, this.inputs(this.told, calendar), time - this.told);
    this.told = time;
  }

  /**
   * Tells what holds now, if it is news. Answers the targets whose command changed by it, as positions; none when nothing did.
   */
  tell(truths: Uint8Array, time: number, calendar: Calendar): readonly number[] {
    const { machine } = this.control;
    if (machine.targets.length === 0 || !this.isNews(truths, time)) return NONE;
    const phases = machine.targets.map((_, target) => machine.phase(this.state, target));
    this.bringUp(time, calendar);
    for (let at = 0; at < this.held.length; at += 1) this.held[at] = truths[at]!;
    this.isFresh = false;
    const now = this.inputs(time, calendar);
    machine.step(this.state, now, 0);
    this.due = time + machine.nextTimer(this.state, now);
    return phases.flatMap((phase, target) => (machine.phase(this.state, target) === phase ? [] : [target]));
  }

  private isNews(truths: Uint8Array, time: number): boolean {
    if (this.isFresh || time >= this.due - INSTANT) return true;
    for (let at = 0; at < this.held.length; at += 1) if (truths[at] !== this.held[at]) return true;
    return false;
  }

  /** A link of the design falls silent or is heard again: the machine counts its time-out itself. */
  tellLink(link: number, isHeard: boolean, time: number, calendar: Calendar): void {
    const { links, machine } = this.control;
    // Where nothing is commanded nobody hears of it, and nothing is ever due.
    if (machine.targets.length === 0) return;
    this.bringUp(time, calendar);
    for (let at = 0; at < links.length; at += 1) if (links[at] === link) this.carries[at] = isHeard ? 1 : 0;
    this.due = time;
  }
}

const NONE: readonly number[] = [];
