import {
  ControlMachine,
  type ControlState,
  PHASE,
  type Phase,
  compileControls,
  DAY,
} from '../../../language/src/control/index.js';
import { signalKey } from '../../../language/src/model/conditions.js';
import type { System } from '../../../language/src/model/types.js';
import { openCircuitVoltage } from '../../../language/src/reference/energy/index.js';

/** The site of every random rule set: one load of 512 W that runs 60 % of the time, a 60 A charger on the set, a 20 A one on the grid. */
export const siteOf = (controls: string): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 16..32 mohm   protectionLow: 40 V   reserve: 5 % }
  load Fan { power: 512 W   supply: dc   duty: 60 % }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${controls}
}
`;

const CAPACITY = 100 * 3600;
const VOLTS = 51.2;
const MOST = 512;
export const MEAN = 0.6 * MOST;
const REST = Array.from({ length: 1001 }, (_, step) => openCircuitVoltage('lfp', step / 1000)! * 16);

const restAt = (soc: number): number => {
  const at = Math.min(999, Math.floor(soc * 1000));
  return REST[at]! + (soc * 1000 - at) * (REST[at + 1]! - REST[at]!);
};

/** How a run goes: what the load takes, and whether the grid is there, until when. */
export interface Stretch {
  readonly until: number;
  readonly watts: number;
  readonly isGridThere: boolean;
}

export interface Moment {
  readonly time: number;
  readonly soc: number;
  readonly state: ControlState;
  /** What the set did the instant before. */
  readonly was: Phase;
}

/** The limit next on the way, so that the instant at which the charge stands on it is not left out. */
function crossing(limits: readonly number[], from: number, to: number): number | undefined {
  let next: number | undefined;
  for (const limit of limits)
    if ((limit - from) * (limit - to) < 0 || (limit === to && limit !== from))
      if (next === undefined || Math.abs(limit - from) < Math.abs(next - from)) next = limit;
  return next;
}

/** The state of charge at which the bank rests at a voltage. */
function chargeAt(volts: number): number {
  const above = REST.findIndex((rest) => rest >= volts);
  if (above <= 0) return above === 0 ? 0 : 1;
  return (above - 1 + (volts - REST[above - 1]!) / (REST[above]! - REST[above - 1]!)) / 1000;
}

/** Plays a course on the site, with charge counted exactly and steps cut at limits, timers and changes, and tells every instant. */
export class RandomRun {
  readonly machine: ControlMachine;
  private readonly limits: readonly number[];

  constructor(system: System) {
    this.machine = new ControlMachine(compileControls(system));
    this.limits = this.machine.comparisons
      .filter(({ terms }) => terms[0]!.signal.kind === 'of' && terms[0]!.signal.signal === 'soc')
      .map(({ limit }) => limit.value);
  }

  play(start: number, soc: number, ohms: number, course: readonly Stretch[], tell: (moment: Moment) => boolean): void {
    const { machine } = this;
    const state = machine.initial();
    const truths = new Uint8Array(machine.comparisons.length);
    const links = new Uint8Array(machine.links.length).fill(1);
    let time = start;
    let charge = soc;
    for (const { until, watts, isGridThere } of course) {
      while (time < until) {
        const isLoaded = machine.phase(state, 0) === PHASE.on;
        const rest = restAt(charge);
        const load = watts / VOLTS;
        const most = (isLoaded ? 60 : 0) + (isGridThere ? 20 : 0);
        const set = isLoaded ? 56 : 55;
        const given = most === 0 ? 0 : Math.max(0, Math.min(most, (set - rest) / ohms + load));
        const into = given - load;
        const volts = rest + ohms * into;
        this.read(truths, charge, volts, into, watts, isLoaded, isGridThere, rest);
        const before = machine.phase(state, 0);
        const inputs = { truths, links, day: Math.floor(time / DAY) + 1, timeOfDay: time % DAY };
        machine.settle(state, inputs);
        if (!tell({ time, soc: charge, state, was: before })) return;
        // What has been switched changes the volts at once.
        if ((machine.phase(state, 0) === PHASE.on) !== isLoaded) continue;
        const rate = into / CAPACITY;
        let step = Math.min(600, until - time, Math.max(1e-3, machine.nextTimer(state, inputs)));
        if (rate !== 0) step = Math.min(step, 0.01 / Math.abs(rate));
        // A charger that holds its voltage brings the bank to where it rests at that voltage, and no further.
        const rests = most > 0 ? [chargeAt(set)] : [];
        const to = crossing([...this.limits, ...rests], charge, charge + rate * step);
        if (to !== undefined) step = Math.max(1e-3, (to - charge) / rate);
        const was = machine.phase(state, 0);
        machine.step(state, inputs, step);
        charge = to ?? Math.min(1, Math.max(0, charge + rate * step));
        time += step;
        if (machine.phase(state, 0) !== was && !tell({ time, soc: charge, state, was })) return;
      }
    }
  }

  private read(
    truths: Uint8Array,
    soc: number,
    volts: number,
    amperes: number,
    watts: number,
    isLoaded: boolean,
    isGridThere: boolean,
    rest: number,
  ): void {
    const values: Record<string, number> = {
      'soc(Bank)': soc,
      'voltage(Bank)': volts,
      'current(Bank)': amperes,
      'power(Fan)': watts,
      'power(Genset)': isLoaded ? Math.max(0, (amperes + watts / VOLTS) * rest) : 0,
      'power(Mains)': isGridThere ? 300 : 0,
    };
    this.machine.comparisons.forEach(({ terms, comparison, limit }, index) => {
      const sum = terms.reduce((so, { factor, signal }) => so + factor * values[signalKey(signal)]!, 0);
      const side = sum - limit.value;
      const holds =
        comparison === '<'
          ? side < 0
          : comparison === '<='
            ? side <= 0
            : comparison === '>'
              ? side > 0
              : comparison === '>='
                ? side >= 0
                : comparison === '=='
                  ? side === 0
                  : side !== 0;
      truths[index] = holds ? 1 : 0;
    });
  }
}

const pick = <T>(next: () => number, of: readonly T[]): T => of[Math.floor(next() * of.length)]!;

const SOC = [10, 20, 30, 40, 50, 60, 70, 80, 90];
const V = [46, 48, 50, 52, 54, 55.5];

function comparison(next: () => number, low: boolean): string {
  const sign = (isLow: boolean): string => pick(next, isLow ? ['<', '<='] : ['>', '>=']);
  const kind = next();
  // Most rules look the way a rule of their kind does, some do not.
  const isLow = next() < 0.9 ? low : !low;
  if (kind < 0.55) return `soc(Bank) ${sign(isLow)} ${pick(next, isLow ? SOC.slice(0, 6) : SOC.slice(4))} %`;
  if (kind < 0.75) return `voltage(Bank) ${sign(isLow)} ${pick(next, isLow ? V.slice(0, 4) : V.slice(3))} V`;
  if (kind < 0.83) return `power(Fan) ${sign(!isLow)} ${pick(next, [100, 300, 600])} W`;
  if (kind < 0.88) return `current(Bank) ${pick(next, ['<', '>'])} ${pick(next, [-5, 0.5, 10])} A`;
  if (kind < 0.94) return pick(next, ['power(Mains) == 0 W', 'power(Mains) > 0 W']);
  return pick(next, ['hour >= 8 h and hour < 20 h', 'hour >= 18 h', 'hour < 6 h']);
}

function condition(next: () => number, low: boolean): string {
  const kind = next();
  if (kind < 0.6) return comparison(next, low);
  if (kind < 0.75) return `${comparison(next, low)} and ${comparison(next, low)}`;
  if (kind < 0.9) return `(${comparison(next, low)} or ${comparison(next, low)})`;
  return `not (${comparison(next, !low)})`;
}

const dwell = (next: () => number): string => pick(next, ['', '', ' for 1 min', ' for 10 min', ' for 1 h']);

/** Rules as somebody might write them who was not attentive. */
export function randomControl(next: () => number): string {
  const rules = [
    `start when ${condition(next, true)}${dwell(next)}`,
    ...(next() < 0.3 ? [`start when ${condition(next, true)}${dwell(next)}`] : []),
    `stop when ${condition(next, false)}${dwell(next)}`,
    ...(next() < 0.3 ? [`stop when ${condition(next, false)}${dwell(next)}`] : []),
    pick(next, ['', 'minimumRun: 10 min', 'minimumRun: 45 min']),
    pick(next, ['', 'minimumRest: 15 min']),
    pick(next, ['', '', 'maximumRun: 4 h']),
    pick(next, ['', 'warmUp: 2 min   coolDown: 3 min']),
    pick(next, ['', '', '', 'quiet: 21:00..07:00', 'quiet: 21:00..07:00 unless soc(Bank) < 20 %']),
  ];
  return `control Autostart of Genset {\n${rules.filter(Boolean).join('\n')}\n}`;
}

/** A day and a half in which load and grid come and go, then a steady load and no grid. */
export function randomCourse(next: () => number, start: number, days: number): Stretch[] {
  const course: Stretch[] = [];
  let time = start;
  const end = start + 1.5 * DAY;
  while (time < end) {
    time = Math.min(end, time + 600 + next() * 6 * 3600);
    course.push({ until: time, watts: pick(next, [0, 80, 307, 512, next() * MOST]), isGridThere: next() < 0.3 });
  }
  course.push({ until: time + days * DAY, watts: MEAN, isGridThere: false });
  return course;
}
