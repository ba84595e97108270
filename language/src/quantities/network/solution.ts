/** Quantities that need the whole network: voltages at the ends of runs and at terminals, and currents in runs of loops. */
import {
  chargingOf,
  drawsOf,
  isBank,
  isConnection,
  isGear,
  isInverter,
  isJoint,
  passingOf,
} from '../../model/roles.js';
import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { isProtected } from '../storage/bank.js';
import { bankCases, bankOutages, banksOn } from '../storage/bank-cases.js';
import { isLinked } from '../storage/bank-group.js';
import { chargeMost } from '../plant/cell-limits.js';
import { workingChargers } from '../supply/joined.js';
import { type InState, type QuantityContext, defineQuantity, instance } from '../define.js';
import {
  type AlternatingSolution,
  type Conductor,
  lowestLineVoltage,
  solveAlternating,
  voltageAt,
} from './alternating.js';
import { type Counted, type DirectMode, type DirectSolution, type Solved, solveDirect } from './direct.js';
import type { Leg } from '../supply/supply.js';
import { mayConduct, mayDraw, mayInvert, mayRegulate, mayUse } from '../../equipment/index.js';
import { lowestOfStates, worstOfStates } from '../worst.js';

const METHOD =
  'solved as a network: resistances out and back, constant power, banks at nominal voltage behind their resistance';
const AC_METHOD =
  'solved as a network: conductors and neutral with resistance and reactance, constant power, source at the low end of its tolerance';

/** The ways of loading a direct-current network that can govern the current of a run. */
const CURRENT_MODES: readonly DirectMode[] = ['demand', 'supply', 'both'];

/**
 * Current of a direct-current run that is one of several paths, or that lies between banks: the network shares the current by its
 * resistances. The largest of what it carries when everything draws, when everything charges, and when all do, with all banks at work or
 * some of them out, and with each bank at either end of its resistance.
 */
export function sharedCurrent(
  run: Run,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
  counted?: Counted,
): Result {
  const node = context.graph.nodeOf(run.from);
  const banks = banksOn(node, context);
  const cases = bankOutages(banks, context).flatMap((out) => bankCases(banks, context, out));
  const alone = (mode: DirectMode): number => mostOfLast(run, mode, state, circuit, context);
  let worst: Derivation | undefined;
  for (const mode of CURRENT_MODES)
    for (const each of cases) {
      const solved = solveDirect(node, state, circuit, context, mode, { counted, banks: each });
      if (!solved.ok) return solved.result;
      const { solution } = solved;
      const flows = solution.current(run);
      if (flows === undefined) return missing(`length of ${run.name}`);
      const amperes = Math.min(Math.abs(flows), each.out.length > 1 ? alone(mode) : Infinity);
      if (worst && amperes <= numberIn(worst, 'A') * (1 + 1e-9)) continue;
      const names = (things: Iterable<Instance>): string => [...things].map(({ name }) => name).join(' and ');
      worst = derive('share of the current', amperes, 'A', {
        symbol: 'I',
        formula: 'U/R of the run in the solved network',
        inputs: solution.inputs,
        governing: [{ kind: 'network', mode }],
        notes: [
          'shared by resistance with the other paths and banks',
          ...(each.out.length > 0 ? [`with ${names(each.out)} out: full or empty before the others, or cut off`] : []),
          ...(each.high.size > 0
            ? [`with ${names(each.high)} at the high end of its resistance, the others at the low end`]
            : []),
        ],
      });
    }
  return known(worst!);
}

/**
 * The most that a run carries to or from the one bank at its end while most others are out, by that bank’s own limits: chargers that hear it
 * give it no more than it takes, and its protection opens where more is drawn. Infinite where nothing of the kind is known.
 */
function mostOfLast(
  run: Run,
  mode: DirectMode,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): number {
  const banks = [run.from, ...run.to].map((stop) => stop.instance).filter(isBank);
  const [bank] = banks;
  // A run that goes on to others carries more than its bank.
  if (
    banks.length !== 1 ||
    !bank ||
    context.graph.nodesOf(bank).some((node) => context.graph.segmentsAt(node).length > 1)
  )
    return Infinity;
  const inA = (derivation: Derivation | undefined): number => (derivation ? numberIn(derivation, 'A') : Infinity);
  const hears = workingChargers(bank, state, circuit, context).every((charger) => isLinked(charger, bank, context));
  const into = hears ? inA(chargeMost(bank, context)) : Infinity;
  const limit = context.quantity(bank, 'dischargeCurrentLimit');
  const outOf = isProtected(bank, context) && limit.kind === 'known' ? inA(limit.derivation) : Infinity;
  return mode === 'supply' ? into : mode === 'demand' ? outOf : Math.max(into, outOf);
}

