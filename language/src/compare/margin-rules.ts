/**
 * From when on a moved margin is told. Common practice of reviews, no source: what is in use below `far` is far from its limit, and what
 * has moved by less than `least` of itself is told only where it stands close.
 */
export const MARGIN = { far: 0.75, close: 0.8, least: 0.01, noise: 0.005 } as const;

/** Bands of use, the best first: a move into a worse one is always told. */
const BANDS = [0.8, 0.95, 1] as const;

const bandOf = (use: number): number => BANDS.filter((bound) => use > bound * (1 + 1e-9)).length;

export type Band = 'good' | 'close' | 'little' | 'over';
const BAND_NAMES: readonly Band[] = ['good', 'close', 'little', 'over'];
export const bandName = (use: number): Band => BAND_NAMES[bandOf(use)]!;

/** Whether a limit is in use enough more to be told. */
export function isLess(before: number, after: number): boolean {
  if (!(after > before * (1 + MARGIN.noise)) || after < MARGIN.far) return false;
  if (bandOf(after) > bandOf(before)) return true;
  return after > before * (1 + MARGIN.least) || after >= MARGIN.close;
}

/** Whether a limit that was close has come to be less in use. */
export const isMore = (before: number, after: number): boolean => isLess(after, before);
