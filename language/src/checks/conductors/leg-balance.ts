import { firstFew } from '../text/wording.js';
import {
  type Derivation,
  type Result,
  derive,
  displayValue,
  known,
  missing,
  numberIn,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { legCurrents } from '../../quantities/flow/flow.js';
import { type Leg, connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { formatNumber } from '../../quantity/index.js';
import { defineCheck, type Fix, type Verdict, atMost, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, fullest, whyOf } from '../verdicts.js';
import { PRACTICE } from '../sources/shared.js';
import { isInverter, isJoint, isLoad, isPlainCharger, isService, isSet, ownDeviceOf } from '../../model/roles.js';
import { loadCurrentOn } from '../../quantities/demand/loads.js';

/** Current a source gives on each leg; undefined for things that are no source of several legs. */
function perLegRating(source: Instance, context: DesignContext): Result | undefined {
  const system = systemOf(source);
  if (!system || (system.phases === 'single' && !ownLeg(source))) return undefined;
  if (isInverter(source)) {
    const power = context.maybe(source, 'apparent') ?? context.maybe(source, 'rated');
    if (!power) return missing(`rated of ${source.name}`);
    const factor = system.phases === 'three' ? Math.sqrt(3) : 1;
    return known(
      derive('rated current', numberIn(power, 'W') / (factor * system.lineToLine), 'A', {
        symbol: 'I_r',
        formula: factor === 1 ? 'S/U' : 'S/(√3·U)',
        inputs: [power, derive('voltage between lines', system.lineToLine, 'V', { symbol: 'U' })],
      }),
    );
  }
  if (isSet(source)) return context.quantity(source, 'ratedCurrent');
  const service = ownDeviceOf(source);
  return service && context.fact(source, service.rating);
}

/** What one source carries on its legs in one state. */
interface Loading {
  readonly source: Instance;
  readonly state: SourceState;
  readonly rating: Derivation;
  readonly legs: ReadonlyMap<Leg, readonly Derivation[]>;
  readonly all: readonly Leg[];
}

const LEGS: Readonly<Record<string, readonly Leg[]>> = { split: ['L1', 'L2'], three: ['L1', 'L2', 'L3'] };

const fedBy = (source: Instance, circuit: CircuitState, context: DesignContext): Node[] =>
  [...circuit.supply].flatMap(([key, feeders]) => {
    const node = feeders.has(source) ? context.graph.nodes.get(key) : undefined;
    return node ? [node] : [];
  });

const total = (parts: readonly Derivation[] | undefined): number =>
  (parts ?? []).reduce((sum, part) => sum + numberIn(part, 'A'), 0);

/** The one leg that a single-phase source says it is connected to, as inverters do that make up a split-phase panel. */
function ownLeg(source: Instance): Leg | undefined {
  const value = source.properties.get('legs')?.value;
  const isSingle = systemOf(source)?.phases === 'single';
  return isSingle && value?.type === 'words' && value.words.length === 1 ? (value.words[0] as Leg) : undefined;
}

const legsOf = (load: Instance): readonly string[] => {
  const value = load.properties.get('legs')?.value;
  return value?.type === 'words' ? value.words : ['L1'];
};

/** What a source of one leg carries: the loads of its panel on that leg; one between two legs draws half the current from each. */
function onOwnLeg(
  source: Instance,
  leg: Leg,
  nodes: readonly Node[],
  context: DesignContext,
): { result: Result; perLeg: ReadonlyMap<Leg, readonly Derivation[]> } {
  const loads = [...new Set(nodes.map(({ instance }) => instance))].filter(
    (each) => isLoad(each) && legsOf(each).includes(leg),
  );
  if (loads.length === 0) return { result: missing(`a load on ${leg} of ${source.name}`), perLeg: new Map() };
  const all = collect(loads.map((load) => loadCurrentOn(load, source, context).result));
  if (!all.ok) return { result: all.result, perLeg: new Map() };
  const parts = all.derivations.map((current, index) => {
    const load = loads[index]!;
    const count = legsOf(load).length;
    const share = derive(`current of ${load.name} on ${leg}`, numberIn(current, 'A') / count, 'A', {
      symbol: `I_${load.name}`,
      formula: count === 1 ? 'I' : `I/${count}`,
      inputs: [current],
    });
    return share;
  });
  return { result: known(sumOf('leg current', 'I', 'A', parts)), perLeg: new Map([[leg, parts]]) };
}

/** Amperes on each leg, as if loads stood on other legs. */
function amperesOn({ legs, all }: Loading, moved: ReadonlyMap<string, Leg>): number[] {
  const sums = new Map(all.map((leg) => [leg, 0]));
  for (const [leg, parts] of legs)
    for (const part of parts) {
      const to = moved.get(part.symbol ?? '') ?? leg;
      sums.set(to, (sums.get(to) ?? 0) + numberIn(part, 'A'));
    }
  return [...sums.values()];
}

function isSound(loading: Loading, moved: ReadonlyMap<string, Leg>, share: number): boolean {
  const amperes = amperesOn(loading, moved);
  const rated = numberIn(loading.rating, 'A') * (1 + 1e-9);
  return Math.max(...amperes) <= rated && Math.max(...amperes) - Math.min(...amperes) <= share * rated;
}

/** Loads on one leg that may be put on another: those whose run does not say its legs. */
function movable(context: DesignContext): ReadonlyMap<string, Instance> {
  const bound = new Set(
    context.system.runs
      .filter(({ properties }) => properties.has('legs'))
      .flatMap(({ to }) => to.map((s) => s.instance)),
  );
  return new Map(
    context.system.instances.filter((each) => isLoad(each) && !bound.has(each)).map((each) => [`I_${each.name}`, each]),
  );
}

/** Fewest loads to move so that every source is sound in every state: one, else the largest ones in turn. */
function fixesFor(at: Loading, loadings: readonly Loading[], share: number, context: DesignContext): Fix[] {
  const candidates = movable(context);
  const isWhole = (moved: ReadonlyMap<string, Leg>): boolean =>
    // What is wrong elsewhere for reasons of its own stays wrong.
    loadings.every((each) => isSound(each, moved, share) || (each !== at && !isSound(each, new Map(), share))) &&
    isSound(at, moved, share);
  const onOneLeg = [...at.legs]
    .flatMap(([leg, parts]) => parts.map((part) => ({ leg, part })))
    .filter(({ part }) => {
      const load = candidates.get(part.symbol ?? '');
      const connection = load && connect(load, systemOf(at.source)!, context);
      return connection && !missingFrom(connection) && connection.legs.length === 1;
    })
    .sort((a, b) => numberIn(b.part, 'A') - numberIn(a.part, 'A'));
  const edit = (moved: ReadonlyMap<string, Leg>): Fix[] => [
    propose(
      `Put ${[...moved].map(([symbol, leg]) => `${candidates.get(symbol)!.name} on ${leg}`).join(' and ')}`,
      [...moved].map(([symbol, leg]) => setProperty(candidates.get(symbol)!, 'legs', leg)),
      true,
    ),
  ];
  for (const { part, leg } of [...onOneLeg].reverse())
    for (const to of at.all.filter((each) => each !== leg)) {
      const moved = new Map([[part.symbol!, to]]);
      if (isWhole(moved)) return edit(moved);
    }
  // Largest first, each on the leg that carries least so far.
  const sums = new Map(at.all.map((leg) => [leg, 0]));
  const stays = (part: Derivation): boolean => !onOneLeg.some((each) => each.part === part);
  for (const [leg, parts] of at.legs)
    for (const part of parts) if (stays(part)) sums.set(leg, sums.get(leg)! + numberIn(part, 'A'));
  const moved = new Map<string, Leg>();
  for (const { part, leg } of onOneLeg) {
    const least = Math.min(...sums.values());
    const to =
      (sums.get(leg) ?? Infinity) <= least * (1 + 1e-9) ? leg : at.all.find((each) => sums.get(each)! <= least)!;
    sums.set(to, sums.get(to)! + numberIn(part, 'A'));
    if (to !== leg) moved.set(part.symbol!, to);
  }
  return moved.size > 0 && isWhole(moved) ? edit(moved) : [];
}

function judgeLoading(
  loading: Loading,
  loadings: readonly Loading[],
  limit: Derivation,
  context: DesignContext,
): Verdict | undefined {
  const { source, state, rating, legs, all } = loading;
  const share = numberIn(limit, '');
  const sums = all.map((leg) => sumOf(`current on ${leg}`, `I_${leg}`, 'A', legs.get(leg) ?? []));
  const numbers = { ...Object.fromEntries(sums.map((sum, index) => [all[index]!, sum])), limit: rating };
  const busiest = sums.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so));
  const quietest = sums.reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so));
  const difference = derive('difference between the legs', numberIn(busiest, 'A') - numberIn(quietest, 'A'), 'A', {
    inputs: sums,
  });
  const mayDiffer = derive('difference allowed', share * numberIn(rating, 'A'), 'A', {
    formula: 'legDifference·I_r',
    inputs: [limit, rating],
  });
  if (isSound(loading, new Map(), share))
    return passed(source, fullest(atMost(busiest, rating), atMost(difference, mayDiffer)), numbers);
  const isTooMuch =
    amperesOn(loading, new Map()).reduce((sum, each) => sum + each, 0) > all.length * numberIn(rating, 'A');
  // What asks a set for more than all of it gives is no matter of its legs: `generator-overload` says so.
  if (isTooMuch && isSet(source)) return undefined;
  const [carried, rated] = pairText(busiest, rating);
  const isOver = numberIn(busiest, 'A') > numberIn(rating, 'A') * (1 + 1e-9);
  const fixes = isTooMuch ? [] : fixesFor(loading, loadings, share, context);
  const each = firstFew(sums.map((sum, index) => `${displayValue(sum, 3)} on ${all[index]!}`));
  const [differs, allowed] = pairText(difference, mayDiffer);
  return {
    verdict: 'failed',
    subject: source.path,
    place: placeOf(source, isService(source) ? 'rating' : 'rated'),
    headline: isOver
      ? `${source.name} carries ${carried} on one leg; each gives ${rated}`
      : `The legs of ${source.name} differ by ${differs}; at most ${allowed} allowed`,
    ...whyOf(
      each,
      context.states.length > 1 && `with ${state.title}`,
      isOver && 'everything running at once',
      !isOver && `${formatNumber(share * 100)} % of ${displayValue(rating, 3)} on each`,
    ),
    ...(isOver
      ? {}
      : {
          rule: 'a rule of thumb, set by `legDifference`',
          consequence: `part of ${source.name} is idle and the voltages of the legs drift apart`,
        }),
    advice: isTooMuch
      ? `Run fewer loads at once, or choose a larger ${isSet(source) ? 'generator' : isService(source) ? 'service' : 'inverter'}.`
      : 'Move loads to another leg, or feed them through a balancing transformer.',
    use: isOver ? atMost(busiest, rating) : atMost(difference, mayDiffer),
    numbers,
    fixes,
  };
}

