import type { Instance, Run } from '../../model/types.js';
import type { ConductorSize } from '../../quantity/index.js';
import type { DistanceRule } from './device-distance.js';
import type { End, Fed } from './feeding.js';
import type { JointRule, Setup } from './sizing.js';

/*
 * Ways of mending conductors and their devices, as a check declares them: what is wished, not what is to be written. `propose` works them
 * out when somebody asks, so that judging costs nothing for them.
 */

/** What a way of mending is for. */
export interface Wish {
  /** The finding it has to end. */
  readonly target?: JointRule;
  /** Rating (A) of a device that is added by the same change. */
  readonly added?: number;
  /** What it must meet besides the rules that are known here. */
  readonly accepts?: (setup: Setup) => boolean;
}

export type ConductorWay =
  /** Larger conductors, with the ratings and the earth conductor that go with them. */
  | { readonly way: 'size'; readonly run: Run; readonly wish: Wish }
  /** Another rating of a device on the conductors that are there: the largest below, or the smallest above that carries the load. */
  | {
      readonly way: 'rating';
      readonly run: Run;
      readonly device: Instance;
      readonly direction: 'up' | 'down';
      readonly wish: Wish;
    }
  /** An earth conductor that is large enough for what is there. */
  | { readonly way: 'earth'; readonly run: Run }
  /** A device of its own at an end, within the distance that the rule allows. */
  | {
      readonly way: 'device';
      readonly run: Run;
      readonly end: End;
      readonly feed: Fed;
      readonly rule: DistanceRule | undefined;
    }
  /** Conductors large enough for the devices they are fed through. */
  | { readonly way: 'suit-feed'; readonly run: Run; readonly feed: Fed }
  /** Runs side by side made equal: in size, and in length where one is named. */
  | {
      readonly way: 'equal';
      readonly group: readonly Run[];
      readonly longest: Run | undefined;
      readonly size: ConductorSize;
    };

/** Larger conductors for a run. */
export const largerSize = (run: Run, wish: Wish): ConductorWay => ({ way: 'size', run, wish });

/** Another rating for a device of a run. */
export const otherRating = (run: Run, device: Instance, direction: 'up' | 'down', wish: Wish): ConductorWay => ({
  way: 'rating',
  run,
  device,
  direction,
  wish,
});
