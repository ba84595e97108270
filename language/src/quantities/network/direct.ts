import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { type Branch, type Load, type Solution, type Source, solveCircuit } from '../../solve/circuit.js';
import type { KeptPattern } from '../../solve/nodal.js';
import type { BankCase } from '../storage/bank-cases.js';
import type { QuantityContext } from '../define.js';
import { dcDemand, dcSupply } from '../flow/direct-flows.js';
import { highEnd, lowEnd } from '../ends.js';
import { feedOf } from '../demand/feeding.js';
import { Joints } from './joints.js';
import { type Stretch, impedanceOf, stretchesOf } from './stretches.js';
import { inverterInput } from '../plant/inverters.js';
import { collect, sumOf, whenKnown } from '../worst.js';
import {
  chargesAt,
  isArray,
  isBank,
  isBusCharger,
  isLoad,
  takesArray,
  takesToConvert,
  takesToInvert,
} from '../../model/roles.js';
import { query } from '../../model/context.js';
import { calculation } from '../calculation.js';

/**
 * What is switched on: `demand` everything that draws, at its design current; `supply` everything that charges, at its limit; `both`;
 * `power` what draws as constant power and what charges at its limit, for voltages, with inverters at their rating; `surge` the same with
 * inverters at surge power, `stated` with what their loads ask for.
 */
export type DirectMode = 'demand' | 'supply' | 'both' | 'power' | 'surge' | 'stated';

export interface DirectSolution {
  /** Volts between the poles at a node. */
  readonly voltage: (node: Node) => number;
  /** Amperes in a run from its `from` end: the largest of its stretches; undefined where all of it is joined without length. */
  readonly current: (run: Run) => number | undefined;
  /** Amperes that go through a node: the sum of what flows into it, and into all that is joined to it without length. */
  readonly through: (node: Node) => number;
  /** What holds the voltage (banks, a converter), each with the amperes it gives. */
  readonly holders: readonly { readonly instance: Instance; readonly node: Node; readonly current: number }[];
  /** What the solution rests on. */
  readonly inputs: readonly Derivation[];
}

export type Solved<T> =
  | { readonly ok: true; readonly solution: T }
  | {
      readonly ok: false;
      readonly result: Result;
      /** Where it gives way, for a network whose loads ask for more than can be delivered. */
      readonly collapsesAt?: Node;
    };

/**
 * Ohms taken for a run that is the only way between its ends, when its facts lack and currents alone are asked: with one thing that
 * holds the voltage they cannot change any current.
 */
const ANY_RESISTANCE = 1e-3;

/** Which nodes draw and give; `key` names the choice, so that its solutions are kept. */
export interface Counted {
  readonly key: string;
  readonly counts: (node: Node) => boolean;
}

/** The solutions of an island, by state and by what is counted. */
const SOLUTIONS = query<readonly [ReadonlyMap<string, Node>, string], Solved<DirectSolution>>(
  'direct-current networks',
);

/** How the equations of an island stand, by the banks that are out: the same in every state and mode. */
const PATTERNS = query<readonly [ReadonlyMap<string, Node>, string], KeptPattern>(
  'equations of a direct-current network',
);

/** What else a network is solved with. */
export interface DirectOptions {
  readonly counted?: Counted | undefined;
  /** A motor that is just switched on. */
  readonly starting?: Instance | undefined;
  /** How the banks stand: for currents all at the low end of their resistance, for voltages at the high end, unless said. */
  readonly banks?: BankCase;
  /** Share of its rating that every inverter gives in mode `power`; all of it unless said. */
  readonly share?: number;
}

/** Solves the direct-current network that a node belongs to, in a source state; once for each. */
export function solveDirect(
  start: Node,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
  mode: DirectMode,
  options: DirectOptions = {},
): Solved<DirectSolution> {
  const island = context.graph.reach(start);
  const { counted, starting, banks, share } = options;
  const find = (): Solved<DirectSolution> => {
    const out = banks?.out.map(({ name }) => name).join('+') ?? '';
    const pattern = context.keptFor(PATTERNS, island, out, () => ({}));
    return new DirectNetwork(island, state, circuit, context, mode, options).solve(pattern);
  };
  const key = [state.id, mode, starting?.name, counted?.key, banks?.key, share].join(' ');
  return context.keptFor(SOLUTIONS, island, key, find);
}

interface Holder {
  readonly node: Node;
  readonly volts: Result;
  readonly ohms: Result | 0;
}

