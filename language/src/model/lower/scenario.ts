import type { AstNode } from 'langium';
import { type Derivation, type Place, deriveQuantity } from '../../derivation/index.js';
import { interlockOf, isBank, isStarted, sourceOf } from '../roles.js';
import type * as ast from '../../grammar/generated/ast.js';
import {
  DIMENSIONS,
  type Dimension,
  type Quantity,
  dimensionName,
  formatQuantity,
  isRange,
  quantity,
  siQuantity,
  unit,
} from '../../quantity/index.js';
import { NO_NAMED_FOLDERS, resolveUse } from '../../syntax/scope.js';
import type { Signal, StateSignal } from '../conditions.js';
import { signalKey } from '../conditions.js';
import {
  kindOf,
  propertyOf,
  kindsThat,
  mayBeInterlocked,
  mayBePlugged,
  mayBurnFuel,
  maySupply,
  mayStore,
  mayUse,
} from '../../equipment/index.js';
import type { ProblemFacts } from '../problems.js';
import type {
  Absence,
  InitialValue,
  Instance,
  Link,
  Plugged,
  Property,
  Run,
  Scenario,
  ScenarioProfile,
  TankStatement,
} from '../types.js';
import { isBareShare } from './conditions.js';
import type { DesignReader } from './design-reader.js';
import { speaksOfRemoved } from './changes.js';
import { Evaluator, type Surroundings } from './evaluate.js';
import { type Evaluated } from './evaluated.js';
import { textOf } from './place.js';
import { nameOf } from './wording.js';
import { STATE_SIGNALS } from './signals.js';
import { type TypedValue, type ValueContext, impossible, isExpressionNode, typeValue } from './values.js';
import { wordIn } from '../stated-facts.js';

/** Words that stand before a thing in a scenario and are no signals. */
export const SCENARIO_WORDS: ReadonlyMap<string, string> = new Map([
  [
    'lost',
    'Spans in which a source or a link is lost, counted from the start: `lost(Mains): 6 h .. 30 h, 50 h .. 54 h`, or `always`.',
  ],
  [
    'plugged',
    'What is plugged into an inlet that accepts one cord at a time: `plugged(Inlet): Post30`, a source or the run of its cord, or `nothing`; of breakers with an `interlock`, what the closed one brings.',
  ],
  ['profile', 'When a load runs in this scenario: `profile(Pump): always`.'],
  ['fuelLeft', 'Fuel in the tank of a generator at the start; a full tank unless stated: `fuelLeft(Genset): 30 L`.'],
  [
    'refilled',
    'When the tank of a generator is filled, counted from the start: `refilled(Genset): 10 d, 24 d`, or `never`. Unless stated it is filled by its `refillInterval`, else whenever it is empty.',
  ],
]);

/** Sources, which a scenario may take away. */
const SOURCES: readonly string[] = kindsThat(maySupply);

export interface ScenarioScope {
  readonly evaluate: (node: ast.Expression) => Evaluated;
  readonly report: (node: AstNode, facts: ProblemFacts, at?: Place) => void;
  readonly place: (node: AstNode) => Place;
  readonly thing: (path: ast.Path) => { readonly kind: string; readonly name: string } | undefined;
  /** Names of things of some kinds, for proposals. */
  readonly names: (kinds: readonly string[]) => readonly string[];
  readonly values: ValueContext;
  /** How long the scenario lasts, in s, where that is known. */
  readonly duration: number | undefined;
}

/** Coldest and hottest at which the tables of the chemistries are of any use, in °C; common practice, no source. */
const COLDEST = -60;
const HOTTEST = 120;

/** What keeps a value from being one that a thing can start from; undefined where nothing does. */
function whyNoStart(signal: string, q: Quantity): string | undefined {
  if (isRange(q)) return 'a scenario starts from one value, not from a range';
  if (signal === 'soc' && (q.low < 0 || q.high > 1)) return 'a state of charge goes from 0 % to 100 %';
  if (signal === 'temperature' && (q.low < COLDEST || q.high > HOTTEST))
    return impossible(q) ?? `a bank is simulated from ${COLDEST} degC to ${HOTTEST} degC`;
  return impossible(q);
}

/** What the members of a scenario say besides its properties and requirements. */
interface Stated {
  readonly initial: InitialValue[];
  readonly absences: Absence[];
  readonly profiles: ScenarioProfile[];
  readonly plugged: Plugged[];
  readonly tanks: TankStatement[];
  /** Facts that what it says rests on and that lack. */
  readonly missing: string[];
}