/** The sources and inverters that feed a node in a state. */
const feedersAt = (node: Node, circuit: CircuitState): readonly Instance[] => [...(circuit.supply.get(node.key) ?? [])];

/** Current of an alternating-current run that is one of several paths: that of its most loaded conductor. */
export function sharedAlternatingCurrent(
  run: Run,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): readonly Result[] {
  return feedersAt(context.graph.nodeOf(run.from), circuit).map((source) => {
    const solved = solveAlternating(source, state, circuit, context);
    if (!solved.ok) return solved.result;
    const { current, inputs } = solved.solution;
    const conductors: readonly Conductor[] = ['L1', 'L2', 'L3', 'N'];
    const top = conductors.reduce((so, next) => (current(run, next) > current(run, so) ? next : so));
    return known(
      derive('share of the current', current(run, top), 'A', {
        symbol: 'I',
        inputs,
        governing: [{ kind: 'conductor', conductor: top }],
        notes: [AC_METHOD],
      }),
    );
  });
}

/** Nominal voltage between the lines that an alternating-current run in a loop uses; undefined where nothing feeds it in this state. */
export function sharedNominalVoltage(
  run: Run,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  const [source] = feedersAt(context.graph.nodeOf(run.from), circuit);
  if (!source) return undefined;
  const solved = solveAlternating(source, state, circuit, context);
  if (!solved.ok) return solved.result;
  const { system } = solved.solution;
  const volts = legsUsed(run, solved.solution).length === 1 ? system.lineToNeutral : system.lineToLine;
  return known(
    derive('nominal voltage', volts, 'V', { symbol: 'U', notes: [`supply ${system.text} of ${source.name}`] }),
  );
}

/** One voltage of a solved network with what it is compared with. */
interface Seen {
  readonly volts: number;
  /** Voltage at the source that feeds it: the highest bank terminal, or the source itself. */
  readonly source: number;
  readonly inputs: readonly Derivation[];
}

function direct(node: Node, solved: Solved<DirectSolution>): Seen | Result {
  if (!solved.ok) return solved.result;
  const { voltage, holders, inputs } = solved.solution;
  return { volts: voltage(node), source: Math.max(...holders.map((holder) => voltage(holder.node))), inputs };
}

const SQRT3 = Math.sqrt(3);

/** The voltage at a node between the conductors `legs` (one: to neutral), against that of the source. */
function alternating(node: Node, legs: readonly Leg[], solution: AlternatingSolution): Seen | Result {
  const { system, sourceVoltage, inputs } = solution;
  const volts = legs.length === 1 ? solution.voltage(node, legs[0]!, 'N') : lowestLineVoltage(solution, node, legs);
  if (volts === undefined) return missing(`a run that brings ${legs.join(' and ')} to ${node.instance.name}`);
  const phase = numberIn(sourceVoltage, 'V');
  const source = legs.length === 1 ? phase : system.phases === 'three' ? SQRT3 * phase : 2 * phase;
  return { volts, source, inputs: [sourceVoltage, ...inputs] };
}

const isSeen = (outcome: Seen | Result): outcome is Seen => 'volts' in outcome;

function asVoltage(name: string, outcome: Seen | Result, method: string): Result {
  if (!isSeen(outcome)) return outcome;
  const { volts, source, inputs } = outcome;
  const drop = derive('total drop from the source', source - volts, 'V', { symbol: 'ΔU' });
  return known(
    derive(name, volts, 'V', {
      symbol: 'U',
      formula: 'solution of the network',
      inputs,
      notes: [method],
      parts: {
        drop,
        ratio: derive('total drop, of the source voltage', source === 0 ? 0 : (source - volts) / source, '', {
          formula: 'ΔU/U_source',
          inputs: [drop],
        }),
      },
    }),
  );
}

/** The legs a run carries current on in a solution; all of its supply when it carries none. */
function legsUsed(run: Run, { system, current }: AlternatingSolution): readonly Leg[] {
  const all: readonly Leg[] =
    system.phases === 'single' ? ['L1'] : system.phases === 'split' ? ['L1', 'L2'] : ['L1', 'L2', 'L3'];
  const used = all.filter((leg) => current(run, leg) > 0);
  return used.length > 0 ? used : all;
}

