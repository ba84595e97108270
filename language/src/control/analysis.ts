import { comparisonsOf, signalsOf } from '../model/conditions.js';
import { type DesignContext, query } from '../model/context.js';
import type { Instance } from '../model/types.js';
import { isRange } from '../quantity/index.js';
import { ControlMachine, PHASE } from './automaton.js';
import { isWithin } from './clock.js';
import { compileControls, type CompiledControl, type CompiledRule, type CompiledTarget } from './compile.js';
import {
  chatters,
  type Ending,
  isEaten,
  quietFrom,
  returnsAtLast,
  runningStates,
  startsWhenEmpty,
  stopsAtLast,
  type Verdict,
} from './endings.js';
import { isMissing, loadWithin, Plant } from './plant.js';
import { type Found, type Node, search, wayTo } from './search.js';
import { conditionsOf, type LimitOf, type Mode, Space } from './space.js';
import { Teller, type TraceStep } from './trace.js';
import { isBank } from '../model/roles.js';
import { chargersOf } from '../quantities/supply/joined.js';

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
  | { readonly kind: 'starved'; readonly bank: string }
  | { readonly kind: 'endless'; readonly bank: string; readonly isEaten: boolean }
  /** `isCharging`: what stays off charges that bank. */
  | { readonly kind: 'latched'; readonly bank: string; readonly isCharging?: true }
  | {
      readonly kind: 'chatter';
      readonly bank: string;
      readonly on: number;
      readonly off: number;
      readonly run: number;
      readonly rest: number;
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

export interface TargetAnalysis {
  readonly machine: ControlMachine;
  readonly target: CompiledTarget;
  readonly faults: readonly Fault[];
  readonly open: readonly Open[];
  /** Why the rules were not searched. */
  readonly refused?: string;
  readonly plant: Plant;
}

interface Raw {
  readonly faults: readonly Fault[];
  readonly open: readonly Open[];
  readonly refused?: string;
}

/** Runs of a generator shorter than this are too short, s; what a design without a setting takes. */
const LEAST_RUN = 20 * 60;

const leastRunOf = (context: DesignContext): number => {
  const setting = context.setting('leastRun');
  return typeof setting?.value === 'object' ? setting.value.value : LEAST_RUN;
};

/** A load or charger that goes on and off within this time chatters, s (common practice, no source). */
export const SHORT_CYCLE = 10 * 60;

/** Rules that hold together are kept as bits of a number. */
const MOST_RULES = 30;
const MOST_CONTROLS = 10;

/** With more ranges in limits than this, only their ends all low and all high are looked at. */
const MOST_CORNERS = 3;

/** Answers kept: those of the last designs, so that a keystroke that changes no rule costs no search. */
const MOST_KEPT = 60;
const kept = new Map<string, Raw>();

const ANALYSES = query<DesignContext, readonly TargetAnalysis[]>('rules of every commanded thing, searched');

/** The rules of every commanded thing of a design, searched. */
export function analyseControls(context: DesignContext): readonly TargetAnalysis[] {
  return context.kept(ANALYSES, context, () => {
    const targets = [...new Set(context.system.controls.map(({ target }) => target))];
    return targets.map((target) => analyseTarget(target, context));
  });
}

function analyseTarget(target: Instance, context: DesignContext): TargetAnalysis {
  const controls = context.system.controls.filter((control) => control.target === target);
  const machine = new ControlMachine(compileControls({ controls, links: context.system.links }));
  const compiled = machine.targets[0]!;
  const conditions = compiled.controls.flatMap((control) => control.sets.flatMap((set) => conditionsOf(control, set)));
  const watched = conditions.flatMap(signalsOf).flatMap((signal) => (signal.kind === 'of' ? [signal.of] : []));
  const banks = [...new Set(watched.filter(isBank))];
  const plant = new Plant(target, banks, context);
  const key = signature(machine, plant, context);
  let raw = kept.get(key);
  if (raw) kept.delete(key);
  else raw = new Analysis(machine, compiled, plant, context).run();
  kept.set(key, raw);
  if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value!);
  return { machine, target: compiled, plant, ...raw };
}

