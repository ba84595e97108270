import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Budget } from './budget.js';
import { CASES } from './cases.js';
import { keep } from './found.js';
import { shrunk } from './shrink.js';
import { type Case, KINDS, Trials } from './trial.js';

const MINUTES = Number(process.env.WATTWRIGHT_FUZZ_MINUTES ?? '1');
const SEED = Number(process.env.WATTWRIGHT_FUZZ_SEED ?? '20270101');
/** How many of a kind are tried in one turn: those that need a process of their own fewer. */
const IN_TURN: Readonly<Record<Case['kind'], number>> = {
  edit: 6,
  text: 30,
  scenario: 8,
  call: 10,
  process: 2,
  protocol: 2,
};
/** A find is made smaller for this long at most, in minutes. */
const SHRINKING = 0.75;

/** Finds that differ only in their names, numbers and places are told once. */
const likeness = (kind: string, fault: string): string =>
  `${kind} ${fault
    .split('\n')[0]!
    .replace(/[`“"][^`”"]*[`”"]|[\d.]+|\/\S+/g, '…')
    .slice(0, 120)}`;

test('random edits, texts, scenarios, calls and talks break no promise', async () => {
  const budget = Budget.ofMinutes(MINUTES);
  const trials = new Trials(120_000);
  const tried = Object.fromEntries(KINDS.map((kind) => [kind, 0])) as Record<Case['kind'], number>;
  const seen = new Set<string>();
  const kept: string[] = [];
  for (let turn = 0; !budget.isSpent(); turn += 1) {
    for (const kind of KINDS) {
      // Each turn has a seed of its own, so that a run of more minutes begins with that of fewer.
      for (const one of fc.sample(CASES[kind], { seed: SEED + turn, numRuns: IN_TURN[kind] })) {
        if (budget.isSpent()) break;
        tried[kind] += 1;
        const [fault] = await trials.faults(one);
        if (fault === undefined || seen.has(likeness(kind, fault))) continue;
        seen.add(likeness(kind, fault));
        const time = Budget.ofMinutes(SHRINKING);
        const fails = async (smaller: Case): Promise<boolean> =>
          (await trials.faults(smaller)).some((each) => likeness(kind, each) === likeness(kind, fault));
        const least = await shrunk(one, fails, () => time.isSpent());
        const broke = await trials.faults(least);
        const name = keep({ broke: broke.length > 0 ? broke : [fault], case: broke.length > 0 ? least : one });
        kept.push(name);
        console.log(`found ${name}: ${(broke[0] ?? fault).slice(0, 300)}`);
      }
    }
  }
  await trials.end();
  console.log(`seed ${SEED}; tried ${KINDS.map((kind) => `${tried[kind]} ${kind}`).join(', ')}; found ${kept.length}`);
  expect(kept).toEqual([]);
});
