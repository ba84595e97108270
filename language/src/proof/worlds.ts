import { type ControlMachine, DAY, PHASE, isOfClock, secondsText } from '../control/index.js';
import { comparisonsOf } from '../model/conditions.js';
import type { DesignContext } from '../model/context.js';
import { isBank, isStarted } from '../model/roles.js';
import type { Instance, Scenario } from '../model/types.js';
import { highEnd, lowEnd } from '../quantities/ends.js';
import { cellsAllowed } from '../quantities/plant/cell-limits.js';
import type { BankPlan, LoadPlan, Plan, SpanPlan } from '../simulate/plan.js';
import { isFedByAlternating, isSetPlan } from '../simulate/plan-questions.js';
import { type Prepared, prepare } from '../simulate/prepare.js';
import { inUnit, quantity } from '../quantity/index.js';
import { deriveQuantity, type Derivation } from '../derivation/index.js';

/** What is prepared lasts as long as the longest week, dwells counted. */
const LONGEST_DAYS = 31;
/** A week, from half full. */
export const PROOF_DAYS = 7;
const HALF_FULL = 0.5;
/** What goes to and fro, or is empty before the morning, shows it within so many days. */
const SHORT = 2;
/** Charge from which a set is asked whether it starts at all. */
const NEARLY_EMPTY = 0.05;
/** Charge at which a set may have been started for another reason than the bank. */
const NEARLY_FULL = 0.97;
/** Other sources come and go with this rhythm where they come and go, s. */
const COMING = 6 * 3600;
/** The same where they come for a short while: there, away, s. */
const BRIEF = [20 * 60, 220 * 60] as const;
/** A day in the middle of the year's light. */
const FIRST_DAY = '2027-03-20';

/** What is asked of the rules in a week: each world is one play. */
export interface World {
  /** Links lost for the whole week, as indices of the machine. */
  readonly lost: readonly number[];
  /** Links lost that no rule hears of: chargers and inverters do without the limits of their bank. By position in the plan. */
  readonly silent: readonly { readonly index: number; readonly name: string }[];
  /** Sources other than sets that rules start. */
  readonly others: 'absent' | 'present' | 'coming' | 'brief';
  readonly loads: 'design' | 'mean' | 'light' | 'half' | 'trickle' | 'none' | 'sweep' | Swing;
  readonly sun: 'none' | 'clear';
  /** Which end of their ranges the cells' temperature and resistance have. */
  readonly cells: 'cold' | 'warm';
  readonly soc: number;
  /** Whether the banks begin cut off: they were emptied, and then charged too little to take loads again. */
  readonly isCutOff?: boolean;
  /** Target of the machine that runs (a set) or is off (anything else) as the week begins, as its controls have asked for it. */
  readonly asked?: number;
  /** Day of the week’s beginning, the first of the rules’ clock being 1. */
  readonly firstDay: number;
  /** When the first day begins to be played, s after midnight. */
  readonly timeOfDay: number;
  /** Days after which it has shown what it is for; a week and more where it says nothing. */
  readonly days?: number;
  /** Whether chance has put it together: what is not over after its days is played on. */
  readonly isDrawn?: boolean;
  /** Other sources and links that come and go before everything is as the rest of it says. */
  readonly unsettled?: Unsettled;
}

/** A beginning in which what may come and go does, in s. */
export interface Unsettled {
  readonly until: number;
  readonly spans: readonly SpanPlan[];
}

/** Loads that take more in one half of the day than in the other. */
export interface Swing {
  /** Share of the mean of the design that they take over the day, 0 to 1. */
  readonly use: number;
  /** By what share of that mean they take more from a time of day on (s after midnight, before noon) and less half a day later, 0 to 1. */
  readonly by: number;
  readonly from: number;
}

