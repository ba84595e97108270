import { mostTogether } from '../../quantities/supply/joined.js';
import { firstFew } from '../text/wording.js';
import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { ruleValue, standardRatings } from '../../reference/index.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { judgeArrayClass, judgeBankClass } from './string-class.js';
import { judgeCarried, judgeLeads } from './string-leads.js';
import { collect } from '../../quantities/worst.js';
import { isArray, isBank, isDevice } from '../../model/roles.js';
import { type FoundLoad, isStringLoad, stringLoad, stringRating } from '../storage/string-load.js';

const asAmperes = (name: string, value: number, formula: string, inputs: readonly Derivation[]): Derivation =>
  derive(name, value, 'A', { formula, inputs });

/** The next standard rating that is not below a current, A. */
const ratingFrom = (amperes: number, context: DesignContext): number | undefined =>
  standardRatings(context.system.basis.practice).find((rating) => rating >= amperes * (1 - 1e-9));

const setFuse = (owner: Instance, rating: number | undefined, verb: string): Fix[] =>
  rating === undefined
    ? []
    : [
        propose(
          `${verb} a fuse of ${rating} A for each string of ${owner.name}`,
          [setProperty(owner, 'stringFuse', `${rating} A`)],
          true,
        ),
      ];

function judgeBank(bank: Instance, context: DesignContext): Verdict | undefined {
  const counted = context.fact(bank, 'parallel');
  if (counted.kind !== 'known') return notChecked(bank, counted);
  const strings = counted.derivation;
  const from = context.setting('stringFusesFrom');
  const count = numberIn(strings, '');
  if (count < 2) return undefined;
  const takeOff = context.maybe(bank, 'takeOff')?.value;
  const load = stringLoad(bank, count, typeof takeOff === 'string' ? takeOff : undefined, context);
  const current = isStringLoad(load) ? load.shared : load.atLeast;
  const fuse = context.maybe(bank, 'stringFuse');
  const numbers = { strings, ...(from ? { from } : {}), ...(current ? { current } : {}), ...(fuse ? { fuse } : {}) };
  const rating = isStringLoad(load) ? stringRating(load, context) : undefined;
  if (fuse)
    return (
      judgeBankClass(bank, strings, fuse, context) ??
      judgeLeads(bank, fuse, context) ??
      judgeCarried(bank, load, context) ??
      judgeFuse(bank, fuse, load, rating, numbers, context)
    );
  if (from && count < numberIn(from, '')) return passed(bank, atMost(strings, from), numbers);
  const fixes = setFuse(bank, rating, 'Add');
  const others = count - 1;
  const lacking = !isStringLoad(load) && load.lacking.kind === 'missing' ? load.lacking.missing : [];
  return {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'parallel'),
    ...(count < 3 ? { severity: 'warning' as const } : {}),
    headline: `${displayValue(strings)} strings of ${bank.name} in parallel, none with a fuse of its own (\`stringFuse\`)`,
    why: `the other ${others === 1 ? 'one feeds' : `${others} feed`} a failed cell or chafed lead, through unprotected leads`,
    rule: 'common practice; ABYC E-11, from quotations, for larger banks',
    advice: `Add one for each string, or state the one inside its units.${lacking.length > 0 ? ` Its rating needs ${firstFew(lacking)}.` : ''}`,
    use: from ? atMost(strings, from) : NO_LIMIT,
    numbers,
    fixes,
  };
}

/** How far the fuse of a unit may lie above what it gives for hours: common practice, no source. */
const ABOVE_CONTINUOUS = 1.5;

/** The largest fuse that still protects a unit: by what it gives for seconds, or by half more than it gives for hours. */
function mostForUnit(bank: Instance, context: DesignContext): Derivation | undefined {
  const hours = context.maybe(bank, 'maximumDischarge');
  const seconds = context.maybe(bank, 'peakDischarge');
  if (!hours) return undefined;
  const most = Math.max(ABOVE_CONTINUOUS * numberIn(hours, 'A'), seconds ? numberIn(seconds, 'A') : 0);
  return asAmperes('largest fuse of a unit', most, 'max(1.5·I_max, I_peak)', [hours, ...(seconds ? [seconds] : [])]);
}