/** A property's number in coherent SI. */
const numberIn = (properties: ReadonlyMap<string, Property>, name: string): number | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'quantity' ? value.quantity.value : undefined;
};

/** The time span, random numbers and sun of a scenario, from its properties. */
export function scenarioSetting(
  properties: ReadonlyMap<string, Property>,
): Pick<Scenario, 'start' | 'duration' | 'runs' | 'seed' | 'sun' | 'wind' | 'weather'> {
  const from = properties.get('from')?.value;
  const weather = properties.get('weather')?.value;
  const duration = numberIn(properties, 'duration');
  const sun = wordIn(properties, 'sun') as Scenario['sun'];
  const wind = wordIn(properties, 'wind') as Scenario['wind'];
  return {
    start: {
      ...(from?.type === 'date' ? { date: from.date } : {}),
      timeOfDay: numberIn(properties, 'at') ?? 0,
    },
    ...(duration === undefined ? {} : { duration }),
    runs: numberIn(properties, 'runs') ?? 1,
    seed: numberIn(properties, 'seed') ?? 1,
    ...(sun ? { sun } : {}),
    ...(wind ? { wind } : {}),
    ...(weather?.type === 'text' ? { weather: weather.text } : {}),
  };
}

/** Reads `soc(Bank): 90 %`, `lost(Mains): 6 h .. 30 h` and `profile(Pump): always`. Reports what is wrong. */
export class ScenarioReader {
  private readonly stated: Stated = { initial: [], absences: [], profiles: [], plugged: [], tanks: [], missing: [] };
  private readonly first = new Map<string, Place>();

  constructor(private readonly scope: ScenarioScope) {}

  read(members: readonly ast.InitialValue[]): Stated {
    for (const member of members) {
      const { target } = member;
      if (typeof target?.function !== 'string') continue;
      if (target.function === 'lost') this.absence(member, target);
      else if (target.function === 'profile') this.profile(member, target);
      else if (target.function === 'plugged') this.plugged(member, target);
      else if (target.function === 'fuelLeft') this.fuelLeft(member, target);
      else if (target.function === 'refilled') this.refilled(member, target);
      else this.initial(member, target);
    }
    return this.stated;
  }

  /** The thing in the brackets, of one of the kinds that fit. */
  private argument<T>(target: ast.Call, kinds: readonly string[] | undefined, wanted: string): T | undefined {
    const [argument, second] = target.arguments ?? [];
    const path = argument?.value;
    if (!path) {
      // Empty brackets; an argument that is being written is a fault of the text.
      if ((target.arguments ?? []).length === 0) this.wrong(target, `\`${target.function}\``, `about ${wanted}`);
      return undefined;
    }
    const what = `the argument of \`${target.function}\``;
    if (second) return this.wrong(second.value ?? target, what, 'the only one');
    if (path.$type !== 'Path' || (path.steps ?? []).length > 0) return this.wrong(path, what, wanted);
    const thing = this.scope.thing(path);
    if (!thing && !path.root?.ref) {
      this.scope.report(path, {
        code: 'unknown-name',
        name: path.root?.$refText ?? '',
        wanted: 'thing of this design',
        candidates: [...this.scope.names(kinds ?? [])],
      });
      return undefined;
    }
    if (!thing || (kinds ? !kinds.includes(thing.kind) : !('terminals' in thing)))
      return this.wrong(path, what, wanted);
    return thing as T;
  }

  private wrong(node: AstNode, what: string, expected: string): undefined {
    this.scope.report(node, { code: 'wrong-type', what, expected, text: textOf(node), proposals: [] });
    return undefined;
  }

  /** Whether the same is said of the same thing a second time, which is reported. */
  private isTwice(member: ast.InitialValue, key: string): boolean {
    const first = this.first.get(key);
    if (first)
      this.scope.report(
        member,
        { code: 'duplicate-name', name: key, what: 'statement of this scenario', first },
        this.scope.place(member.target),
      );
    else this.first.set(key, this.scope.place(member.target));
    return first !== undefined;
  }