interface Flow {
  readonly node: Node;
  readonly from: Derivation;
  readonly load:
    { readonly kind: 'power'; readonly active: number } | { readonly kind: 'current'; readonly current: number };
}

class DirectNetwork {
  private readonly nodes: readonly Node[];
  private readonly isForVoltage: boolean;

  constructor(
    island: ReadonlyMap<string, Node>,
    private readonly state: SourceState,
    private readonly circuit: CircuitState,
    private readonly context: QuantityContext,
    private readonly mode: DirectMode,
    private readonly options: DirectOptions,
  ) {
    this.nodes = [...island.values()];
    this.isForVoltage = mode === 'power' || mode === 'surge' || mode === 'stated';
  }

  solve(pattern: KeptPattern): Solved<DirectSolution> {
    const holders = this.holders();
    if (holders.length === 0)
      return { ok: false, result: missing(`a bank or converter that holds the voltage of ${this.name()}`) };
    const held = collect(holders.flatMap(({ volts, ohms }) => (ohms === 0 ? [volts] : [volts, ohms])));
    if (!held.ok) return { ok: false, result: held.result };
    const wires = this.wires(holders.length > 1);
    if (!wires.ok) return wires;
    const flows = this.flows(new Set([...holders.map(({ node }) => node), ...this.bankNodes()]));
    if (!flows.ok) return flows;

    const joints = new Joints();
    for (const { from, to, ohms } of wires.solution) if (ohms === 0) joints.join(from.key, to.key);
    // The reference is the negative pole of all; resistances are those out and back.
    joints.number('');
    const at = (node: Node): number => joints.number(node.key);
    const live = wires.solution.filter(({ ohms }) => ohms > 0);
    const branches = live.map(({ from, to, ohms }): Branch => ({ from: at(from), to: at(to), resistance: ohms }));
    const sources = holders.map(({ node, volts, ohms }): Source => ({
      positive: at(node),
      negative: 0,
      voltage: { re: volts.kind === 'known' ? numberIn(volts.derivation, 'V') : 0, im: 0 },
      resistance: ohms !== 0 && ohms.kind === 'known' ? this.ohmsOf(node.instance, ohms.derivation) : 0,
    }));
    if (sharesNode(sources))
      return {
        ok: false,
        result: missing(`length of the cables between ${holders.map(({ node }) => node.instance.name).join(' and ')}`),
      };
    const loads = flows.solution.map(({ node, load }): Load => ({ ...load, from: at(node), to: 0 }));
    const solution = solveCircuit({ nodes: joints.count, branches, sources, loads }, pattern);
    if (!solution.solved) {
      const place = this.nodes.find((node) => at(node) === solution.node);
      return {
        ok: false,
        ...(place ? { collapsesAt: place } : {}),
        result: refused(
          `the network of ${this.name()} has no steady state with ${this.state.title}: what it feeds demands more than the cables and the bank can deliver at ${place?.instance.name ?? this.name()}`,
        ),
      };
    }
    const currents = new Map<Run, number>();
    for (const [index, { run }] of live.entries()) {
      const amperes = solution.branchCurrents[index]!.re;
      const before = currents.get(run);
      if (before === undefined || Math.abs(amperes) > Math.abs(before)) currents.set(run, amperes);
    }
    return {
      ok: true,
      solution: {
        voltage: (node) => solution.voltages[at(node)]!.re,
        current: (run) => currents.get(run),
        through: (node) => inflowAt(at(node), branches, sources, loads, solution),
        holders: holders.map(({ node }, index) => ({
          instance: node.instance,
          node,
          current: solution.sourceCurrents[index]!.re,
        })),
        inputs: [...held.derivations, ...flows.solution.map(({ from }) => from)],
      },
    };
  }

  /** Banks take and give what the network says, those that are out nothing. */
  private bankNodes(): readonly Node[] {
    return this.nodes.filter(({ instance }) => isBank(instance));
  }

  private name(): string {
    return this.nodes[0]!.instance.name;
  }

  /** A cold and aged bank sags most; warm and new ones share most unevenly over cables that differ, unless a case says how they stand. */
  private ohmsOf(bank: Instance, derivation: Derivation): number {
    const { value } = derivation;
    if (typeof value !== 'object') return 0;
    const { banks } = this.options;
    return (banks ? banks.high.has(bank) : this.isForVoltage) ? value.high : value.low;
  }

