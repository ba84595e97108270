import { comparisonsOf, signalsOf } from '../model/conditions.js';
import { type DesignContext, query } from '../model/context.js';
import type { Instance } from '../model/types.js';
import { isRange } from '../quantity/index.js';
import { ControlMachine } from './automaton.js';
import { isWithin } from './clock.js';
import {
  commandedOf,
  compileControls,
  type CompiledControl,
  type CompiledRule,
  type CompiledTarget,
} from './compile.js';
import { isMissing, loadWithin, Plant } from './plant.js';
import { type Found, search, wayTo } from './search.js';
import { conditionsOf, type LimitOf, type Mode, Space } from './space.js';
import { Teller, type TraceStep } from './trace.js';
import { isBank, isOneMachine } from '../model/roles.js';
import { quietFrom } from './quiet-hours.js';

/** A fault of rules. Controls, sets and rules are given by their index in the machine, so that a fault knows no place of the text. */
export type Fault = { readonly control: number; readonly set: number; readonly trace: readonly TraceStep[] } & (
  | { readonly kind: 'clash'; readonly on: number; readonly off: number }
  | {
      readonly kind: 'needless';
      readonly rule: number;
      /** `false`: its condition is never true. `covered`: `by` always acts before. `idle`: it holds only when there is nothing to do. */
      readonly why: 'false' | 'covered' | 'idle';
      readonly by?: number;
    }
  | {
      readonly kind: 'quiet';
      readonly bank: string;
      readonly from: number;
      readonly to: number;
      /** Share of the bank that the loads take in the hours. */
      readonly taken: number;
    }
);

export type FaultKind = Fault['kind'];

/** What could not be decided, and the facts that lack. */
export interface Open {
  readonly control: number;
  readonly kind: FaultKind;
  readonly missing: readonly string[];
}

/** What a search of the rules of one thing has found. Controls, sets and rules are given by their index in its machine. */
export interface Searched {
  readonly faults: readonly Fault[];
  readonly open: readonly Open[];
  /** Why the rules were not searched. */
  readonly refused?: string;
}

export type TargetAnalysis = Commanded & Searched;

/** Rules that hold together are kept as bits of a number. */
const MOST_RULES = 30;
const MOST_CONTROLS = 10;

/** With more ranges in limits than this, only their ends all low and all high are looked at. */
const MOST_CORNERS = 3;

/** A thing that controls command: its rules as a machine, and what the search takes the world around it to be. */
export interface Commanded {
  readonly machine: ControlMachine;
  readonly target: CompiledTarget;
  readonly plant: Plant;
}

const COMMANDED = query<DesignContext, readonly Commanded[]>('every commanded thing');

/** Every commanded thing of a design, in the order of its controls. */
export const commandedThings = (context: DesignContext): readonly Commanded[] =>
  context.kept(COMMANDED, context, () =>
    commandedOf(context.system.controls).map((target) => commanded(target, context)),
  );

function commanded(target: Instance, context: DesignContext): Commanded {
  const controls = context.system.controls.filter((control) => isOneMachine(control.target, target));
  const machine = new ControlMachine(compileControls({ controls, links: context.system.links }));
  const compiled = machine.targets[0]!;
  const conditions = compiled.controls.flatMap((control) => control.sets.flatMap((set) => conditionsOf(control, set)));
  const watched = conditions.flatMap(signalsOf).flatMap((signal) => (signal.kind === 'of' ? [signal.of] : []));
  return { machine, target: compiled, plant: new Plant(target, [...new Set(watched.filter(isBank))], context) };
}

/** The rules of every commanded thing, searched; in the order of `commandedThings`. It knows no place of the text. */
export const searchControls = (context: DesignContext): readonly Searched[] =>
  commandedThings(context).map(({ machine, target, plant }) => new Analysis(machine, target, plant, context).run());

/** Every commanded thing with what a search of its rules has found. */
export const analysedWith = (context: DesignContext, searched: readonly Searched[]): readonly TargetAnalysis[] =>
  commandedThings(context).flatMap((each, at) => (searched[at] ? [{ ...each, ...searched[at] }] : []));

