import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { finished } from '../../../language/src/simulate/finished.js';
import type { RunRecord } from '../../../language/src/simulate/run-record.js';
import type { PlayedRun, Runs } from '../../../language/src/simulate/runs.js';
import { type RunElsewhere, type RunsBeside, playingAll } from '../../../language/src/simulate/runs-beside.js';

/** The record of a run, which says nothing but which it is. */
const record = (run: number): RunRecord => ({ run }) as unknown as RunRecord;

/** Runs of which some cannot be played. */
function runsWith(faulty: readonly number[]): Pick<Runs, 'playing'> & { readonly played: number[] } {
  const played: number[] = [];
  return {
    played,
    *playing(run: number): Generator<number, PlayedRun> {
      yield 0.5;
      played.push(run);
      if (faulty.includes(run)) throw new Error(`run ${run}`);
      return { record: record(run) } as PlayedRun;
    },
  };
}

interface Others {
  readonly count: number;
  /** What the others take of each piece of work: each number is how many runs they begin before the player's next one. */
  readonly greed: readonly number[];
  readonly faulty: readonly number[];
  /** Runs that they begin and never finish. */
  readonly lost: readonly number[];
}

/** Others that begin runs between those of the player, and hand over what they have whenever they are asked. */
function others({ count, greed, faulty, lost }: Others): RunsBeside & { readonly hasEnded: () => boolean } {
  let next = 1;
  let turn = 0;
  let hasEnded = false;
  const waiting: RunElsewhere[] = [];
  return {
    take: () => {
      for (let taken = 0; taken < (greed[turn] ?? 0) && next < count; taken += 1, next += 1)
        if (!lost.includes(next))
          waiting.push(faulty.includes(next) ? { run: next } : { run: next, record: record(next) });
      turn += 1;
      return next < count ? next++ : undefined;
    },
    arrived: (waits) => {
      const found = waiting.splice(0, 1);
      return found.length > 0 || !waits ? found : undefined;
    },
    end: () => {
      hasEnded = true;
    },
    hasEnded: () => hasEnded,
  };
}

const positions = fc.uniqueArray(fc.integer({ min: 1, max: 11 }), { maxLength: 3 });

describe('runs that are played by several', () => {
  test('are the same runs, each once, whoever plays them and whoever is lost on the way', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(4), { maxLength: 12 }), positions, (greed, lost) => {
        const runs = runsWith([]);
        const beside = others({ count: 12, greed, faulty: [], lost });
        const { records, first } = finished(playingAll(runs, 12, beside));
        expect(records).toEqual(Array.from({ length: 12 }, (_, run) => record(run)));
        expect(first.record).toEqual(record(0));
        expect(new Set(runs.played).size).toBe(runs.played.length);
        expect(beside.hasEnded()).toBe(true);
      }),
    );
  });

  test('fail with the first that cannot be played, whoever plays it', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(4), { maxLength: 12 }), positions, positions, (greed, lost, faulty) => {
        fc.pre(faulty.length > 0);
        const beside = others({ count: 12, greed, faulty, lost });
        expect(() => finished(playingAll(runsWith(faulty), 12, beside))).toThrow(`run ${Math.min(...faulty)}`);
        expect(beside.hasEnded()).toBe(true);
      }),
    );
  });

  test('what another could not play for a reason of its own is played here', () => {
    const beside = others({ count: 12, greed: [5], faulty: [2, 4], lost: [] });
    const { records } = finished(playingAll(runsWith([]), 12, beside));
    expect(records).toEqual(Array.from({ length: 12 }, (_, run) => record(run)));
  });

  test('tell a share that grows from nothing to all', () => {
    const shares = [...playingAll(runsWith([]), 5, others({ count: 5, greed: [2], faulty: [], lost: [] }))];
    expect(shares).toEqual([...shares].sort((left, right) => left - right));
    expect(shares.at(-1)).toBeLessThanOrEqual(1);
  });
});
