import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  deriveQuantity,
  known,
  missing,
  numberIn,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { quantity } from '../../quantity/index.js';
import { type Feed, feedInto, judgedDevices } from './feeding.js';
import { asIf } from './run-as-if.js';
import { type Setup, candidates, carriesLoad, largestDevice, metalOf, ratingIn, sizeOf } from './sizing.js';
import { calculation } from '../../quantities/calculation.js';

/** Rating of the device that opens when a line of the run touches earth: its own, else what lies before it. */
function protectingRating(run: Run, setup: Setup, context: DesignContext): Result {
  const own = judgedDevices(run, context);
  const ratings = own.map((device) => ratingIn(setup, device, context));
  if (ratings.some((rating) => !rating)) return missing(...own.map((device) => `rating of ${device.name}`));
  const stated = ratings.flatMap((rating) => rating ?? []);
  if (setup.added > 0)
    stated.push(deriveQuantity('rating', quantity(setup.added, 'A'), { notes: ['of the device to be added'] }));
  const feeds = stated.length > 0 ? [] : (['near', 'far'] as const).map((end) => feedInto(run, end, context));
  const held = feeds.flatMap((feed) => (feed.kind === 'limited' ? [heldTo(feed, setup, context)] : []));
  const [first, ...rest] = [...stated, ...held];
  if (!first) return missing(`an overcurrent device before ${run.name}`);
  return known(rest.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so), first));
}

/** What the devices before a run hold it to, with the ratings they get in a setup. */
function heldTo({ current, by }: Extract<Feed, { kind: 'limited' }>, setup: Setup, context: DesignContext): Derivation {
  const change = [...setup.ratings].reduce((sum, [device, rating]) => {
    const present = by.includes(device.name) ? context.maybe(device, 'rating') : undefined;
    return present ? sum + rating - numberIn(present, 'A') : sum;
  }, 0);
  return change === 0 ? current : derive(current.name, numberIn(current, 'A') + change, 'A', { inputs: [current] });
}

/** From which size on line conductors count as increased: the smallest that its device may protect, or that carries the rating of it by itself. */
export type Increase = 'fromAllowed' | 'fromWholeRating';

/** Whether a device of a rating, in the run or before it, may protect conductors of a size. */
function suitsDevice(
  asBuilt: Run,
  size: Derivation,
  rating: Derivation,
  increase: Increase,
  design: DesignContext,
): boolean {
  const { run, context } = asIf(asBuilt, size, design);
  const ampacity = ampacityAt(run, size, context);
  if (ampacity.kind !== 'known') return false;
  // The next standard rating above the ampacity (240.4(B)) does not count then.
  if (increase === 'fromWholeRating' && numberIn(ampacity.derivation, 'A') < numberIn(rating, 'A') * (1 - 1e-9))
    return false;
  const largest = largestDevice(run, ampacity.derivation, size, context);
  return largest.kind === 'known' && numberIn(largest.derivation, 'A') >= numberIn(rating, 'A') * (1 - 1e-9);
}

/** The smallest line conductor that would do in place of the one in a setup, which counts itself when nothing smaller does. */
function smallestThatDoes(
  run: Run,
  setup: Setup,
  rating: Derivation,
  increase: Increase,
  context: DesignContext,
): Derivation {
  const installed = numberIn(setup.size, 'mm2');
  const smaller = candidates(run, context).filter(({ area }) => area < installed * 0.999);
  let least = setup.size;
  for (const { area, name } of smaller.reverse()) {
    const size = sizeOf(area);
    if (!carriesLoad(run, { ...setup, size }, context)) return least;
    if (!suitsDevice(run, size, rating, increase, context)) return least;
    least = { ...size, name: `smallest size that would do, ${name}` };
  }
  return least;
}

/** The earth conductor a run needs in a setup. Undefined where the practice has no table of them (craft). */
export function earthNeeded(
  run: Run,
  setup: Setup,
  context: DesignContext,
  increase: Increase = 'fromAllowed',
): Result | undefined {
  const { practice } = context.system.basis;
  if (practice === 'craft') return undefined;
  const given = {
    metal: deriveFact('metal', metalOf(run), { origin: 'stated' }),
    basis: deriveFact('basis', practice, { origin: 'stated' }),
    installed: setup.size,
  };
  if (practice === 'iec') return callFunction(calculation('earthConductor'), given);
  const rating = protectingRating(run, setup, context);
  if (rating.kind !== 'known') return rating;
  return callFunction(calculation('earthConductor'), {
    ...given,
    rating: rating.derivation,
    minimum: smallestThatDoes(run, setup, rating.derivation, increase, context),
  });
}

/** Whether an earth conductor is as large as the needed one, within the 0.1 % by which sizes are told apart. */
export const isEnough = (earth: Derivation, needed: Derivation): boolean =>
  numberIn(earth, 'mm2') >= numberIn(needed, 'mm2') * (1 - 1e-3);
