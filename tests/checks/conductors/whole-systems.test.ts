import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { type TestedAnalysis, analyseText } from '../../helpers/analyse.js';
import { RUNS, type WholeSystem, textOf, wholeSystem } from '../../helpers/whole-system.js';

/*
 * What holds of the checks of conductors on any whole system: a fact that is left out proves nothing, and a larger size or a shorter run
 * brings no finding of a kind that it is meant to end.
 */

type Status = 'failed' | 'not-checked' | 'passed';
const RANK = { failed: 2, 'not-checked': 1, passed: 0 } as const;

/** The worst that each check says of each thing, `check Design.thing`. */
function statuses(analysis: TestedAnalysis): ReadonlyMap<string, Status> {
  const worst = new Map<string, Status>();
  for (const { context } of analysis.designs)
    for (const check of conductorChecks)
      for (const { subject, verdict } of check.judge(context, [])) {
        const key = `${check.id} ${subject}`;
        if (RANK[verdict] >= RANK[worst.get(key) ?? 'passed']) worst.set(key, verdict);
      }
  return worst;
}

const failing = async (system: WholeSystem): Promise<ReadonlySet<string>> =>
  new Set(
    [...statuses(await analyseText(textOf(system)))].flatMap(([key, status]) => (status === 'failed' ? [key] : [])),
  );

/** What rises with the size or falls with the length by nature, and the rule or law behind it. */
const OTHERWISE: Readonly<Record<string, string>> = {
  'interrupt-rating': 'less resistance, a larger fault',
  'short-circuit-withstand': 'less resistance before other conductors, a larger fault in them',
  'earth-conductor': 'NEC 250.122(B), IEC 60364-5-54 Table 54.2: it grows with the lines',
  'lug-stud': 'studs are made for a range of sizes',
  'run-current-basis': 'a remark on a size that would do for less',
};

/** How surely a device opens in time is judged only where its rating holds at all: there the milder takes the place of the worse. */
const isMilder = (key: string, before: ReadonlySet<string>): boolean =>
  key.startsWith('protection-coordination') && before.has(key.replace('protection-coordination', 'run-protection'));

async function bringsNothing(before: WholeSystem, after: WholeSystem): Promise<void> {
  const old = await failing(before);
  const fresh = [...(await failing(after))].filter(
    (key) => !old.has(key) && !(key.split(' ')[0]! in OTHERWISE) && !isMilder(key, old),
  );
  expect(fresh, textOf(before)).toEqual([]);
}

const anyRun = fc.nat(RUNS.length - 1);