/** Voltage at a far end of a run, in each state in which it is live. */
function endVoltages(run: Run, context: QuantityContext): InState[] {
  const ends = run.to.map((stop) => context.graph.nodeOf(stop));
  return context.circuitStates.flatMap(({ state, circuit }) =>
    ends.flatMap((end): InState[] => {
      const name = 'lowest voltage at the end';
      if (run.carries === 'dc')
        return [
          {
            state,
            result: asVoltage(name, direct(end, solveDirect(end, state, circuit, context, 'power')), METHOD),
          },
        ];
      return feedersAt(end, circuit).map((source): InState => {
        const solved = solveAlternating(source, state, circuit, context);
        if (!solved.ok) return { state, result: solved.result };
        const outcome = alternating(end, legsUsed(run, solved.solution), solved.solution);
        return { state, result: asVoltage(name, outcome, AC_METHOD) };
      });
    }),
  );
}

export const voltageAtEnd = defineQuantity({
  name: 'voltageAtEnd',
  kinds: ['run'],
  doc: 'Lowest voltage at the far end of the run in any source state, everything it feeds running: banks at nominal voltage behind their highest resistance, AC sources at the low end of their tolerance; `.drop` and `.ratio` against the source.',
  unit: 'V',
  bound: 'least',
  compute: (thing, context) => {
    const run = thing as Run;
    if (run.carries === 'any') return missing(`whether ${run.name} carries AC or DC`);
    const results = endVoltages(run, context);
    return results.length === 0
      ? missing(`a supply of ${run.name}`)
      : lowestOfStates('lowest voltage at the end', 'U', 'V', results);
  },
});

/** The terminal at which a thing takes its supply. */
function supplyNode(thing: Instance, context: QuantityContext): Node | undefined {
  // What only charges from an array is known by the bus it charges, and what passes a supply on by where it passes it to.
  const terminal = drawsOf(thing)[0]?.at ?? chargingOf(thing)?.at ?? passingOf(thing)?.to;
  const nodes = context.graph.nodesOf(thing);
  return terminal === undefined ? nodes[0] : nodes.find((node) => node.terminal.name === terminal);
}

const LEGS: readonly Leg[] = ['L1', 'L2', 'L3'];

/** The lowest voltage to neutral of the legs that reach a node. */
function wiringVoltage(node: Node, solution: AlternatingSolution): Seen | Result {
  const seen = LEGS.map((leg) => alternating(node, [leg], solution)).filter(isSeen);
  if (seen.length === 0) return missing(`a run that feeds ${node.instance.name}`);
  return seen.reduce((so, next) => (next.volts < so.volts ? next : so));
}

function terminalVoltages(
  thing: Instance,
  node: Node,
  context: QuantityContext,
  mode: DirectMode,
  starting?: Instance,
): InState[] {
  const name = 'lowest terminal voltage';
  const isDirect = context.graph.segmentsAt(node).some(({ run }) => run.carries === 'dc');
  return context.circuitStates.flatMap(({ state, circuit }): InState[] => {
    if (isDirect) {
      if (isInverter(thing) && !circuit.inverting.has(thing)) return [];
      const solved = solveDirect(node, state, circuit, context, mode, { starting });
      return [{ state, result: asVoltage(name, direct(node, solved), METHOD) }];
    }
    return feedersAt(node, circuit).map((source): InState => {
      const solved = solveAlternating(source, state, circuit, context);
      if (!solved.ok) return { state, result: solved.result };
      // The voltage of gear is that of the wiring, not of a consumer.
      if (isGear(thing)) return { state, result: asVoltage(name, wiringVoltage(node, solved.solution), AC_METHOD) };
      const connection = solved.solution.connections.get(thing);
      if (!connection || voltageAt(solved.solution, node, connection) === undefined)
        return { state, result: missing(`a run that feeds ${thing.name}`) };
      return { state, result: asVoltage(name, alternating(node, connection.legs, solved.solution), AC_METHOD) };
    });
  });
}

/** The name under which the value of a state stands beside the governing one: `Genset-sun` for `Genset+sun`. */
const partName = (id: string): string => id.replaceAll('+', '-');

