import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Branch, Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { type InState, type QuantityContext, defineQuantity } from '../define.js';
import { isUnlimited } from './direct-flows.js';
import { type SideTerms, sideTermsOf } from './side-terms.js';
import { sharedAlternatingCurrent, sharedCurrent, sharedNominalVoltage } from '../network/solution.js';
import { arraysJoinedTo, banksJoinedTo } from '../supply/joined.js';
import { acrossGear } from '../supply/passage.js';
import { mostOf } from '../supply/rated-output.js';
import { type Leg, systemOf } from '../supply/supply.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';
import { chargesAt, isBusCharger, isLoad, isVehicle, passingOf, takesToCharge } from '../../model/roles.js';
import { chargerInputOn } from '../supply/chargers.js';
import { inputSettingOn } from '../plant/input-setting.js';
import { leftByLoads, loadsBehind } from '../supply/passed-loads.js';
import { loadCurrentOn } from '../demand/loads.js';

/** What hangs on one side of a run. What it draws and gives is worked out only where it counts. */
interface SideShares {
  readonly demand: () => Result;
  readonly supply: () => Result;
  readonly bank: boolean;
}

/** Whether what a node draws or gives can last three hours: everything but loads that say they do not. */
export const lastsLong = ({ instance }: Node, context: QuantityContext): boolean =>
  !isLoad(instance) || context.maybe(instance, 'continuous')?.value !== false;

const UNLIMITED = query<Run, readonly boolean[]>(
  'which stops of a run are joined to something without a limit of its own',
);

const UNLIMITED_ON = query<ReadonlyMap<string, Node>, readonly Node[]>('what has no limit of its own on an island');

/** What has no limit of its own on the island of a node. */
export function unlimitedOn(node: Node, context: QuantityContext): readonly Node[] {
  const island = context.graph.reach(node);
  return context.kept(UNLIMITED_ON, island, () => [...island.values()].filter(isUnlimited));
}

function shares(
  terms: { readonly demand: () => SideTerms; readonly supply: () => SideTerms },
  branches: readonly Branch[],
  bank: boolean,
  side: string,
): SideShares {
  const total = (of: SideTerms, name: string, symbol: string): Result => {
    const all = collect(of.on(branches));
    return all.ok ? known(sumOf(`${name} ${side}`, symbol, 'A', all.derivations)) : all.result;
  };
  return {
    demand: () => total(terms.demand(), 'drawn', 'I_drawn'),
    supply: () => total(terms.supply(), 'supplied', 'I_supplied'),
    bank,
  };
}

/**
 * The largest current from one side to the other: what the sending side can give, but no more than the other can take. `between` two
 * banks the resistances decide.
 */
function across(from: SideShares, to: SideShares, between: () => Result): Result {
  if (from.bank && to.bank) return between();
  if (from.bank) return to.demand();
  if (to.bank) return from.supply();
  return whenKnown(from.supply(), (give) =>
    whenKnown(to.demand(), (take) => known(numberIn(give, 'A') <= numberIn(take, 'A') ? give : take)),
  );
}

/** What a run carries in one state, one current for each way in which it can flow. */
interface Ways {
  readonly state: SourceState;
  readonly ways: readonly Result[];
}

const WAYS = query<readonly [Run, string], readonly Ways[]>('the ways of the current of a run, by what is counted');

/**
 * The currents of a DC run in each state, one for each way in which it can flow: over each of its stretches, which differ where another run
 * branches off at gear in its path, from either side to the other. `key` names what is counted.
 */
export const dcRunWays = (
  run: Run,
  context: QuantityContext,
  key: string,
  counts: (node: Node) => boolean,
): readonly Ways[] => context.keptFor(WAYS, run, key, () => findRunWays(run, context, key, counts));

function findRunWays(run: Run, context: QuantityContext, key: string, counts: (node: Node) => boolean): Ways[] {
  const { groups, loop } = context.graph.groups(run);
  if (loop)
    return context.circuitStates.map(({ state, circuit }) => ({
      state,
      ways: [sharedCurrent(run, state, circuit, context, { key, counts })],
    }));
  // Gear without branches splits nothing: the stretches on either side of it carry the same.
  const cuts = groups.flatMap((group, index) =>
    index === 0 || (index < groups.length - 1 && group.isBare) ? [] : [index],
  );
  const unlimited = context.kept(UNLIMITED, run, () => {
    const without = unlimitedOn(context.graph.nodeOf(run.from), context);
    return groups.map((group) => without.some((node) => group.holds(node)));
  });
  const farNames = run.to.map((stop) => stop.instance.name).join(', ');
  return context.circuitStates.map(({ state, circuit }) => {
    const between = (): Result => sharedCurrent(run, state, circuit, context, { key, counts });
    const terms = sideTermsOf(run, { key, counts }, state, circuit, context);
    const ways = cuts.flatMap((cut) => {
      const side = (name: string, from: number, to?: number): SideShares =>
        shares(terms, groups.slice(from, to), unlimited.slice(from, to).includes(true), name);
      const a = side(`on the side of ${run.from.instance.name}`, 0, cut);
      const b = side(`on the side of ${farNames}`, cut);
      return [across(a, b, between), across(b, a, between)];
    });
    return { state, ways };
  });
}

