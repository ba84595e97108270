import { isLoad } from '../../model/roles.js';
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import { wordIn } from '../../model/stated-facts.js';
import type { AcSystem, Instance, PropertyValue } from '../../model/types.js';
import type { QuantityContext } from '../define.js';

/** The AC system a source or inverter gives; undefined when its voltage is not stated. */
export function systemOf(source: Instance): AcSystem | undefined {
  const value: PropertyValue | undefined = source.properties.get('voltage')?.value;
  return value?.type === 'system' ? value.system : undefined;
}

export type Leg = 'L1' | 'L2' | 'L3';

/** How a consumer is connected to a supply: its voltage (V), the legs it loads, and the factor from power to leg current. */
export interface Connection {
  readonly voltage: Derivation;
  readonly legs: readonly Leg[];
  /** Leg current is P / (factor · U · pf): 1 for single phase and line to line, √3 for three phases. */
  readonly factor: number;
  readonly system: AcSystem;
}

const near = (left: number, right: number): boolean => Math.abs(left - right) <= 0.1 * right;

/** Sorts of motor that one phase drives. */
const ONE_PHASE_MOTORS: readonly (string | undefined)[] = [undefined, 'single-phase', 'direct-current'];
const isThreePhaseMotor = (consumer: Instance): boolean =>
  !ONE_PHASE_MOTORS.includes(wordIn(consumer.properties, 'motor'));

function statedLegs(consumer: Instance): Leg[] | undefined {
  const value = consumer.properties.get('legs')?.value;
  return value?.type === 'words' ? (value.words as Leg[]) : undefined;
}

/**
 * How a consumer stands on a supply of `system`: on one leg, across two, or on three phases, from its legs, its own voltage or its input
 * window. `voltage` is nominal.
 */
export function connect(
  consumer: Instance,
  system: AcSystem,
  context: QuantityContext,
): Connection | { readonly missing: string } {
  const named = (name: string, volts: number): Derivation =>
    derive(name, volts, 'V', { symbol: 'U', notes: [`supply ${system.text}`] });
  const onOne = (legs: readonly Leg[]): Connection => ({
    voltage: named('supply voltage, line to neutral', system.lineToNeutral),
    legs,
    factor: 1,
    system,
  });
  const acrossTwo = (legs: readonly Leg[]): Connection => ({
    voltage: named('supply voltage, line to line', system.lineToLine),
    legs,
    factor: 1,
    system,
  });
  const onThree = (): Connection => ({
    voltage: named('supply voltage, line to line', system.lineToLine),
    legs: ['L1', 'L2', 'L3'],
    factor: Math.sqrt(3),
    system,
  });
  if (system.phases === 'single') return onOne(['L1']);

  const legs = statedLegs(consumer);
  const phases = context.maybe(consumer, 'phases')?.value;
  if (legs?.length === 1) return onOne(legs);
  if (legs?.length === 2) return acrossTwo(legs);
  if (legs?.length === 3 || (phases === 'three' && system.phases === 'three')) return onThree();

  const own = consumer.properties.get('voltage')?.value;
  if (own?.type === 'system') {
    if (own.system.phases === 'three' && system.phases === 'three') return onThree();
    if (own.system.phases === 'split' && system.phases === 'split') return acrossTwo(['L1', 'L2']);
    if (near(own.system.lineToLine, system.lineToLine)) return acrossTwo(['L1', 'L2']);
    return onOne(['L1']);
  }
  const window = context.maybe(consumer, 'input')?.value;
  if (typeof window === 'object')
    return window.high >= system.lineToLine * 0.95 ? acrossTwo(['L1', 'L2']) : onOne(['L1']);
  // A motor of three phases runs on nothing less.
  if (system.phases === 'three' && isThreePhaseMotor(consumer)) return onThree();
  if (isLoad(consumer)) return onOne(['L1']);
  return { missing: `input or legs of ${consumer.name}` };
}

/** Lowest supply voltage at a consumer: nominal less the tolerance of the source. Never below the consumer's own window. */
export function lowestSupply(
  connection: Connection,
  source: Instance,
  consumer: Instance,
  context: QuantityContext,
): Derivation {
  const tolerance = context.maybe(source, 'tolerance');
  const nominal = numberIn(connection.voltage, 'V');
  const share = tolerance ? numberIn(tolerance, '') : 0;
  const lowest = nominal * (1 - share);
  const window = context.maybe(consumer, 'input')?.value;
  const floor = typeof window === 'object' ? window.low : 0;
  const value = Math.max(lowest, Math.min(floor, nominal));
  return derive('lowest supply voltage', value, 'V', {
    symbol: 'U_min',
    formula: 'U·(1 − tolerance)',
    inputs: [connection.voltage, ...(tolerance ? [tolerance] : [])],
    governing: [
      value > lowest
        ? { kind: 'inputWindow', subject: consumer.name }
        : { kind: 'supplyTolerance', subject: source.name },
    ],
  });
}

/** Leg current of a power: P / (factor · U · pf). */
export function legCurrentOf(
  name: string,
  power: Derivation,
  voltage: Derivation,
  powerFactor: Derivation,
  connection: Connection,
): Derivation {
  const watts = numberIn(power, 'W');
  const volts = numberIn(voltage, 'V');
  return derive(name, watts / (connection.factor * volts * numberIn(powerFactor, '')), 'A', {
    symbol: 'I',
    formula: connection.factor === 1 ? 'P/(U·pf)' : 'P/(√3·U·pf)',
    inputs: [power, voltage, powerFactor],
    notes: [`on ${connection.legs.join(' and ')}`],
  });
}

export const missingFrom = (
  outcome: Connection | { readonly missing: string },
): outcome is { readonly missing: string } => 'missing' in outcome;

// Every source and inverter is asked several times what it feeds: sorting the supply once for all keeps that from growing with the square.
const FED = query<CircuitState, ReadonlyMap<Instance, Node[]>>('nodes by what feeds them');

/** The nodes that a source, or an inverter that inverts, feeds in a state, in the order of the network. */
export const fedBy = (feeder: Instance, circuit: CircuitState, context: QuantityContext): readonly Node[] =>
  context.kept(FED, circuit, () => sortByFeeder(circuit, context)).get(feeder) ?? [];

function sortByFeeder(circuit: CircuitState, context: QuantityContext): ReadonlyMap<Instance, Node[]> {
  const fed = new Map<Instance, Node[]>();
  for (const [key, feeders] of circuit.supply) {
    const node = context.graph.nodes.get(key);
    if (!node) continue;
    for (const each of feeders) {
      const nodes = fed.get(each);
      if (nodes) nodes.push(node);
      else fed.set(each, [node]);
    }
  }
  return fed;
}