  private initial(member: ast.InitialValue, target: ast.Call): void {
    if (!STATE_SIGNALS.has(target.function)) {
      const candidates = [...STATE_SIGNALS.keys(), ...SCENARIO_WORDS.keys()];
      this.scope.report(target, {
        code: 'unknown-name',
        name: target.function,
        wanted: 'start value of a scenario',
        candidates,
      });
      return;
    }
    const isSoc = target.function === 'soc';
    const of = isSoc
      ? this.argument<Instance>(target, kindsThat(mayStore), 'a battery of this design')
      : this.argument<Instance>(target, undefined, 'a thing of this design that carries power');
    const signal: Signal | undefined = of && { kind: 'of', signal: target.function as StateSignal, of };
    const { value } = member;
    const inner = value?.$type === 'Assumed' ? value.value : value;
    if (!inner) return;
    if ((member.more ?? []).length > 0)
      return this.wrong(member.more[0]!, `the value of ${textOf(target)}`, 'the only one');
    if (!isExpressionNode(inner)) return this.wrong(inner, `the value of ${textOf(target)}`, 'a quantity');
    const given = this.scope.evaluate(inner);
    if (given.kind === 'bad') return;
    const dimension = STATE_SIGNALS.get(target.function)!;
    const found =
      given.kind === 'known' && typeof given.derivation.value === 'object'
        ? given.derivation.value.dimension
        : given.kind === 'pending'
          ? given.dimension
          : 'condition';
    if (found !== undefined && found !== dimension) {
      this.scope.report(inner, {
        code: 'wrong-dimension',
        what: `the start value of ${textOf(target)}`,
        expected: dimension === DIMENSIONS.ratio ? 'a ratio (%)' : dimensionName(dimension),
        found: found === 'condition' ? 'something else' : dimensionName(found),
        text: textOf(inner),
        proposals: [],
      });
      return;
    }
    if (!signal) return;
    if (given.kind === 'pending') {
      this.stated.missing.push(...given.missing);
      return;
    }
    if (given.kind !== 'known' || typeof given.derivation.value !== 'object') {
      this.wrong(inner, `the start value of ${textOf(target)}`, 'a quantity');
      return;
    }
    const q = given.derivation.value;
    if (isSoc && isBareShare(inner, q, this.scope.report)) return;
    const reason = whyNoStart(target.function, q);
    if (reason !== undefined) {
      const what = `the start value of ${textOf(target)}`;
      this.scope.report(inner, { code: 'value-out-of-range', what, text: textOf(inner), reason });
      return;
    }
    if (this.isTwice(member, signalKey(signal))) return;
    const derivation: Derivation = {
      ...given.derivation,
      name: `${signalKey(signal)} at the start`,
      ...(value?.$type === 'Assumed' ? { origin: 'assumed' } : {}),
    };
    this.stated.initial.push({ signal, value: derivation, place: this.scope.place(member) });
  }

  private absence(member: ast.InitialValue, target: ast.Call): void {
    const of = this.argument<Instance | Link>(target, [...SOURCES, 'link'], 'a source or a link of this design');
    for (const node of [member.value, ...(member.more ?? [])]) {
      if (!node) continue;
      const inner = node.$type === 'Assumed' ? node.value : node;
      const span = inner && this.span(inner);
      if (!of || !span) continue;
      const same = this.stated.absences.find((each) => each.of === of && each.from < span.to && span.from < each.to);
      if (same)
        this.scope.report(inner, {
          code: 'value-out-of-range',
          what: `a span in which ${of.name} is lost`,
          text: textOf(inner),
          reason: 'it overlaps another one',
        });
      else this.stated.absences.push({ of, ...span, place: this.scope.place(inner) });
    }
  }

  private span(node: ast.Value): { from: number; to: number } | undefined {
    const what = 'a span in which something is lost';
    const expected = 'counted from the start of the scenario, such as 6 h .. 30 h, or `always`';
    if (node.$type === 'Path' && (node.steps ?? []).length === 0 && node.root?.$refText === 'always')
      return { from: 0, to: Number.POSITIVE_INFINITY };
    if (node.$type !== 'Arithmetic' || node.operator !== '..') return this.wrong(node, what, expected);
    // 06:00..12:00 would read as times of day, which a span from the start is not.
    if (node.left?.$type === 'TimeLiteral' || node.right?.$type === 'TimeLiteral')
      return this.wrong(node, what, expected);
    const value = this.scope.evaluate(node);
    if (value.kind === 'bad') return undefined;
    if (value.kind === 'pending') {
      this.stated.missing.push(...value.missing);
      return undefined;
    }
    const q = value.kind === 'known' && typeof value.derivation.value === 'object' ? value.derivation.value : undefined;
    if (q?.dimension !== DIMENSIONS.time) return this.wrong(node, what, expected);
    const reason = impossible(q) ?? this.whyNoAbsence(q);
    if (reason !== undefined) {
      this.scope.report(node, { code: 'value-out-of-range', what, text: formatQuantity(q), reason });
      return undefined;
    }
    return { from: q.low, to: q.high };
  }