describe('a whole system', () => {
  it('shows no finding of a new kind with a larger size of a run', async () => {
    await fc.assert(
      fc.asyncProperty(wholeSystem, anyRun, (system, at) =>
        bringsNothing(system, { ...system, sizes: system.sizes.map((size, index) => size + (index === at ? 1 : 0)) }),
      ),
      { numRuns: 40 },
    );
  });

  it('shows none with a shorter run', async () => {
    await fc.assert(
      fc.asyncProperty(wholeSystem, anyRun, (system, at) =>
        bringsNothing(system, {
          ...system,
          at: at === 0 ? system.at / 2 : system.at,
          lengths: system.lengths.map((length, index) => (index === at ? length / 2 : length)),
        }),
      ),
      { numRuns: 40 },
    );
  });

  /** A fact with its value, but those that are taken from a table by default and told as such, and those without which a thing is another. */
  const FACT =
    / {0,3}\b([a-z][A-Za-z]*): (?:[^\s}{]+(?: (?:AWG|kcmil|mm2|mohm|degC|Nm|kA|Ah|mm|A|V|W|m|%(?:\/K)?)(?!\w))?(?:, L[123])*)/g;
  const BY_DEFAULT: Readonly<Record<string, string>> = {
    basis: 'another practice',
    conductors: 'the conductors of the run itself, unless more lie beside them',
    circuits: 'one circuit, as its own',
    ambient: 'that of the tables',
    parallel: 'one string',
    supply: 'what it stands on',
    legs: 'on L1 where nothing is said',
    neutralBond: 'asked where it matters',
    curve: 'no trip curve, as in panels of North America',
  };

  it('is proved by no fact that is left out', async () => {
    await fc.assert(
      fc.asyncProperty(wholeSystem, fc.nat(500), async (system, pick) => {
        const text = textOf(system);
        const facts = [...text.matchAll(FACT)].filter(([, property]) => !(property! in BY_DEFAULT));
        const match = facts[pick % facts.length]!;
        const [fact, property] = match as unknown as [string, string];
        const before = statuses(await analyseText(text));
        const analysis = await analyseText(text.slice(0, match.index) + text.slice(match.index + fact.length));
        expect(analysis.findings.filter(({ check }) => check === 'syntax-error')).toEqual([]);
        // Whatever check asks for it, it is not passed over.
        const [, thing] = /(\w+)[^\n\w]*$/.exec(
          /^[^{]*/.exec(text.slice(0, match.index).split('\n').at(-1)!)![0].split(/[:>]/)[0]!,
        )!;
        const isAsked = (each: string): boolean => each.includes(property) && each.includes(thing!);
        if (analysis.questions.some(({ missing }) => missing.some(isAsked))) return;
        const after = statuses(analysis);
        const silent = [...before].flatMap(([key, status]) =>
          status !== 'passed' && (after.get(key) ?? 'passed') === 'passed' ? [`${fact.trim()}: ${key}`] : [],
        );
        expect(silent, text).toEqual([]);
      }),
      { numRuns: 80 },
    );
  });

  /** Facts as they stand in the text and for the worse. */
  const WORSE: readonly (readonly [pattern: RegExp, worse: string])[] = [
    [/power: \d+ W {3}powerFactor/, 'power: 5000 W   powerFactor'],
    [/load Heater \{ power: \d+ W/, 'load Heater { power: 4000 W'],
    [/bus Bar \{ rating: 250 A/, 'bus Bar { rating: 30 A'],
    [/bus Panel \{ rating: 63 A/, 'bus Panel { rating: 10 A'],
    [/dcVoltage: 80 V/, 'dcVoltage: 40 V'],
    [/ambient: 30 degC/g, 'ambient: 55 degC'],
    [/conductors: \d+/g, 'conductors: 30'],
    [/circuits: \d+/g, 'circuits: 9'],
    [/terminals: \d+ degC/g, 'terminals: 60 degC'],
    [/stringAmpacity: 150 A/, 'stringAmpacity: 40 A'],
    [/stringFuseClass: T/, 'stringFuseClass: BladeFuse32V'],
    [/chargeLimit: 57.6 V/, 'chargeLimit: 130 V'],
    [/shortCircuitCurrent: 11 A/, 'shortCircuitCurrent: 19 A'],
    [/seriesFuse: 20 A/, 'seriesFuse: 10 A'],
    [/faultCurrent: 6 kA/, 'faultCurrent: 60 kA'],
    [/(class: \S+ {3}rating: \d+ A {3}poles: 1)/g, '$1   interruptRating: 100 A'],
    [/continuous: no/g, 'continuous: yes'],
    [/efficiency: 92 %/, 'efficiency: 60 %'],
  ];
  // What the earth conductor grows with is a size above what would do (NEC 250.122(B)): where more is asked, less is above it.
  it('is made sound by no fact for the worse', async () => {
    await fc.assert(
      fc.asyncProperty(wholeSystem, fc.constantFrom(...WORSE), async (system, [pattern, worse]) => {
        const text = textOf(system);
        const changed = text.replace(pattern, worse);
        if (changed === text) return;
        const before = statuses(await analyseText(text));
        const after = statuses(await analyseText(changed));
        const sound = [...before].flatMap(([key, status]) =>
          status === 'failed' && after.get(key) === 'passed' && !key.startsWith('earth-conductor')
            ? [`${worse}: ${key}`]
            : [],
        );
        expect(sound, text).toEqual([]);
      }),
      { numRuns: 60 },
    );
  });
});