/** A fuse that is stated against what its string carries, with all of them at work and with one out. */
function judgeFuse(
  bank: Instance,
  fuse: Derivation,
  load: FoundLoad,
  rating: number | undefined,
  numbers: Record<string, Derivation>,
  context: DesignContext,
): Verdict {
  const fixes = setFuse(bank, rating, 'Use');
  const failed = { verdict: 'failed', subject: bank.path, place: placeOf(bank, 'stringFuse'), fixes } as const;
  const holds = (current: Derivation): boolean => numberIn(fuse, 'A') >= numberIn(current, 'A') * (1 - 1e-9);
  const current = isStringLoad(load) ? load.shared : load.atLeast;
  if (current && !holds(current)) {
    const [rated, carried] = pairText(fuse, current);
    return {
      ...failed,
      headline: `Each string of ${bank.name} carries up to ${carried}; its fuse is rated ${rated}`,
      consequence: 'one opens, then the others in turn',
      use: atLeast(fuse, current),
      numbers,
    };
  }
  const most = mostForUnit(bank, context);
  if (most && numberIn(fuse, 'A') > numberIn(most, 'A') * (1 + 1e-9)) {
    const [rated, allowed] = pairText(fuse, most);
    const isBetter = rating !== undefined && rating <= numberIn(most, 'A');
    return {
      ...failed,
      fixes: isBetter ? fixes : [],
      severity: 'warning',
      headline: `Each string of ${bank.name} has a fuse of ${rated}; its units allow ${allowed}`,
      why: '150 % of their continuous current, or what they give for seconds',
      rule: 'common practice, no source',
      consequence: 'what overloads a unit or its leads does not open it',
      advice: 'Use a smaller one.',
      use: atMost(fuse, most),
      numbers: { ...numbers, most },
    };
  }
  if (!isStringLoad(load)) return notChecked(bank, load.lacking);
  const use = atLeast(fuse, load.oneOut);
  if (holds(load.oneOut)) return passed(bank, use, numbers);
  const [rated, carried] = pairText(fuse, load.oneOut);
  return {
    ...failed,
    severity: 'warning',
    headline: `With one string of ${bank.name} out, each other carries up to ${carried}; its fuse is rated ${rated}`,
    why: 'one string disconnected by its BMS or for service; the others as unlike as the range of their resistance',
    consequence: 'the others open in turn, and the bank is gone with one string',
    use,
    numbers: { ...numbers, oneOut: load.oneOut },
  };
}

/** Arrays that meet on one circuit, with how many strings each has and the device that each string has of its own. */
interface Strings {
  readonly array: Instance;
  readonly count: number;
  readonly short: Result;
  /** The device in the run of an array of one string. */
  readonly device?: Instance;
}

function stringsOf(array: Instance, parallel: Derivation, context: DesignContext): Strings {
  const count = numberIn(parallel, '');
  const ownRuns = context.system.runs.filter((run) => [run.from, ...run.to].some(({ instance }) => instance === array));
  const stops = ownRuns.flatMap((run) => [run.from, ...run.through, ...run.to].map(({ instance }) => instance));
  const rated = (device: Instance): number => {
    const rating = context.maybe(device, 'rating');
    return rating ? numberIn(rating, 'A') : Infinity;
  };
  const [device] = count === 1 ? stops.filter(isDevice).sort((a, b) => rated(a) - rated(b)) : [];
  return { array, count, short: context.fact(array, 'shortCircuitCurrent'), ...(device ? { device } : {}) };
}

/** NEC 690.8(A)(1): the current of modules in parallel counts with 125 %; IEC 62548 takes the short-circuit current itself. */
const sunFactor = (context: DesignContext): number =>
  context.system.basis.practice === 'nec' ? numberIn(ruleValue('nec', 'continuousFactor'), '') : 1;

/** What all strings but one of an array drive into that one, be they alike or not; what lacks where it is not known. */
function reverseInto(own: Strings, all: readonly Strings[], context: DesignContext): Result {
  const known = collect(all.map(({ short }) => short));
  if (!known.ok) return known.result;
  const amperes = all.reduce(
    (sum, each, index) => sum + (each.count - (each === own ? 1 : 0)) * numberIn(known.derivations[index]!, 'A'),
    0,
  );
  const total = all.reduce((sum, { count }) => sum + count, 0);
  const factor = sunFactor(context);
  return {
    kind: 'known',
    derivation: asAmperes(
      'current of the other strings',
      amperes * factor,
      `${factor === 1 ? '' : '1.25·'}${all.length > 1 ? 'ΣI_sc' : '(n − 1)·I_sc'}`,
      [...known.derivations, derive('strings', total, '', { symbol: 'n' })],
    ),
  };
}

