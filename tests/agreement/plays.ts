import { Dice } from '../helpers/random.js';
import { type Answer, type Played, columnOf, play, timeOf } from './answers.js';
import { type Draft, type Question, SOURCES, type Thing, ofKind, stated, textOf } from './draft.js';
import { SET } from './random-system.js';

const DAY = 86400;
/** Days for which a charge and the runs of a set are followed; drafts are sized so that both take hours. */
const CHARGE_DAYS = 2;
const SET_DAYS = 6;
/** Longest step, s. Nothing but the banks moves in these plays, and switching is found at any. */
const RESOLUTION = 900;

/** A draft as it was played, with the text. */
export interface DraftPlay {
  readonly draft: Draft;
  readonly text: string;
  readonly played: Played;
}

const bankNames = (draft: Draft): string[] => ofKind(draft, 'battery').map(({ name }) => name);
const startAt = (draft: Draft, soc: number): string =>
  bankNames(draft)
    .map((name) => `soc(${name}): ${soc} %`)
    .join('   ');
const hasSun = (draft: Draft): boolean => ofKind(draft, 'solar').length > 0;
const noSun = (draft: Draft): string => (hasSun(draft) ? 'sun: none   ' : '');
const isSet = (draft: Draft): boolean => ofKind(draft, 'generator').length > 0;

const sumOf = (draft: Draft, kind: string, of: (thing: Thing) => number): number =>
  ofKind(draft, kind).reduce((sum, thing) => sum + of(thing), 0);
const capacityOf = (bank: Thing): number => stated(bank, 'capacity')! * (stated(bank, 'parallel') ?? 1);
/** Wh of all banks. */
const energyOf = (draft: Draft): number => draft.bankVolts * sumOf(draft, 'battery', capacityOf);

async function played(
  draft: Draft,
  questions: readonly Question[],
  rules: string,
  scenario: string,
): Promise<DraftPlay> {
  const text = textOf(draft, questions, rules, scenario);
  return { draft, text, played: await play(text, questions, RESOLUTION) };
}

/** From where to where a draft is charged, %. */
export function chargeSpan({ seed }: Draft): { readonly from: number; readonly to: number } {
  const dice = new Dice(seed + 1e6);
  return { from: dice.pick([20, 30, 40]), to: dice.pick([70, 80, 90]) };
}

/**
 * All sources there, all banks charged from a low charge on; a set runs until they are full. Of two sources behind transfer gear the play with
 * the one that charges faster: closed forms look at the state in which most is left for the banks.
 */
export async function chargePlay(draft: Draft, more: readonly Question[] = []): Promise<DraftPlay> {
  const all = await chargePlayWithout(draft, more, []);
  if (ofKind(draft, 'transfer').length === 0) return all;
  const second = await chargePlayWithout(draft, more, [SET]);
  return timeToCharge(second) < timeToCharge(all) ? second : all;
}

function chargePlayWithout(draft: Draft, more: readonly Question[], lost: readonly string[]): Promise<DraftPlay> {
  const { from, to } = chargeSpan(draft);
  const questions = [
    { name: 'AskTime', expression: `chargeTime(A, ${from} %, ${to} %)`, unit: 's' },
    { name: 'AskNet', expression: 'netChargeCurrent(A)', unit: 'A' },
    ...more,
  ];
  const rules = isSet(draft) ? `control Start of ${SET} { start when soc(A) < 50 %   stop when soc(A) >= 100 % }` : '';
  const sun = hasSun(draft) ? 'weather: "full-sun.csv"   ' : '';
  const away = lost.map((name) => `lost(${name}): 0 h .. ${24 * CHARGE_DAYS} h`).join('   ');
  return played(draft, questions, rules, `${sun}duration: ${CHARGE_DAYS} d   ${startAt(draft, from)}   ${away}`);
}

/** All sources lost, all banks full at the start. */
export function darkPlay(draft: Draft, more: readonly Question[] = []): Promise<DraftPlay> {
  const sources = ofKind(draft, ...SOURCES);
  // Longer than the banks could last if nothing were lost.
  const hours = Math.ceil(1 + (1.1 * energyOf(draft)) / sumOf(draft, 'load', (load) => stated(load, 'power')!));
  const lost = sources.map(({ name }) => `lost(${name}): 0 h .. ${hours} h`).join('   ');
  const questions = [{ name: 'AskAutonomy', expression: 'A.autonomyTime', unit: 's' }, ...more];
  return played(draft, questions, '', `${noSun(draft)}duration: ${hours} h   ${startAt(draft, 100)}   ${lost}`);
}