/** Every world that the rules of a design are proven in, the plainest first. */
export function worldsOf(machine: ControlMachine, plan: Plan, hasTwoEnds: boolean): World[] {
  const { targets } = machine;
  const losses = lossesOf(machine);
  const hasOthers = plan.sources.some((source) => !isSetPlan(source) && source.control < 0);
  const hasArrays = plan.arrays.length > 0;
  const worlds: World[] = [];
  const plain: World = {
    lost: [],
    silent: [],
    others: 'absent',
    loads: 'design',
    sun: 'none',
    cells: 'warm',
    soc: HALF_FULL,
    firstDay: 1,
    timeOfDay: 0,
  };
  const asked = targets.map(({ index }) => index);
  const cutOff = cutOffCharge(machine, plan, hasOthers);
  for (const lost of losses) {
    const base = { ...plain, lost };
    const ends: World[] = hasTwoEnds ? [base, { ...base, cells: 'cold' }] : [base];
    for (const end of ends) {
      worlds.push(end);
      for (const target of asked)
        for (const loads of ['design', 'none', 'light'] as const) worlds.push({ ...end, asked: target, loads });
      worlds.push({ ...end, loads: 'sweep' });
    }
    worlds.push(
      { ...base, soc: NEARLY_EMPTY },
      { ...base, soc: NEARLY_EMPTY, loads: 'trickle' },
      { ...base, loads: 'trickle' },
      { ...base, soc: NEARLY_FULL, loads: 'none' },
      // From the hour on at which the loads are near their most, so that they are met with a full bank.
      { ...base, soc: NEARLY_FULL, loads: 'sweep', timeOfDay: MOST_LOAD },
    );
    if (cutOff !== undefined)
      for (const timeOfDay of [0, ...quietHours(machine, 'from')])
        worlds.push({ ...base, soc: cutOff, isCutOff: true, timeOfDay });
    for (const target of asked)
      worlds.push({ ...base, asked: target, loads: 'mean' }, { ...base, asked: target, soc: NEARLY_FULL });
    if (hasOthers) {
      worlds.push(
        { ...base, others: 'present' },
        { ...base, others: 'present', soc: NEARLY_EMPTY },
        { ...base, others: 'coming' },
      );
      for (const target of asked) worlds.push({ ...base, others: 'present', asked: target });
    }
    if (hasArrays) {
      worlds.push({ ...base, sun: 'clear' });
      for (const target of asked) worlds.push({ ...base, sun: 'clear', asked: target });
    }
    // With everything there and the bank full, what was switched off has to come on again.
    for (const target of asked)
      if (!targets[target]!.restsOff)
        worlds.push(
          { ...base, others: hasOthers ? 'present' : 'absent', soc: NEARLY_EMPTY, asked: target },
          {
            ...base,
            others: hasOthers ? 'present' : 'absent',
            sun: hasArrays ? 'clear' : 'none',
            soc: 1,
            asked: target,
          },
        );
    // At the charges and hours that rules name: what goes to and fro about a limit does so there, by day as soon as quiet hours let it.
    for (const soc of limitsOf(machine, 'soc')) {
      for (const timeOfDay of [0, ...quietHours(machine, 'to')])
        for (const loads of ['light', 'half'] as const) worlds.push({ ...base, soc, timeOfDay, loads, days: SHORT });
      for (const timeOfDay of limitsOf(machine, 'hour'))
        for (const loads of ['light', 'mean'] as const) worlds.push({ ...base, soc, timeOfDay, loads, days: SHORT });
    }
    // As quiet hours begin, just above where rules start a set; half full where they do not look at the charge.
    const limits = limitsOf(machine, 'soc').filter((limit) => limit < HIGH);
    for (const timeOfDay of quietHours(machine, 'from'))
      for (const soc of limits.length > 0 ? limits.map((limit) => limit + JUST) : [HALF_FULL])
        worlds.push({ ...base, soc, timeOfDay, loads: 'mean', days: SHORT });
    // As they end: what would begin in them begins by day.
    for (const timeOfDay of quietHours(machine, 'to'))
      for (const limit of limits) worlds.push({ ...base, soc: limit + JUST, timeOfDay });
    for (const firstDay of daysOf(machine)) {
      worlds.push({ ...base, firstDay });
      for (const target of asked) worlds.push({ ...base, firstDay, asked: target });
    }
  }
  for (const index of silentLinks(plan)) {
    const base: World = { ...plain, silent: [{ index, name: plan.links[index]!.name }] };
    worlds.push(base, { ...base, soc: NEARLY_EMPTY });
    for (const target of asked) worlds.push({ ...base, asked: target }, { ...base, asked: target, loads: 'none' });
  }
  return worlds;
}

