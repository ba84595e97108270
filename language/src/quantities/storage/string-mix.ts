import { type Branch, type Source, solveCircuit } from '../../solve/circuit.js';

/** A row of strings in parallel: ohm of a string from new and warm to aged and cold, ohm of a link, and where the main cables leave. */
export interface Row {
  readonly strings: number;
  readonly low: number;
  readonly high: number;
  readonly jumper: number;
  readonly takeOff: 'busbar' | 'end' | 'diagonal';
}

/**
 * Most that one string carries over the mean of all where they differ as far as their resistance may: itself at the low end, all others at
 * the high end. More resistance in any string drives its current into all others, so that no other mix gives one string more. In a row the
 * string nearest to a main cable carries most. Undefined where the row cannot be solved.
 */
export function mixedShare(row: Row): number | undefined {
  const { strings, low, high, takeOff } = row;
  if (strings < 2) return 1;
  if (takeOff === 'busbar' || row.jumper === 0) return high === 0 ? 1 : (strings * high) / (high + (strings - 1) * low);
  if (high === 0) return strings;
  // Shares do not change with the scale of all resistances.
  const scaled = { ...row, low: low / high, high: 1, jumper: row.jumper / high };
  const shares = [0, strings - 1].map((at) => shareOf(at, scaled));
  return shares.every((share) => share !== undefined) ? Math.max(...shares) : undefined;
}

/** V of every string, of about 1 ohm with 1 A taken from all of them: shares do not depend on it. */
const SAME_VOLTAGE = 12;

/** Share over the mean of the string at a place, it alone at the low end of its resistance. */
function shareOf(at: number, { strings, low, high, jumper, takeOff }: Row): number | undefined {
  const positive = (index: number): number => 1 + index;
  const negative = (index: number): number => (index === 0 ? 0 : strings + index);
  const branches: Branch[] = Array.from({ length: strings - 1 }, (_, index) => [
    { from: positive(index), to: positive(index + 1), resistance: jumper },
    { from: negative(index), to: negative(index + 1), resistance: jumper },
  ]).flat();
  const sources: Source[] = Array.from({ length: strings }, (_, index) => ({
    positive: positive(index),
    negative: negative(index),
    voltage: { re: SAME_VOLTAGE, im: 0 },
    resistance: index === at ? low : high,
  }));
  const to = negative(takeOff === 'end' ? 0 : strings - 1);
  const solution = solveCircuit({
    nodes: 2 * strings,
    branches,
    sources,
    loads: [{ kind: 'current', from: positive(0), to, current: 1 }],
  });
  return solution.solved ? solution.sourceCurrents[at]!.re * strings : undefined;
}
