/** The share of the time at which loads run: by their profiles and duties. */
import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { whenKnown } from '../worst.js';

const DAY = 86400;

/** The share of its power that a load takes: on average over some hours of the day (s after midnight), or without them at once. */
export type ShareOf = ((load: Instance, context: DesignContext) => Derivation) & {
  readonly hours?: { readonly from: number; readonly to: number };
};

/** Mean share of the day a load runs: from its profile and duty; 1 for a continuous load without a profile. */
export const meanShare: ShareOf = Object.assign(shareOfDay, { hours: { from: 0, to: DAY } });

function shareOfDay(load: Instance, context: DesignContext): Derivation {
  const profile = load.properties.get('profile')?.value;
  const duty = context.maybe(load, 'duty');
  const byProfile =
    profile?.type === 'profile'
      ? profile.windows.reduce((sum, window) => sum + ((window.to - window.from) / DAY) * window.share.value, 0)
      : 1;
  const share = byProfile * (duty ? numberIn(duty, '') : 1);
  const notes = profile || duty ? [] : ['no profile or duty is stated: taken as running all the time'];
  return derive(`mean share of ${load.name}`, share, '', { symbol: 's', notes, ...(duty ? { inputs: [duty] } : {}) });
}

/** Whether a load may run at a time of the day in seconds: by its profile, else always. */
function runsAt(load: Instance, seconds: number): boolean {
  const profile = load.properties.get('profile')?.value;
  if (profile?.type !== 'profile') return true;
  const isIn = (from: number, to: number): boolean =>
    (seconds >= from && seconds < to) || (seconds + DAY >= from && seconds + DAY < to);
  return profile.windows.some((window) => window.share.value > 0 && isIn(window.from, window.to));
}

const runsAlways = (load: Instance): boolean => {
  const profile = load.properties.get('profile')?.value;
  return (
    profile?.type !== 'profile' || profile.windows.some(({ from, to, share }) => to - from >= DAY && share.value > 0)
  );
};

/** Loads that may run at the same time of the day. `at` says when, in s from midnight; undefined where all of them always may. */
export interface Together {
  readonly loads: readonly Instance[];
  readonly at?: number;
}

/** More sets than this are not told apart: all loads then count at once. */
const MOST_SETS = 24;

/**
 * The sets of loads that may run at the same time of the day by their profiles, none of them inside another. What runs together can only
 * grow where a window begins. A load counts with all of its power in its windows: a share of power there is most often a share of time.
 */
export function runningTogether(loads: readonly Instance[]): readonly Together[] {
  if (loads.every(runsAlways)) return [{ loads }];
  const starts = loads.flatMap((load) => {
    const profile = load.properties.get('profile')?.value;
    return profile?.type === 'profile' ? profile.windows.map(({ from }) => from % DAY) : [];
  });
  const times = [...new Set([0, ...starts])].sort((a, b) => a - b);
  const sets: { readonly running: ReadonlySet<Instance>; readonly at: number }[] = [];
  for (const seconds of times) {
    const running = new Set(loads.filter((load) => runsAt(load, seconds)));
    const isInside = (inner: ReadonlySet<Instance>, outer: ReadonlySet<Instance>): boolean =>
      inner.size <= outer.size && [...inner].every((load) => outer.has(load));
    if (sets.some((each) => isInside(running, each.running))) continue;
    for (let index = sets.length - 1; index >= 0; index -= 1)
      if (isInside(sets[index]!.running, running)) sets.splice(index, 1);
    sets.push({ running, at: seconds });
    if (sets.length > MOST_SETS) return [{ loads }];
  }
  return sets.map(({ running, at }) => ({ loads: loads.filter((load) => running.has(load)), at }));
}

/** All of a load’s power, for the most that all loads take at once. */
export const fullShare: ShareOf = (load) =>
  derive(`share of ${load.name}`, 1, '', { symbol: 's', notes: ['running at full power'] });

