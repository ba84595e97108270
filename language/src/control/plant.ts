import { type Derivation, type Result, numberIn } from '../derivation/index.js';
import type { Signal } from '../model/conditions.js';
import type { DesignContext } from '../model/context.js';
import type { CircuitState, SourceState } from '../model/network.js';
import type { Instance } from '../model/types.js';
import {
  type PolarisationSpan,
  groupCapacity,
  groupPolarisation,
  groupResistance,
} from '../quantities/storage/bank-group.js';
import { deliveredIn, loadIn } from '../quantities/demand/steady-load.js';
import { conductorLoss } from '../quantities/network/feeder-losses.js';
import { collect, sumOf } from '../quantities/worst.js';
import { chemistry as chemistryNamed, openCircuitCurve } from '../reference/energy/chemistries.js';
import type { Span } from './cells.js';
import { EVERYTHING } from './cells.js';
import { isAcSource, isDcSource, isInverter, isLoad } from '../model/roles.js';
import { chargersOf, isCharging } from '../quantities/supply/joined.js';
import { type ShareOf, fullShare, meanShare, shareWithin } from '../quantities/demand/steady-share.js';

/** Whether the commanded set carries the chargers. */
export type Running = 'loaded' | 'unloaded';

/** Whether other sources that can charge the bank (the grid, the sun) are there. */
export type Others = 'absent' | 'present';

/** `momentary`: what may be at any instant. `draining`: what is while the loads take their mean. */
export type Lasting = 'momentary' | 'draining';

/** A figure of the plant, or the facts that lack for it. */
export type Figure =
  { readonly value: number; readonly derivation?: Derivation } | { readonly missing: readonly string[] };

export const isMissing = (figure: Figure): figure is { readonly missing: readonly string[] } => 'missing' in figure;

const figure = (result: Result, unit: string, otherwise: string): Figure => {
  if (result.kind === 'known') return { value: numberIn(result.derivation, unit), derivation: result.derivation };
  return { missing: result.kind === 'missing' && result.missing.length > 0 ? result.missing : [otherwise] };
};

/** Rest voltage by state of charge, V of the whole bank. Points ascend in both. */
export type RestCurve = readonly (readonly [number, number])[];

const along = (points: RestCurve, at: number): number => {
  for (let index = 1; index < points.length; index += 1) {
    const [[x0, y0], [x1, y1]] = [points[index - 1]!, points[index]!];
    if (at <= x1 || index === points.length - 1) return y0 + ((Math.max(at, x0) - x0) / (x1 - x0)) * (y1 - y0);
  }
  return points[0]?.[1] ?? 0;
};

/** What voltages do beside rest and resistance, V of the whole bank. */
export interface Habits {
  /** Voltage stays off its rest by as much for hours after a charge or a load: 0.1 V a cell for lithium, 0.2 V for lead (common practice, no source). */
  readonly rebound: number;
  /** State of charge from which a charger can hold its voltage. */
  readonly taperFrom: number;
  readonly isLead: boolean;
}

const REBOUND_PER_CELL = { lithium: 0.1, lead: 0.2 } as const;

function habitsOf(name: string, cells: number): Habits | undefined {
  const row = chemistryNamed(name);
  return (
    row && {
      rebound: REBOUND_PER_CELL[row.family] * cells,
      taperFrom: row.taperFrom,
      isLead: row.family === 'lead',
    }
  );
}

/** What the analysis takes a bank to be. A figure that lacks bounds nothing. */
export interface BankPlant {
  readonly bank: Instance;
  /** Ah. */
  readonly capacity: Figure;
  readonly rest: RestCurve | undefined;
  /** Ohm, over its range. */
  readonly resistance: Span | undefined;
  /** What its voltage does beyond that under current, over the temperatures of its cells; only lead-acid has any. */
  readonly polarisation: PolarisationSpan | undefined;
  /** Figures of its chemistry for the whole bank. */
  readonly habits: Habits | undefined;
  /** What lacks for its voltages. */
  readonly voltageMissing: readonly string[];
  /** A, from the chargers the target feeds, alone. 0 when it feeds none. */
  readonly charge: Figure;
  /** A, from everything that can charge. */
  readonly chargeMost: Figure;
  /** A: mean of the loads while the bank carries all; the most they take at once. */
  readonly loadAlone: Figure;
  readonly loadMost: Figure;
  /** Highest voltage of any charger. */
  readonly highest: Figure;
  /** Whether something besides the target can charge it. */
  readonly hasOthers: boolean;
}