  /** Banks behind their resistance; without a bank the output of a converter, or the array input of a charge controller. */
  private holders(): Holder[] {
    const { context } = this;
    const banks = this.nodes.filter(({ instance }) => isBank(instance) && !this.options.banks?.out.includes(instance));
    const isSharing = banks.length > 1 || this.isForVoltage;
    if (banks.length > 0)
      return banks.map((node) => ({
        node,
        volts: context.quantity(node.instance, 'bankVoltage'),
        ohms: isSharing ? context.quantity(node.instance, 'bankResistance') : 0,
      }));
    const output = this.nodes.find((node) => isBusCharger(node.instance) && chargesAt(node));
    if (output) return [{ node: output, volts: context.fact(output.instance, 'output'), ohms: 0 }];
    const input = this.nodes.find(takesArray);
    const array = this.nodes.find(({ instance }) => isArray(instance));
    return input && array ? [{ node: input, volts: context.quantity(array.instance, 'arrayVoltage'), ohms: 0 }] : [];
  }

  /** The stretches with their resistance out and back. */
  private wires(isShared: boolean): Solved<readonly (Stretch & { readonly ohms: number })[]> {
    const { context } = this;
    const runs = new Set(this.nodes.flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run)));
    const wires: (Stretch & { ohms: number })[] = [];
    const lacking: Result[] = [];
    for (const run of runs) {
      const stretches = stretchesOf(run, context);
      const whole = impedanceOf(run, context);
      if (stretches.ok && whole.ok) {
        for (const stretch of stretches.stretches)
          wires.push({ ...stretch, ohms: 2 * whole.impedance.resistance * stretch.share });
        continue;
      }
      if (!this.isForVoltage && !isShared && !context.graph.groups(run).loop) {
        for (const { from, to } of context.graph.segmentsOf(run))
          wires.push({ run, from, to, share: 0, ohms: ANY_RESISTANCE });
        continue;
      }
      if (!stretches.ok) lacking.push(stretches.result);
      if (!whole.ok) lacking.push(whole.result);
    }
    if (lacking.length === 0) return { ok: true, solution: wires };
    const all = collect(lacking);
    return { ok: false, result: all.ok ? missing(`facts of ${this.name()}`) : all.result };
  }

  /** What draws and what gives, at its node. */
  private flows(holding: ReadonlySet<Node>): Solved<readonly Flow[]> {
    const { state, circuit, context, mode, options } = this;
    const flows: Flow[] = [];
    const lacking: Result[] = [];
    for (const node of this.nodes) {
      if (holding.has(node) || options.banks?.out.includes(node.instance) || options.counted?.counts(node) === false)
        continue;
      const demand =
        mode === 'supply' ? undefined : this.isForVoltage ? this.power(node) : dcDemand(node, circuit, context);
      const supply = mode === 'demand' ? undefined : dcSupply(node, state, circuit, context);
      for (const [result, sign] of [
        [demand, 1],
        [supply, -1],
      ] as const) {
        if (!result) continue;
        if (result.kind !== 'known') {
          lacking.push(result);
          continue;
        }
        const { derivation } = result;
        const surge =
          sign === 1 && node.instance === options.starting ? this.startingCurrent(node.instance) : undefined;
        if (surge && surge.kind !== 'known') {
          lacking.push(surge);
          continue;
        }
        if (surge) {
          flows.push({
            node,
            from: surge.derivation,
            load: { kind: 'current', current: numberIn(surge.derivation, 'A') },
          });
          continue;
        }
        const load =
          this.isForVoltage && sign === 1
            ? { kind: 'power' as const, active: numberIn(derivation, 'W') }
            : { kind: 'current' as const, current: sign * numberIn(derivation, 'A') };
        flows.push({ node, from: derivation, load });
      }
    }
    const all = collect(lacking);
    return all.ok ? { ok: true, solution: flows } : { ok: false, result: all.result };
  }

  /** A motor that starts is no constant power: it draws its starting factor times the current of its power at nominal voltage. */
  private startingCurrent(load: Instance): Result {
    const { context } = this;
    const [bank] = this.nodes.filter(({ instance }) => isBank(instance));
    const all = collect([
      context.quantity(load, 'totalPower'),
      context.fact(load, 'startFactor'),
      bank ? context.quantity(bank.instance, 'bankVoltage') : missing(`a bank that feeds ${load.name}`),
    ]);
    if (!all.ok) return all.result;
    const [power, factor, voltage] = all.derivations as [Derivation, Derivation, Derivation];
    const watts = typeof power.value === 'object' ? power.value.high : 0;
    return known(
      derive(`starting current of ${load.name}`, (watts / numberIn(voltage, 'V')) * numberIn(factor, ''), 'A', {
        symbol: 'I_start',
        formula: 'k·P/U',
        inputs: [factor, power, voltage],
      }),
    );
  }

  /** What a thing draws as power, whatever the voltage. */
  private power(node: Node): Result | undefined {
    const { circuit, context } = this;
    const { instance } = node;
    if (isLoad(instance)) return context.quantity(instance, 'totalPower');
    if (takesToInvert(node) && circuit.inverting.has(instance))
      return this.mode === 'stated'
        ? statedPower(instance, circuit, context)
        : inverterPower(
            instance,
            this.mode === 'surge' && instance.properties.has('surge') ? 'surge' : 'rated',
            this.options.share ?? 1,
            context,
          );
    return takesToConvert(node) ? converterPower(instance, context) : undefined;
  }
}