/** The current of a DC run: the largest over its stretches. */
function dcRunCurrent(
  run: Run,
  context: QuantityContext,
  name: string,
  symbol: string,
  counts: (node: Node) => boolean,
): Result {
  const results: InState[] = dcRunWays(run, context, symbol, counts).map(({ state, ways }) => {
    const all = collect(ways);
    if (!all.ok) return { state, result: all.result };
    return {
      state,
      result: known(all.derivations.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so))),
    };
  });
  return worstOfStates(name, symbol, 'A', results);
}

/** Nodes beyond a run on its demand side, through transfer gear and pass-through inverters as they stand in a state. */
function beyond(start: readonly Node[], run: Run, circuit: CircuitState, context: QuantityContext): Map<string, Node> {
  const seen = new Map<string, Node>();
  const queue = [...start];
  for (let node = queue.pop(); node; node = queue.pop()) {
    if (seen.has(node.key)) continue;
    for (const reached of circuit.graph.reach(node, run).values()) {
      seen.set(reached.key, reached);
      for (const other of acrossGear(reached, circuit, context)) if (!seen.has(other.key)) queue.push(other);
    }
  }
  return seen;
}

/**
 * Current on each leg of the consumers among some nodes, on a source; chargers at its lowest voltage unless `at` says nominal. What a
 * charger with pass-through may take of its input limit is what the loads behind it leave.
 */
export function legCurrents(
  nodes: Iterable<Node>,
  source: Instance,
  context: QuantityContext,
  at: 'lowest' | 'nominal' = 'lowest',
): { result: Result; perLeg: ReadonlyMap<Leg, readonly Derivation[]> } {
  const perLeg = new Map<Leg, Derivation[]>();
  const facts: string[] = [];
  const consumers = new Set<Instance>();
  for (const node of nodes) if (isLoad(node.instance) || takesToCharge(node)) consumers.add(node.instance);
  const loadParts = new Map<Instance, { readonly part: Derivation; readonly legs: readonly Leg[] }>();
  // Loads first: what they take of an input limit is known when the chargers come.
  for (const instance of [...consumers].sort((a, b) => Number(!isLoad(a)) - Number(!isLoad(b)))) {
    const isCharger = !isLoad(instance);
    const { result, legs } = isCharger
      ? chargerInputOn(instance, source, context, at)
      : loadCurrentOn(instance, source, context);
    if (result.kind === 'missing') facts.push(...result.missing);
    if (result.kind === 'refused') return { result, perLeg };
    if (result.kind !== 'known') continue;
    const named = {
      ...result.derivation,
      symbol: `I_${instance.name}`,
      name: isCharger ? `input current of ${instance.name}` : result.derivation.name,
      subject: instance.name,
    };
    if (!isCharger) loadParts.set(instance, { part: named, legs });
    const bound = isCharger ? inputSettingOn(instance, source, context) : undefined;
    const behind = bound ? [...loadsBehind(instance, context)].flatMap((load) => loadParts.get(load) ?? []) : [];
    for (const leg of legs) {
      const passed = behind.filter((each) => each.legs.includes(leg)).map(({ part }) => part);
      const part = bound && passed.length > 0 ? leftByLoads(instance, named, bound, passed, 'A') : named;
      perLeg.set(leg, [...(perLeg.get(leg) ?? []), part]);
    }
  }
  if (facts.length > 0) return { result: missing(...facts), perLeg };
  let worst: Derivation | undefined;
  for (const [leg, parts] of [...perLeg].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const sum = sumOf(
      'design current',
      'I_b',
      'A',
      parts,
      ...(systemOf(source)?.phases === 'single' ? [] : [{ kind: 'leg', leg } as const]),
    );
    if (!worst || numberIn(sum, 'A') > numberIn(worst, 'A') * (1 + 1e-12)) worst = sum;
  }
  return { result: known(worst ?? sumOf('design current', 'I_b', 'A', [])), perLeg };
}

/**
 * Current of the most loaded leg that lasts three hours or more. Loads that last less long are left out before chargers are counted: while
 * they are off, a charger that passes its supply on takes all that its input limit leaves.
 */