/** The states in which the target alone feeds, and in which nothing does. */
function statesOf(
  target: Instance,
  context: DesignContext,
): {
  alone: CircuitState | undefined;
  fed: CircuitState | undefined;
  others: readonly { state: SourceState; circuit: CircuitState }[];
} {
  const only = (sources: readonly Instance[], wanted: Instance | undefined): boolean =>
    wanted ? sources.length === 1 && sources[0] === wanted : sources.length === 0;
  const find = (ac: Instance | undefined, dc: Instance | undefined): CircuitState | undefined =>
    context.circuitStates.find(({ state }) => only(state.acSources, ac) && only(state.dcSources, dc))?.circuit;
  const fed = isAcSource(target) ? find(target, undefined) : isDcSource(target) ? find(undefined, target) : undefined;
  return {
    alone: find(undefined, undefined),
    fed,
    others: context.circuitStates.filter(
      ({ state: { acSources, dcSources } }) =>
        ![...acSources, ...dcSources].includes(target) && acSources.length + dcSources.length > 0,
    ),
  };
}

const NOTHING: Figure = { value: 0 };

export function bankPlant(bank: Instance, target: Instance, context: DesignContext): BankPlant {
  const { alone, fed, others } = statesOf(target, context);
  const working = (state: readonly Instance[], circuit: CircuitState): Instance[] =>
    chargersOf(bank, context).filter((charger) => isCharging(charger, context, state, circuit.supply));
  const own = fed ? working(isDcSource(target) ? [target] : [], fed) : [];
  const delivered = fed ? collect(own.map((charger) => deliveredIn(charger, bank, fed, context))) : undefined;
  const charge: Figure =
    !delivered || own.length === 0
      ? NOTHING
      : figure(
          delivered.ok
            ? { kind: 'known', derivation: sumOf('charger output', 'I_chg', 'A', delivered.derivations) }
            : delivered.result,
          'A',
          `currentLimit of ${own[0]!.name}`,
        );
  const load = (circuit: CircuitState | undefined, share: ShareOf): Figure =>
    circuit
      ? figure(loadIn(bank, circuit, context, share), 'A', `loads of ${bank.name}`)
      : { missing: [`loads of ${bank.name}`] };
  const count = figure(context.quantity(bank, 'cellCount'), '', `cells of ${bank.name}`);
  const chemistry = context.maybe(bank, 'chemistry')?.value;
  const curve = typeof chemistry === 'string' ? openCircuitCurve(chemistry) : undefined;
  const resistance = groupResistance(bank, context);
  const capacity = figure(groupCapacity(bank, context), 'Ah', `capacity of ${bank.name}`);
  const rest =
    curve && !isMissing(count) ? curve.points.map(([soc, volts]) => [soc, volts * count.value] as const) : undefined;
  const loadMost = load(alone, fullShare);
  const voltageMissing = [
    ...(curve ? [] : [`chemistry of ${bank.name}`]),
    ...(isMissing(count) ? count.missing : []),
    ...(resistance ? [] : [`resistance of ${bank.name}`]),
    ...(isMissing(loadMost) ? loadMost.missing : []),
  ];
  return {
    bank,
    capacity,
    rest,
    resistance,
    polarisation:
      typeof chemistry === 'string' && !isMissing(count) && !isMissing(capacity)
        ? groupPolarisation(bank, count.value, 3600 * capacity.value, context)
        : undefined,
    habits: typeof chemistry === 'string' && !isMissing(count) ? habitsOf(chemistry, count.value) : undefined,
    voltageMissing: [...new Set(voltageMissing)],
    charge,
    chargeMost: figure(context.quantity(bank, 'chargeCurrent'), 'A', `currentLimit of the chargers of ${bank.name}`),
    loadAlone: load(alone, meanShare),
    loadMost,
    highest: figure(context.quantity(bank, 'highestVoltage'), 'V', `absorb of the chargers of ${bank.name}`),
    hasOthers: others.some(({ state, circuit }) => working(state.dcSources, circuit).length > 0),
  };
}

