import { type ControlMachine, DAY } from '../control/index.js';
import type { Plan, SpanPlan } from '../simulate/plan.js';
import { Random } from '../simulate/random.js';
import { type World, chargeAt, daysOf, limitsOf, lossesOf, othersOf, quietHours } from './worlds.js';

/** Worlds drawn for each design. More find less and less; the time from a keystroke to its verdict bounds them. */
const DRAWS = 60;
/** What does not end, or lies in the dark, after so many days is played on. */
const DRAWN_DAYS = 2;
/** Share of the draws in which sources and links come and go first, for how long, and how long they are looked at then. */
const UNSETTLED = 0.5;
const UNSETTLED_DAYS = 1.5;
const SETTLED_DAYS = 1;
/** How long what comes and goes may stay, s. */
const BRIEFLY = [300, 2400] as const;
const FOR_HOURS = [600, 8 * 3600] as const;
/** The same worlds each time. */
const SEED = 20_270_320;

/** Share of the draws that begin near a charge, and near an hour, that rules name. */
const NEAR_LIMIT = 0.5;
const NEAR_HOUR = 0.4;
/** Share of the charge, and seconds, by which they begin beside it. */
const BESIDE = 0.03;
const BESIDE_HOUR = 1800;
/** Share of the other draws that begin all but empty. */
const LOW = 0.25;
const LOW_MOST = 0.1;
/** Shares of its loads that a place has in use: more often all. */
const USES = [1, 1, 1, 0.5, 0.15];

/**
 * Worlds by chance, beside those that are thought of: rules that only go wrong where a charge, an hour and a load meet are met by no list. Loads
 * keep to the mean of the design or below it, more by one half of the day than by the other.
 */
export function drawnWorlds(machine: ControlMachine, plan: Plan, hasTwoEnds: boolean): World[] {
  const random = new Random(SEED);
  const between = (from: number, to: number): number => from + (to - from) * random.next();
  const chance = (share: number): boolean => random.next() < share;
  const pick = <T>(of: readonly T[]): T => of[Math.floor(random.next() * of.length)]!;
  const losses = lossesOf(machine);
  const days = [1, ...daysOf(machine)];
  const charges = [
    ...limitsOf(machine, 'soc'),
    ...limitsOf(machine, 'voltage').flatMap((volts) => plan.banks.map((bank) => chargeAt(bank, volts))),
  ];
  const hours = [...limitsOf(machine, 'hour'), ...quietHours(machine, 'from'), ...quietHours(machine, 'to')];
  const others =
    othersOf(plan).length > 0 ? (['absent', 'absent', 'coming', 'brief', 'present'] as const) : (['absent'] as const);
  const suns = plan.arrays.length > 0 ? (['none', 'clear'] as const) : (['none'] as const);
  const ends = hasTwoEnds ? (['cold', 'warm'] as const) : (['warm'] as const);
  const drawnCharge = (): number => {
    if (charges.length > 0 && chance(NEAR_LIMIT)) return pick(charges) + between(-BESIDE, BESIDE);
    return chance(LOW) ? between(0, LOW_MOST) : between(0, 1);
  };
  const drawnHour = (): number =>
    hours.length > 0 && chance(NEAR_HOUR) ? pick(hours) + between(-BESIDE_HOUR, BESIDE_HOUR) : between(0, DAY);
  const coming = comingOf(plan);
  const unsettled = (): World['unsettled'] =>
    coming.length > 0 && chance(UNSETTLED)
      ? { until: UNSETTLED_DAYS * DAY, spans: coming.flatMap((each) => comings(each, random)) }
      : undefined;
  return Array.from({ length: DRAWS }, (_, at) => ({
    ...drawnStart(unsettled()),
    lost: losses[at % losses.length]!,
    silent: [],
    others: pick(others),
    sun: pick(suns),
    cells: pick(ends),
    loads: { use: pick(USES), by: between(0, 1), from: between(0, DAY / 2) },
    soc: Math.min(1, Math.max(0, drawnCharge())),
    firstDay: pick(days),
    timeOfDay: (drawnHour() + DAY) % DAY,
    isDrawn: true,
  }));
}

const drawnStart = (unsettled: World['unsettled']): Pick<World, 'unsettled' | 'days'> =>
  unsettled ? { unsettled, days: UNSETTLED_DAYS + SETTLED_DAYS } : { days: DRAWN_DAYS };

/** What may come and go: other sources, and links that a rule hears of. */
const comingOf = (plan: Plan): Pick<SpanPlan, 'of' | 'index'>[] => [
  ...othersOf(plan).map((index) => ({ of: 'source' as const, index })),
  ...Array.from(plan.control.links).map((index) => ({ of: 'link' as const, index })),
];

/** When something is away at the beginning: it comes for hours or, in half of the draws, for minutes. */
function comings(what: Pick<SpanPlan, 'of' | 'index'>, random: Random): SpanPlan[] {
  const between = ([from, to]: readonly [number, number]): number => from + (to - from) * random.next();
  const isBrief = random.next() < 0.5;
  const spans: SpanPlan[] = [];
  let isThere = random.next() < 0.5;
  for (let time = 0; time < UNSETTLED_DAYS * DAY; isThere = !isThere) {
    const to = Math.min(UNSETTLED_DAYS * DAY, time + between(isThere && isBrief ? BRIEFLY : FOR_HOURS));
    if (!isThere) spans.push({ ...what, from: time, to });
    time = to;
  }
  return spans;
}