  private whyNoAbsence({ low, high }: Quantity): string | undefined {
    const { duration } = this.scope;
    if (low < 0) return 'it begins before the scenario';
    if (low === high) return 'it has no length';
    if (duration !== undefined && low >= duration)
      return `it begins after the scenario has ended, ${formatQuantity(siQuantity(duration, DIMENSIONS.time))} after its start`;
    return undefined;
  }

  /** The quantity of a statement, in its dimension; undefined where it is none (which is reported) or not known yet. */
  private quantityOf(node: ast.Value, dimension: Dimension, what: string, expected: string): Derivation | undefined {
    const inner = node.$type === 'Assumed' ? node.value : node;
    if (!inner) return undefined;
    if (!isExpressionNode(inner)) return this.wrong(inner, what, expected);
    const given = this.scope.evaluate(inner);
    if (given.kind === 'bad') return undefined;
    if (given.kind === 'pending') {
      this.stated.missing.push(...given.missing);
      return undefined;
    }
    const q = given.kind === 'known' && typeof given.derivation.value === 'object' ? given.derivation.value : undefined;
    if (given.kind !== 'known' || q?.dimension !== dimension) return this.wrong(inner, what, expected);
    const reason = isRange(q) ? 'it is one value, not a range' : q.low < 0 ? 'it is below 0' : impossible(q);
    if (reason === undefined)
      return { ...given.derivation, ...(node.$type === 'Assumed' ? { origin: 'assumed' as const } : {}) };
    this.scope.report(inner, { code: 'value-out-of-range', what, text: textOf(inner), reason });
    return undefined;
  }

  private fuelLeft(member: ast.InitialValue, target: ast.Call): void {
    const of = this.argument<Instance>(target, kindsThat(mayBurnFuel), 'a generator of this design');
    const what = `the fuel in ${of ? `the tank of ${of.name}` : 'a tank'} at the start`;
    const [second] = member.more ?? [];
    if (second) return this.wrong(second, what, 'the only one');
    const start = member.value && this.quantityOf(member.value, DIMENSIONS.volume, what, 'a volume, such as 30 L');
    if (!of || !start || !member.value) return;
    const tank = numberIn(of.properties, 'tank');
    if (tank !== undefined && typeof start.value === 'object' && start.value.value > tank * (1 + 1e-9)) {
      const reason = `its tank holds ${formatQuantity(siQuantity(tank, DIMENSIONS.volume, unit('L')))}`;
      this.scope.report(member.value, { code: 'value-out-of-range', what, text: textOf(member.value), reason });
      return;
    }
    if (this.isTwice(member, `fuelLeft(${of.name})`)) return;
    this.stated.tanks.push({ of, start: { ...start, name: what }, place: this.scope.place(member) });
  }

  private refilled(member: ast.InitialValue, target: ast.Call): void {
    const of = this.argument<Instance>(target, kindsThat(mayBurnFuel), 'a generator of this design');
    const what = `when ${of ? `the tank of ${of.name}` : 'a tank'} is filled`;
    const expected = 'counted from the start of the scenario, such as 10 d, 24 d, or `never`';
    const values = [member.value, ...(member.more ?? [])].filter((each) => each !== undefined);
    const isNever = (each: ast.Value): boolean =>
      each.$type === 'Path' && (each.steps ?? []).length === 0 && each.root?.$refText === 'never';
    const times: number[] = [];
    for (const each of values) {
      if (isNever(each)) {
        if (values.length > 1) return this.wrong(each, what, expected);
        continue;
      }
      const time = this.quantityOf(each, DIMENSIONS.time, what, expected);
      if (typeof time?.value !== 'object') return;
      const { value } = time.value;
      const { duration } = this.scope;
      if (duration !== undefined && value >= duration) {
        const reason = `it comes after the scenario has ended, ${formatQuantity(siQuantity(duration, DIMENSIONS.time))} after its start`;
        this.scope.report(each, { code: 'value-out-of-range', what, text: textOf(each), reason });
        return;
      }
      times.push(value);
    }
    if (!of || values.length === 0 || this.isTwice(member, `refilled(${of.name})`)) return;
    this.stated.tanks.push({ of, refills: times.sort((a, b) => a - b), place: this.scope.place(member) });
  }