/** What makes a leg carry something. */
const isConsumer = (instance: Instance): boolean => isLoad(instance) || isPlainCharger(instance);

/** The loadings of every source of several legs, and what kept others from being worked out. */
function loadingsOf(context: DesignContext): { loadings: Loading[]; open: { source: Instance; result: Result }[] } {
  const loadings: Loading[] = [];
  const open: { source: Instance; result: Result }[] = [];
  for (const source of context.system.instances) {
    const rating = perLegRating(source, context);
    if (!rating) continue;
    for (const { state, circuit } of context.circuitStates) {
      const nodes = fedBy(source, circuit, context);
      const isFeeding = nodes.some(({ instance }) => isConsumer(instance) || isJoint(instance));
      if (!isFeeding || (!ownLeg(source) && !nodes.some(({ instance }) => isConsumer(instance)))) continue;
      const leg = ownLeg(source);
      const { result, perLeg } = leg
        ? onOwnLeg(source, leg, nodes, context)
        : legCurrents(nodes, source, context, 'nominal');
      if (rating.kind !== 'known' || result.kind !== 'known') {
        open.push({ source, result: rating.kind === 'known' ? result : rating });
        break;
      }
      if ([...perLeg.values()].every((parts) => total(parts) === 0)) continue;
      loadings.push({
        source,
        state,
        rating: rating.derivation,
        legs: perLeg,
        all: leg ? [leg] : LEGS[systemOf(source)!.phases]!,
      });
    }
  }
  return { loadings, open };
}