/** The set alone carries the loads of days: all other sources are lost, and a rule starts it. */
export function setPlay(draft: Draft): Promise<DraftPlay> {
  const others = ofKind(draft, ...SOURCES).filter(({ kind }) => kind !== 'generator');
  const lost = others.map(({ name }) => `lost(${name}): 0 h .. ${24 * SET_DAYS} h`).join('   ');
  const questions = [
    { name: 'AskRun', expression: `${SET}.dailyRunTime`, unit: 's' },
    { name: 'AskFuel', expression: `${SET}.dailyFuel`, unit: 'L' },
  ];
  // Between charges at which any bank takes all the current there is.
  const rules = `control Start of ${SET} { start when soc(A) < 40 %   stop when soc(A) > 70 % }`;
  return played(draft, questions, rules, `${noSun(draft)}duration: ${SET_DAYS} d   ${startAt(draft, 60)}   ${lost}`);
}

/** Charge of all banks of the one bus over their capacity, at every instant. */
export function groupCharge({ draft, played: of }: DraftPlay): (at: number) => number {
  const banks = ofKind(draft, 'battery').map((bank) => ({
    capacity: capacityOf(bank),
    soc: columnOf(of, `soc(${bank.name})`),
  }));
  const total = banks.reduce((sum, { capacity }) => sum + capacity, 0);
  return (at) => banks.reduce((sum, { capacity, soc }) => sum + capacity * soc[at]!, 0) / total;
}

/** What ends the service of loads: an inverter or a bus that gives up, a protection that opens, a source that is asked for too much. */
const ENDS: readonly string[] = ['trip', 'open', 'overload', 'shed'];
/** When the loads were first left without, s; infinite when they never were. */
export const endOfService = ({ played: { events } }: DraftPlay): number =>
  events.find(({ what }) => ENDS.includes(what))?.time ?? Infinity;

/** Time (s) in which the banks of a draft were charged over its span; infinite too where loads had to go for it. */
export function timeToCharge(of: DraftPlay): number {
  const time = timeOf(of.played, groupCharge(of), chargeSpan(of.draft).to / 100, true);
  return endOfService(of) < time ? Infinity : time;
}

/**
 * Voltage (V) of the bus of a play without cables, and nearly so with them: that of a bank with a current. A bank that takes or gives nothing
 * may be cut off, so that its voltage is its own; NaN where all are.
 */
export function busVolts({ draft, played: of }: DraftPlay): (at: number) => number {
  const banks = ofKind(draft, 'battery').map(({ name }) => ({
    volts: columnOf(of, `voltage(${name})`),
    amperes: columnOf(of, `current(${name})`),
  }));
  return (at) => banks.find(({ amperes }) => amperes[at] !== 0)?.volts[at] ?? NaN;
}

/** Mean current (A) into all banks over the first tenth of the span, where chargers give what they can; 0 where nothing is gained. */
export function meanCharge(of: DraftPlay): number {
  const { from, to } = chargeSpan(of.draft);
  const until = timeOf(of.played, groupCharge(of), (from + (to - from) / 10) / 100, true);
  if (until === Infinity || endOfService(of) < until) return 0;
  const columns = bankNames(of.draft).map((name) => columnOf(of.played, `current(${name})`));
  const sum = (at: number): number => columns.reduce((so, column) => so + column[at]!, 0);
  const { time } = of.played.series;
  let [charge, span] = [0, 0];
  for (let at = 1; at < time.length && time[at]! <= until; at += 1) {
    const step = time[at]! - time[at - 1]!;
    charge += (step * (sum(at) + sum(at - 1))) / 2;
    span += step;
  }
  return span > 0 ? charge / span : sum(1);
}

/** How long (s) the loads were carried before the banks were down to their reserve, or a load went without. */
export function timeCarried(of: DraftPlay): number {
  const reserve = stated(ofKind(of.draft, 'battery')[0]!, 'reserve')! / 100;
  return Math.min(timeOf(of.played, groupCharge(of), reserve, false), endOfService(of));
}

/** Running time and fuel in a day, over whole cycles from start to start; undefined where there were not two. */
export function perDay({ played: of }: DraftPlay): { readonly seconds: number; readonly litres: number } | undefined {
  const events = of.events.filter(({ of: name }) => name === SET);
  const starts = events.filter(({ what }) => what === 'start').map(({ time }) => time);
  const [first, last] = [starts[0], starts.at(-1)];
  if (first === undefined || last === undefined || last === first) return undefined;
  let seconds = 0;
  let began: number | undefined;
  for (const { what, time } of events) {
    if (what === 'start') began = time;
    if (what !== 'stop' || began === undefined) continue;
    if (began < last) seconds += time - began;
    began = undefined;
  }
  const perRun = (of.fuel.get(SET) ?? 0) / (of.runTime.get(SET) ?? 1);
  const days = (last - first) / DAY;
  return { seconds: seconds / days, litres: (1000 * perRun * seconds) / days };
}

export const answerTo = ({ played: { answers } }: DraftPlay, name: string): Answer => answers.get(name)!;
