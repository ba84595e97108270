import { describe, expect, it } from 'vitest';
import { CHECKS, type Fix } from '../../language/src/index.js';
import { type Draft, type Facts, textOf } from '../agreement/draft.js';
import { randomSystem } from '../agreement/random-system.js';
import { type TestedAnalysis, type TestedFinding, analyseText, applyFix } from '../helpers/analyse.js';
import { Dice } from '../helpers/random.js';

/*
 * What is offered is tried here by itself, on the whole file, by a way of counting that knows nothing of how it was proved: each proposal
 * must end its finding, bring no error, and not undo what another one does.
 */

const standing = ({ findings }: TestedAnalysis): TestedFinding[] => findings.filter(({ accepted }) => !accepted);
const keyOf = ({ check, subject }: TestedFinding): string => `${check} on ${subject}`;
const isOfText = ({ check }: TestedFinding): boolean => CHECKS.find(({ id }) => id === check)?.group === 'text';

const errorsOf = (analysis: TestedAnalysis): string[] =>
  standing(analysis)
    .filter(({ severity }) => severity === 'error')
    .map(keyOf)
    .sort();

/** Entries of a list beyond those of another, each as often as it stands there. */
function beyond(before: readonly string[], after: readonly string[]): string[] {
  const left = [...before];
  return after.filter((each) => {
    const index = left.indexOf(each);
    if (index >= 0) left.splice(index, 1);
    return index < 0;
  });
}

const countOf = (analysis: TestedAnalysis, finding: TestedFinding): number =>
  standing(analysis).filter((each) => keyOf(each) === keyOf(finding)).length;

interface Offer {
  readonly finding: TestedFinding;
  readonly fix: Fix;
  readonly after: TestedAnalysis;
}

const meets = (left: Fix, right: Fix): boolean =>
  left.edits.some((one) =>
    right.edits.some(
      (other) =>
        one.text !== other.text &&
        one.place.end > one.place.offset &&
        one.place.offset < other.place.end &&
        other.place.offset < one.place.end,
    ),
  );

/** What is wrong with the proposals of a design. */
async function faultsOf(
  text: string,
  most = Infinity,
): Promise<{ readonly offers: number; readonly faults: string[] }> {
  const before = await analyseText(text);
  const faults: string[] = [];
  const offers: Offer[] = [];
  for (const finding of standing(before).slice(0, most))
    for (const fix of finding.fixes) {
      const after = await analyseText(applyFix(text, fix));
      offers.push({ finding, fix, after });
      const told = `"${fix.title}" for ${keyOf(finding)}`;
      if (countOf(after, finding) >= countOf(before, finding)) faults.push(`${told} leaves it`);
      // What could not be read before hides errors that no change has made.
      const fresh = isOfText(finding) ? [] : beyond(errorsOf(before), errorsOf(after));
      for (const error of fresh) faults.push(`${told} brings ${error}`);
      const unread = after.findings.filter(({ check }) => check === 'syntax-error').length;
      if (unread > before.findings.filter(({ check }) => check === 'syntax-error').length)
        faults.push(`${told} cannot be read`);
    }
  for (const [index, one] of offers.entries())
    for (const other of offers.slice(index + 1)) {
      if (one.finding === other.finding || !meets(one.fix, other.fix)) continue;
      const isSame = keyOf(one.finding) === keyOf(other.finding);
      const left = (a: Offer, b: Offer): boolean =>
        countOf(a.after, b.finding) >= (isSame ? 1 : countOf(before, b.finding));
      if (left(one, other) && left(other, one))
        faults.push(`"${one.fix.title}" and "${other.fix.title}" undo each other`);
    }
  return { offers: offers.length, faults };
}

/** A draft in which a few numbers are far from what they should be. */
function flawed(draft: Draft, dice: Dice): Draft {
  const spoilt = (facts: Facts): Facts =>
    Object.fromEntries(
      Object.entries(facts).map(([name, fact]) => [
        name,
        typeof fact === 'object' && dice.between(0, 1) < 0.15
          ? { ...fact, value: Number((fact.value * 2 ** dice.between(-2, 2)).toPrecision(2)) }
          : fact,
      ]),
    );
  return {
    ...draft,
    things: draft.things.map((thing) => ({ ...thing, facts: spoilt(thing.facts) })),
    runs: draft.runs.map((run) => ({ ...run, facts: spoilt(run.facts) })),
  };
}

/** The text of a draft without its scenario: what is proposed for its numbers is tried, not a play. */
const withoutPlay = (draft: Draft): string => textOf(draft, [], '', '').replace(/^ *scenario .*\n/m, '');

describe('what is offered for flawed designs', () => {
  it('ends its finding, brings no error, and undoes no other', { timeout: 600_000 }, async () => {
    let tried = 0;
    const runs = Number(process.env.RUNS ?? 12);
    for (let seed = 1; seed <= runs; seed += 1) {
      const text = withoutPlay(flawed(randomSystem(seed), new Dice(seed)));
      const { offers, faults } = await faultsOf(text);
      expect(faults, `seed ${seed}\n${text}`).toEqual([]);
      tried += offers;
    }
    // A property that met no offer would prove nothing.
    expect(tried).toBeGreaterThan(2 * runs);
  });

  it('holds for the failing example of every check', { timeout: 600_000 }, async () => {
    let tried = 0;
    for (const { id, docs } of CHECKS.filter(({ group }) => group !== 'requirements')) {
      const { offers, faults } = await faultsOf(docs.failing);
      expect(faults, `${id}\n${docs.failing}`).toEqual([]);
      tried += offers;
    }
    expect(tried).toBeGreaterThan(100);
  });
});
