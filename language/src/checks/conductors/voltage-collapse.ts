import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import { invertingOf, isBank, isLoad } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import { isCarriedAtLowest } from '../../quantities/demand/loads.js';
import { solveAlternating } from '../../quantities/network/alternating.js';
import { type Solved, solveDirect } from '../../quantities/network/direct.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { formatNumber } from '../../quantity/index.js';
import { defineCheck, type Verdict, type Way, NO_LIMIT, points } from '../define.js';
import { notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { withRuns } from './run-as-if.js';
import { PUBLISHED } from './shared.js';
import { largerSize } from './ways.js';
import type { Setup } from './sizing.js';

/**
 * Share of nominal voltage that a cable or bank must at least seem to lose before a network is solved at all. Constant power has no steady
 * state once the drop at nominal voltage is a quarter of it (E²/4R); several drops in series add up, so a tenth is looked at.
 */
const SUSPICIOUS = 0.1;

/** Runs that lose much of their voltage, with the share. */
function weakRuns(context: DesignContext): ReadonlyMap<Run, Derivation> {
  const weak = new Map<Run, Derivation>();
  for (const run of context.system.runs) {
    const drop = context.quantity(run, 'voltageDrop');
    const ratio = drop.kind === 'known' ? drop.derivation.parts['ratio'] : undefined;
    if (ratio && numberIn(ratio, '') >= SUSPICIOUS) weak.set(run, ratio);
  }
  return weak;
}

/** Nodes of banks that lose much of their voltage inside at the current they are asked for. */
function weakBanks(context: DesignContext): Node[] {
  return context.system.instances.flatMap((bank) => {
    if (!isBank(bank) || !bank.properties.has('resistance')) return [];
    const node = context.graph.nodesOf(bank)[0]!;
    const inner = context.quantity(bank, 'bankResistance');
    const volts = context.quantity(bank, 'bankVoltage');
    if (inner.kind !== 'known' || volts.kind !== 'known') return [];
    const amperes = context.graph.segmentsAt(node).reduce((sum, { run }) => {
      const current = context.quantity(run, 'current');
      return current.kind === 'known' ? sum + numberIn(current.derivation, 'A') : sum;
    }, 0);
    const ohms = typeof inner.derivation.value === 'object' ? inner.derivation.value.high : 0;
    return amperes * ohms >= SUSPICIOUS * numberIn(volts.derivation, 'V') ? [node] : [];
  });
}

/** Share of its capacity in an hour from which a bank may lose a tenth of its voltage inside: common practice, no source. */
const HEAVY = 0.5;

/** Banks of unknown resistance that give much for their size. */
const unknownBanks = (context: DesignContext): Instance[] =>
  context.system.instances.filter((bank) => {
    if (!isBank(bank) || context.quantity(bank, 'bankResistance').kind === 'known') return false;
    const current = context.quantity(bank, 'dischargeCurrent');
    const capacity = context.quantity(bank, 'bankCapacity');
    return (
      current.kind === 'known' &&
      capacity.kind === 'known' &&
      numberIn(current.derivation, 'A') > HEAVY * numberIn(capacity.derivation, 'Ah')
    );
  });

/** What is asked of a network: all stated loads, the ratings of its inverters, their surge, or one load at the lowest voltage of its bus. */
type Asked = 'stated' | 'power' | 'surge' | 'lowest';

interface Collapse {
  readonly at: Node;
  readonly state: SourceState;
  readonly asked: Asked;
  readonly from: string;
  /** Share of their ratings that its inverters still give together; with `power` only. */
  readonly share?: number;
}

const collapseOf = <T>(solved: Solved<T>): Node | undefined => (solved.ok ? undefined : solved.collapsesAt);

function* directCollapses(nodes: readonly Node[], context: DesignContext): Generator<Collapse> {
  const islands = new Map(nodes.map((node) => [context.graph.reach(node), node]));
  for (const node of islands.values())
    for (const { state, circuit } of context.circuitStates)
      for (const asked of ['stated', 'power', 'surge'] as const) {
        const at = collapseOf(solveDirect(node, state, circuit, context, asked));
        if (!at) continue;
        const bank = context.graph.joinedTo(node).find(isBank);
        const share = asked === 'power' ? { share: holdingShare(node, state, circuit, context) } : {};
        yield { at, state, asked, from: bank?.name ?? node.instance.name, ...share };
        // What gives way for less gives way for more.
        break;
      }
}

/** The share of their ratings, in whole percent, that inverters give together before the network gives way. */
function holdingShare(node: Node, state: SourceState, circuit: CircuitState, context: DesignContext): number {
  let [holds, fails] = [0, 100];
  while (fails - holds > 1) {
    const percent = Math.floor((holds + fails) / 2);
    if (collapseOf(solveDirect(node, state, circuit, context, 'power', { share: percent / 100 }))) fails = percent;
    else holds = percent;
  }
  return holds / 100;
}

function* alternatingCollapses(runs: Iterable<Run>, context: DesignContext): Generator<Collapse> {
  const nodes = [...runs].map((run) => context.graph.nodeOf(run.from));
  for (const { state, circuit } of context.circuitStates)
    for (const source of feeding(nodes, circuit)) {
      if (!systemOf(source)) continue;
      const at = collapseOf(solveAlternating(source, state, circuit, context));
      if (at) yield { at, state, asked: 'stated', from: source.name };
    }
}

/** Loads whose cables do not carry their power once the voltage of the bus is at its lowest. */
function* lowestCollapses(runs: readonly Run[], context: DesignContext): Generator<Collapse> {
  const [first] = context.states;
  const islands = new Set(runs.map((run) => context.graph.reach(context.graph.nodeOf(run.from))));
  for (const island of islands)
    for (const at of island.values()) {
      if (!first || !isLoad(at.instance) || isCarriedAtLowest(at.instance, context)) continue;
      const bank = context.graph.joinedTo(at).find(isBank);
      yield { at, state: first, asked: 'lowest', from: bank?.name ?? 'the converter' };
    }
}

const feeding = (nodes: readonly Node[], circuit: CircuitState) =>
  new Set(nodes.flatMap((node) => [...(circuit.supply.get(node.key) ?? [])]));

/** Every place where a network of the design gives way, in any state. */
function* collapsesIn(context: DesignContext, weak: ReadonlyMap<Run, Derivation>): Generator<Collapse> {
  const direct = [...weak.keys()].filter(({ carries }) => carries === 'dc');
  const alternating = [...weak.keys()].filter(({ carries }) => carries === 'ac');
  const nodes = direct.map((run) => context.graph.nodeOf(run.from));
  yield* directCollapses([...nodes, ...weakBanks(context)], context);
  yield* lowestCollapses(direct, context);
  yield* alternatingCollapses(alternating, context);
}

/** A larger size for the one weak run of a network, where nothing gives way with it; with several, none alone is sure to mend it. */
function fixesFor(weak: readonly Run[], context: DesignContext): readonly Way[] {
  const [run, ...others] = weak;
  if (!run || others.length > 0) return [];
  const holds = ({ size }: Setup): boolean => {
    const after = withRuns(new Map([[run, { size: numberIn(size, 'mm2') }]]), context).context;
    for (const _collapse of collapsesIn(after, weakRuns(after))) return false;
    return true;
  };
  return [largerSize(run, { target: 'voltage-drop', accepts: holds })];
}

function failure(collapse: Collapse, weak: ReadonlyMap<Run, Derivation>, context: DesignContext): Verdict {
  const { at, state, asked, from, share } = collapse;
  const { instance } = at;
  const carries = context.graph.segmentsAt(at)[0]?.run.carries;
  const runs = [...weak.keys()].filter((run) => run.carries === carries);
  const worst = runs.reduce<Run | undefined>(
    (so, next) => (so && numberIn(weak.get(so)!, '') >= numberIn(weak.get(next)!, '') ? so : next),
    undefined,
  );
  const fixes = fixesFor(runs, context);
  const loses = worst
    ? `${worst.name} alone would lose ${displayValue(weak.get(worst)!, 3)} of the nominal voltage`
    : `the bank’s own resistance loses more than ${formatNumber(SUSPICIOUS * 100)} %`;
  const rated = asked === 'power' ? heldPower(at, share ?? 0, context) : undefined;
  const what = {
    stated: '',
    power: ' at the ratings of its inverters',
    surge: ' at surge',
    lowest: ' at its lowest voltage',
  }[asked];
  return {
    verdict: 'failed',
    subject: instance.path,
    place: instance.place,
    // The stated loads run: only what may be plugged in, a start, or a bank that is nearly empty brings it down.
    ...(asked === 'stated' ? {} : { severity: 'warning' as const }),
    headline: `The voltage at ${instance.name} collapses: what ${from} feeds needs more${what} than its cables deliver`,
    ...whyOf(asked !== 'lowest' && context.states.length > 1 && `with ${state.title}`, loses, rated),
    consequence: 'nothing there runs; a load of constant power draws more the lower the voltage',
    advice: 'It needs larger or shorter cables, a stronger bank, or less load.',
    use: NO_LIMIT,
    numbers: worst ? { ratio: weak.get(worst)! } : {},
    related: runs.map((run) => ({ place: run.place, text: `${run.name} loses much of the voltage` })),
    fixes,
  };
}

/** At which output the inverters of a network still hold, in words. */
function heldPower(at: Node, share: number, context: DesignContext): string {
  const inverters = [...context.graph.reach(at).values()].flatMap(({ instance, terminal }) => {
    const rated = invertingOf(instance)?.from === terminal.name ? context.maybe(instance, 'rated') : undefined;
    return rated ? [{ instance, rated }] : [];
  });
  const each = inverters.map(({ instance, rated }) => {
    const most = derive('output that holds', numberIn(rated, 'W') * share, 'W');
    const [holds, whole] = pairText(most, rated);
    return `${instance.name} holds at ${holds} of ${whole}`;
  });
  return firstFew(each, 2);
}

export const voltageCollapse = defineCheck({
  id: 'voltage-collapse',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Loads demand more power than their cables and source can deliver at any voltage.',
    guards: 'Converters that start, drag their supply down, drop out and start again, and never run.',
    how: points(
      'Where a run or the inside of a bank would lose a tenth of the nominal voltage or more, the network is solved in that source state. One without a solution is reported at the place where it gives way; a single load over one resistance does at P = U²/4R.',
      'Conductors count with their resistance (and reactance) out and back, banks at nominal voltage behind their highest resistance, loads and chargers as constant power.',
      'Inverters first with what their stated loads draw: an error. Then at their rating and at surge: a warning, with the output at which it still holds.',
      'At last each direct-current load over its cables alone at the lowest voltage of its bus, at which the currents of runs are worked out: a warning. A load that states a `minimumVoltage` above half of that has stopped before.',
      'The resistance of a bank that is not stated is a question where more than half of its capacity is drawn in an hour.',
    ),
    fix: 'Use larger or shorter cables, a stronger bank, or less load.',
    sources: [PUBLISHED('maximum power transfer, P = U²/4R')],
    failing: `design Barn {
  battery Bank { voltage: 24 V   capacity: 200 Ah   chemistry: lfp   cells: 8   resistance: 5 mohm }
  load Winch { power: 3 kW   supply: dc }
  run Line: Bank -> Winch { size: 6 AWG   length: 20 m }
}
`,
    passing: `design Barn {
  battery Bank { voltage: 24 V   capacity: 200 Ah   chemistry: lfp   cells: 8   resistance: 5 mohm }
  load Winch { power: 3 kW   supply: dc }
  run Line: Bank -> Winch { size: 4/0 AWG   length: 5 m }
}
`,
  },
  judge: function* (context) {
    const weak = weakRuns(context);
    const told = new Set<Node>();
    for (const collapse of collapsesIn(context, weak)) {
      if (told.has(collapse.at)) continue;
      told.add(collapse.at);
      yield failure(collapse, weak, context);
    }
    if (told.size > 0) return;
    for (const bank of unknownBanks(context))
      return yield notChecked(
        { path: context.system.name, place: placeOf(bank, 'resistance') },
        { kind: 'missing', missing: [`resistance of ${bank.name}`] },
      );
    if (context.system.runs.length > 0) yield passed({ path: context.system.name }, NO_LIMIT);
  },
});
