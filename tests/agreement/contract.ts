import type { Answer } from './answers.js';

/** What is compared. Each has its own test, and its own line in the report. */
export const CLASSES = [
  'play',
  'charge time',
  'net charge',
  'autonomy',
  'run time',
  'fuel',
  'run current',
  'voltage',
  'balance',
  'moves',
  'grouping',
  'feeding',
] as const;
export type Class = (typeof CLASSES)[number];

/** One comparison of a closed form with the play of the same design, or of two writings of one design. */
export interface Comparison {
  readonly of: Class;
  readonly seed: number;
  /** What was compared, with both numbers. */
  readonly what: string;
  /** What is wrong; undefined where they agree. */
  readonly fault?: string;
  /** The text that was played, in the language. */
  readonly text: string;
}

/** How far a closed form may lie from the play, as factors of the play on the incautious and on the cautious side. */
export interface Tolerance {
  readonly less: number;
  readonly more: number;
}

/**
 * A closed form works with one voltage, the play with what the bank has; where it is less cautious, then by no more than 3 %. Beyond that
 * on the cautious side it takes the unfavourable end of what moves (the highest charge voltage, full ratings).
 */
export const CLOSED_FORM: Tolerance = { less: 0.03, more: 0.6 };
/** A run time follows from what is left of a charge current beside the loads, at the nominal voltage: 5 % is what that moves with the voltage. */
export const RUN_TIME: Tolerance = { less: 0.05, more: 0.6 };
/** A voltage is held, not estimated: half a percent for the resistance of leads. A set point that is reached is known to a few percent. */
export const VOLTAGE: Tolerance = { less: 0.005, more: 0.03 };
/** What only has to be enough: ratings count in full, however little flows in a play. */
export const ENOUGH: Tolerance = { less: 0.005, more: Infinity };
/** Two writings of one design: nothing but rounding of numbers to three digits may part them. */
const SAME = 0.01;

/** A closed form against the play. `cautious`: whether a higher or a lower answer is the cautious one. */
export function judged(
  closed: Answer,
  played: number,
  cautious: 'high' | 'low',
  { less, more }: Tolerance,
): string | undefined {
  // Nothing at all is no less than no answer.
  // Where anything is enough that is enough, the refusal of what no cable can deliver is: a play, with less than ratings, may still go.
  if ('none' in closed && closed.isRefused && cautious === 'high' && more === Infinity) return undefined;
  if ('none' in closed)
    return Number.isFinite(played) && !(cautious === 'low' && played === 0)
      ? `no closed form (${closed.none})`
      : undefined;
  const { value } = closed;
  // Never and a very long time are the same for whoever waits.
  if (played === Infinity && cautious === 'high')
    return value < Infinity ? 'the closed form gives a time, the play never gets there' : undefined;
  if (value === played) return undefined;
  // Nothing left is nothing, however much is lacking.
  if (cautious === 'low' && value <= 0) return played > 0 ? 'the closed form leaves nothing, the play does' : undefined;
  const over = cautious === 'high' ? value / played : played / value;
  if (!(over >= 1 - less)) return `less cautious than the play by a factor of ${(1 / over).toPrecision(3)}`;
  return over > 1 + more ? `more cautious than the play by a factor of ${over.toPrecision(3)}` : undefined;
}

/** Two answers that must be the same; answers of the same kind that are none are the same. */
export function unlike(one: Answer, other: Answer): string | undefined {
  if ('none' in one || 'none' in other)
    return 'none' in one === 'none' in other ? undefined : 'only one of the two has an answer';
  const off =
    Math.abs(one.value - other.value) / Math.max(Math.abs(one.value), Math.abs(other.value), Number.MIN_VALUE);
  return off > SAME ? `they differ by ${(100 * off).toPrecision(3)} % of the larger` : undefined;
}

/** A change that is felt, and one that is not left out: as factors. */
const FELT = 1.15;
const NOTED = 1.05;

/** Whether a change of one fact, that moves the play by a factor, moves the closed form alike, and the other way round. */
export function movesAlike(closed: number, played: number): string | undefined {
  const side = (factor: number, least: number): number => (factor > least ? 1 : factor < 1 / least ? -1 : 0);
  if (side(played, FELT) !== 0 && side(closed, NOTED) !== side(played, FELT))
    return `moves the play by a factor of ${played.toPrecision(3)}, the closed form by ${closed.toPrecision(3)}`;
  if (side(closed, FELT) !== 0 && side(played, NOTED) !== side(closed, FELT))
    return `moves the closed form by a factor of ${closed.toPrecision(3)}, the play by ${played.toPrecision(3)}`;
  return undefined;
}

export const shown = (answer: Answer): string => ('none' in answer ? 'none' : answer.value.toPrecision(4));
