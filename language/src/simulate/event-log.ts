import { EndlessSwitching } from './engine-types.js';
import type { ScenarioEvent } from './types.js';

/** Switchings within an hour that count as chatter without end. */
const MOST_EVENTS_PER_HOUR = 20_000;
/** Events of a whole play, however long: a year of a busy site has some ten thousand, and what is kept must fit into memory. */
const MOST_EVENTS = 2_000_000;

/** What happened in a play, in order of time. */
export class EventLog {
  readonly events: ScenarioEvent[] = [];
  private hour = 0;
  private inHour = 0;

  /** Notes what happens at a time in s; gives up where there is no end of it. */
  note(time: number, what: ScenarioEvent['what'], of: string): void {
    this.events.push({ time, what, of });
    const hour = Math.floor(time / 3600);
    this.inHour = hour === this.hour ? this.inHour + 1 : 1;
    this.hour = hour;
    if (this.inHour > MOST_EVENTS_PER_HOUR || this.events.length > MOST_EVENTS) throw new EndlessSwitching(time);
  }
}
