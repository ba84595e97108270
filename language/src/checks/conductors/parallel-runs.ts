import { firstFew } from '../text/wording.js';
import { type Derivation, displayValue, numberIn, derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { ruleValue, sectionIn } from '../../reference/index.js';
import { defineCheck, type Verdict, atMost, atLeast, NO_LIMIT, type UseOfLimit } from '../define.js';
import { basisText, notChecked, passed, placeOf, whyOf } from '../verdicts.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { largerSize } from './ways.js';

/**
 * Difference in length above which parallel runs count as unequal. The rule says equal without a tolerance; 2 % is what cutting and
 * lacing leave. Common practice, no source.
 */
const LENGTH_TOLERANCE = 0.02;

/** Runs between the same two points, each with one far end. */
function groupsOf(context: DesignContext): readonly (readonly Run[])[] {
  const groups = new Map<string, Run[]>();
  for (const run of context.system.runs) {
    if (run.to.length !== 1) continue;
    const ends = [run.from, run.to[0]!].map((stop) => context.graph.nodeOf(stop).key).sort();
    const key = ends.join(' ');
    groups.set(key, [...(groups.get(key) ?? []), run]);
  }
  return [...groups.values()].filter((group) => group.length > 1);
}

const list = (texts: readonly string[]): string =>
  texts.length < 2 ? texts.join('') : `${texts.slice(0, -1).join(', ')} and ${texts.at(-1)!}`;

const numberOf = (run: Run, property: 'length' | 'size', unit: string, context: DesignContext): number | undefined => {
  const fact = context.maybe(run, property);
  return fact && numberIn(fact, unit);
};

const spread = (values: readonly number[]): number => {
  const most = Math.max(...values);
  return most === 0 ? 0 : (most - Math.min(...values)) / most;
};

/** `A 7.5 A (75 %) and B 2.5 A (25 %)`, or nothing where the shares are not known. */
function splitText(
  group: readonly Run[],
  context: DesignContext,
): { text: string; numbers: Record<string, Derivation> } {
  const numbers: Record<string, Derivation> = {};
  for (const run of group) {
    const current = context.quantity(run, 'current');
    if (current.kind !== 'known') return { text: '', numbers: {} };
    numbers[run.name] = current.derivation;
  }
  const total = Object.values(numbers).reduce((sum, current) => sum + numberIn(current, 'A'), 0);
  if (total <= 0) return { text: '', numbers };
  const parts = Object.entries(numbers).map(
    ([name, current]) =>
      `${name} carries ${displayValue(current)} (${formatNumber((100 * numberIn(current, 'A')) / total, 3)} %)`,
  );
  return { text: `by their resistance ${list(parts)}`, numbers };
}

/** The largest of their currents against an equal share, where the currents are known. */
function sharesOf(numbers: Readonly<Record<string, Derivation>>): UseOfLimit {
  const currents = Object.values(numbers);
  const [first, ...others] = currents;
  if (!first) return NO_LIMIT;
  const most = others.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so), first);
  const sum = currents.reduce((so, next) => so + numberIn(next, 'A'), 0);
  if (sum <= 0) return NO_LIMIT;
  return atMost(
    most,
    derive('equal share, and the tolerance', (sum / currents.length) * (1 + LENGTH_TOLERANCE), 'A', {
      inputs: currents,
    }),
  );
}
function* judgeGroup(group: readonly Run[], context: DesignContext): Generator<Verdict> {
  const [first] = group as readonly [Run, ...Run[]];
  const facts = group.flatMap((run) => [context.fact(run, 'length'), context.fact(run, 'size')]);
  const lacking = facts.find((fact) => fact.kind !== 'known');
  if (lacking) return yield notChecked(first, lacking);
  const lengths = group.map((run) => numberOf(run, 'length', 'm', context)!);
  const areas = group.map((run) => numberOf(run, 'size', 'mm2', context)!);
  const { text, numbers } = splitText(group, context);
  const isUnequalLength = spread(lengths) > LENGTH_TOLERANCE;
  const isUnequalSize = spread(areas) > 1e-3;
  const shares = sharesOf(numbers);
  if (!isUnequalLength && !isUnequalSize) return yield passed(first, shares, numbers);
  const longest = group[lengths.indexOf(Math.max(...lengths))]!;
  const thickest = group[areas.indexOf(Math.max(...areas))]!;
  const what = [
    ...(isUnequalLength ? [list(group.map((run) => displayText(run, 'length')))] : []),
    ...(isUnequalSize ? [list(group.map((run) => displayText(run, 'size')))] : []),
  ];
  const aim = [
    ...(isUnequalLength ? [`the length of ${longest.name}, ${displayText(longest, 'length')}`] : []),
    ...(isUnequalSize ? [`the size of ${thickest.name}, ${displayText(thickest, 'size')}`] : []),
  ];
  const names = firstFew(group.map(({ name }) => name));
  yield {
    verdict: 'failed',
    subject: first.path,
    place: placeOf(first, isUnequalLength ? 'length' : 'size'),
    headline: `${names} run in parallel with unequal ${list([...(isUnequalLength ? ['lengths'] : []), ...(isUnequalSize ? ['sizes'] : [])])}`,
    ...whyOf(firstFew(what, 1), text),
    consequence: 'the shorter or larger one carries more than its share and can burn while the sum looks right',
    advice: `Give all of them ${list(aim)}, and conductors and devices that suit it.`,
    use: shares,
    numbers,
    related: group.slice(1).map((run) => ({ place: run.place, text: `${run.name} runs beside it` })),
    fixes: [
      {
        way: 'equal',
        group,
        longest: isUnequalLength ? longest : undefined,
        size: { name: displayText(thickest, 'size'), area: Math.max(...areas) },
      },
    ],
  };
}