export function continuousLegCurrent(
  nodes: Iterable<Node>,
  source: Instance,
  context: QuantityContext,
  at: 'lowest' | 'nominal' = 'lowest',
): Result {
  const lasting = [...nodes].filter((node) => lastsLong(node, context));
  return whenKnown(legCurrents(lasting, source, context, at).result, (current) =>
    known({ ...current, name: 'continuous current', symbol: 'I_c' }),
  );
}

/** What a run carries in one state: the side away from the supply, and the source that feeds it. */
export function acFlow(
  run: Run,
  circuit: CircuitState,
  context: QuantityContext,
): { sources: readonly Instance[]; nodes: ReadonlyMap<string, Node>; towards: 'far' | 'near' } | undefined {
  const { near, far, loop } = circuit.graph.sides(run);
  if (loop) return undefined;
  const from = context.graph.nodeOf(run.from);
  const feeds = [...(circuit.supply.get(from.key) ?? [])];
  if (feeds.length === 0) return { sources: [], nodes: new Map(), towards: 'far' };
  // The side that holds no feeder's own node is the one that is fed.
  const holdsSource = (nodes: readonly Node[]): boolean =>
    nodes.some(({ instance, terminal }) => feeds.includes(instance) && terminal.direction === 'out') ||
    nodes.some((node) => isFedThrough(node, circuit));
  const nearFeeds = holdsSource(near);
  const farFeeds = holdsSource(far);
  if (nearFeeds && farFeeds) return undefined;
  const start = farFeeds ? [from] : run.to.map((stop) => context.graph.nodeOf(stop));
  return { sources: feeds, nodes: beyond(start, run, circuit, context), towards: farFeeds ? 'near' : 'far' };
}

/** Whether supply enters a region at this node from elsewhere: the outgoing side of transfer gear or of a passing inverter. */
function isFedThrough({ instance, terminal, key }: Node, circuit: CircuitState): boolean {
  if ((circuit.supply.get(key)?.size ?? 0) === 0) return false;
  const passes = passingOf(instance);
  return passes !== undefined && terminal.name === passes.to && (passes.how === 'one' || circuit.passing.has(instance));
}

/** What a run carries in one state from one source: what hangs on the side that is fed, and the most that those on the other give. */
export interface Fed {
  readonly source: Instance;
  readonly nodes: ReadonlyMap<string, Node>;
  /** Which way it flows along the run: to its far ends, or to its `from` end. */
  readonly towards: 'far' | 'near';
  readonly most?: Derivation;
}

/**
 * What a run carries in one state. A run that sources feed from both ends carries what hangs on either side, with the sources there out, as
 * far as those on the other give it.
 */
export function acFeeds(run: Run, circuit: CircuitState, context: QuantityContext): readonly Fed[] {
  return context.keptFor(FEEDS, run, circuit, () => findFeeds(run, circuit, context));
}

const FEEDS = query<readonly [Run, CircuitState], readonly Fed[]>('what a run carries from each source, by state');

function findFeeds(run: Run, circuit: CircuitState, context: QuantityContext): readonly Fed[] {
  const flow = acFlow(run, circuit, context);
  if (flow) return flow.sources.map((source) => ({ source, nodes: flow.nodes, towards: flow.towards }));
  const { near, far } = circuit.graph.sides(run);
  const from = context.graph.nodeOf(run.from);
  const feeds = [...(circuit.supply.get(from.key) ?? [])];
  const ends = run.to.map((stop) => context.graph.nodeOf(stop));
  return [
    { giving: near, start: ends, towards: 'far' as const },
    { giving: far, start: [from], towards: 'near' as const },
  ].flatMap(({ giving, start, towards }) => {
    const nodes = beyond(start, run, circuit, context);
    const sources = feeds.filter((each) =>
      giving.some(({ instance, terminal }) => instance === each && terminal.direction === 'out'),
    );
    const rated = sources.map((each) => mostOf(each, context));
    // What is led through transfer gear, and sources that do not say what they give, set no bound.
    const isBounded = rated.every(Boolean) && !giving.some((node) => isFedThrough(node, circuit));
    const most = isBounded ? sumOf('rated output', 'I_out', 'A', rated as Derivation[]) : undefined;
    const all = sources.length > 0 || isBounded ? sources : feeds;
    return all.map((source) => ({ source, nodes, towards, ...(most ? { most } : {}) }));
  });
}

/** A current no larger than the most that its sources give. */
export const heldTo = (result: Result, most: Derivation | undefined): Result =>
  whenKnown(result, (current) =>
    known(
      !most || numberIn(current, 'A') <= numberIn(most, 'A')
        ? current
        : derive(current.name, numberIn(most, 'A'), 'A', {
            ...(current.symbol ? { symbol: current.symbol } : {}),
            formula: 'min(I, I_out)',
            inputs: [current, most],
          }),
    ),
  );

