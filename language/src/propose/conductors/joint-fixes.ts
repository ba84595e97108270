import { type Derivation, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import type { ConductorSize } from '../../quantity/index.js';
import type { Fix, TextEdit } from '../../checks/define.js';
import { propose, replace, setProperty } from '../../checks/fixes.js';
import { restsOnMemory } from '../../checks/conductors/memory.js';
import { leastRating } from '../../checks/conductors/protection-need.js';
import { earthNeeded, isEnough } from '../../checks/conductors/run-earth.js';
import { type JointRule, type Setup, brokenBy, candidates, isSound, sizeOf } from '../../checks/conductors/sizing.js';
import type { Wish } from '../../checks/conductors/ways.js';
import {
  dependentsOf,
  fittedRatings,
  othersAllow,
  ratingsOf,
  ratingsOfOtherClasses,
  smallestRatings,
} from './other-ratings.js';

/** Conductors, ratings and earth conductor that hold together; what is absent stays as it is. */
export interface Proposal {
  readonly size?: ConductorSize;
  readonly ratings: ReadonlyMap<Instance, number>;
  /** Classes of devices whose own is not made in the rating they get. */
  readonly classes?: ReadonlyMap<Instance, string>;
  readonly earth?: ConductorSize;
  /** Earth conductors of other runs that a device of another rating makes too small. */
  readonly others: ReadonlyMap<Run, ConductorSize>;
}

const NO_RATINGS: ReadonlyMap<Instance, number> = new Map();

/** What may stay broken: what is broken now besides the target, and the voltage drop, which is advice. */
function leftOver(run: Run, { target }: Wish, context: DesignContext): ReadonlySet<JointRule> {
  const own = context.maybe(run, 'size');
  const now = own ? brokenBy(run, { size: own, ratings: NO_RATINGS, added: 0 }, context) : [];
  const left = new Set<JointRule>([...now, 'voltage-drop']);
  if (target) left.delete(target);
  return left;
}

/**
 * What may stay broken in a setup: with devices of other ratings not the heat of faults, with larger ones nothing that concerns devices, and
 * nothing that rests on an ampacity where that of the present size is from memory and the other is not, since a warning would become an error.
 */
function without(
  left: ReadonlySet<JointRule>,
  run: Run,
  { size, ratings }: Setup,
  context: DesignContext,
): ReadonlySet<JointRule> {
  const grows = [...ratings].some(([device, rating]) => rating > numberIn(context.maybe(device, 'rating')!, 'A'));
  const own = context.maybe(run, 'size');
  const hardens = own !== undefined && isFromMemory(run, own, context) && !isFromMemory(run, size, context);
  const worse = new Set<JointRule>([
    ...(ratings.size > 0 ? (['short-circuit-withstand'] as const) : []),
    ...(grows ? (['run-protection', 'protection-coordination'] as const) : []),
    ...(hardens ? ON_AMPACITY : []),
  ]);
  return worse.size === 0 ? left : new Set([...left].filter((rule) => !worse.has(rule)));
}

const ON_AMPACITY: readonly JointRule[] = [
  'run-ampacity',
  'run-protection',
  'protection-coordination',
  'cord-ampacity',
];

function isFromMemory(run: Run, size: Derivation, context: DesignContext): boolean {
  const ampacity = ampacityAt(run, size, context);
  return ampacity.kind === 'known' && restsOnMemory(ampacity.derivation);
}

/** The first of some setups that leaves nothing broken; else the first that breaks nothing new and ends the finding. */
function firstSound<T extends { readonly setup: Setup }>(
  run: Run,
  options: () => Iterable<T>,
  wish: Wish,
  context: DesignContext,
): T | undefined {
  const accepted = (toleratedBy?: (setup: Setup) => ReadonlySet<JointRule>): T | undefined => {
    for (const option of options())
      if (isSound(run, option.setup, context, toleratedBy?.(option.setup)) && (wish.accepts?.(option.setup) ?? true))
        return option;
    return undefined;
  };
  const left = leftOver(run, wish, context);
  return accepted() ?? accepted((setup) => without(left, run, setup, context));
}

/** The smallest earth conductor of a run's series that a setup needs, where the one that is stated is too small for it. */
function earthFor(run: Run, setup: Setup, context: DesignContext): ConductorSize | 'none' | 'enough' {
  const earth = context.maybe(run, 'earth');
  const needed = earth && earthNeeded(run, setup, context);
  const own = context.maybe(run, 'size');
  // As large as the lines is always enough: it stays so where nothing says what less would do.
  if (earth && own && needed?.kind !== 'known' && isEnough(earth, own) && !isEnough(earth, setup.size))
    return candidates(run, context).find(({ area }) => isEnough(sizeOf(area), setup.size)) ?? 'none';
  if (!earth || needed?.kind !== 'known' || isEnough(earth, needed.derivation)) return 'enough';
  return candidates(run, context).find(({ area }) => isEnough(sizeOf(area), needed.derivation)) ?? 'none';
}

/** A setup as a proposal, with the earth conductor it needs; undefined where no standard size is enough for that. */
export function withEarth(
  run: Run,
  setup: Setup,
  size: ConductorSize | undefined,
  context: DesignContext,
): Proposal | undefined {
  const earth = earthFor(run, setup, context);
  if (earth === 'none') return undefined;
  const others = new Map<Run, ConductorSize>();
  const dependents = [...setup.ratings.keys()].map((device) => dependentsOf(device, context));
  for (const other of new Set(dependents.flatMap(({ standing, fed }) => [...standing, ...fed]))) {
    const own = context.maybe(other, 'size');
    if (other === run || !own) continue;
    const isTooSmallNow = earthFor(other, { size: own, ratings: NO_RATINGS, added: 0 }, context) !== 'enough';
    const needed = isTooSmallNow ? 'enough' : earthFor(other, { size: own, ratings: setup.ratings, added: 0 }, context);
    if (needed === 'none') return undefined;
    if (needed !== 'enough') others.set(other, needed);
  }
  return {
    ...(size ? { size } : {}),
    ratings: setup.ratings,
    ...(earth === 'enough' ? {} : { earth }),
    others,
  };
}

/** The smallest larger size of a run's series, with ratings and earth conductor that go with it; its own size too where a device is added. */
export function proposeSize(run: Run, context: DesignContext, wish: Wish = {}): Proposal | undefined {
  const own = context.maybe(run, 'size');
  const added = wish.added ?? 0;
  const ratings = fittedRatings(run, context);
  function* options(): Generator<{ readonly size?: ConductorSize; readonly setup: Setup }> {
    if (own && added > 0) yield { setup: { size: own, ratings, added } };
    for (const size of candidates(run, context))
      if (!own || size.area > numberIn(own, 'mm2') * 1.001)
        yield { size, setup: { size: sizeOf(size.area), ratings, added } };
    // Where nothing holds together the devices stay as they are.
    if (ratings.size > 0)
      for (const size of candidates(run, context))
        if (!own || size.area > numberIn(own, 'mm2') * 1.001)
          yield { size, setup: { size: sizeOf(size.area), ratings: NO_RATINGS, added } };
  }
  const kept = wish.accepts ? undefined : soundProposals(context, run);
  if (kept?.has(added)) return kept.get(added);
  const found = firstSound(run, options, wish, context);
  const proposal = found && withEarth(run, found.setup, found.size, context);
  // What leaves nothing broken serves every finding of the run alike; what leaves something depends on the finding.
  if (found && isSound(run, found.setup, context)) kept?.set(added, proposal);
  return proposal;
}

/** Sizes tried for a run in a loop. */
const MOST_IN_LOOP = 6;

/**
 * Larger sizes of a run, of which the first that proves itself is wanted. In a loop a size changes what every run carries, so that only the
 * whole design can judge it: there each next size is one to be tried, with the ratings that the load asks for already. Elsewhere what is
 * sound on the run alone is found here.
 */
export function proposeSizes(run: Run, context: DesignContext, wish: Wish = {}): readonly Proposal[] {
  if (!context.graph.sides(run).loop) {
    const kept = proposeSize(run, context, wish);
    return [...withSmallerDevices(run, kept, context, wish), ...(kept ? [kept] : [])];
  }
  const own = context.maybe(run, 'size');
  const ratings = fittedRatings(run, context);
  return candidates(run, context)
    .filter(({ area }) => !own || area > numberIn(own, 'mm2') * 1.001)
    .slice(0, MOST_IN_LOOP)
    .flatMap(
      (size) => withEarth(run, { size: sizeOf(size.area), ratings, added: wish.added ?? 0 }, size, context) ?? [],
    );
}

/** By how many times more copper is not worth keeping a device that is larger than its load needs. Common practice, no source. */
const TOO_MUCH_COPPER = 2.2;
/** Sizes worked out beside a smaller device: with it other terminals may count, which only the whole design shows. */
const MOST_BESIDE = 3;

/**
 * Larger sizes with devices no larger than the load needs, where the devices that are there would ask for far more copper, or for more than
 * there is: the smallest that hold together.
 */
function withSmallerDevices(
  run: Run,
  kept: Proposal | undefined,
  context: DesignContext,
  wish: Wish,
): readonly Proposal[] {
  const own = context.maybe(run, 'size');
  const smaller = smallestRatings(run, context);
  if (!own || smaller.size === 0) return [];
  const ratings = new Map([...fittedRatings(run, context), ...smaller]);
  const most = kept?.size ? kept.size.area / TOO_MUCH_COPPER : Infinity;
  const sizes = candidates(run, context).filter(({ area }) => area > numberIn(own, 'mm2') * 1.001 && area < most);
  const options = sizes.map((size) => ({ size, setup: { size: sizeOf(size.area), ratings, added: wish.added ?? 0 } }));
  const first = firstSound(run, () => options, wish, context);
  if (!first) return [];
  return options
    .slice(options.indexOf(first), options.indexOf(first) + MOST_BESIDE)
    .flatMap(({ size, setup }) => withEarth(run, setup, size, context) ?? []);
}

const PROPOSALS = query<Run, Map<number, Proposal | undefined>>('sizes that leave nothing broken on a run');

/** Sizes with all that goes with them that leave nothing broken on a run, by the rating that is added. */
const soundProposals = (context: DesignContext, run: Run): Map<number, Proposal | undefined> =>
  context.kept(PROPOSALS, run, () => new Map());

/**
 * Other ratings of one device on the conductors that are there: from the largest below the present one on (`down`), or the smallest that carries
 * the load (`up`).
 */
export function proposeRatings(
  run: Run,
  device: Instance,
  direction: 'up' | 'down',
  context: DesignContext,
  wish: Wish = {},
): readonly Proposal[] {
  const own = context.maybe(run, 'size');
  const present = context.maybe(device, 'rating');
  if (!own || !present) return [];
  const amperes = numberIn(present, 'A');
  // A smaller device must carry the load, even where the present one is too small for it already.
  const load = leastRating(run, device, context);
  if (load.kind !== 'known') return [];
  const least = direction === 'down' ? numberIn(load.derivation, 'A') * (1 - 1e-9) : 0;
  const others = new Map([...fittedRatings(run, context)].filter(([each]) => each !== device));
  const isWanted = (rating: number): boolean =>
    direction === 'up' ? rating > amperes : rating < amperes && rating >= least;
  const ratings = ratingsOf(device, context).filter(isWanted);
  if (direction === 'down') ratings.reverse();
  // Where its class is not made so large, another class and the rating go together.
  const classes = new Map<number, string>();
  if (direction === 'up')
    for (const { rating, part } of ratingsOfOtherClasses(run, device, context).filter((each) =>
      isWanted(each.rating),
    )) {
      ratings.push(rating);
      classes.set(rating, part);
    }
  // Those that leave nothing broken first, each way from the present rating on.
  const whole: Proposal[] = [];
  const partly: Proposal[] = [];
  for (const rating of ratings) {
    if (whole.length === MOST_RATINGS) break;
    if (!othersAllow(run, device, rating, context)) continue;
    const setup: Setup = { size: own, ratings: new Map([...others, [device, rating]]), added: 0 };
    const sound = firstSound(run, () => [{ setup }], wish, context);
    const proposal = sound && withEarth(run, sound.setup, undefined, context);
    const part = classes.get(rating);
    const classed = proposal && part ? { ...proposal, classes: new Map([[device, part]]) } : proposal;
    if (classed) (isSound(run, setup, context) ? whole : partly).push(classed);
  }
  return [...whole, ...partly].slice(0, MOST_RATINGS);
}

/** Ratings that are worked out: where the first brings a question, as terminals up to 100 A may, the next may bring none. */
const MOST_RATINGS = 4;

/** A larger earth conductor for what is there. */
export function proposeEarth(run: Run, context: DesignContext): Proposal | undefined {
  const size = context.maybe(run, 'size');
  const earth = size && earthFor(run, { size, ratings: NO_RATINGS, added: 0 }, context);
  return earth && typeof earth === 'object' ? { ratings: NO_RATINGS, earth, others: new Map() } : undefined;
}

/** What a proposal changes, in words: `size of Feed to 2 AWG`, `rating of F1 to 125 A`. */
const changesOf = (run: Run, { size, ratings, classes, earth, others }: Proposal): string[] => [
  ...(size ? [`size of ${run.name} to ${size.name}`] : []),
  ...[...(classes ?? [])].map(([device, part]) => `class of ${device.name} to ${part}`),
  ...[...ratings].map(([device, rating]) => `rating of ${device.name} to ${rating} A`),
  ...(earth ? [`earth of ${run.name} to ${earth.name}`] : []),
  ...[...others].map(([other, needed]) => `earth of ${other.name} to ${needed.name}`),
];

export const listed = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;

/** The edits that make a proposal of a run. */
export function editsOf(run: Run, { size, ratings, classes, earth, others }: Proposal): TextEdit[] {
  const hole = run.holes.find(({ property }) => property === 'size');
  return [
    ...(size ? [hole ? replace(hole.place, size.name) : setProperty(run, 'size', size.name)] : []),
    ...[...(classes ?? [])].map(([device, part]) => setProperty(device, 'class', part)),
    ...[...ratings].map(([device, rating]) => setProperty(device, 'rating', `${rating} A`)),
    ...(earth ? [setProperty(run, 'earth', earth.name)] : []),
    ...[...others].map(([other, needed]) => setProperty(other, 'earth', needed.name)),
  ];
}

/** A proposal as a fix. */
export const fixOf = (run: Run, proposal: Proposal): Fix =>
  propose(`Change ${listed(changesOf(run, proposal))}`, editsOf(run, proposal));