/** Links that rules hear of, as they are lost: none, each, all. */
export function lossesOf({ compiled }: ControlMachine): number[][] {
  const links = [
    ...new Set(compiled.controls.flatMap(({ sets }) => sets.flatMap(({ link }) => (link >= 0 ? [link] : [])))),
  ];
  return [[], ...links.map((link) => [link]), ...(links.length > 1 ? [links] : [])];
}

/** What gives alternating current, or charge, beside sets that rules start: positions in the plan. */
export const othersOf = ({ sources }: Plan): number[] =>
  sources.flatMap((source, index) => (isSetPlan(source) && source.control >= 0 ? [] : [index]));

/**
 * The highest charge at which emptied banks still do not take loads again: their rest voltage is the highest that a rule meets while all is
 * dark. None where nothing can leave them there: a set that runs until they are charged, alone.
 */
function cutOffCharge({ compiled }: ControlMachine, { banks }: Plan, hasOthers: boolean): number | undefined {
  const sets = compiled.controls.flatMap((control) => control.sets);
  if (!hasOthers && !sets.some(({ maximumRun }) => maximumRun < Infinity)) return undefined;
  const charge = Math.min(...banks.map((bank) => chargeAt(bank, (1 - JUST_BELOW) * bank.revive)));
  return charge > DEAD ? charge : undefined;
}

/** Charge at which a bank rests at some volts, 0 to 1. */
export function chargeAt({ curve: { soc, volts } }: BankPlan, wanted: number): number {
  const at = volts.findIndex((each) => each > wanted);
  if (at <= 0) return at < 0 ? 1 : 0;
  const share = (wanted - volts[at - 1]!) / (volts[at]! - volts[at - 1]!);
  return soc[at - 1]! + share * (soc[at]! - soc[at - 1]!);
}

const JUST_BELOW = 0.002;
/** Charge below which nothing is gained by another world. */
const DEAD = 0.01;

/** Links over which banks send limits and no rule hears anything. Of those that rules hear of without a fallback, `no-fallback` tells. */
function silentLinks({ regulators, inverters, control }: Plan): number[] {
  const used = new Set([...regulators, ...inverters].flatMap(({ link }) => (link >= 0 ? [link] : [])));
  return [...used].filter((link) => !control.links.includes(link)).sort((a, b) => a - b);
}

/** Limits that rules hold the charge of a bank to, as shares, its volts, or the time of day, in s; without those at the ends. */
export function limitsOf({ compiled }: ControlMachine, signal: 'soc' | 'voltage' | 'hour'): number[] {
  const most = { soc: 1, voltage: Infinity, hour: DAY }[signal];
  const limits = new Set<number>();
  for (const { comparison } of compiled.leaves) {
    const [term, ...others] = comparison.terms;
    if (others.length > 0 || term!.signal.signal !== signal) continue;
    const limit = comparison.limit.value / term!.factor;
    if (limit > 0 && limit < most) limits.add(limit);
  }
  return [...limits].sort((a, b) => a - b).slice(0, MOST_LIMITS);
}

/** When quiet hours begin or end, s after midnight. */
export const quietHours = ({ compiled }: ControlMachine, edge: 'from' | 'to'): number[] => [
  ...new Set(compiled.controls.flatMap(({ sets }) => sets.flatMap(({ quiet }) => (quiet ? [quiet[edge]] : [])))),
];

/** Share of the charge by which a bank is just above a limit, and above which a limit starts no set. */
const JUST = 0.01;
const HIGH = 0.7;

