import { type Comparison, type Condition, comparisonsOf, signalKey } from '../model/conditions.js';
import type { Control, Fallback, Instance, Link, Property, Rule, System } from '../model/types.js';
import { carrierOfSignal } from './carriers.js';
import { isOfClock, type Hours } from './clock.js';
import { isOneMachine, isStarted } from '../model/roles.js';

/** A comparison as one control sees it: its place among the inputs, and the links its signals come over. */
export interface Leaf {
  readonly comparison: Comparison;
  /** Index among the machine’s comparisons; −1 for one of the clock, which the machine works out itself. */
  readonly input: number;
  readonly carriers: readonly number[];
}

/** A condition over leaves. */
export type Test =
  | { readonly type: 'leaf'; readonly leaf: number }
  | { readonly type: 'all' | 'any'; readonly of: readonly Test[] }
  | { readonly type: 'not'; readonly of: Test };

export interface CompiledRule {
  readonly rule: Rule;
  /** Index among all rules of the machine. */
  readonly index: number;
  readonly switchesOn: boolean;
  /** Absent where the condition cannot be read: such a rule never holds. */
  readonly test: Test | undefined;
  readonly dwell: number;
}

/** The rules that hold together, with the times that go with them: those of a control, or of one of its fallbacks. Times in s. */
export interface CompiledSet {
  /** The link in whose absence the set holds; undefined for the control’s own. */
  readonly fallback?: Fallback;
  readonly link: number;
  readonly on: readonly CompiledRule[];
  readonly off: readonly CompiledRule[];
  readonly rules: readonly CompiledRule[];
  readonly minimumRun: number;
  readonly minimumRest: number;
  readonly maximumRun: number;
  readonly warmUp: number;
  readonly coolDown: number;
  readonly quiet?: Hours & { readonly exception?: Test };
}

export interface CompiledControl {
  readonly control: Control;
  readonly index: number;
  readonly rank: number;
  /** The control’s own rules first, then its fallbacks in the order of the text. */
  readonly sets: readonly CompiledSet[];
}

export interface CompiledTarget {
  readonly target: Instance;
  readonly index: number;
  /** Whether it is off while nothing asks for it, as a generator is; a load or charger is on. */
  readonly restsOff: boolean;
  /** By rank, the best first; within a rank in the order of the text. */
  readonly ranks: readonly (readonly CompiledControl[])[];
  readonly controls: readonly CompiledControl[];
}

/** Everything of a design’s controls in the order in which the machine keeps it. */
export interface CompiledControls {
  readonly comparisons: readonly Comparison[];
  readonly links: readonly Link[];
  /** Silence after which each link counts as lost, s. */
  readonly timeOuts: readonly number[];
  readonly leaves: readonly Leaf[];
  readonly rules: readonly CompiledRule[];
  readonly controls: readonly CompiledControl[];
  readonly targets: readonly CompiledTarget[];
  /** Facts that lack for a condition or a time, by control. */
  readonly missing: readonly { readonly control: Control; readonly facts: readonly string[] }[];
}

/** Rank of a control that states no priority: after all that do. */
const UNRANKED = 100;

const numberOf = (property: Property | undefined): number | undefined =>
  property?.value.type === 'quantity' ? property.value.quantity.value : undefined;

/** Two comparisons of the same text in two rules are one input. */
const keyOf = ({ terms, comparison, limit }: Comparison): string =>
  `${terms.map(({ factor, signal }) => `${factor}*${signalKey(signal)}`).join('+')}${comparison}${limit.low}|${limit.value}|${limit.high}`;

class Compiler {
  readonly comparisons: Comparison[] = [];
  readonly links: Link[] = [];
  readonly leaves: Leaf[] = [];
  readonly rules: CompiledRule[] = [];
  readonly missing: { control: Control; facts: string[] }[] = [];
  private readonly inputs = new Map<string, number>();
  private readonly leafOf = new Map<string, number>();
  private readonly facts = new Set<string>();

  constructor(private readonly system: Pick<System, 'links'>) {}

  link(link: Link): number {
    const at = this.links.indexOf(link);
    return at >= 0 ? at : this.links.push(link) - 1;
  }

  private leaf(comparison: Comparison, control: Control): number {
    const links = comparison.terms.flatMap(({ signal }) => {
      const carrier = carrierOfSignal(signal, control, this.system.links);
      return carrier ? [this.link(carrier)] : [];
    });
    const carriers = [...new Set(links)].sort((a, b) => a - b);
    const own = keyOf(comparison);
    const key = `${own}@${carriers.join(',')}`;
    const known = this.leafOf.get(key);
    if (known !== undefined) return known;
    let input = -1;
    if (!isOfClock(comparison)) {
      input = this.inputs.get(own) ?? this.comparisons.push(comparison) - 1;
      this.inputs.set(own, input);
    }
    const index = this.leaves.push({ comparison, input, carriers }) - 1;
    this.leafOf.set(key, index);
    return index;
  }