/** Mean share of some hours of the day (s after midnight, `to` may lie behind midnight) a load runs: from its profile and duty. */
export function shareWithin(from: number, to: number): ShareOf {
  const until = to > from ? to : to + DAY;
  const share = (load: Instance, context: DesignContext): Derivation => {
    const profile = load.properties.get('profile')?.value;
    const duty = context.maybe(load, 'duty');
    const overlap = (start: number, end: number): number =>
      [-DAY, 0, DAY].reduce(
        (sum, shift) => sum + Math.max(0, Math.min(end + shift, until) - Math.max(start + shift, from)),
        0,
      );
    const byProfile =
      profile?.type === 'profile'
        ? profile.windows.reduce((sum, window) => sum + overlap(window.from, window.to) * window.share.value, 0) /
          (until - from)
        : 1;
    return derive(`mean share of ${load.name}`, byProfile * (duty ? numberIn(duty, '') : 1), '', {
      symbol: 's',
      ...(duty ? { inputs: [duty] } : {}),
    });
  };
  return Object.assign(share, { hours: { from, to: until } });
}

/** A part of the time (its weight, all of which sum to 1) in which no load changes, with the share that each takes of its power. */
export interface Moment {
  readonly weight: number;
  readonly shares: ReadonlyMap<Instance, number>;
}

/**
 * The parts of the hours that a share is a mean of, or the one moment that it stands for. What grows with the square of a current follows
 * from them, not from means. A duty counts as its mean, as in a play.
 */
export function momentsOf(loads: readonly Instance[], shareOf: ShareOf, context: DesignContext): readonly Moment[] {
  const profiles = loads.map((load) => {
    const profile = load.properties.get('profile')?.value;
    return profile?.type === 'profile' ? profile.windows : undefined;
  });
  const { hours } = shareOf;
  if (!hours || profiles.every((windows) => windows === undefined))
    return [{ weight: 1, shares: new Map(loads.map((load) => [load, numberIn(shareOf(load, context), '')])) }];
  const { from, to } = hours;
  const shifts = [-DAY, 0, DAY];
  const edges = profiles.flatMap((windows) =>
    (windows ?? []).flatMap((window) => shifts.flatMap((shift) => [window.from + shift, window.to + shift])),
  );
  const times = [...new Set([from, ...edges.filter((edge) => edge > from && edge < to), to])].sort((a, b) => a - b);
  const duties = loads.map((load) => {
    const duty = context.maybe(load, 'duty');
    return duty ? numberIn(duty, '') : 1;
  });
  return times.slice(1).map((end, at) => {
    const middle = (times[at]! + end) / 2;
    const shareNow = (windows: (typeof profiles)[number]): number =>
      (windows ?? [{ from: -DAY, to: 2 * DAY, share: { value: 1 } }]).reduce(
        (sum, window) =>
          shifts.some((shift) => middle >= window.from + shift && middle < window.to + shift)
            ? sum + window.share.value
            : sum,
        0,
      );
    return {
      weight: (end - times[at]!) / (to - from),
      shares: new Map(loads.map((load, index) => [load, shareNow(profiles[index]) * duties[index]!])),
    };
  });
}

/** Power of a load, by the share of the time at which it runs. */
export const powerOf = (load: Instance, shareOf: ShareOf, context: DesignContext): Result =>
  whenKnown(context.quantity(load, 'totalPower'), (power) => {
    const share = shareOf(load, context);
    return known(
      derive(
        shareOf === fullShare ? `power of ${load.name}` : `mean power of ${load.name}`,
        numberIn(power, 'W') * numberIn(share, ''),
        'W',
        { symbol: `P_${load.name}`, formula: 'P_n·s', inputs: [{ ...power, symbol: 'P_n' }, share] },
      ),
    );
  });

/** Apparent power (VA) of a load at some active power. */
export const apparentOf = (load: Instance, power: Derivation, context: DesignContext): Result =>
  whenKnown(context.fact(load, 'powerFactor'), (factor) =>
    known(
      derive(`apparent power of ${load.name}`, numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
        symbol: `S_${load.name}`,
        formula: 'P/pf',
        inputs: [power, factor],
        subject: load.name,
      }),
    ),
  );
