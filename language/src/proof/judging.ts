import { type CompiledRule, type CompiledSet, type ControlMachine, DAY, PHASE } from '../control/index.js';
import type { Plan } from '../simulate/plan.js';
import { isFedByAlternating } from '../simulate/plan-questions.js';
import { isTurning, type Standing, type Watched } from './watching.js';
import type { World } from './worlds.js';

/** What a week showed of one commanded thing. Times in s from its beginning. */
export type Shown = { readonly target: number } & (
  | {
      /**
       * Runs for days on end (`endless`; `latched` with other sources there), or for `past` s beyond the end of the charge, with nothing that
       * needs it (`overrun`), or by its least run (`forced`), or for days beside banks whose protection somebody has to close (`unreset`).
       */
      readonly kind: 'endless' | 'latched' | 'overrun' | 'forced' | 'unreset';
      readonly from: number;
      /** When the bank was charged; undefined where the loads take all that the chargers give. */
      readonly charged: number | undefined;
      readonly to: number;
      readonly past: number;
    }
  | {
      /** `stranded`: only once the bank was emptied and then charged too little to take its loads again. */
      readonly kind: 'starved' | 'quiet' | 'stranded';
      readonly from: number;
      readonly to: number;
      /** Whether only quiet hours keep the set off. */
      readonly isHushed?: boolean;
    }
  | {
      readonly kind: 'chatter';
      readonly from: number;
      readonly to: number;
      readonly count: number;
      readonly on: CompiledRule;
      readonly off: CompiledRule;
      readonly run: number;
      readonly rest: number;
    }
  | { readonly kind: 'stays-off'; readonly from: number; readonly to: number }
  | {
      /** A rule that switches on and one that switches off hold together. */
      readonly kind: 'clash';
      readonly from: number;
      readonly to: number;
      readonly on: CompiledRule;
      readonly off: CompiledRule;
    }
);

export type ShownKind = Shown['kind'];

/** A run longer than this, beside what its dwells take, is one that does not end, s. */
const ENDLESS = 3 * DAY;
/** What a run may go on with the bank charged and nothing that needs it, its least run apart, s (common practice, no source). */
const GRACE = 3600;
/** What a least run may go on with the bank charged, s (common practice, no source). */
const FORCED = 2 * 3600;
/** What a bank may stand without giving while its set could run, beside dwells and rests, s: in use, and where it is so from the start. */
const DARK = 2 * 3600;
const DARK_FROM_START = DAY;
/** A load or charger that goes on and off within this time chatters, s (common practice, no source). */
const SHORT_CYCLE = 10 * 60;
/** So many short runs in a row are chatter. */
const MANY = 6;
/** A rest longer than this keeps short runs from being chatter, s. */
const LONG_REST = 2 * 3600;
/** Charge that may be drawn in a run before the bank no longer counts as charged. */
const DRAWN = 0.05;

/** Longest wait that the rules in force put before they act, s: three times their longest dwell. */
const waitOf = (sets: readonly CompiledSet[]): number =>
  3 * Math.max(0, ...sets.flatMap(({ rules }) => rules.map(({ dwell }) => dwell)));

/** The rules in force of each control of a target in a world. */
export const setsIn = (machine: ControlMachine, target: number, { lost }: World): CompiledSet[] =>
  machine.targets[target]!.controls.map(({ sets }) => sets.find(({ link }) => lost.includes(link)) ?? sets[0]!);

/** How long a week has to be, so that what never ends is told from what takes long, s. */
export function horizonOf(machine: ControlMachine): number {
  const waits = machine.compiled.controls.flatMap(({ sets }) => sets.map((set) => waitOf([set])));
  const stays = machine.compiled.controls.flatMap(({ sets }) =>
    sets.flatMap(({ minimumRun, minimumRest }) => [minimumRun, minimumRest]),
  );
  return Math.min(MOST, Math.max(7 * DAY, 2 * ENDLESS + Math.max(0, ...waits, ...stays)));
}

/** The longest play, s. */
export const MOST = 30 * DAY;

/** From when on nothing comes or goes that a world does not say, s. */
const settledFrom = ({ unsettled }: World): number => unsettled?.until ?? 0;

/** Whether nothing but what rules start can charge, once all is settled. */
const isAlone = ({ others, sun }: World): boolean => others === 'absent' && sun === 'none';