/** What flows into a point of a solved network, over its branches and from what gives current there. A. */
function inflowAt(
  point: number,
  branches: readonly Branch[],
  sources: readonly Source[],
  loads: readonly Load[],
  solution: Extract<Solution, { solved: true }>,
): number {
  const into = (flow: number): number => Math.max(0, flow);
  let sum = 0;
  for (const [index, { from, to }] of branches.entries()) {
    const amperes = solution.branchCurrents[index]!.re;
    if (to === point) sum += into(amperes);
    if (from === point) sum += into(-amperes);
  }
  for (const [index, { positive }] of sources.entries())
    if (positive === point) sum += into(solution.sourceCurrents[index]!.re);
  for (const [index, { from }] of loads.entries()) if (from === point) sum += into(-solution.loadCurrents[index]!.re);
  return sum;
}

/** Power an inverter draws from the bank at a share of an output of `property`: P/η. */
function inverterPower(
  inverter: Instance,
  property: 'rated' | 'surge',
  share: number,
  context: QuantityContext,
): Result {
  const all = collect([context.fact(inverter, property), context.fact(inverter, 'efficiency')]);
  if (!all.ok) return all.result;
  const [whole, efficiency] = [all.derivations[0]!, lowEnd(all.derivations[1]!)];
  const output =
    share === 1
      ? whole
      : derive('output', numberIn(whole, 'W') * share, 'W', { symbol: 'P', formula: 's·P_r', inputs: [whole] });
  return callFunction(calculation('inputPower'), { output, efficiency });
}

/** Power an inverter draws from the bank while all its stated loads run, its own loss included. */
function statedPower(inverter: Instance, circuit: CircuitState, context: QuantityContext): Result {
  const parts = feedOf(inverter, circuit, context).map(({ load, share }) =>
    whenKnown(context.quantity(load, 'totalPower'), (power) =>
      known(
        share === 1
          ? power
          : derive(`share of ${load.name}`, numberIn(power, 'W') * share, 'W', { formula: 'a·P', inputs: [power] }),
      ),
    ),
  );
  const all = collect(parts);
  if (!all.ok) return all.result;
  return inverterInput(inverter, sumOf(`output of ${inverter.name}`, 'P', 'W', all.derivations), context);
}

/** Power a DC-to-DC converter draws at its full output: U·I/η. */
function converterPower(converter: Instance, context: QuantityContext): Result {
  const all = collect([
    context.quantity(converter, 'outputCurrent'),
    context.fact(converter, 'output'),
    context.fact(converter, 'efficiency'),
  ]);
  if (!all.ok) return all.result;
  const [current, output, efficiency] = [
    all.derivations[0]!,
    highEnd(all.derivations[1]!),
    lowEnd(all.derivations[2]!),
  ];
  const watts = (numberIn(current, 'A') * numberIn(output, 'V')) / numberIn(efficiency, '');
  return known(
    derive(`input power of ${converter.name}`, watts, 'W', {
      symbol: 'P_in',
      formula: 'U_out·I/η',
      inputs: [output, current, efficiency],
    }),
  );
}

/** Whether two sources stand on one node without a conductor between them; what each gives is then open unless both have a resistance. */
const sharesNode = (sources: readonly Source[]): boolean => {
  const ideal = sources.filter(({ resistance }) => resistance === 0).map(({ positive }) => positive);
  return new Set(ideal).size < ideal.length;
};
