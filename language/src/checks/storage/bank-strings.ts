import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, inState, missing, numberIn } from '../../derivation/index.js';
import { governingText } from '../../glossary/reason-text.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { solveDirect } from '../../quantities/network/direct.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { PRACTICE, busesOf, namesOf } from './shared.js';
import { shareWith } from './string-load.js';

const percent = (ratio: number): string => `${formatNumber(ratio * 100, 3)} %`;

/** Strings of all banks of a bus together against the number their makers or practice allow. */
function* judgeNumber(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [first] = banks as readonly [Instance, ...Instance[]];
  const counts = collect(banks.map((bank) => context.fact(bank, 'parallel')));
  if (!counts.ok) return yield notChecked(first, counts.result);
  const strings = counts.derivations.reduce((sum, count) => sum + numberIn(count, ''), 0);
  if (strings < 2) return;
  const stated = banks.flatMap((bank) => context.maybe(bank, 'maximumParallel') ?? []);
  const least = stated.reduce<Derivation | undefined>(
    (so, next) => (!so || numberIn(next, '') < numberIn(so, '') ? next : so),
    undefined,
  );
  const limit = least ?? context.setting('mostStrings');
  if (!limit) return yield notChecked(first, missing(`maximumParallel of ${first.name}`));
  const total = derive('strings in parallel', strings, '', { symbol: 'n_p' });
  const use = atMost(total, limit);
  if (strings <= numberIn(limit, '')) return yield passed(first, use, { strings: total, limit });
  yield {
    verdict: 'failed',
    subject: first.path,
    place: placeOf(first, 'parallel'),
    headline: `${displayValue(total)} strings in parallel${banks.length > 1 ? ` on the bus of ${namesOf(banks)}` : ` in ${first.name}`}; ${least ? 'its maker allows' : 'practice keeps to'} ${displayValue(limit)}`,
    ...(least ? {} : { rule: 'common practice, no source; set by `mostStrings`' }),
    consequence: 'each further string shares the current less evenly and hides a failed one longer',
    advice: `Use larger units in fewer strings${least ? '' : ', or state `maximumParallel` where the maker allows more'}.`,
    use,
    numbers: { strings: total, limit },
    related: banks.slice(1).map((bank) => ({ place: bank.place, text: `${bank.name} is joined to it` })),
  };
}

/** Take-offs and what they are, best last. */
const BETTER = {
  diagonal: 'Take the main cables off at opposite ends',
  busbar: 'Give each string leads of equal length',
};

/** Shares of the strings of one bank from the network of its strings and links. */
function* judgeRow(bank: Instance, most: number, setting: Derivation, context: DesignContext): Generator<Verdict> {
  const count = context.maybe(bank, 'parallel');
  // A number that lacks is asked for where strings are counted.
  if (!count || numberIn(count, '') < 2) return;
  const share = context.quantity(bank, 'stringShare');
  if (share.kind !== 'known') return yield notChecked(bank, share, placeOf(bank, 'parallel'));
  const ratio = numberIn(share.derivation, '');
  const even = derive('largest share that counts as even', most, '', { inputs: [setting] });
  const use = atMost(share.derivation, even);
  if (ratio <= most * (1 + 1e-9)) return yield passed(bank, use, { share: share.derivation, limit: setting });
  const strings = Object.entries(share.derivation.parts)
    .filter(([name]) => name.startsWith('string'))
    .map(([, part]) => numberIn(part, ''));
  const listed = strings.length <= 4 ? `strings carry ${strings.map((each) => percent(each)).join(', ')}` : '';
  const tooMuch = overload(bank, numberIn(count, ''), ratio, context);
  const fixes = (['diagonal', 'busbar'] as const)
    .filter(
      (takeOff) =>
        context.maybe(bank, 'takeOff')?.value !== takeOff &&
        shareWith(bank, numberIn(count, ''), takeOff, context) <= most,
    )
    .map((takeOff, index): Fix =>
      propose(`${BETTER[takeOff]} (takeOff: ${takeOff})`, [setProperty(bank, 'takeOff', takeOff)], index === 0),
    );
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'takeOff'),
    ...(tooMuch ? { severity: 'error' as const } : {}),
    headline: `The busiest string of ${bank.name} carries ${formatNumber(ratio, 3)} times its fair share; at most ${formatNumber(most, 3)} allowed`,
    why: [tooMuch, listed, governingText(share.derivation)].filter(Boolean).join('; '),
    rule: 'common practice, no source; set by `stringExcess`',
    advice: 'Change the take-off, or shorten or enlarge the links between the strings.',
    use,
    numbers: { share: share.derivation, limit: setting },
    fixes,
  };
}