/** The lowest of all states, with that of each state beside it. */
function lowestWithStates(name: string, results: readonly InState[]): Result {
  const lowest = lowestOfStates(name, 'U', 'V', results);
  if (lowest.kind !== 'known' || results.length < 2) return lowest;
  const each: Record<string, Derivation> = {};
  for (const { state, result } of results) {
    if (result.kind !== 'known') continue;
    const key = partName(state.id);
    const before = each[key];
    if (before && numberIn(before, 'V') <= numberIn(result.derivation, 'V')) continue;
    each[key] = { ...result.derivation, name: `with ${state.title}`, parts: {} };
  }
  return known({ ...lowest.derivation, parts: { ...each, ...lowest.derivation.parts } });
}

export const terminalVoltage = defineQuantity({
  name: 'terminalVoltage',
  of: [mayDraw, mayRegulate, mayConduct],
  // In gear that stands in the path of a run it is that of the run.
  isListedFor: (thing) => !isGear(instance(thing)) || isJoint(instance(thing)) || isConnection(instance(thing)),
  doc: 'Lowest voltage at the terminals in any source state, everything running (an inverter at its DC side, gear between leg and neutral); `.drop` and `.ratio` are the total drop from the source, and every state stands beside it by its name: `.battery`, `.Genset-sun`.',
  unit: 'V',
  bound: 'least',
  compute: (thing, context) => {
    const node = supplyNode(thing as Instance, context);
    const results = node ? terminalVoltages(thing as Instance, node, context, 'power') : [];
    return results.length === 0
      ? missing(`a supply of ${thing.name}`)
      : lowestWithStates('lowest terminal voltage', results);
  },
});

export const surgeVoltage = defineQuantity({
  name: 'surgeVoltage',
  of: [mayInvert, mayUse],
  isListedFor: (thing) => isInverter(instance(thing)) || thing.properties.has('startFactor'),
  doc: 'Voltage at the DC terminals of an inverter at surge power, or of a direct-current motor while it starts (`startFactor`) and all else runs, the bank at nominal voltage behind its highest resistance.',
  unit: 'V',
  bound: 'least',
  compute: (thing, context) => {
    const consumer = thing as Instance;
    const surge = context.fact(consumer, isInverter(consumer) ? 'surge' : 'startFactor');
    if (surge.kind !== 'known') return surge;
    const node = supplyNode(consumer, context);
    const isDirect = node && context.graph.segmentsAt(node).some(({ run }) => run.carries === 'dc');
    if (node && !isDirect)
      return refused(`${consumer.name} starts on alternating current: the dip of its supply is another matter`);
    const results = !node
      ? []
      : isInverter(consumer)
        ? terminalVoltages(consumer, node, context, 'surge')
        : terminalVoltages(consumer, node, context, 'power', consumer);
    return results.length === 0
      ? missing(`a supply of ${consumer.name}`)
      : lowestWithStates('terminal voltage at surge', results);
  },
});

export const neutralCurrent = defineQuantity({
  name: 'neutralCurrent',
  kinds: ['run'],
  doc: 'Current in the neutral of an AC run in the worst source state: the unbalance of its legs, all of the current on a single-phase supply; `.L1`, `.L2`, `.L3` are those of the legs.',
  unit: 'A',
  bound: 'most',
  isListedFor: (thing) => thing.kind === 'run' && (thing as Run).carries === 'ac',
  compute: (thing, context) => {
    const run = thing as Run;
    if (run.carries !== 'ac') return missing(`alternating current in ${run.name}`);
    const from = context.graph.nodeOf(run.from);
    const results = context.circuitStates.flatMap(({ state, circuit }) =>
      feedersAt(from, circuit).map((source): InState => {
        const solved = solveAlternating(source, state, circuit, context);
        if (!solved.ok) return { state, result: solved.result };
        const { current, inputs } = solved.solution;
        const legs = (['L1', 'L2', 'L3'] as const).filter((leg) => current(run, leg) > 0);
        return {
          state,
          result: known(
            derive('neutral current', current(run, 'N'), 'A', {
              symbol: 'I_N',
              formula: 'solution of the network',
              inputs,
              notes: [AC_METHOD],
              parts: Object.fromEntries(
                legs.map((leg) => [leg, derive(`current on ${leg}`, current(run, leg), 'A', { symbol: `I_${leg}` })]),
              ),
            }),
          ),
        };
      }),
    );
    return results.length === 0
      ? missing(`a supply of ${run.name}`)
      : worstOfStates('neutral current', 'I_N', 'A', results);
  },
});

export const networkQuantities = [voltageAtEnd, neutralCurrent, terminalVoltage, surgeVoltage];
