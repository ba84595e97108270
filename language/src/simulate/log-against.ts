import type { DesignContext } from '../model/context.js';
import { type Against, compareLog } from './against.js';
import { readLog } from './log.js';
import { offsetOf } from './prepare-sun.js';
import type { ScenarioResult } from './types.js';

/** A log as it lies over a simulated scenario: what it was held against, and its times in s from the start. */
export interface LogOver {
  readonly against: Against;
  readonly time: Float64Array;
}

/** The date on which a scenario ends. */
const lastDay = ({ start, duration }: ScenarioResult): string =>
  new Date(Date.parse(`${start.date}T00:00:00Z`) + (start.timeOfDay + duration) * 1000).toISOString().slice(0, 10);

/**
 * The text of a log held against a simulated scenario of a design, on the clock of its site. `ahead` is how far the clock of the logger runs
 * ahead, in s. Answers a sentence where it is no log, or where the two have nothing in common, with which of these it is.
 */
export function logAgainst(
  text: string,
  result: ScenarioResult,
  context: DesignContext,
  ahead = 0,
): LogOver | { readonly reason: string; readonly isLog: boolean } {
  const zone = context.siteFact('timeZone')?.value;
  const hours = typeof zone === 'string' ? offsetOf(zone, result.start.date) : undefined;
  const read = readLog(text, {
    start: result.start,
    ahead,
    ...(hours === undefined ? {} : { beforeGreenwich: hours * 3600 }),
    ...(typeof zone === 'string' && hours !== offsetOf(zone, lastDay(result)) ? { isChanged: true } : {}),
  });
  if ('reason' in read) return { reason: read.reason, isLog: false };
  const compared = compareLog(result, read.log);
  if ('reason' in compared) return { reason: compared.reason, isLog: true };
  return { against: compared.against, time: read.log.time };
}