function* judgeArrays(
  arrays: readonly Instance[],
  banks: readonly Instance[],
  context: DesignContext,
): Generator<Verdict> {
  const counts = collect(arrays.map((array) => context.fact(array, 'parallel')));
  if (!counts.ok) return yield notChecked(arrays[0]!, counts.result);
  const all = arrays.map((array, index) => stringsOf(array, counts.derivations[index]!, context));
  const total = all.reduce((sum, { count }) => sum + count, 0);
  const [bank] = banks;
  if (total < 2 && !bank) return;
  for (const own of all) {
    const { array, short, device } = own;
    const reverse = reverseInto(own, all, context);
    // Two strings that are alike drive into each other what a module stands: 690.9(A) and IEC 62548 ask for no device.
    const isAsked = total > 2 || arrays.length > 1 || bank !== undefined;
    if (short.kind !== 'known' || reverse.kind !== 'known') {
      if (isAsked) yield notChecked(array, reverse);
      continue;
    }
    const isNec = context.system.basis.practice === 'nec';
    const least = asAmperes(
      'least rating of a string fuse',
      numberIn(short.derivation, 'A') * (isNec ? sunFactor(context) ** 2 : 1.5),
      isNec ? '1.5625·I_sc' : '1.5·I_sc',
      [short.derivation],
    );
    const found = judgeString(array, { reverse: reverse.derivation, least, device, total, isAsked, bank }, context);
    if (found?.verdict === 'failed') {
      yield found;
      continue;
    }
    const unfit = judgeArrayClass(array, reverse.derivation, banks, context);
    if (unfit) yield unfit;
    if (found && unfit?.verdict !== 'failed') yield found;
  }
}

interface StringFacts {
  readonly reverse: Derivation;
  readonly least: Derivation;
  readonly device: Instance | undefined;
  readonly total: number;
  /** Whether the facts that are needed are asked for where nothing shows that they do not matter. */
  readonly isAsked: boolean;
  /** A bank that is joined to the strings and drives what it has into a shorted one. */
  readonly bank: Instance | undefined;
}

function judgeString(
  array: Instance,
  { reverse, least, device, total, isAsked, bank }: StringFacts,
  context: DesignContext,
): Verdict | undefined {
  const rule =
    context.system.basis.practice === 'nec'
      ? `${basisText(context.system.basis)} 690.9(A), (B), from memory`
      : 'IEC 62548, from memory';
  const own = context.maybe(array, 'stringFuse');
  const stated = own ?? (device && context.maybe(device, 'rating'));
  const most = context.maybe(array, 'seriesFuse');
  const numbers = { reverse, least, ...(most ? { limit: most } : {}), ...(stated ? { fuse: stated } : {}) };
  const rating = ratingFrom(numberIn(least, 'A'), context);
  const fits = rating !== undefined && (!most || rating <= numberIn(most, 'A') * (1 + 1e-9)) ? rating : undefined;
  const [at, fuses] =
    own || !device
      ? [placeOf(array, 'stringFuse'), `The string fuses of ${array.name} are`]
      : [placeOf(device, 'rating'), `${device.name} in the string of ${array.name} is`];
  const setRating = (): Fix[] =>
    own || !device
      ? setFuse(array, fits, 'Use')
      : fits === undefined
        ? []
        : [propose(`Change rating of ${device.name} to ${fits} A`, [setProperty(device, 'rating', `${fits} A`)], true)];
  const base = { verdict: 'failed', subject: array.path, severity: 'warning', numbers } as const;
  const needs = bank !== undefined || !most || numberIn(reverse, 'A') > numberIn(most, 'A') * (1 + 1e-9);
  // A device of the run that is there for another reason may be larger, where the strings need none.
  if (stated && most && (own || needs) && numberIn(stated, 'A') > numberIn(most, 'A') * (1 + 1e-9)) {
    const [rated, may] = pairText(stated, most);
    return {
      ...base,
      place: at,
      headline: `${fuses} rated ${rated}; its modules allow ${may} in series`,
      rule,
      advice: 'Use smaller fuses, modules that allow more, or fewer strings.',
      use: atMost(stated, most),
      fixes: setRating(),
    };
  }
  if (stated && numberIn(stated, 'A') < numberIn(least, 'A') * (1 - 1e-9)) {
    const [rated, must] = pairText(stated, least);
    return {
      ...base,
      place: at,
      headline: `${fuses} rated ${rated}; in strong sun ${own || !device ? 'they carry' : 'it carries'} ${must}`,
      rule,
      use: atLeast(stated, least),
      fixes: setRating(),
    };
  }
  const use = most ? atMost(reverse, most) : NO_LIMIT;
  if (most && !needs) return passed(array, stated ? atLeast(stated, least) : use, numbers);
  if (!most) return isAsked ? notChecked(array, context.fact(array, 'seriesFuse')) : passed(array, use, numbers);
  if (stated) return passed(array, atLeast(stated, least), numbers);
  if (device) return notChecked(array, context.fact(device, 'rating'));
  const [back, may] = pairText(reverse, most);
  const fixes = setFuse(array, fits, 'Add');
  return {
    ...base,
    place: placeOf(array, 'parallel'),
    headline: bank
      ? `Into a shorted string of ${array.name} ${bank.name} drives what it has; its modules allow ${may}`
      : `Into a shorted string of ${array.name} the others drive ${back}; its modules allow ${may}`,
    why: bank
      ? 'nothing between them holds the current back, and no string has a fuse of its own (`stringFuse`)'
      : `${total} strings meet, none with a fuse of its own (\`stringFuse\`)`,
    rule,
    advice: 'No standard fuse carries the string and suits the modules: use fewer strings.',
    use: bank ? NO_LIMIT : use,
    fixes,
  };
}