/** Limits of a kind that worlds begin at; more are seldom written. */
const MOST_LIMITS = 6;

/** Days from which on rules tell the days apart, beside the first week. */
export function daysOf({ compiled }: ControlMachine): number[] {
  const days = new Set<number>();
  for (const { comparison } of compiled.leaves) {
    if (!isOfClock(comparison)) continue;
    for (const { factor, signal } of comparison.terms)
      if (signal.kind === 'clock' && signal.signal === 'duty') {
        // Each turn has to be proven; where turns are short, a week holds them all.
        for (let turn = 1; turn < signal.among && signal.days * signal.among > PROOF_DAYS; turn += 1)
          days.add(1 + turn * signal.days);
      } else if (signal.kind === 'clock' && signal.signal === 'day') {
        const day = Math.round(comparison.limit.value / factor);
        for (const first of [day - PROOF_DAYS, day - 3, day + 1]) if (first > 1 && first <= 366) days.add(first);
      }
  }
  return [...days].sort((a, b) => a - b);
}

/** What a world is called where it is told of: `BmsLink lost, the grid away`. */
export function worldTitle(world: World, machine: ControlMachine): string {
  const parts = [
    ...world.lost.map((link) => `${machine.links[link]!.name} lost`),
    ...world.silent.map(({ name }) => `${name} lost`),
    ...(world.others === 'present' ? ['every other source there'] : []),
    ...(world.others === 'coming' ? ['other sources there for six hours in twelve'] : []),
    ...(world.others === 'brief' ? ['other sources there for 20 min in 4 h'] : []),
    ...(world.sun === 'clear' ? ['a clear sky'] : []),
    ...(world.unsettled
      ? [`${comingTitle(world.unsettled)} come and go for ${secondsText(world.unsettled.until)} before`]
      : []),
    ...(world.isCutOff ? ['emptied banks charged a little'] : []),
    typeof world.loads === 'string' ? LOADS[world.loads] : swingTitle(world.loads),
    ...(world.firstDay > 1 ? [`from day ${world.firstDay} on`] : []),
  ];
  return parts.join(', ');
}

const LOADS: Readonly<Record<Exclude<World['loads'], Swing>, string>> = {
  design: 'loads as the design says',
  mean: 'loads at their mean',
  light: 'a light load',
  half: 'a load of half of what a charger gives',
  trickle: 'a tenth of all loads',
  none: 'no load',
  sweep: 'loads from none to all',
};

function comingTitle({ spans }: Unsettled): string {
  const isAny = (of: SpanPlan['of']): boolean => spans.some((span) => span.of === of);
  return [...(isAny('source') ? ['other sources'] : []), ...(isAny('link') ? ['links'] : [])].join(' and ');
}

function swingTitle({ use, by, from }: Swing): string {
  const clock = (seconds: number): string => {
    const minutes = Math.round((seconds % DAY) / 60);
    return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
  };
  const percent = (share: number): number => Math.round(100 * share);
  const mean = use < 1 ? `loads at ${percent(use)} % of their mean` : 'loads at their mean';
  return `${mean}, ${percent(by)} % less from ${clock(from)} to ${clock(from + DAY / 2)} and more in the other half of the day`;
}

/** Plans for worlds, made from a design once for every sky and end. */
export class Planner {
  private readonly made = new Map<string, Prepared>();
  private readonly banks: readonly Instance[];
  readonly hasTwoEnds: boolean;

  constructor(private readonly context: DesignContext) {
    this.banks = context.system.instances.filter(isBank);
    this.hasTwoEnds = this.banks.some((bank) =>
      (['cellTemperature', 'resistance'] as const).some((name) => {
        const stated = context.maybe(bank, name);
        return stated !== undefined && lowEnd(stated) !== stated;
      }),
    );
  }

  prepared({ sun, cells }: Pick<World, 'sun' | 'cells'>): Prepared {
    const key = `${sun} ${cells}`;
    let found = this.made.get(key);
    if (!found) this.made.set(key, (found = prepare(this.context, this.scenario(sun, cells), {})));
    return found;
  }

