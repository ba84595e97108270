import type { RequirementResult } from '../checks/define.js';
import { type Derivation, displayValue } from '../derivation/index.js';
import { formatPair } from '../quantity/index.js';
import type { ReadingResult } from '../quantities/readings/readings.js';

/** What came of a requirement or a reading, in words for people. */
export interface Outcome {
  /** Undefined while it cannot be told. */
  readonly holds?: boolean;
  /** `holds`, `fails`, `not decided`; of a reading `fits`, `is off`, `not checked`. */
  readonly word: string;
  /** The numbers on both sides; absent where there are none. */
  readonly values?: string;
  /** Why it cannot be told. */
  readonly why?: string;
}

/** Both sides in one unit, with as many digits as tell them apart. */
function sides(left: Derivation, right: Derivation): readonly [string, string] {
  return typeof left.value === 'object' &&
    typeof right.value === 'object' &&
    left.value.dimension === right.value.dimension
    ? formatPair(left.value, right.value)
    : [displayValue(left), displayValue(right)];
}

export function requirementOutcome({ holds, left, right, undecided }: RequirementResult): Outcome {
  return {
    ...(holds === undefined ? {} : { holds }),
    word: holds === undefined ? 'not decided' : holds ? 'holds' : 'fails',
    ...(left && right ? { values: sides(left, right).join(' against ') } : {}),
    ...(undecided === undefined ? {} : { why: undecided }),
  };
}

export function readingOutcome({ measured, low, high, holds, undecided }: ReadingResult): Outcome {
  const ends = [low, high].flatMap((end) => (end ? [sides(measured, end)[1]] : []));
  const band =
    low && high
      ? `predicted ${[...new Set(ends)].join(' to ')}`
      : ends[0] && `predicted at ${low ? 'least' : 'most'} ${ends[0]}`;
  const why = undecided?.kind === 'missing' ? `missing ${undecided.missing.join(', ')}` : undecided?.reason;
  return {
    ...(holds === undefined ? {} : { holds }),
    word: holds === undefined ? 'not checked' : holds ? 'fits' : 'is off',
    ...(band ? { values: band } : {}),
    ...(why === undefined ? {} : { why }),
  };
}