/** Looks through what a week showed. `leastRun` in s, `reserves` as shares by bank. */
export function* judged(
  watched: Watched,
  world: World,
  plan: Plan,
  { leastRun, reserves }: { readonly leastRun: number; readonly reserves: readonly number[] },
): Generator<Shown> {
  const { machine } = plan.control;
  for (const { time, target, on, off } of watched.clashes)
    yield { target, kind: 'clash', from: time, to: time, on, off };
  for (const { index, restsOff } of machine.targets) {
    if (restsOff) {
      yield* longRuns(watched, world, plan, index);
      yield* darkness(watched, world, plan, index);
      yield* quietly(watched, world, plan, index, reserves);
    } else yield* staysOff(watched, world, plan, index);
    yield* chatter(watched, index, restsOff ? (run) => run < leastRun : (run, rest) => run + rest < SHORT_CYCLE);
  }
}

interface Stretch {
  readonly from: number;
  readonly to: number;
  /** Standings of the stretch, as indices. */
  readonly first: number;
  readonly last: number;
}

/** Stretches in which something holds without a break. */
function stretches(watched: Watched, holds: (standing: Standing) => boolean): Stretch[] {
  const { standings, duration } = watched;
  const found: Stretch[] = [];
  let first = -1;
  for (let at = 0; at <= standings.length; at += 1) {
    const standing = standings[at];
    const isSo = standing !== undefined && holds(standing);
    if (isSo && first < 0) first = at;
    if (!isSo && first >= 0) {
      found.push({ from: standings[first]!.time, to: standing?.time ?? duration, first, last: at - 1 });
      first = -1;
    }
  }
  return found;
}

/** Whether alternating current of a target, by any of its outlets, reaches any charger. */
function charges({ sources, regulators, configuration }: Plan, target: number): boolean {
  const live = sources.reduce((mask, { control }, at) => (control === target ? mask | (1 << at) : mask), 0);
  if (live === 0) return false;
  const { chargerFeeder } = configuration(live);
  return regulators.some((regulator, at) => isFedByAlternating(regulator) && chargerFeeder[at]! >= 0);
}

function* longRuns(watched: Watched, world: World, plan: Plan, target: number): Generator<Shown> {
  if (!charges(plan, target)) return;
  const { standings, duration } = watched;
  const sets = setsIn(plan.control.machine, target, world);
  const limit = ENDLESS + waitOf(sets);
  const minimumRun = Math.max(0, ...sets.map((set) => set.minimumRun));
  const hasStop = sets.some(({ off }) => off.length > 0);
  for (const { from, to, first, last } of stretches(watched, ({ phases }) => isTurning(phases[target]!))) {
    let [charged, full]: (number | undefined)[] = [];
    let [chargedSoc, past, needed] = [1, 0, 0];
    for (let at = first; at <= last; at += 1) {
      const standing = standings[at]!;
      const until = at === last ? to : standings[at + 1]!.time;
      const least = Math.min(...standing.soc, 1);
      const isWanted = standing.isNeeded || (standing.isAsked[target]! && !standing.isCharged);
      if (standing.isNeeded) needed += until - standing.time;
      if (standing.isCharged && !standing.isNeeded) full ??= standing.time;
      if (charged !== undefined && least < chargedSoc - DRAWN) [charged, past] = [undefined, 0];
      if (charged === undefined && standing.isCharged && standing.time - from >= minimumRun - 1)
        [charged, chargedSoc] = [standing.time, least];
      if (charged !== undefined && !isWanted) past += until - standing.time;
    }
    const isOver = to >= duration - 1;
    const steady = to - Math.max(from, settledFrom(world));
    if (full !== undefined && from > 0 && !world.unsettled && minimumRun - (full - from) > FORCED)
      yield { target, kind: 'forced', from, charged: full, to, past: minimumRun - (full - from) };
    if (needed > (to - from) / 2) continue;
    // Chargers without a bank are at the end of no charge. That chance begins with the bank so is nobody’s fault: no rule has let it come there.
    if (standings[last]!.isOut) {
      if (steady > limit && !world.isDrawn) yield { target, kind: 'unreset', from, charged: undefined, to, past };
      continue;
    }
    // A slow charge is a charge: what still rises is not endless.
    if (charged === undefined && rises(standings, first, last, to)) continue;
    // Loads that grow up to all at once may well take all that the chargers give; that they do in the mean is told with the design’s own.
    if (charged === undefined && world.loads === 'sweep') continue;
    if (steady > limit) yield { target, kind: isAlone(world) ? 'endless' : 'latched', from, charged, to, past };
    else if (hasStop && !world.unsettled && past > GRACE && !isOver)
      yield { target, kind: 'overrun', from, charged, to, past };
  }
}