  private scenario(sun: World['sun'], cells: World['cells']): Scenario {
    const { system } = this.context;
    return {
      kind: 'scenario',
      name: 'proof of the rules',
      path: system.name,
      properties: new Map(),
      holes: [],
      start: { date: FIRST_DAY, timeOfDay: 0 },
      duration: LONGEST_DAYS * DAY,
      initial: this.banks.flatMap((bank) => {
        const signal = (name: 'soc' | 'temperature') => ({ kind: 'of', signal: name, of: bank }) as const;
        const temperature = this.temperatureOf(bank, cells);
        return [
          { signal: signal('soc'), value: HALF, place: bank.place },
          ...(temperature ? [{ signal: signal('temperature'), value: temperature, place: bank.place }] : []),
        ];
      }),
      absences: [],
      tanks: [],
      profiles: [],
      // Where one of several can be plugged in, it is a set that rules start.
      plugged: this.context.graph.inlets.map(({ at, cords }) => ({
        inlet: at,
        by: (cords.find(({ sources }) => sources.some(isStarted)) ?? cords[0]!).run,
        place: at.place,
      })),
      runs: 1,
      seed: 1,
      sun,
      // Where other sources count as present, the wind blows as hard as it can.
      wind: 'strong',
      missing: [],
      isFaulty: false,
      place: system.place,
    };
  }

  /** One end of the cells’ range, as far as they take charge there: that they take none outside is told by other checks. */
  private temperatureOf(bank: Instance, cells: World['cells']): Derivation | undefined {
    const stated = this.context.maybe(bank, 'cellTemperature');
    if (!stated) return undefined;
    const end = cells === 'cold' ? lowEnd(stated) : highEnd(stated);
    if (typeof end.value !== 'object') return end;
    const span = cellsAllowed(bank, 'charge', this.context);
    const celsius = inUnit(end.value, 'degC');
    const within = span ? Math.min(span.high, Math.max(span.low, celsius)) : celsius;
    return within === celsius ? end : deriveQuantity(end.name, quantity(within, 'degC'), { origin: 'assumed' });
  }

  /** The plan of a world, from what was prepared for its sky and end. */
  plan(world: World, plan: Plan): Plan {
    const { machine } = plan.control;
    const start = machine.initial();
    if (world.asked !== undefined) {
      const { restsOff, controls } = machine.targets[world.asked]!;
      machine.enter(start, world.asked, restsOff ? PHASE.on : PHASE.off, controls);
    }
    return {
      ...plan,
      firstDay: world.firstDay,
      timeOfDay: world.timeOfDay,
      ...(world.isCutOff ? { startsCutOff: true } : {}),
      control: { ...plan.control, start },
      spans: [...plan.spans, ...(world.unsettled?.spans ?? []), ...lostSpans(world, plan), ...sourceSpans(world, plan)],
      banks: plan.banks.map((bank, at) => ({
        ...bank,
        soc: world.soc,
        resistance: bank.resistance * this.resistanceShare(at, world.cells),
      })),
      loads: plan.loads.map((load) => loadIn(load, world.loads, lightShare(plan), halfShare(plan))),
    };
  }

  private resistanceShare(at: number, cells: World['cells']): number {
    const stated = this.context.maybe(this.banks[at]!, 'resistance');
    if (!stated || typeof stated.value !== 'object') return 1;
    const { low, value, high } = stated.value;
    return (cells === 'cold' ? high : low) / value;
  }
}

const HALF: Derivation = deriveQuantity('state of charge', quantity(HALF_FULL * 100, '%'), { origin: 'assumed' });

function lostSpans({ lost, silent, unsettled }: World, { control, duration }: Plan): SpanPlan[] {
  const links = [...lost.map((link) => control.links[link]!), ...silent.map(({ index }) => index)];
  return links.map((index) => ({ of: 'link', index, from: unsettled?.until ?? 0, to: duration + DAY }));
}