  private plugged(member: ast.InitialValue, target: ast.Call): void {
    const choice = 'an inlet of this design, or a breaker or switch with an interlock';
    const kinds = [...kindsThat(mayBePlugged), ...kindsThat(mayBeInterlocked)];
    const inlet = this.argument<Instance>(target, kinds, choice);
    if (inlet && !kindsThat(mayBePlugged).includes(inlet.kind) && interlockOf(inlet) === undefined)
      return this.wrong(target.arguments[0]!.value ?? target, 'the argument of `plugged`', choice);
    const { value } = member;
    if (!value) return;
    const what = `what is plugged into ${inlet?.name ?? 'an inlet'}`;
    const wanted = 'a source, the run of its cord, or `nothing`';
    if ((member.more ?? []).length > 0) return this.wrong(member.more[0]!, what, 'the only one');
    if (value.$type !== 'Path' || (value.steps ?? []).length > 0) return this.wrong(value, what, wanted);
    const isNothing = value.root?.$refText === 'nothing';
    const by = isNothing ? undefined : this.scope.thing(value);
    if (!isNothing && !value.root?.ref) {
      this.scope.report(value, {
        code: 'unknown-name',
        name: value.root?.$refText ?? '',
        wanted: 'thing of this design',
        candidates: [...this.scope.names([...SOURCES, 'run']), 'nothing'],
      });
      return;
    }
    if (!isNothing && (!by || ![...SOURCES, 'run'].includes(by.kind))) return this.wrong(value, what, wanted);
    if (!inlet || this.isTwice(member, `plugged(${inlet.name})`)) return;
    this.stated.plugged.push({
      inlet,
      ...(by ? { by: by as Instance | Run } : {}),
      place: this.scope.place(member),
    });
  }

  private profile(member: ast.InitialValue, target: ast.Call): void {
    const load = this.argument<Instance>(target, kindsThat(mayUse), 'a load of this design');
    const definition = propertyOf('load', 'profile');
    if (!member.value || !definition) return;
    const inner = member.value.$type === 'Assumed' ? member.value.value : member.value;
    if (!inner) return;
    const owner = load ? `load ${load.name}` : 'a load';
    const typed: TypedValue = typeValue(inner, member.more ?? [], definition, owner, this.scope.values);
    if (typed.kind === 'missing') this.stated.missing.push(...typed.missing);
    if (!load || typed.kind !== 'typed' || typed.value.type !== 'profile') return;
    if (this.isTwice(member, `profile(${load.name})`)) return;
    this.stated.profiles.push({ load, windows: typed.value.windows, place: this.scope.place(member) });
  }
}

/** A weather file stands beside the design as a part file does, and within the same folders. */
function checkWeather(
  design: DesignReader,
  weather: Property | undefined,
  node: ast.Scenario,
  report: Surroundings['report'],
): void {
  if (weather?.value.type !== 'text' || !weather.place) return;
  const { text } = weather.value;
  const { document, services } = design.file;
  const target = resolveUse(document.uri, text, NO_NAMED_FOLDERS);
  if (!target) report(node, { code: 'import-outside', path: text, reason: 'not-relative' }, weather.place);
  else if (!services.mayUse(document.uri, target)) {
    const mend = services.howToAllow(target);
    const facts = mend === undefined ? {} : { mend };
    report(node, { code: 'import-outside', path: text, reason: 'outside', ...facts }, weather.place);
  }
}

/** A week as rules are proven in: from half full, without sun, with no source but the sets that rules start. */
const WEEK = { days: 7, soc: quantity(50, '%'), from: '2027-03-20' } as const;

/**
 * The week of a requirement `during lost(BmsLink)`: with the link or the source lost from its beginning to its end. Undefined where the words
 * are wrong, which is reported.
 */