/** What the busiest string carries where that is more than one unit may, though all together are strong enough. */
function overload(bank: Instance, strings: number, ratio: number, context: DesignContext): string {
  for (const [quantity, property, verb] of [
    ['dischargeCurrent', 'maximumDischarge', 'gives'],
    ['chargeCurrent', 'maximumCharge', 'is charged with'],
  ] as const) {
    const limit = context.maybe(bank, property);
    const total = context.quantity(bank, quantity);
    if (!limit || total.kind !== 'known') continue;
    const mean = numberIn(total.derivation, 'A') / strings;
    const most = numberIn(limit, 'A');
    if (mean <= most && mean * ratio > most * (1 + 1e-9)) {
      const current = derive('current of the busiest string', mean * ratio, 'A');
      return `it then ${verb} ${pairText(current, limit)[0]}; one unit accepts ${pairText(current, limit)[1]}`;
    }
  }
  return '';
}

/** Shares of several banks on one bus from the network of their cables, by capacity, with the bank alone. */
function* judgeBanks(
  banks: readonly Instance[],
  most: number,
  setting: Derivation,
  context: DesignContext,
): Generator<Verdict> {
  const [first] = banks as readonly [Instance, ...Instance[]];
  const capacities = collect(banks.map((bank) => context.quantity(bank, 'bankCapacity')));
  if (!capacities.ok) return yield notChecked(first, capacities.result);
  const [alone] = context.circuitStates;
  const [node] = context.graph.nodesOf(first);
  if (!alone || !node) return;
  const solved = solveDirect(node, alone.state, alone.circuit, context, 'demand');
  if (!solved.ok) return yield notChecked(first, solved.result);
  const whole = numberIn(sumOf('capacity', 'C', 'Ah', capacities.derivations), 'Ah');
  const shares = banks.map((bank, index) => {
    const amperes = solved.solution.holders.find(({ instance }) => instance === bank)?.current ?? 0;
    return { bank, amperes, fair: numberIn(capacities.derivations[index]!, 'Ah') / whole };
  });
  const total = shares.reduce((sum, { amperes }) => sum + amperes, 0);
  if (total <= 0) return;
  const busiest = shares.reduce((so, next) => (next.amperes / next.fair > so.amperes / so.fair ? next : so));
  const share = derive('current over the fair share', busiest.amperes / total / busiest.fair, '', {
    symbol: 's',
    formula: 'I/(C/ΣC·ΣI) in the solved network',
    inputs: solved.solution.inputs,
    governing: [inState(alone.state)],
  });
  const ratio = numberIn(share, '');
  const even = derive('largest share that counts as even', most, '', { inputs: [setting] });
  const use = atMost(share, even);
  if (ratio <= most * (1 + 1e-9)) return yield passed(busiest.bank, use, { share, limit: setting });
  const listed = firstFew(shares.map(({ bank, amperes }) => `${bank.name} ${formatNumber(amperes, 3)} A`));
  yield {
    verdict: 'failed',
    subject: busiest.bank.path,
    place: busiest.bank.place,
    headline: `${busiest.bank.name} carries ${formatNumber(ratio, 3)} times its share by capacity; at most ${formatNumber(most, 3)} allowed`,
    why: `${listed}, everything drawing with ${alone.state.title}`,
    rule: 'common practice, no source; set by `stringExcess`',
    advice:
      'Give the banks cables of equal length and size to one bus bar, or join them in a row with the main cables at opposite ends.',
    use,
    numbers: { share, limit: setting },
    related: banks.filter((bank) => bank !== busiest.bank).map((bank) => ({ place: bank.place, text: bank.name })),
  };
}

function* judgeBus(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  yield* judgeNumber(banks, context);
  const setting = context.setting('stringExcess');
  if (!setting) return yield notChecked(banks[0]!, missing(`stringExcess of ${context.system.name}`));
  const most = 1 + numberIn(setting, '');
  for (const bank of banks) yield* judgeRow(bank, most, setting, context);
  if (banks.length > 1) yield* judgeBanks(banks, most, setting, context);
}

export const bankStrings = defineCheck({
  id: 'bank-strings',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'More strings are in parallel than their maker or practice allows, or they share the current unevenly.',
    guards:
      'A string that is worked harder than the rest, ages first and drags the others down, or whose BMS disconnects and loads the next.',
    how: points(
      'How many strings there are, and how they share the current.',
      'All strings on a bus are counted and held against `maximumParallel` of the units, else the design setting `mostStrings` (4 unless set: a rule of thumb).',
      'The current split of a bank comes from the resistance network of its strings (`resistance`, at its lowest), the links between them (`jumper`) and the `takeOff`; that of several banks on one bus from the network of their cables when everything draws.',
      'More than `stringExcess` (10 % unless set: a rule of thumb) above the fair share is a finding; an error where the busiest string is then above what one unit accepts.',
    ),
    fix: 'Use fewer, larger units, and lead all strings to a busbar over equal cables.',
    sources: [
      { standard: 'articles on interconnecting batteries: current split of four units', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Lodge {
  battery Bank : Agm12V100Ah { series: 2   parallel: 4   takeOff: end   jumper: 0.4 mohm }
}
`,
    passing: `design Lodge {
  battery Bank : Agm12V100Ah { series: 2   parallel: 4   takeOff: diagonal   jumper: 0.4 mohm }
}
`,
  },
  judge: function* (context) {
    for (const banks of busesOf(context)) yield* judgeBus(banks, context);
  },
});