/** A property as the design writes it. */
const displayText = (run: Run, property: 'length' | 'size'): string => run.properties.get(property)?.text ?? '';

/** The smallest size that may run in parallel under the NEC, for conductors in parallel within a run and for runs side by side. */
function* judgeSmallest(run: Run, isGrouped: boolean, context: DesignContext): Generator<Verdict> {
  const parallel = context.maybe(run, 'parallel');
  const count = parallel ? numberIn(parallel, '') : 1;
  if (context.system.basis.practice !== 'nec' || (count < 2 && !isGrouped)) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const limit = ruleValue('nec', 'parallelSmallest');
  const least = numberIn(limit, 'mm2');
  const area = numberIn(size.derivation, 'mm2');
  const numbers = { size: size.derivation, limit };
  const use = atLeast(size.derivation, limit);
  if (area >= least * 0.999) return yield passed(run, use, numbers);
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    severity: 'error',
    headline: `${run.name} uses ${displayValue(size.derivation)} ${count > 1 ? `for ${count} conductors in parallel` : 'beside another run between the same ends'}`,
    why: 'conductors in parallel are allowed from 1/0 AWG up',
    rule: `${basisText(context.system.basis)} ${sectionIn('310.10(G)', context.system.basis)}`,
    advice: 'Use one conductor that carries the current alone.',
    use,
    numbers,
    fixes: [largerSize(run, { accepts: (setup) => numberIn(setup.size, 'mm2') >= least * 0.999 })],
  };
}

export const parallelRuns = defineCheck({
  id: 'parallel-runs',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'Runs in parallel between the same ends have unequal lengths or sizes, or conductors in parallel are smaller than allowed.',
    guards:
      'The current divides by resistance, not by number: the shorter or thicker conductor is overloaded while the sum looks right.',
    how: 'Runs that join the same two points are compared; lengths may differ by 2 % (rule of thumb for cutting tolerance), sizes not at all. The current of each is solved from the resistances of the network. Under nec conductors in parallel must be 1/0 AWG or larger (310.10(G)), which is an error.',
    fix: 'Make the runs equal in length, size and ends, or use one larger conductor.',
    sources: [
      PUBLISHED('NEC', '310.10(G): 1/0 AWG', '2017-2023'),
      MEMORY('NEC', '310.10(G): equal length, material, size'),
    ],
    failing: `design Barge {
  basis: nec
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 200 A }
  bus Bar {}
  load Winch { power: 6 kW   supply: dc }
  run Main: Bank -> F1 @ 150 mm -> Bar { size: 4/0 AWG   type: WeldingCable   length: 1 m }
  run Left: Bar -> Winch { size: 2/0 AWG   length: 2 m }
  run Right: Bar -> Winch { size: 2/0 AWG   length: 5 m }
}
`,
    passing: `design Barge {
  basis: nec
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 200 A }
  bus Bar {}
  load Winch { power: 6 kW   supply: dc }
  run Main: Bank -> F1 @ 150 mm -> Bar { size: 4/0 AWG   type: WeldingCable   length: 1 m }
  run Left: Bar -> Winch { size: 2/0 AWG   length: 5 m }
  run Right: Bar -> Winch { size: 2/0 AWG   length: 5 m }
}
`,
  },
  judge: function* (context) {
    const groups = groupsOf(context);
    for (const group of groups) yield* judgeGroup(group, context);
    const grouped = new Set(groups.flat());
    for (const run of context.system.runs) yield* judgeSmallest(run, grouped.has(run), context);
  },
});
