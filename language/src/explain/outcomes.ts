import type { OutcomeResult } from '../analyse/outcomes.js';
import type { RequirementResult } from '../checks/define.js';
import { type Derivation, displayValue } from '../derivation/index.js';
import { formatNumber, formatPair } from '../quantity/index.js';
import { inPeopleUnits } from '../glossary/units-text.js';
import type { ReadingResult } from '../quantities/readings/readings.js';

/** What came of a requirement or a reading, in words for people. */
export interface Outcome {
  /** Undefined while it cannot be told. */
  readonly holds?: boolean;
  /** `PASS`, `FAIL`, `OPEN`. */
  readonly word: string;
  /** What was asked, with its value and its limit: `chargeTime(Bank, 20 %, 90 %) = 2.72 h (limit ≤ 4 h)`. */
  readonly text: string;
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

const wordFor = (holds: boolean | undefined): string => (holds === undefined ? 'OPEN' : holds ? 'PASS' : 'FAIL');

/** Signs as people write them. */
const SIGNS: Readonly<Record<string, string>> = { '<=': '≤', '>=': '≥', '==': '=', '!=': '≠' };

function testText({ text, left, right, compared }: RequirementResult): string {
  if (!left || !right || !compared) return text;
  const [value, limit] = sides(left, right).map(inPeopleUnits) as [string, string];
  return `${compared.left} = ${value} (limit ${SIGNS[compared.sign] ?? compared.sign} ${limit})`;
}

export function requirementOutcome(requirement: RequirementResult): Outcome {
  const { holds, undecided } = requirement;
  return {
    ...(holds === undefined ? {} : { holds }),
    word: wordFor(holds),
    text: testText(requirement),
    ...(undecided === undefined ? {} : { why: undecided }),
  };
}

export function readingOutcome({ reading, measured, low, high, holds, undecided }: ReadingResult): Outcome {
  const ends = [low, high].flatMap((end) => (end ? [sides(measured, end)[1]] : []));
  const band =
    low && high
      ? `predicted ${[...new Set(ends)].join(' to ')}`
      : ends[0] && `predicted at ${low ? 'least' : 'most'} ${ends[0]}`;
  const why = undecided?.kind === 'missing' ? `missing ${undecided.missing.join(', ')}` : undecided?.reason;
  return {
    ...(holds === undefined ? {} : { holds }),
    word: wordFor(holds),
    text: inPeopleUnits(`${reading.subject} = ${displayValue(measured)}${band ? ` (${band})` : ''}`),
    ...(why === undefined ? {} : { why }),
  };
}

/** Simulated beside measured: `runTime(Genset): simulated 1.7 kh, measured 1.79 kh (−5 %)`. It neither passes nor fails. */
export function statedOutcomeText({ outcome, measured, simulated, error, undecided }: OutcomeResult): string {
  const [left, right] = simulated ? sides(simulated, measured) : ['', displayValue(measured)];
  const off = error === undefined ? '' : ` (${errorText(error)})`;
  const from = [outcome.date, outcome.note].filter(Boolean).join(', ');
  return inPeopleUnits(
    simulated
      ? `${outcome.text}: simulated ${left}, measured ${right}${off}${from ? `; ${from}` : ''}`
      : `${outcome.text}: measured ${right}; not simulated: ${undecided ?? ''}`,
  );
}

/** How far something lies off, with its sign: `+3.2 %`. */
export function errorText(error: number): string {
  const percent = Number((Math.abs(error) * 100).toPrecision(2));
  return percent === 0 ? '0 %' : `${error < 0 ? '−' : '+'}${formatNumber(percent)} %`;
}