export function readWeek(design: DesignReader, call: ast.Call): Scenario | undefined {
  const report: Surroundings['report'] = (at, facts, place) => design.report(at, facts, design.name, place);
  const [argument, second] = call.arguments ?? [];
  const path = argument?.value;
  const root = path?.$type === 'Path' && (path.steps ?? []).length === 0 ? path.root?.ref : undefined;
  const thing = root && design.things.get(root);
  const isFit = thing !== undefined && [...SOURCES, 'link'].includes(thing.kind);
  if (call.function !== 'lost' || second || !isFit) {
    if (path?.$type === 'Path' && !path.root?.ref)
      report(path, {
        code: 'unknown-name',
        name: path.root?.$refText ?? '',
        wanted: 'link or source of this design',
        candidates: [...design.things.values()]
          .filter(({ kind }) => [...SOURCES, 'link'].includes(kind))
          .map(({ name }) => name),
      });
    else
      report(call, {
        code: 'wrong-type',
        what: 'what stands after `during`',
        expected: '`lost(…)` with a link or a source of this design',
        text: textOf(call),
        proposals: [],
      });
    return undefined;
  }
  const lost = thing as Instance | Link;
  const place = design.file.place(call);
  const duration = WEEK.days * 86_400;
  const instances = [...design.things.values()].filter((each): each is Instance => 'terminals' in each);
  const others = instances.filter((each) => SOURCES.includes(each.kind) && !isStarted(each) && each !== lost);
  return {
    kind: 'scenario',
    name: `lost(${lost.name})`,
    path: `${design.name}.lost(${lost.name})`,
    properties: new Map(),
    holes: [],
    start: { date: WEEK.from, timeOfDay: 0 },
    duration,
    initial: instances.filter(isBank).map((bank) => ({
      signal: { kind: 'of', signal: 'soc', of: bank },
      value: deriveQuantity(`soc(${bank.name})`, WEEK.soc, { origin: 'assumed', notes: ['from half full'] }),
      place,
    })),
    absences: [lost, ...others.filter((each) => sourceOf(each)?.from !== 'sun')].map((of) => ({
      of,
      from: 0,
      to: duration + 86_400,
      place,
    })),
    profiles: [],
    plugged: [],
    tanks: [],
    runs: 1,
    seed: 1,
    sun: 'none',
    wind: 'none',
    missing: [],
    isFaulty: false,
    place,
  };
}

/** Reads a scenario. */
export function readScenario(design: DesignReader, node: ast.Scenario): Scenario {
  const path = `${design.name}.${nameOf(node)}`;
  const members = node.members ?? [];
  const owner = `scenario ${nameOf(node)}`;
  const { properties, holes, ...read } = design.read(
    kindOf('scenario')!,
    members.filter((member): member is ast.Property => member.$type === 'Property'),
    owner,
    path,
    design.overrides.get(node.name),
  );
  const unset = (kindOf('scenario')?.properties ?? []).flatMap(
    ({ name }) => design.unsetFacts.get(`${owner}.${name}`) ?? [],
  );
  let { isFaulty } = read;
  const report: Surroundings['report'] = (at, facts, place) => {
    isFaulty = true;
    design.report(at, facts, path, place);
  };
  const evaluator = new Evaluator({ ...design.around, report });
  const removed = design.changes?.removed ?? new Map<AstNode, Place>();
  const { missing, ...stated } = new ScenarioReader({
    evaluate: (each) => evaluator.evaluate(each),
    report,
    place: (each) => design.file.place(each),
    thing: (each) => (each.root?.ref ? design.things.get(each.root.ref) : undefined),
    names: (kinds) =>
      [...design.things.values()]
        .filter(({ kind }) => kinds.length === 0 || kinds.includes(kind))
        .map(({ name }) => name),
    values: design.file.statements.valueContext({ ...design.around, report }, undefined),
    duration: numberIn(properties, 'duration'),
  }).read(
    members.filter(
      (member): member is ast.InitialValue => member.$type === 'InitialValue' && !speaksOfRemoved(member, removed),
    ),
  );
  checkWeather(design, properties.get('weather'), node, report);
  const scenario: Scenario = {
    kind: 'scenario',
    name: nameOf(node),
    path,
    ...(node.label ? { label: node.label } : {}),
    properties,
    holes,
    ...scenarioSetting(properties),
    ...stated,
    missing: [...new Set([...unset, ...missing])],
    isFaulty,
    place: design.file.placeOf(node, 'name'),
  };
  design.know(node, scenario);
  return scenario;
}