export const stringFuses = defineCheck({
  id: 'string-fuses',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'Battery or module strings are in parallel without a fuse of their own, or with one that does not suit them.',
    guards:
      'A failed string that its neighbours feed with their full current, through leads and cells that no device protects.',
    how: points(
      'Strings in parallel need devices of their own, stated as `stringFuse`, that suit them.',
      'Banks: from two strings in parallel. Two without make a warning, three or more an error (common practice; ABYC E-11 by quotations for larger banks; `stringFusesFrom` of the design sets another number).',
      'The fuse of a battery string must carry the share of one string of the largest charge or discharge current. It should also carry what one string has with another out, itself at the low end of its resistance and the others at the high end, at most what a unit with a BMS gives (a warning).',
      'It may not be above what a unit gives for seconds, or 150 % of what it gives for hours, where that is stated (a warning).',
      'Where `stringFuseClass` is stated, it must be made in that rating, open on overloads too, be rated for the highest direct voltage of the bank, and interrupt what the other strings, and other banks on the same bars, drive into one that is short-circuited.',
      'Where `stringAmpacity` is stated, the fuse may not be above what its leads may have, nor the current of a string above the ampacity (with another out: a warning).',
      'The fix is the next standard rating from 125 % of the share and from the current with one out. It is offered only where every fact it rests on is stated.',
      'Arrays: strings of all arrays that meet on one circuit are counted, each with its own short-circuit current. Devices are needed where the current of the other strings (nec with 125 %, 690.8(A)(1)) is above the series fuse that the modules allow (NEC 690.9(A), IEC 62548, both from memory, hence a warning), or where a bank is joined to them with nothing between.',
      'The device of a module string must carry 156.25 % (iec 150 %) of the short-circuit current and not exceed that limit. Its `stringFuseClass` is held in the same way against the open-circuit voltage at the lowest temperature of the site and against the current of the other strings, and of a bank that is joined to them. A device in the run of an array of one string counts as its own.',
      'Where strings of modules meet, the `seriesFuse` of the modules is a question, unless there are no more than two, alike.',
    ),
    fix: 'Fit the string fuse that is named, or change the number of strings.',
    sources: [
      MEMORY('NEC', '690.9(A), (B)'),
      PUBLISHED('NEC', '690.8(A)(1)', '2017-2023'),
      MEMORY('IEC 62548'),
      PUBLISHED('ABYC E-11', 'from quotations'),
    ],
    failing: `design Cabin {
  battery Bank : Lfp48V100Ah { parallel: 3   takeOff: busbar }
  load Heater { power: 3 kW   supply: dc }
  fuse Main { class: T   rating: 125 A }
  run Line: Bank -> Main @ 150 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Cabin {
  battery Bank : Lfp48V100Ah { parallel: 3   takeOff: busbar   stringFuse: 60 A }
  load Heater { power: 3 kW   supply: dc }
  fuse Main { class: T   rating: 125 A }
  run Line: Bank -> Main @ 150 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    const seen = new Set<Instance>();
    for (const instance of context.system.instances) {
      if (isBank(instance)) {
        const verdict = judgeBank(instance, context);
        if (verdict) yield verdict;
      }
      if (!isArray(instance) || seen.has(instance)) continue;
      const joined = context.graph.nodesOf(instance).flatMap((node) => context.graph.joinedTo(node));
      const arrays = [...new Set([instance, ...joined.filter(isArray)])];
      for (const array of arrays) seen.add(array);
      yield* judgeArrays(mostTogether(arrays, context), [...new Set(joined.filter(isBank))], context);
    }
  },
});