export const legBalance = defineCheck({
  id: 'leg-balance',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'One leg of a supply carries more than the supply gives on a leg, or the legs carry very unlike currents.',
    guards:
      'Half a generator can be overloaded while its wattmeter shows room; unlike legs also drift apart in voltage.',
    how: points(
      'In every source state the loads and chargers of each split-phase or three-phase generator, service or inverter are added up on their legs at nominal voltage.',
      'They are held against what it gives on one leg: rated apparent power over the voltage between lines, or the service rating.',
      'Legs may differ by `legDifference` of that, 50 % unless set (a rule of thumb).',
      'Single-phase inverters that state one leg each are judged by the loads on that leg.',
      'The fix moves the fewest loads that satisfy every source in every state; loads whose run states its legs stay where they are.',
    ),
    fix: 'Move loads to the other leg, or use a supply that gives more on a leg.',
    sources: [PRACTICE],
    failing: `design Camp {
  generator Genset { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Kettle { power: 1.8 kW   voltage: 120 V   legs: L1 }
  load Heater { power: 1.5 kW   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run LineA: Panel -> Kettle { size: 12 AWG   length: 10 m }
  run LineB: Panel -> Heater { size: 12 AWG   length: 10 m }
}
`,
    passing: `design Camp {
  generator Genset { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Kettle { power: 1.8 kW   voltage: 120 V   legs: L1 }
  load Heater { power: 1.5 kW   voltage: 120 V   legs: L2 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run LineA: Panel -> Kettle { size: 12 AWG   length: 10 m }
  run LineB: Panel -> Heater { size: 12 AWG   length: 10 m }
}
`,
  },
  judge: function* (context) {
    const limit = context.setting('legDifference');
    if (!limit) return;
    const { loadings, open } = loadingsOf(context);
    for (const { source, result } of open) yield notChecked(source, result);
    const worst = new Map<Instance, Verdict>();
    for (const loading of loadings) {
      const verdict = judgeLoading(loading, loadings, limit, context);
      // The first state that fails speaks for the source.
      if (verdict && worst.get(loading.source)?.verdict !== 'failed') worst.set(loading.source, verdict);
    }
    yield* worst.values();
  },
});