function acRunCurrent(run: Run, context: QuantityContext): Result {
  const results: InState[] = [];
  for (const { state, circuit } of context.circuitStates) {
    if (circuit.graph.sides(run).loop) {
      for (const result of sharedAlternatingCurrent(run, state, circuit, context)) results.push({ state, result });
      continue;
    }
    for (const { source, nodes, most } of acFeeds(run, circuit, context))
      results.push({ state, result: heldTo(legCurrents(nodes.values(), source, context).result, most) });
  }
  if (results.length === 0) return missing(`a supply of ${run.name}`);
  return worstOfStates('design current', 'I_b', 'A', results);
}

export const runCurrent = defineQuantity({
  name: 'current',
  kinds: ['run'],
  doc: 'Design current: the largest current in any source state, at the worst corner (DC from P/(η·U_min); chargers at highest charge voltage and lowest supply voltage).',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const run = thing as Run;
    if (run.carries === 'dc') return dcRunCurrent(run, context, 'design current', 'I_b', () => true);
    if (run.carries === 'ac') return acRunCurrent(run, context);
    return missing(`whether ${run.name} carries AC or DC`);
  },
});

/** The part of the design current that lasts three hours or more, in the governing state. */
export const runContinuous = defineQuantity({
  name: 'continuousCurrent',
  kinds: ['run'],
  doc: 'The part of the design current that lasts three hours or more.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const run = thing as Run;
    // Chargers, arrays and inverters can run for hours at their rating: on the DC side only loads can be short.
    if (run.carries === 'dc')
      return dcRunCurrent(run, context, 'continuous current', 'I_c', (node) => lastsLong(node, context));
    if (run.carries !== 'ac') return missing(`whether ${run.name} carries AC or DC`);
    // How long each part of a shared current lasts is not told apart: all of it counts as continuous.
    const results: InState[] = [];
    for (const { state, circuit } of context.circuitStates) {
      if (circuit.graph.sides(run).loop) return context.quantity(run, 'current');
      for (const { source, nodes, most } of acFeeds(run, circuit, context))
        results.push({ state, result: heldTo(continuousLegCurrent(nodes.values(), source, context), most) });
    }
    return results.length === 0
      ? missing(`a supply of ${run.name}`)
      : worstOfStates('continuous current', 'I_c', 'A', results);
  },
});

/** Nominal voltage of the direct-current outlet of a vehicle. */
function outletVoltage(vehicle: Instance): Result {
  const system = systemOf(vehicle);
  return system
    ? known(derive('nominal voltage', system.lineToNeutral, 'V', { symbol: 'U', notes: [`outlet of ${vehicle.name}`] }))
    : missing(`voltage of ${vehicle.name}`);
}

/** Nominal voltage of a run's circuit. */
export const runVoltage = defineQuantity({
  name: 'nominalVoltage',
  kinds: ['run'],
  doc: 'Nominal voltage of the circuit the run belongs to: bank voltage for DC, between the lines used for AC.',
  unit: 'V',
  compute: (thing, context) => {
    const run = thing as Run;
    if (run.carries === 'dc') {
      const start = context.graph.nodeOf(run.from);
      const [bank] = banksJoinedTo(start, context);
      if (bank) return context.quantity(bank, 'bankVoltage');
      const [array] = arraysJoinedTo(start, context);
      if (array) return context.quantity(array, 'arrayVoltage');
      const nodes = [...context.graph.reach(start).values()];
      const output = nodes.find((node) => isBusCharger(node.instance) && chargesAt(node))?.instance;
      if (output) return context.fact(output, 'output');
      const vehicle = nodes.find((node) => isVehicle(node.instance))?.instance;
      return vehicle ? outletVoltage(vehicle) : missing(`a bank for ${run.name}`);
    }
    for (const { state, circuit } of context.circuitStates) {
      if (circuit.graph.sides(run).loop) {
        const between = sharedNominalVoltage(run, state, circuit, context);
        if (between) return between;
        continue;
      }
      for (const { source, nodes } of acFeeds(run, circuit, context)) {
        const system = systemOf(source);
        if (!system) return missing(`voltage of ${source.name}`);
        const { perLeg } = legCurrents(nodes.values(), source, context);
        const single = system.phases === 'split' && perLeg.size === 1;
        const volts = single ? system.lineToNeutral : system.lineToLine;
        return known(
          derive('nominal voltage', volts, 'V', { symbol: 'U', notes: [`supply ${system.text} of ${source.name}`] }),
        );
      }
    }
    return missing(`a supply of ${run.name}`);
  },
});

export const flowQuantities = [runCurrent, runContinuous];
export const circuitQuantities = [runVoltage];