  private test(condition: Condition, control: Control): Test {
    switch (condition.type) {
      case 'comparison':
        return { type: 'leaf', leaf: this.leaf(condition, control) };
      case 'not':
        return { type: 'not', of: this.test(condition.of, control) };
      default:
        return { type: condition.type, of: condition.of.map((each) => this.test(each, control)) };
    }
  }

  private rule(rule: Rule, control: Control): CompiledRule {
    for (const fact of rule.missing ?? []) this.facts.add(fact);
    const compiled: CompiledRule = {
      rule,
      index: this.rules.length,
      switchesOn: rule.verb === 'start' || rule.verb === 'on',
      test: rule.condition && this.test(rule.condition, control),
      dwell: rule.dwell,
    };
    this.rules.push(compiled);
    return compiled;
  }

  private set(control: Control, fallback: Fallback | undefined): CompiledSet {
    const rules = (fallback ?? control).rules.map((rule) => this.rule(rule, control));
    const property = (name: string): Property | undefined =>
      fallback?.properties.get(name) ?? control.properties.get(name);
    const seconds = (name: string, otherwise: number): number => numberOf(property(name)) ?? otherwise;
    const ofTarget = (name: string): number => numberOf(control.target.properties.get(name)) ?? 0;
    const isSet = isStarted(control.target);
    const quiet = property('quiet')?.value;
    for (const fact of (quiet?.type === 'quiet' && quiet.missing) || []) this.facts.add(fact);
    return {
      ...(fallback ? { fallback } : {}),
      link: fallback ? this.link(fallback.link) : -1,
      rules,
      on: rules.filter(({ switchesOn }) => switchesOn),
      off: rules.filter(({ switchesOn }) => !switchesOn),
      minimumRun: seconds('minimumRun', 0),
      minimumRest: seconds('minimumRest', 0),
      maximumRun: seconds('maximumRun', 0) || Infinity,
      warmUp: isSet ? seconds('warmUp', ofTarget('warmUp')) : 0,
      coolDown: isSet ? seconds('coolDown', ofTarget('coolDown')) : 0,
      ...(quiet?.type === 'quiet' && quiet.from !== quiet.to
        ? {
            quiet: {
              from: quiet.from,
              to: quiet.to,
              ...(quiet.exception ? { exception: this.test(quiet.exception, control) } : {}),
            },
          }
        : {}),
    };
  }

  control(control: Control, index: number): CompiledControl {
    this.facts.clear();
    const sets = [undefined, ...control.fallbacks].map((fallback) => this.set(control, fallback));
    if (this.facts.size > 0) this.missing.push({ control, facts: [...this.facts] });
    return { control, index, rank: numberOf(control.properties.get('priority')) ?? UNRANKED, sets };
  }
}

function byRank(controls: readonly CompiledControl[]): CompiledControl[][] {
  const ranks = [...new Set(controls.map(({ rank }) => rank))].sort((a, b) => a - b);
  return ranks.map((rank) => controls.filter((each) => each.rank === rank));
}

/** What controls command, in the order of the text; the outlets of one machine are one thing, known by the first that is commanded. */
export const commandedOf = (controls: readonly Control[]): Instance[] =>
  controls.flatMap(({ target }, at) =>
    controls.findIndex((each) => isOneMachine(each.target, target)) === at ? [target] : [],
  );

/** Puts the controls of a design into the order in which the machine works. */
export function compileControls(system: Pick<System, 'controls' | 'links'>): CompiledControls {
  const compiler = new Compiler(system);
  const controls = system.controls.map((control, index) => compiler.control(control, index));
  const targets = commandedOf(system.controls).map((target, index): CompiledTarget => {
    const own = controls.filter(({ control }) => isOneMachine(control.target, target));
    return { target, index, restsOff: isStarted(target), controls: own, ranks: byRank(own) };
  });
  return {
    comparisons: compiler.comparisons,
    links: compiler.links,
    timeOuts: compiler.links.map((link) => numberOf(link.properties.get('timeOut')) ?? 0),
    leaves: compiler.leaves,
    rules: compiler.rules,
    controls,
    targets,
    missing: compiler.missing,
  };
}

/** The comparisons of a rule, for messages. */
export const watchedBy = (rule: Rule): readonly Comparison[] => (rule.condition ? comparisonsOf(rule.condition) : []);