function sourceSpans({ others, unsettled }: World, plan: Plan): SpanPlan[] {
  const { duration } = plan;
  const begins = unsettled?.until ?? 0;
  if (others === 'present') return [];
  return othersOf(plan).flatMap((index): SpanPlan[] => {
    if (others === 'absent') return [{ of: 'source', index, from: begins, to: duration + DAY }];
    const spans: SpanPlan[] = [];
    const [there, away] = others === 'brief' ? BRIEF : [COMING, COMING];
    for (let from = begins + there; from < duration; from += there + away)
      spans.push({ of: 'source', index, from, to: from + away });
    return spans;
  });
}

/** Steps of a sweep of the loads in half a day. */
const SWEEP = 12;
/** Two steps before the top of a sweep, s after midnight. */
const MOST_LOAD = DAY / 2 - (2 * DAY) / (2 * SWEEP);

/** Share of all loads at which they take nearly what a charger gives at its tail: it then floats as soon as the bank takes next to nothing. */
function lightShare({ banks, loads }: Plan): number {
  const tail = banks.reduce((sum, bank) => sum + bank.tail * bank.curve.volts.at(-1)!, 0);
  const all = loads.reduce((sum, { watts }) => sum + watts, 0);
  return all > 0 ? Math.min(1, (NEARLY * tail) / all) : 0;
}

const NEARLY = 0.9;

/** Share of all loads at which they draw half of what the smallest charger on alternating current gives: with it a bank rises as fast as it falls without. */
function halfShare({ banks, regulators, loads }: Plan): number {
  const volts = banks[0]!.curve.volts.at(-1)!;
  const given = Math.min(
    ...regulators
      .filter(isFedByAlternating)
      .map(({ currentLimit, powerLimit }) => Math.min(currentLimit * volts, powerLimit)),
  );
  const all = loads.reduce((sum, { watts }) => sum + watts, 0);
  return all > 0 && given < Infinity ? Math.min(1, given / 2 / all) : 0;
}
const TRICKLE = 0.1;

function loadIn(load: LoadPlan, loads: World['loads'], light: number, half: number): LoadPlan {
  const most = Math.max(...load.share);
  const steady = (share: number): LoadPlan => ({
    ...load,
    shareFrom: Float64Array.of(0),
    share: Float64Array.of(share),
  });
  if (typeof loads === 'object') {
    const mean = loads.use * meanOf(load);
    // No load takes more than all of it.
    const more = Math.min(mean * (1 + loads.by), Math.max(1, most));
    const less = 2 * mean - more;
    return {
      ...load,
      shareFrom: Float64Array.of(0, loads.from, loads.from + DAY / 2),
      share: Float64Array.of(more, less, more),
    };
  }
  switch (loads) {
    case 'design':
      return load;
    case 'light':
      return steady(light);
    case 'half':
      return steady(half);
    case 'trickle':
      return steady(TRICKLE * most);
    case 'none':
      return steady(0);
    case 'mean':
      return steady(meanOf(load));
    case 'sweep': {
      const steps = Array.from({ length: 2 * SWEEP }, (_, step) => step);
      return {
        ...load,
        watts: load.peak,
        shareFrom: Float64Array.from(steps, (step) => (step * DAY) / (2 * SWEEP)),
        share: Float64Array.from(steps, (step) => (most * (step <= SWEEP ? step : 2 * SWEEP - step)) / SWEEP),
      };
    }
  }
}

const meanOf = ({ shareFrom, share }: LoadPlan): number =>
  share.reduce((sum, value, at) => sum + (value * ((shareFrom[at + 1] ?? DAY) - shareFrom[at]!)) / DAY, 0);

/** Whether any rule of a machine looks at anything at all. */
export const hasRules = ({ compiled }: ControlMachine): boolean =>
  compiled.rules.some(({ rule }) => rule.condition !== undefined && comparisonsOf(rule.condition).length > 0);