/** Mean current of the loads of a bank over some hours of the day, on the bank alone. */
export function loadWithin(bank: Instance, from: number, to: number, target: Instance, context: DesignContext): Figure {
  const { alone } = statesOf(target, context);
  return alone
    ? figure(loadIn(bank, alone, context, shareWithin(from, to)), 'A', `loads of ${bank.name}`)
    : { missing: [`loads of ${bank.name}`] };
}

/**
 * What the analysis takes the world around one commanded thing to be: bounds on every signal, by state of charge, by whether the thing
 * carries the chargers, and by whether other sources are there.
 */
export class Plant {
  readonly banks: ReadonlyMap<Instance, BankPlant>;
  private readonly powers = new Map<Instance, { most: Figure; mean: Figure }>();

  constructor(
    readonly target: Instance,
    banks: readonly Instance[],
    private readonly context: DesignContext,
  ) {
    this.banks = new Map(banks.map((bank) => [bank, bankPlant(bank, target, context)]));
  }

  /** The facts that lack for the bounds of a signal. */
  missingFor(signal: Signal): readonly string[] {
    if (signal.kind !== 'of') return [];
    const bank = this.banks.get(signal.of);
    if (bank && signal.signal === 'voltage') {
      // What ends a charge counts only where the commanded thing is a source that charges.
      const isSource = isAcSource(this.target) || isDcSource(this.target);
      const ends = isSource ? [bank.highest, bank.charge] : [];
      const held = ends.flatMap((each) => (isMissing(each) ? each.missing : []));
      return [...new Set([...bank.voltageMissing, ...held])];
    }
    if (bank && signal.signal === 'current')
      return [bank.loadMost, bank.chargeMost].flatMap((each) => (isMissing(each) ? each.missing : []));
    if (signal.signal === 'power' && (isLoad(signal.of) || isInverter(signal.of))) {
      const { most } = this.power(signal.of);
      return isMissing(most) ? most.missing : [];
    }
    return [];
  }

  /** The values a signal can have while the state of charge of its bank lies in a span. */
  span(signal: Signal, soc: Span, running: Running, others: Others | 'any', span: Lasting): Span {
    if (signal.kind !== 'of') return EVERYTHING;
    const { of, signal: name } = signal;
    const bank = this.banks.get(of);
    if (name === 'soc') return soc;
    if (name === 'temperature') return this.celsius(of);
    if (bank)
      return name === 'voltage'
        ? this.volts(bank, soc, running, others, span)
        : this.amperes(bank, name, running, others, span);
    if (of === this.target) return this.own(name, running);
    if (isAcSource(of) || isDcSource(of)) return others === 'absent' ? { low: 0, high: 0 } : SOMETHING;
    if (name === 'power' && (isLoad(of) || isInverter(of))) {
      const { most, mean } = this.power(of);
      const bound = span === 'momentary' || isLoad(of) ? most : mean;
      return { low: 0, high: isMissing(bound) ? Infinity : bound.value };
    }
    return name === 'voltage' ? EVERYTHING : SOMETHING;
  }

  /** The cells of a bank keep to what is stated of them. */
  private celsius(of: Instance): Span {
    const stated = this.context.maybe(of, 'cellTemperature')?.value;
    return typeof stated === 'object' ? { low: stated.low, high: stated.high } : EVERYTHING;
  }

  private own(name: string, running: Running): Span {
    if (running === 'loaded') return SOMETHING;
    // A set that warms up already makes voltage, but carries nothing.
    return name === 'voltage' ? SOMETHING : { low: 0, high: 0 };
  }