/**
 * Whether the least charged bank comes higher on the last day of a stretch than on the days before. That it only stands higher at the end is
 * not enough: a bank that the loads empty, that is cut off, charged a little and connected again goes up and down by the day.
 */
function rises(standings: readonly Standing[], first: number, last: number, to: number): boolean {
  let [before, now] = [-Infinity, -Infinity];
  for (let at = first; at <= last; at += 1) {
    const { time, soc } = standings[at]!;
    if (time < to - DAY - ENDLESS) continue;
    const least = Math.min(...soc);
    if (time <= to - DAY) before = Math.max(before, least);
    else now = Math.max(now, least);
  }
  return now - before > RISE;
}

const RISE = 0.01;

function* darkness(watched: Watched, world: World, plan: Plan, target: number): Generator<Shown> {
  if (!charges(plan, target) || !isAlone(world)) return;
  const sets = setsIn(plan.control.machine, target, world);
  if (!sets.some(({ on }) => on.length > 0)) return;
  const isOff = ({ phases }: Standing): boolean => phases[target] === PHASE.off;
  const rest = Math.max(0, ...sets.map((set) => set.minimumRest));
  const isReady = ({ time }: Standing, since: number): boolean => time - since > Math.max(READY, waitOf(sets) + rest);
  let off = 0;
  for (const [at, standing] of watched.standings.entries()) {
    const before = watched.standings[at - 1];
    if (before && isOff(standing) && !isOff(before)) off = standing.time;
    if (
      before &&
      standing.time >= settledFrom(world) &&
      standing.isDark &&
      !before.isDark &&
      isOff(standing) &&
      quietIn(standing, standing.time + 1, plan, target) === 0 &&
      world.soc >= HALF
    )
      if (isReady(standing, off))
        return yield { target, kind: 'starved', from: standing.time, to: darkUntil(watched, at) };
  }
  const allowed = (world.soc < HALF ? DARK_FROM_START : DARK) + waitOf(sets) + rest;
  for (const { from, to, first, last } of stretches(watched, (each) => each.isDark && isOff(each))) {
    // That quiet hours empty a bank is told by itself.
    let quiet = 0;
    for (let at = first; at <= last; at += 1) {
      const standing = watched.standings[at]!;
      const time = Math.max(standing.time, settledFrom(world));
      quiet += quietIn({ ...standing, time }, at === last ? to : watched.standings[at + 1]!.time, plan, target);
    }
    if (to - Math.max(from, settledFrom(world)) - quiet > allowed)
      return yield { target, kind: world.isCutOff ? 'stranded' : 'starved', from, to };
    // Dark for hours within them, a bank in use is left to its quiet hours, wherever its reserve lies.
    const isInUse = world.soc >= HALF || world.days !== undefined;
    if (
      isInUse &&
      world.loads === 'design' &&
      quiet > READY + waitOf(sets) &&
      isAskedWithin(watched, first, last, target)
    )
      return yield { target, kind: 'quiet', from, to };
    if (world.isCutOff && quiet > READY + waitOf(sets) && isAskedWithin(watched, first, last, target))
      return yield { target, kind: 'stranded', from, to, isHushed: true };
  }
}

/** Whether a rule asks for a set in some standings. */
const isAskedWithin = ({ standings }: Watched, first: number, last: number, target: number): boolean =>
  standings.slice(first, last + 1).some(({ isAsked }) => isAsked[target]!);

