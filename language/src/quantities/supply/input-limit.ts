/** What to set as the input limit of a charger or an inverter that passes its supply on, for each supply that can feed it. */
import { mayChargeFromAlternating, mayPassByRelay } from '../../equipment/index.js';
import { type Derivation, type Result, becauseOf, derive, known, missing, numberIn } from '../../derivation/index.js';
import {
  chargingOf,
  isAcSource,
  isBreaker,
  isDevice,
  isLoad,
  ownDeviceOf,
  ownDeviceTitle,
  passingOf,
} from '../../model/roles.js';
import { partArgument } from '../../model/lower/property-facts.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import { continuousLimits } from '../conductors/continuous-limits.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { runningTogether } from '../demand/steady-share.js';
import { acFlow, continuousLegCurrent, legCurrents } from '../flow/flow.js';
import { inputPowerFactor } from '../plant/chargers.js';
import { supplyAround } from '../plant/feeders.js';
import { collect } from '../worst.js';
import { loadsBehind } from './passed-loads.js';
import { fedBy } from './supply.js';

/** Something that bounds what may be set, with what else it carries. */
interface Bound {
  readonly most: Derivation;
  readonly others?: Derivation;
  /** What it is, for messages: `the NEMA-5-15 outlet of Garage`. */
  readonly title: string;
}

/** The limit to set while one supply feeds, and what decided it. */
export interface LimitToSet {
  readonly source: Instance;
  readonly result: Result;
  readonly title?: string;
}

/** The terminal at which it takes its supply. */
export function supplyTerminal(thing: Instance): string | undefined {
  const supply = chargingOf(thing)?.supply;
  return supply?.kind === 'alternating' ? supply.at : passingOf(thing)?.from[0];
}

const others = (own: Instance, nodes: Iterable<Node>, context: QuantityContext): Node[] => {
  // What it passes on it takes within its own limit.
  const behind = loadsBehind(own, context);
  return [...nodes].filter((node) => node.instance !== own && !behind.has(node.instance));
};

/** Ratings of the plugs and outlets of a run: by IEC standards they carry them for hours. */
const plugRatings = (run: Run): { readonly current: Derivation; readonly title: string }[] =>
  [run.from, ...run.through, ...run.to].flatMap(({ instance: owner }) =>
    (['plug', 'outlet'] as const).flatMap((property) => {
      const value = owner.properties.get(property)?.value;
      const current = value?.type === 'part' ? partArgument(value.part).fact('rating') : undefined;
      return value?.type === 'part' && current
        ? [{ current, title: `the ${value.part.name} ${property} of ${owner.name}` }]
        : [];
    }),
  );

/** The bounds of one run on the way: what of its plugs, devices and conductors carries for hours. */
function boundsOfRun(run: Run, source: Instance, nodes: readonly Node[], context: QuantityContext): Bound[] | Result {
  const beside = continuousLegCurrent(nodes, source, context);
  if (beside.kind !== 'known') return beside;
  const { practice } = context.system.basis;
  const share = ruleValue('nec', 'plugContinuousShare');
  const shared = (name: string, amperes: Derivation): Derivation =>
    derive(name, numberIn(amperes, 'A') * numberIn(share, ''), 'A', { formula: '0.8·I', inputs: [share, amperes] });
  const limits = practice === 'iec' ? plugRatings(run) : continuousLimits(run, context);
  const bounds: Bound[] = limits.map(({ current, title }) => ({ most: current, title, others: beside.derivation }));
  for (const { instance: device } of [run.from, ...run.through, ...run.to]) {
    const rating =
      isDevice(device) && (practice === 'iec' || !isBreaker(device)) ? context.maybe(device, 'rating') : undefined;
    if (!rating) continue;
    const isFull = practice === 'iec' || context.maybe(device, 'fullRating')?.value === true;
    bounds.push({
      most: isFull ? rating : shared('continuous current', rating),
      title: device.name,
      others: beside.derivation,
    });
  }
  if (context.maybe(run, 'size')) {
    const ampacity = context.quantity(run, 'ampacity');
    if (ampacity.kind !== 'known') return ampacity;
    bounds.push({
      most: practice === 'nec' ? shared('continuous current', ampacity.derivation) : ampacity.derivation,
      title: `the conductors of ${run.name}`,
      others: beside.derivation,
    });
  }
  return bounds;
}

/** Most that runs beside it at one time of the day: current of the most loaded leg of the source. */
function mostBeside(source: Instance, nodes: readonly Node[], context: QuantityContext): Result {
  const loads = [...new Set(nodes.map(({ instance: each }) => each).filter(isLoad))];
  const all = collect(
    runningTogether(loads).map(({ loads: running }) => {
      const isOn = ({ instance: each }: Node): boolean => !isLoad(each) || running.includes(each);
      return legCurrents(nodes.filter(isOn), source, context, 'nominal').result;
    }),
  );
  if (!all.ok) return all.result;
  return known(all.derivations.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so)));
}