/** The rules of every commanded thing of a design, searched. */
export const analyseControls = (context: DesignContext): readonly TargetAnalysis[] =>
  analysedWith(context, searchControls(context));

class Analysis {
  private readonly faults = new Map<string, Fault>();
  private readonly open = new Map<string, Open>();
  private readonly acts = new Map<CompiledRule, Set<number>>();
  private readonly everTrue = new Set<CompiledRule>();
  private readonly searched = new Set<CompiledRule>();

  constructor(
    private readonly machine: ControlMachine,
    private readonly target: CompiledTarget,
    private readonly plant: Plant,
    private readonly context: DesignContext,
  ) {}

  run(): Searched {
    // A rule that cannot be read is reported where it stands; without it the others tell nothing.
    if (this.machine.compiled.rules.some(({ test }) => !test)) return { faults: [], open: [] };
    if (this.machine.compiled.missing.length > 0) return { faults: [], open: [] };
    const { rules, controls } = this.machine.compiled;
    if (rules.length > MOST_RULES || controls.length > MOST_CONTROLS)
      return { faults: [], open: [], refused: TOO_MUCH };
    for (const mode of this.modes())
      for (const limitOf of this.corners()) {
        const space = new Space(this.machine, this.target, mode, this.plant, limitOf);
        if (space.isTooLarge) return { faults: [], open: [], refused: TOO_MUCH };
        const found = search(space);
        if (found.isCut) return { faults: [], open: [], refused: TOO_MUCH };
        this.judge(space, found);
      }
    this.needless();
    return { faults: [...this.faults.values()], open: [...this.open.values()] };
  }

  /** All links heard; each link that has a fallback lost; all of these lost. */
  private modes(): Mode[] {
    const links = [
      ...new Set(this.target.controls.flatMap(({ sets }) => sets.flatMap(({ link }) => (link >= 0 ? [link] : [])))),
    ];
    const title = (lost: readonly number[]): string =>
      lost.length === 0 ? '' : `${lost.map((link) => this.machine.links[link]!.name).join(' and ')} lost`;
    const modes = [[], ...links.map((link) => [link]), ...(links.length > 1 ? [links] : [])];
    return modes.map((lost) => ({ lost, title: title(lost) }));
  }

  /** Every end of the ranges that limits are given as. */
  private corners(): LimitOf[] {
    const ranged = this.machine.compiled.leaves
      .map(({ comparison }) => comparison)
      .filter(({ limit }) => isRange(limit));
    const texts = [...new Set(ranged.map(({ limit }) => `${limit.low}..${limit.high}`))];
    if (texts.length === 0) return [({ limit }) => limit.value];
    const choices =
      texts.length > MOST_CORNERS
        ? [0, 2 ** texts.length - 1]
        : Array.from({ length: 2 ** texts.length }, (_, choice) => choice);
    return choices.map((choice) => ({ limit }) => {
      const at = texts.indexOf(`${limit.low}..${limit.high}`);
      return at < 0 ? limit.value : choice & (1 << at) ? limit.high : limit.low;
    });
  }

  private add(key: string, fault: Fault): void {
    if (!this.faults.has(key)) this.faults.set(key, fault);
  }

  private leaveOpen(control: CompiledControl, kind: FaultKind, missing: readonly string[]): void {
    if (missing.length > 0) this.open.set(`${control.index}/${kind}`, { control: control.index, kind, missing });
  }

  private judge(space: Space, found: Found): void {
    const tell = new Teller(space);
    for (const { control, on, off, node } of found.clashes)
      this.add(`clash ${on.index} ${off.index}`, {
        kind: 'clash',
        control: control.index,
        set: setOf(control, space),
        on: on.index,
        off: off.index,
        trace: tell.steps(wayTo(node)),
      });
    for (const set of space.sets.values()) for (const rule of set.rules) this.searched.add(rule);
    for (const rule of found.everTrue) this.everTrue.add(rule);
    for (const [rule, masks] of found.acts) {
      const known = this.acts.get(rule) ?? new Set();
      for (const mask of masks) known.add(mask);
      this.acts.set(rule, known);
    }
    if (this.target.restsOff) for (const bank of this.plant.banks.keys()) this.judgeQuiet(space, tell, bank);
  }

