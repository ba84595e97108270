import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Run } from '../../model/types.js';
import { dropSystem } from '../conductors/conductor.js';
import type { QuantityContext } from '../define.js';
import { sharedAlternatingCurrent, sharedCurrent } from '../network/solution.js';
import { whenKnown } from '../worst.js';
import { isBank } from '../../model/roles.js';
import { dcSupply } from './direct-flows.js';
import { acFeeds, acFlow, dcRunWays, heldTo, legCurrents } from './flow.js';

/** What a run carries at most in one state, towards its far ends, towards its `from` end, or either way where conductors close a loop. */
export interface RunFlow {
  readonly towards: 'far' | 'near' | 'either';
  readonly current: Result;
  /** Power at nominal voltage; apparent power for alternating current. Missing where the voltage is. */
  readonly power: Result;
}

/** The most that a run carries in one state, each way in which it can carry anything. Empty where it carries nothing. */
export function runFlowsIn(
  run: Run,
  { state, circuit }: { readonly state: SourceState; readonly circuit: CircuitState },
  context: QuantityContext,
): readonly RunFlow[] {
  const flows =
    run.carries === 'dc' ? directFlows(run, state, circuit, context) : alternatingFlows(run, state, circuit, context);
  return flows.map(({ towards, current }) => ({
    towards,
    current,
    power: whenKnown(current, (amperes) =>
      whenKnown(context.quantity(run, 'nominalVoltage'), (volts) => known(powerOf(run, amperes, volts, context))),
    ),
  }));
}

type Flow = Pick<RunFlow, 'towards' | 'current'>;

/** Of several results for one way the largest; a missing one decides, since it could be the largest. */
function largest(results: readonly Result[]): Result | undefined {
  const open = results.find(({ kind }) => kind !== 'known');
  if (open) return open;
  let most: Derivation | undefined;
  for (const result of results)
    if (result.kind === 'known' && (!most || numberIn(result.derivation, 'A') > numberIn(most, 'A')))
      most = result.derivation;
  return most && numberIn(most, 'A') > 0 ? known(most) : undefined;
}

const asFlows = (towards: RunFlow['towards'], results: readonly Result[]): Flow[] => {
  const current = largest(results);
  return current ? [{ towards, current }] : [];
};

function directFlows(run: Run, state: SourceState, circuit: CircuitState, context: QuantityContext): Flow[] {
  if (context.graph.groups(run).loop)
    return asFlows('either', [sharedCurrent(run, state, circuit, context, { key: 'I_b', counts: () => true })]);
  const own = dcRunWays(run, context, 'I_b', () => true).find((each) => each.state === state);
  const ways = own?.ways ?? [];
  // They come in pairs: from the near side to the far one, and back.
  return [
    ...asFlows(
      'far',
      ways.filter((_, index) => index % 2 === 0),
    ),
    ...asFlows(
      'near',
      ways.filter((_, index) => index % 2 === 1),
    ),
  ];
}

function alternatingFlows(run: Run, state: SourceState, circuit: CircuitState, context: QuantityContext): Flow[] {
  if (circuit.graph.sides(run).loop) return asFlows('either', sharedAlternatingCurrent(run, state, circuit, context));
  const feeds = acFeeds(run, circuit, context);
  const towards = acFlow(run, circuit, context)?.towards;
  const currentOf = (each: (typeof feeds)[number]): Result =>
    heldTo(legCurrents(each.nodes.values(), each.source, context).result, each.most);
  if (towards) return asFlows(towards, feeds.map(currentOf));
  return (['far', 'near'] as const).flatMap((way) =>
    asFlows(way, feeds.filter((each) => each.towards === way).map(currentOf)),
  );
}

/** Formula of the power of a circuit by its kind, at nominal voltage between lines. */
const POWER = {
  dc: { factor: 1, unit: 'W', formula: 'U·I' },
  single: { factor: 1, unit: 'VA', formula: 'U·I' },
  three: { factor: Math.sqrt(3), unit: 'VA', formula: '√3·U·I' },
} as const;

function powerOf(run: Run, current: Derivation, voltage: Derivation, context: QuantityContext): Derivation {
  const { factor, unit, formula } = POWER[dropSystem(run, context)];
  return derive('power in this state', factor * numberIn(voltage, 'V') * numberIn(current, 'A'), unit, {
    symbol: 'P',
    formula,
    inputs: [voltage, current],
  });
}

/**
 * The nodes that are live in a state, by key: alternating ones that anything feeds (from behind, too), direct ones that a bank is joined to or
 * that something charges.
 */
export function liveNodesIn(
  { state, circuit }: { readonly state: SourceState; readonly circuit: CircuitState },
  context: QuantityContext,
): ReadonlySet<string> {
  const live = new Set([...circuit.supply, ...circuit.backfed].flatMap(([key, by]) => (by.size > 0 ? [key] : [])));
  for (const node of circuit.graph.nodes.values()) {
    if (live.has(node.key) || node.terminal.carries === 'ac') continue;
    if (!isBank(node.instance) && !dcSupply(node, state, circuit, context)) continue;
    for (const key of circuit.graph.reach(node).keys()) live.add(key);
  }
  return live;
}