/** Everything an analysis rests on, as a text: rules, times and figures, but no places. */
function signature(machine: ControlMachine, plant: Plant, context: DesignContext): string {
  const { compiled } = machine;
  const signals = compiled.leaves.flatMap(({ comparison }) => comparison.terms.map(({ signal }) => signal));
  const spans = signals.map((signal) =>
    (['loaded', 'unloaded'] as const).map((running) =>
      (['any', 'absent', 'present'] as const).map((others) =>
        (['momentary', 'lasting', 'full', 'draining', 'empty'] as const).map((lasting) =>
          plant.span(signal, { low: 0, high: 1 }, running, others, lasting),
        ),
      ),
    ),
  );
  const sets = compiled.controls.map(({ control, rank, sets: own }) => [
    control.name,
    rank,
    own.map(({ rules, on: _on, off: _off, fallback, ...times }) => [
      fallback?.link.name,
      times,
      rules.map(({ rule, test, dwell }) => [rule.verb, rule.text, test, dwell]),
    ]),
  ]);
  const windows = compiled.controls.flatMap(({ sets: own }) =>
    own.flatMap(({ quiet }) =>
      quiet ? [...plant.banks.keys()].map((bank) => loadWithin(bank, quiet.from, quiet.to, plant.target, context)) : [],
    ),
  );
  const plain = (_: string, value: unknown): unknown => (value === Infinity ? '∞' : value === -Infinity ? '−∞' : value);
  const banks = [...plant.banks.values()].map(({ bank, ...figures }) => [
    bank.name,
    Object.entries(figures).map(([name, figure]) => [
      name,
      typeof figure === 'object' && figure !== null && 'value' in figure ? figure.value : figure,
    ]),
    context.maybe(bank, 'reserve')?.value,
  ]);
  const limits = compiled.leaves.map(({ comparison, carriers }) => [
    comparison.comparison,
    comparison.terms.map(({ factor, signal }) => [
      factor,
      signal.kind === 'of' ? [signal.signal, signal.of.name] : signal.signal,
    ]),
    comparison.limit.low,
    comparison.limit.value,
    comparison.limit.high,
    comparison.limit.unit?.symbol,
    carriers,
  ]);
  return JSON.stringify(
    [
      leastRunOf(context),
      plant.target.name,
      plant.target.kind,
      machine.links.map(({ name }) => name),
      sets,
      limits,
      spans,
      banks,
      windows.map((each) => (isMissing(each) ? each.missing : each.value)),
    ],
    plain,
  );
}

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

  run(): Raw {
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
    if (this.target.restsOff) this.judgeSet(space, found, tell);
    else this.judgeLoad(space, tell);
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

  private judgeSet(space: Space, found: Found, tell: Teller): void {
    const running = runningStates(space, found.phases.keys());
    const least = leastRunOf(this.context);
    const isShort = (run: number): boolean => run < least;
    for (const [bank, figures] of this.plant.banks) {
      const starting = [...space.sets].find(([, set]) => this.watches(bank, set.on));
      if (starting) this.conclude(space, tell, found, starting[0], 'starved', startsWhenEmpty(space, bank), bank);
      const stopping = [...space.sets].find(([, set]) => set.on.length > 0) ?? [...space.sets][0];
      if (stopping && running.length > 0 && this.charges(bank)) {
        const alone = stopsAtLast(space, figures, running, 'absent');
        this.conclude(space, tell, found, stopping[0], 'endless', alone, bank);
        if (alone.kind === 'ends')
          this.conclude(
            space,
            tell,
            found,
            stopping[0],
            'latched',
            stopsAtLast(space, figures, running, 'present'),
            bank,
          );
      }
      this.judgeChatter(space, tell, bank, isShort);
      this.judgeQuiet(space, tell, bank);
    }
  }

  /** Whether a charger joins the bank at all; a design drawn without its wiring tells nothing of how far a bank is charged. */
  private charges(bank: Instance): boolean {
    return chargersOf(bank, this.context).length > 0;
  }

  private judgeLoad(space: Space, tell: Teller): void {
    for (const bank of this.plant.banks.keys()) {
      const turning = [...space.sets].find(([, set]) => this.watches(bank, set.off));
      if (!turning) continue;
      const isCharging = chargersOf(bank, this.context).includes(this.target.target);
      const verdict = returnsAtLast(space, bank, isCharging);
      if (verdict.kind === 'lasts')
        this.add(`latched ${turning[0].index} ${setOf(turning[0], space)}`, {
          kind: 'latched',
          bank: bank.name,
          ...(isCharging ? { isCharging } : {}),
          control: turning[0].index,
          set: setOf(turning[0], space),
          trace: this.lasting(tell, undefined, verdict.ending),
        });
      this.judgeChatter(space, tell, bank, (run, rest) => run + rest < SHORT_CYCLE);
    }
  }

  private conclude(
    space: Space,
    tell: Teller,
    found: Found,
    control: CompiledControl,
    kind: 'starved' | 'endless' | 'latched',
    verdict: Verdict,
    bank: Instance,
  ): void {
    if (verdict.kind === 'unknown') this.leaveOpen(control, kind, verdict.missing);
    if (verdict.kind !== 'lasts') return;
    const phase = kind === 'starved' ? PHASE.off : PHASE.on;
    const nodes = [...found.phases].filter(([key]) => key.startsWith(`${phase}/`)).map(([, node]) => node);
    this.add(`${kind} ${control.index} ${setOf(control, space)}`, {
      kind,
      bank: bank.name,
      ...(kind === 'endless' ? { isEaten: isEaten(this.plant.banks.get(bank)!) } : {}),
      control: control.index,
      set: setOf(control, space),
      trace: this.lasting(tell, kind === 'starved' ? undefined : nodes[0], verdict.ending),
    } as Fault);
  }

  /** The way to what lasts, and that it lasts. */
  private lasting(tell: Teller, from: Node | undefined, ending: Ending): TraceStep[] {
    const way = from ? tell.steps(wayTo(from)) : [];
    return [...way, tell.step(ending, `${tell.standing(ending)}: so it stays`)];
  }

  private judgeChatter(
    space: Space,
    tell: Teller,
    bank: Instance,
    isShort: (run: number, rest: number) => boolean,
  ): void {
    // A pair of thresholds on one signal is judged by its gap.
    const isPair = (on: CompiledRule, off: CompiledRule): boolean =>
      on.rule.thresholds.some((left) =>
        off.rule.thresholds.some(
          (right) =>
            left.signal === right.signal &&
            left.of === right.of &&
            on.rule.joined === 'single' &&
            off.rule.joined === 'single',
        ),
      );
    const found = chatters(space, bank, isShort, isPair);
    if (!found) {
      const missing = [
        ...new Set(space.variables.flatMap(({ signal }) => (signal ? this.plant.missingFor(signal) : []))),
      ];
      if (missing.length > 0) for (const control of space.sets.keys()) this.leaveOpen(control, 'chatter', missing);
      return;
    }
    const { control, on, off, run, rest, worldOn, worldOff, state } = found;
    this.add(`chatter ${on.index} ${off.index}`, {
      kind: 'chatter',
      control: control.index,
      set: setOf(control, space),
      bank: bank.name,
      on: on.index,
      off: off.index,
      run,
      rest,
      trace: [
        tell.step({ world: worldOff, moment: 0, state }, tell.standing({ world: worldOff, moment: 0, state })),
        tell.step(
          { world: worldOn, moment: 0, state },
          `${tell.standing({ world: worldOn, moment: 0, state })} after it went on`,
        ),
      ],
    });
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