  private amperes(bank: BankPlant, name: string, running: Running, others: Others | 'any', span: Lasting): Span {
    if (name !== 'current') return EVERYTHING;
    const { loadMost, loadAlone, chargeMost } = bank;
    const load = span === 'momentary' ? loadMost : loadAlone;
    const isCharged = running === 'loaded' || (others !== 'absent' && bank.hasOthers);
    return {
      low: isMissing(load) ? -Infinity : -load.value,
      high: !isCharged ? 0 : isMissing(chargeMost) ? Infinity : chargeMost.value,
    };
  }

  private volts(bank: BankPlant, soc: Span, running: Running, others: Others | 'any', span: Lasting): Span {
    const { rest, resistance, polarisation, habits, loadMost, loadAlone, chargeMost, highest } = bank;
    const isCharged =
      (running === 'loaded' && !(!isMissing(bank.charge) && bank.charge.value === 0)) ||
      (others !== 'absent' && bank.hasOthers);
    if (!rest || !resistance || !habits) return EVERYTHING;
    const load = span === 'momentary' ? loadMost : loadAlone;
    if (isMissing(load)) return EVERYTHING;
    const resting = along(rest, soc.high);
    // What came before leaves its mark for a while, which is more than what published curves of lead differ by.
    const mark = Math.max(span === 'momentary' ? habits.rebound : 0, polarisation?.band ?? 0);
    // Below a state of charge the sag grows, so that its most and its least lie at the ends.
    const sag = {
      low: resistance.low + (polarisation?.discharge(soc.high).low ?? 0),
      high: resistance.high + (polarisation?.discharge(soc.low).high ?? 0),
    };
    const low = along(rest, soc.low) - sag.high * load.value - mark;
    if (!isCharged)
      return {
        low,
        high: span === 'draining' ? resting - sag.low * load.value + (polarisation?.band ?? 0) : resting + mark,
      };
    if (isMissing(chargeMost) || isMissing(highest)) return { low, high: Infinity };
    const isHeld = soc.high >= habits.taperFrom || (habits.isLead && span === 'momentary');
    const push = resistance.high + (polarisation?.charge(soc.high).high ?? 0);
    const pushed = resting + push * chargeMost.value + (polarisation?.offset ?? 0) + habits.rebound;
    return { low, high: Math.max(resting + mark, isHeld ? highest.value : Math.min(highest.value, pushed)) };
  }

  /** Power of a load, or of the loads an inverter carries. */
  private power(thing: Instance): { most: Figure; mean: Figure } {
    const known = this.powers.get(thing);
    if (known) return known;
    const { alone } = statesOf(this.target, this.context);
    const loads = isLoad(thing)
      ? [thing]
      : [
          ...new Set(
            [...(alone?.supply ?? [])].flatMap(([key, feeders]) => {
              const node = feeders.has(thing) ? this.context.graph.nodes.get(key) : undefined;
              return node && isLoad(node.instance) ? [node.instance] : [];
            }),
          ),
        ];
    const powers = loads.map((load) => figure(this.context.quantity(load, 'totalPower'), 'W', `power of ${load.name}`));
    const missing = powers.flatMap((each) => (isMissing(each) ? each.missing : []));
    // An inverter gives what the conductors behind it lose as well.
    const lostAt = (share: ShareOf): number => {
      const lost = alone && isInverter(thing) && conductorLoss(thing, alone, share, new Map(), this.context);
      return lost ? numberIn(lost, 'W') : 0;
    };
    const sum = (share: ShareOf): Figure =>
      missing.length > 0
        ? { missing }
        : {
            value: loads.reduce(
              (total, load, index) =>
                total + (powers[index] as { value: number }).value * numberIn(share(load, this.context), ''),
              lostAt(share),
            ),
          };
    const found = { most: sum(fullShare), mean: sum(meanShare) };
    this.powers.set(thing, found);
    return found;
  }
}

const SOMETHING: Span = { low: 0, high: Infinity };