  private watches(bank: Instance, rules: readonly CompiledRule[]): boolean {
    return rules.some(
      ({ rule }) =>
        rule.condition &&
        signalsOf(rule.condition).some(
          (signal) => signal.kind === 'of' && signal.of === bank && ['soc', 'voltage'].includes(signal.signal),
        ),
    );
  }

  private judgeQuiet(space: Space, tell: Teller, bank: Instance): void {
    for (const [control, set] of space.sets) {
      const { quiet } = set;
      if (!quiet || !this.watches(bank, set.on)) continue;
      const within = space.moments.findIndex(({ timeOfDay }) => isWithin(quiet, timeOfDay));
      const outside = space.moments.findIndex(({ timeOfDay }) => !isWithin(quiet, timeOfDay));
      if (within < 0 || outside < 0) continue;
      const from = quietFrom(space, bank, within, outside);
      if (from === undefined) continue;
      const load = loadWithin(bank, quiet.from, quiet.to, this.plant.target, this.context);
      const { capacity } = this.plant.banks.get(bank)!;
      if (isMissing(load) || isMissing(capacity)) {
        this.leaveOpen(
          control,
          'quiet',
          [load, capacity].flatMap((each) => (isMissing(each) ? each.missing : [])),
        );
        continue;
      }
      const hours = ((quiet.to - quiet.from + 86_400) % 86_400 || 86_400) / 3600;
      const taken = (load.value * hours) / capacity.value;
      const reserve = this.context.maybe(bank, 'reserve');
      const kept = typeof reserve?.value === 'object' ? reserve.value.value : 0;
      const floor = kept < from ? kept : 0;
      if (from - taken >= floor) continue;
      const state = space.rest();
      this.add(`quiet ${control.index} ${setOf(control, space)}`, {
        kind: 'quiet',
        control: control.index,
        set: setOf(control, space),
        bank: bank.name,
        from,
        to: floor,
        taken,
        trace: [
          tell.step({ world: 0, moment: within, state }, `quiet hours begin with ${this.target.target.name} off`),
        ],
      });
    }
  }

  /** Rules that never act, or never without another of their kind that watches the same. */
  private needless(): void {
    for (const control of this.target.controls)
      control.sets.forEach((set, at) => {
        const removed = new Set<CompiledRule>();
        for (const rule of [...set.rules].reverse()) {
          if (!this.searched.has(rule) || !rule.test) continue;
          const masks = [...(this.acts.get(rule) ?? [])];
          const kin = (rule.switchesOn ? set.on : set.off).filter(
            (other) => other !== rule && !removed.has(other) && sharesSignal(other, rule),
          );
          const kinBits = kin.reduce((bits, { index }) => bits | (1 << index), 0);
          if (masks.some((mask) => (mask & kinBits) === 0)) continue;
          removed.add(rule);
          const by = kin.find(({ index }) => masks.every((mask) => mask & (1 << index)));
          this.add(`needless ${rule.index}`, {
            kind: 'needless',
            control: control.index,
            set: at,
            rule: rule.index,
            why: !this.everTrue.has(rule) ? 'false' : masks.length > 0 ? 'covered' : 'idle',
            ...(by && masks.length > 0 ? { by: by.index } : {}),
            trace: [],
          });
        }
      });
  }
}

const TOO_MUCH = 'its rules compare too many things at once to be searched';

const setOf = (control: CompiledControl, space: Space): number => control.sets.indexOf(space.sets.get(control)!);

const sharesSignal = (left: CompiledRule, right: CompiledRule): boolean => {
  const keys = (rule: CompiledRule): string[] =>
    rule.rule.condition
      ? comparisonsOf(rule.rule.condition).flatMap(({ terms }) =>
          terms.map(({ signal }) => (signal.kind === 'of' ? `${signal.signal} ${signal.of.name}` : signal.signal)),
        )
      : [];
  const own = new Set(keys(left));
  return keys(right).some((key) => own.has(key));
};
