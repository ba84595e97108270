import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import { query } from '../../model/context.js';
import type { SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { collect, sumOf } from '../worst.js';
import { acFeeds, dcRunWays, heldTo, lastsLong, legCurrents } from './flow.js';

/**
 * What one conductor of a run carries in one state and in one way, with the part of it that lasts three hours or more. The two belong
 * together: what lasts on one leg, or in one state, is never counted with what does not last on another.
 */
export interface Loading {
  readonly state: SourceState;
  readonly whole: Derivation;
  readonly continuous: Derivation;
  /** The source that feeds it; none on direct current, and where no one can be told. */
  readonly source?: Instance;
}

export const isLoadings = (outcome: Result | readonly Loading[]): outcome is readonly Loading[] =>
  Array.isArray(outcome);

const NOTHING = derive('continuous current', 0, 'A', { symbol: 'I_c' });

/** The loadings of the legs of a source by what hangs on some nodes, and what lasts of them. */
export function legLoadings(
  nodes: readonly Node[],
  source: Instance,
  state: SourceState,
  context: QuantityContext,
  at: 'lowest' | 'nominal' = 'lowest',
): Result | readonly Loading[] {
  const all = legCurrents(nodes, source, context, at);
  if (all.result.kind !== 'known') return all.result;
  // While loads that last less long are off, a charger that passes its supply on takes all that its input limit leaves.
  const lasting = legCurrents(
    nodes.filter((node) => lastsLong(node, context)),
    source,
    context,
    at,
  );
  if (lasting.result.kind !== 'known') return lasting.result;
  const legs = [...new Set([...all.perLeg.keys(), ...lasting.perLeg.keys()])].sort();
  return legs.map((leg) => ({
    state,
    source,
    whole: sumOf('design current', 'I_b', 'A', all.perLeg.get(leg) ?? [], { kind: 'leg', leg }),
    continuous: sumOf('continuous current', 'I_c', 'A', lasting.perLeg.get(leg) ?? [], { kind: 'leg', leg }),
  }));
}

/** What does not last three hours of a loading. */
export function restOf({ whole, continuous }: Loading): Derivation {
  return derive('noncontinuous current', Math.max(0, numberIn(whole, 'A') - numberIn(continuous, 'A')), 'A', {
    symbol: 'I_n',
    formula: 'I_b − I_c',
    inputs: [whole, continuous],
  });
}

/** Current and lasting current of a run where no leg, state or way can be told apart: the largest of each. */
function asOne(run: Run, context: QuantityContext): Result | readonly Loading[] {
  const all = collect([context.quantity(run, 'current'), context.quantity(run, 'continuousCurrent')]);
  if (!all.ok) return all.result;
  const [whole, continuous] = all.derivations as [Derivation, Derivation];
  const [first] = context.circuitStates;
  return first ? [{ state: first.state, whole, continuous }] : missing(`a supply of ${run.name}`);
}

function ofDirect(run: Run, context: QuantityContext): Result | readonly Loading[] {
  const whole = dcRunWays(run, context, 'I_b', () => true);
  const lasting = dcRunWays(run, context, 'I_c', (node) => lastsLong(node, context));
  const loadings: Loading[] = [];
  for (const [index, { state, ways }] of whole.entries()) {
    const all = collect(ways);
    const long = collect(lasting[index]!.ways);
    if (!all.ok) return all.result;
    if (!long.ok) return long.result;
    for (const [way, current] of all.derivations.entries())
      loadings.push({
        state,
        whole: { ...current, name: 'design current', symbol: 'I_b' },
        continuous: { ...(long.derivations[way] ?? NOTHING), name: 'continuous current', symbol: 'I_c' },
      });
  }
  return loadings;
}

/** A loading no larger than the most that its sources give. */
function heldLoading(loading: Loading, most: Derivation | undefined): Loading {
  const held = (current: Derivation): Derivation => {
    const result = heldTo(known(current), most);
    return result.kind === 'known' ? result.derivation : current;
  };
  return most ? { ...loading, whole: held(loading.whole), continuous: held(loading.continuous) } : loading;
}

function findLoadings(run: Run, context: QuantityContext): Result | readonly Loading[] {
  if (run.carries === 'dc') {
    const loadings = ofDirect(run, context);
    return isLoadings(loadings) && loadings.length === 0 ? asOne(run, context) : loadings;
  }
  if (run.carries !== 'ac') return missing(`whether ${run.name} carries AC or DC`);
  // How long each part of a shared current lasts is not told apart.
  if (context.graph.sides(run).loop) return asOne(run, context);
  const loadings: Loading[] = [];
  for (const { state, circuit } of context.circuitStates) {
    for (const { source, nodes, most } of acFeeds(run, circuit, context)) {
      const legs = legLoadings([...nodes.values()], source, state, context);
      if (!isLoadings(legs)) return legs;
      loadings.push(...legs.map((leg) => heldLoading(leg, most)));
    }
  }
  return loadings.length > 0 ? loadings : asOne(run, context);
}

const LOADINGS = query<Run, Result | readonly Loading[]>('what each conductor of a run carries, and for how long');

/** What a run carries, by state and by conductor. */
export const loadingsOf = (run: Run, context: QuantityContext): Result | readonly Loading[] =>
  context.kept(LOADINGS, run, () => findLoadings(run, context));

/** The largest need (A) of any conductor of a run in any state; `needOf` says what one of them needs. */
export function worstNeed(run: Run, context: QuantityContext, needOf: (loading: Loading) => Result): Result {
  const loadings = loadingsOf(run, context);
  if (!isLoadings(loadings)) return loadings;
  const all = collect(loadings.map(needOf));
  if (!all.ok) return all.result;
  return known(all.derivations.reduce(larger));
}

const larger = (so: Derivation, next: Derivation): Derivation =>
  numberIn(next, 'A') > numberIn(so, 'A') * (1 + 1e-12) ? next : so;