/** The bounds of the source itself: its own device, and for sets and outlets their power. */
function boundsOfSource(
  own: Instance,
  source: Instance,
  circuit: CircuitState,
  context: QuantityContext,
): Bound[] | Result {
  const beside = mostBeside(source, others(own, fedBy(source, circuit, context), context), context);
  if (beside.kind !== 'known') return beside;
  const bounds: Bound[] = [];
  const device = ownDeviceOf(source);
  const rating = device && context.maybe(source, device.rating);
  if (rating) bounds.push({ most: rating, others: beside.derivation, title: ownDeviceTitle(source) });
  const around = supplyAround(own, source, context);
  if ('missing' in around) return missing(around.missing);
  const amperes = (power: Derivation, unit: 'W' | 'VA', factor?: Derivation): Derivation => {
    const volts = numberIn(around.supplyVolts, 'V') * numberIn(around.lines, '') * (factor ? numberIn(factor, '') : 1);
    return derive(`current of ${power.name}`, numberIn(power, unit) / volts, 'A', {
      formula: factor ? 'P/(k·U·pf)' : 'S/(k·U)',
      inputs: [power, around.supplyVolts, around.lines, ...(factor ? [factor] : [])],
    });
  };
  const title = `the power of ${source.name}`;
  const isRated = context.quantityNames(source).includes('usablePower');
  const apparent = isRated ? context.quantity(source, 'usableApparent') : undefined;
  if (apparent && apparent.kind !== 'known') return apparent;
  if (apparent) bounds.push({ most: amperes(apparent.derivation, 'VA'), others: beside.derivation, title });
  const active = isRated ? context.quantity(source, 'usablePower') : context.maybe(source, 'rated');
  const power = active && 'kind' in active ? (active.kind === 'known' ? active.derivation : undefined) : active;
  if (power) {
    // What it passes on may have a power factor of 1, with which a current makes the most power.
    const charging = chargingOf(own) && !passingOf(own) ? inputPowerFactor(own, context) : undefined;
    const factor = charging?.kind === 'known' ? charging.derivation : undefined;
    bounds.push({ most: amperes(power, 'W', factor), others: beside.derivation, title });
  }
  return bounds;
}

function limitIn(own: Instance, source: Instance, circuit: CircuitState, context: QuantityContext): LimitToSet {
  const key = `${own.name}.${supplyTerminal(own)}`;
  const bounds: Bound[] = [];
  for (const run of context.system.runs) {
    if (run.carries !== 'ac') continue;
    const flow = acFlow(run, circuit, context);
    if (!flow?.sources.includes(source) || !flow.nodes.has(key)) continue;
    const found = boundsOfRun(run, source, others(own, flow.nodes.values(), context), context);
    if ('kind' in found) return { source, result: found };
    bounds.push(...found);
  }
  const atSource = boundsOfSource(own, source, circuit, context);
  if ('kind' in atSource) return { source, result: atSource };
  bounds.push(...atSource);
  for (const [property, title] of [
    ['maximumInputCurrent', `the data sheet of ${own.name}`],
    ['transferRating', `the transfer relay of ${own.name}`],
  ] as const) {
    const most = context.maybe(own, property);
    if (most) bounds.push({ most, title });
  }
  const left = ({ most, others: beside }: Bound): number =>
    Math.max(0, numberIn(most, 'A') - (beside ? numberIn(beside, 'A') : 0));
  const [first, ...rest] = bounds;
  if (!first) return { source, result: missing(`a breaker, plug or rating between ${source.name} and ${own.name}`) };
  const least = rest.reduce((so, next) => (left(next) < left(so) ? next : so), first);
  const beside = least.others && numberIn(least.others, 'A') > 0 ? least.others : undefined;
  return {
    source,
    title: least.title,
    result: known(
      derive(`input limit of ${own.name} from ${source.name}`, left(least), 'A', {
        symbol: 'I_in',
        formula: beside ? 'max(0, I_most − I_others)' : 'I_most',
        inputs: [
          { ...least.most, symbol: 'I_most' },
          ...(beside ? [{ ...beside, name: 'what else it carries', symbol: 'I_others' }] : []),
        ],
        ...(beside ? becauseOf(beside) : {}),
        notes: [`held to it by ${least.title}`],
        subject: own.name,
      }),
    ),
  };
}

/** The limits to set while one supply alone feeds it, each supply once: the least of the ways in which it does. */
export function limitsToSet(own: Instance, context: QuantityContext): readonly LimitToSet[] {
  const key = `${own.name}.${supplyTerminal(own)}`;
  const found = new Map<Instance, LimitToSet>();
  for (const { state, circuit } of context.circuitStates) {
    const [source, second] = state.acSources;
    if (!source || second || state.dcSources.length > 0 || !circuit.supply.get(key)?.has(source)) continue;
    const before = found.get(source);
    const next = limitIn(own, source, circuit, context);
    const amperes = ({ result }: LimitToSet): number =>
      result.kind === 'known' ? numberIn(result.derivation, 'A') : -1;
    if (!before || amperes(next) < amperes(before)) found.set(source, next);
  }
  return [...found.values()];
}

const inputLimitToSet = defineQuantity({
  name: 'inputLimitToSet',
  of: [mayChargeFromAlternating, mayPassByRelay],
  isListedFor: (thing) => supplyTerminal(instance(thing)) !== undefined,
  doc: 'What to set as its input limit so that nothing on the way is overloaded for hours: plugs, devices and conductors by their continuous share, less what else they carry, and the power of the source. The least of its supplies; that of one is a part of it by name: `Rect.inputLimitToSet.Post30`.',
  unit: 'A',
  bound: 'least',
  compute: (thing, context) => {
    const own = instance(thing);
    if (supplyTerminal(own) === undefined) return missing(`a supply of ${own.name}`);
    const limits = limitsToSet(own, context).filter(({ source }) => isAcSource(source));
    if (limits.length === 0) return missing(`a supply of ${own.name}`);
    const all = collect(limits.map(({ result }) => result));
    if (!all.ok) return all.result;
    const least = all.derivations.reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so));
    return known({
      ...least,
      name: 'input limit to set',
      parts: Object.fromEntries(limits.map(({ source }, index) => [source.name, all.derivations[index]!])),
    });
  },
});

export const inputLimitQuantities = [inputLimitToSet];