/** A bank that comes below its reserve while nothing but quiet hours keeps the set off, under the usual loads. */
function* quietly(
  watched: Watched,
  world: World,
  plan: Plan,
  target: number,
  reserves: readonly number[],
): Generator<Shown> {
  const sets = setsIn(plan.control.machine, target, world);
  if (!charges(plan, target) || !isAlone(world) || world.unsettled || !USUAL.some((usual) => usual === world.loads))
    return;
  if (!sets.some(({ quiet }) => quiet) || !sets.some(({ on }) => on.length > 0)) return;
  if (reserves.some((reserve) => world.soc <= reserve + ABOVE_RESERVE)) return;
  const charge = plan.banks.map(({ name }) => watched.column(`soc(${name})`));
  const isBelow = (row: number, by: number): boolean =>
    charge.some((column, bank) => column && column[row]! < reserves[bank]! - by);
  const isOff = ({ phases }: Standing): boolean => phases[target] === PHASE.off;
  let row = 0;
  for (const { from, to, first, last } of stretches(watched, isOff)) {
    let at = first;
    // What is below its reserve before a rule asks for the set is not brought there by quiet hours.
    let isHeld = false;
    for (; row < watched.time.length && watched.time[row]! <= to; row += 1) {
      const time = watched.time[row]!;
      if (time < from) continue;
      while (at < last && watched.standings[at + 1]!.time <= time) at += 1;
      const { quiet, isAsked } = watched.standings[at]!;
      if (!isAsked[target]! || quietIn({ time, quiet }, time + 1, plan, target) === 0) isHeld = false;
      else if (!isHeld) isHeld = !isBelow(row, 0);
      else if (isBelow(row, BELOW_RESERVE)) return yield { target, kind: 'quiet', from, to: time };
    }
  }
}

/** Seconds of quiet hours from a standing on. */
function quietIn(
  { time, quiet }: Pick<Standing, 'time' | 'quiet'>,
  until: number,
  { timeOfDay }: Plan,
  target: number,
): number {
  const hours = quiet[target];
  if (!hours) return 0;
  const length = (hours.to - hours.from + DAY) % DAY || DAY;
  let sum = 0;
  // The hours of the day before may still last.
  for (let day = Math.floor((time + timeOfDay) / DAY) - 1; ; day += 1) {
    const from = day * DAY + hours.from - timeOfDay;
    if (from >= until) return sum;
    sum += Math.max(0, Math.min(until, from + length) - Math.max(time, from));
  }
}

/** Share of the charge above its reserve from which on a bank has been in use. */
const ABOVE_RESERVE = 0.05;
/** Share of the charge by which it must come below: what starts a set at the reserve is no fault. */
const BELOW_RESERVE = 0.02;
/** Loads by which quiet hours are judged. */
const USUAL = ['design', 'mean'] as const;
/** For so long a set must have been at rest before a bank that goes dark is laid to its rules, s. */
export const READY = 3600;
const HALF = 0.5;

/** When it is no longer dark. */
const darkUntil = ({ standings, duration }: Watched, from: number): number =>
  standings.slice(from).find(({ isDark }) => !isDark)?.time ?? duration;

/** What a rule has switched off and nothing switches on again, though it is wanted: a load with the bank full, a charger with it empty. */
function* staysOff(watched: Watched, world: World, plan: Plan, target: number): Generator<Shown> {
  if (world.asked !== target) return;
  // A load is wanted with the bank full; what charges is needed with the bank empty at the latest.
  const isLoad = plan.loads.some(({ control }) => control === target);
  const isCharger = plan.regulators.some(({ control }) => control === target);
  if (isLoad ? world.soc < 1 : !isCharger || world.soc >= HALF) return;
  const wait = 2 * DAY + waitOf(setsIn(plan.control.machine, target, world));
  const [first] = stretches(watched, ({ phases }) => phases[target] === PHASE.off);
  if (first && first.from === 0 && first.to - first.from > wait)
    yield { target, kind: 'stays-off', from: first.from, to: first.to };
}

/** Runs that follow one another, each too short to be meant. */
function* chatter(watched: Watched, target: number, isShort: (run: number, rest: number) => boolean): Generator<Shown> {
  const runs = stretches(watched, ({ phases }) => isTurning(phases[target]!));
  let [count, from] = [0, 0];
  for (let at = 0; at + 1 < runs.length; at += 1) {
    const [run, next] = [runs[at]!, runs[at + 1]!];
    const [length, rest] = [run.to - run.from, next.from - run.to];
    const on = rulesAt(watched, target, run.from, 'on');
    const off = rulesAt(watched, target, run.to, 'off');
    if (!isShort(length, rest) || rest > LONG_REST || !on || !off) {
      count = 0;
      continue;
    }
    if (count === 0) ({ from } = run);
    count += 1;
    if (count < MANY) continue;
    yield { target, kind: 'chatter', from, to: next.from, count, on, off, run: length, rest };
    return;
  }
}

/** The rule by which a thing was switched at a time. */
const rulesAt = ({ switchings }: Watched, target: number, time: number, side: 'on' | 'off'): CompiledRule | undefined =>
  switchings.find((each) => each.target === target && Math.abs(each.time - time) < 1 && each[side].length > 0)?.[
    side
  ][0];
