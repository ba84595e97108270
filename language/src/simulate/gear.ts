import { isAtTail } from '../equipment/charge-stages.js';
import { LEAST_SENT, dischargeSent } from '../equipment/sent-limits.js';
import type { Bus } from '../solve/bus.js';
import type { Configuration, Plan } from './plan.js';
import type { ScenarioEvent } from './types.js';

/** Conditions watched for each inverter, bank, regulator and bus. */
const INVERTER = { low: 0, high: 1, count: 2 } as const;
const BANK = {
  low: 0,
  resetLow: 1,
  high: 2,
  resetHigh: 3,
  full: 4,
  notFull: 5,
  empty: 6,
  notEmpty: 7,
  count: 8,
} as const;
/** Shares of the capacity: so near its ends a bank counts as full or empty, and so far off no longer. */
const AT_END = 1e-12;
const OFF_END = 1e-6;
const REGULATOR = { tail: 0, spent: 1, again: 2, equalised: 3, count: 4 } as const;
const BUS = { down: 0, revive: 1, count: 2 } as const;
const LOAD = { low: 0, again: 1, count: 2 } as const;
/** Voltage over the lowest at which a load works, from which one that dropped out starts again (common practice, no source). */
const AGAIN = 1.05;

/** Share of the capacity by which a bank must have gained before an inverter that its limit, or the voltage of emptied lead, stopped starts again (common practice, no source). */
const GAINED = 0.05;

/** What gear sees of the direct-current side. */
interface Solution {
  readonly buses: readonly Bus[];
  readonly configuration: Configuration;
  readonly isInverterOn: Uint8Array;
  readonly isLinked: Uint8Array;
  readonly isInverterLinked: Uint8Array;
  readonly isSolved: Uint8Array;
  readonly inverterInput: Float64Array;
  readonly solvedAt: Float64Array;
  readonly served: Float64Array;
  readonly bankVolts: (bus: Bus, place: number) => number;
  readonly loadVolts: (load: number, watts: number) => number;
  readonly converterVolts: (load: number, more: number) => number;
}

/** Gear that switches by itself: cut-offs of inverters, protections and ends of banks, stages of chargers, buses that collapse. */
export class Gear {
  readonly inverterRuns: Uint8Array;
  /** State of charge at which a limit of the bank stopped each inverter; −∞ where it was something else. */
  private readonly stoppedAt: Float64Array;
  private readonly stopping: Float64Array;
  /** The same for lead-acid banks that an inverter has emptied, as C in all banks of its bus: their voltage recovers by itself, and falls again at once. */
  private readonly emptiedAt: Float64Array;
  private readonly emptying: Float64Array;
  readonly isBusDown: Uint8Array;
  /** Loads that have dropped out for want of voltage. */
  readonly isLoadOut: Uint8Array;
  /** Whether absorption has ended. What has no float holds the same voltage then. */
  readonly isFloating: Uint8Array;
  /** Whether a charger holds its equalising voltage, and the time (s) of the last end of that, or the start. */
  private readonly isEqualising: Uint8Array;
  private readonly equalisedAt: Float64Array;
  readonly isOpenLow: Uint8Array;
  readonly isOpenHigh: Uint8Array;
  readonly isFull: Uint8Array;
  readonly isEmpty: Uint8Array;

  /** Number of conditions, those of the rules first, and how long each must hold before gear acts on it. */
  readonly conditions: number;
  readonly delays: Float64Array;
  private readonly firstInverter: number;
  private readonly firstBank: number;
  private readonly firstRegulator: number;
  private readonly firstBus: number;
  private readonly firstLoad: number;
  /** Loads that have a lowest voltage, or a cable that can carry only so much. */
  private readonly choosy: readonly number[];

  constructor(private readonly plan: Plan) {
    const { banks, inverters, regulators } = plan;
    this.inverterRuns = new Uint8Array(inverters.length).fill(1);
    this.stoppedAt = new Float64Array(inverters.length).fill(-Infinity);
    this.stopping = new Float64Array(inverters.length).fill(-Infinity);
    this.emptiedAt = new Float64Array(inverters.length).fill(-Infinity);
    this.emptying = new Float64Array(inverters.length).fill(-Infinity);
    this.isFloating = new Uint8Array(regulators.length);
    this.isEqualising = new Uint8Array(regulators.length);
    this.equalisedAt = new Float64Array(regulators.length);
    this.isBusDown = new Uint8Array(plan.buses);
    if (plan.startsCutOff) for (const { bus } of plan.banks) this.isBusDown[bus] = 1;
    this.isOpenLow = new Uint8Array(banks.length);
    this.isOpenHigh = new Uint8Array(banks.length);
    this.isFull = Uint8Array.from(banks, ({ soc }) => (soc >= 1 - AT_END ? 1 : 0));
    this.isEmpty = Uint8Array.from(banks, ({ soc }) => (soc <= AT_END ? 1 : 0));
    this.firstInverter = plan.control.comparisons.length;
    this.firstBank = this.firstInverter + INVERTER.count * inverters.length;
    this.firstRegulator = this.firstBank + BANK.count * banks.length;
    this.firstBus = this.firstRegulator + REGULATOR.count * regulators.length;
    this.firstLoad = this.firstBus + BUS.count * plan.buses;
    this.choosy = plan.loads.flatMap(({ bus, wire, leastVolts, leastBusVolts, inlet }, at) =>
      bus >= 0 && (wire > 0 || inlet >= 0 || leastVolts > 0 || leastBusVolts > 0) ? [at] : [],
    );
    this.isLoadOut = new Uint8Array(plan.loads.length);
    this.conditions = this.firstLoad + LOAD.count * this.choosy.length;
    this.delays = new Float64Array(this.conditions);
    this.setDelays();
  }

  private setDelays(): void {
    const { inverters, banks, regulators, delays, buses } = this.plan;
    for (let at = 0; at < inverters.length; at += 1)
      for (const which of [INVERTER.low, INVERTER.high])
        this.delays[this.firstInverter + INVERTER.count * at + which] = inverters[at]!.delay;
    for (let at = 0; at < banks.length; at += 1)
      for (const which of [BANK.resetLow, BANK.resetHigh])
        this.delays[this.firstBank + BANK.count * at + which] = delays.reset;
    for (let at = 0; at < regulators.length; at += 1) {
      const to = this.firstRegulator + REGULATOR.count * at;
      this.delays[to + REGULATOR.tail] = regulators[at]!.tailTime;
      this.delays[to + REGULATOR.spent] = regulators[at]!.absorbTime;
      this.delays[to + REGULATOR.again] = regulators[at]!.rebulkTime;
      this.delays[to + REGULATOR.equalised] = regulators[at]!.equaliseTime;
    }
    for (let bus = 0; bus < buses; bus += 1) this.delays[this.firstBus + BUS.count * bus + BUS.revive] = delays.reset;
    for (let at = 0; at < this.choosy.length; at += 1)
      this.delays[this.firstLoad + LOAD.count * at + LOAD.again] = delays.reset;
  }

  /** Which conditions of gear hold, behind those of the rules. */
  fillConditions(direct: Solution, truths: Uint8Array): void {
    for (let at = this.firstInverter; at < truths.length; at += 1) truths[at] = 0;
    const { plan } = this;
    for (let at = 0; at < plan.inverters.length; at += 1) {
      const inverter = plan.inverters[at]!;
      const bus = direct.buses[inverter.bus]!;
      const to = this.firstInverter + INVERTER.count * at;
      if (this.inverterRuns[at]) {
        const amperes = direct.inverterInput[at]! / plan.busVolts[inverter.bus]!;
        const isInverting = direct.isInverterOn[at] === 1 && !direct.configuration.passes[at];
        this.stopping[at] =
          isInverting && this.isBeyondSent(direct, at) ? this.socOf(direct, inverter.bank) : -Infinity;
        const isLow = bus.voltage - inverter.leads * amperes <= inverter.cutOff;
        this.emptying[at] = isInverting && isLow && this.polarises(bus) ? this.chargeOn(direct, bus) : -Infinity;
        if (isInverting && (isLow || this.stopping[at]! >= 0)) truths[to + INVERTER.low] = 1;
      } else if (bus.voltage >= inverter.reconnect && !this.isBusDown[inverter.bus] && this.mayStart(direct, at))
        truths[to + INVERTER.high] = 1;
    }
    for (let index = 0; index < direct.buses.length; index += 1) {
      const bus = direct.buses[index]!;
      this.fillBankConditions(direct, bus, truths);
      this.fillRegulatorConditions(bus, direct.isLinked, truths);
      const to = this.firstBus + BUS.count * index;
      if (!this.isBusDown[index]) {
        if (!direct.isSolved[index]) truths[to + BUS.down] = 1;
      } else if (bus.banks.length > 0 && bus.voltage >= plan.banks[bus.banks[0]!]!.revive) truths[to + BUS.revive] = 1;
    }
    this.fillLoadConditions(direct, truths);
  }

  private fillLoadConditions(direct: Solution, truths: Uint8Array): void {
    const { loads } = this.plan;
    for (let place = 0; place < this.choosy.length; place += 1) {
      const at = this.choosy[place]!;
      const { bus, watts, leastVolts, leastBusVolts } = loads[at]!;
      if (this.isBusDown[bus] || !direct.isSolved[bus]) continue;
      const to = this.firstLoad + LOAD.count * place;
      if (this.isLoadOut[at]) {
        const volts = direct.loadVolts(at, AGAIN * AGAIN * watts);
        const before = direct.converterVolts(at, AGAIN * AGAIN * watts);
        if (volts > 0 && volts >= AGAIN * leastVolts && before > 0 && before >= AGAIN * leastBusVolts)
          truths[to + LOAD.again] = 1;
      } else if (direct.served[at]! > 0) {
        const volts = direct.loadVolts(at, direct.served[at]!);
        const before = direct.converterVolts(at, 0);
        if (volts === 0 || volts < leastVolts || before === 0 || before < leastBusVolts) truths[to + LOAD.low] = 1;
      }
    }
  }

  private socOf({ solvedAt }: Solution, bank: number): number {
    return solvedAt[bank]! / this.plan.banks[bank]!.capacity;
  }

  private polarises({ banks }: Bus): boolean {
    return banks.length > 0 && banks.every((bank) => this.plan.banks[bank]!.polarisation !== undefined);
  }

  private chargeOn({ solvedAt }: Solution, { banks }: Bus): number {
    return banks.reduce((sum, bank) => sum + solvedAt[bank]!, 0);
  }

  private capacityOn({ banks }: Bus): number {
    return banks.reduce((sum, bank) => sum + this.plan.banks[bank]!.capacity, 0);
  }

  /** Whether a bank gives more than it allows an inverter that hears it. */
  private isBeyondSent(direct: Solution, at: number): boolean {
    const { bank, bus } = this.plan.inverters[at]!;
    if (bank < 0 || !direct.isInverterLinked[at]) return false;
    const place = direct.buses[bus]!.banks.indexOf(bank);
    const sent = dischargeSent(this.plan.banks[bank]!, this.socOf(direct, bank));
    return place >= 0 && -direct.buses[bus]!.current[place]! > Math.max(sent, LEAST_SENT);
  }

  /** Whether the bank lets an inverter start again that hears it. */
  private mayStart(direct: Solution, at: number): boolean {
    const { bank, bus } = this.plan.inverters[at]!;
    const of = direct.buses[bus]!;
    if (this.chargeOn(direct, of) < this.emptiedAt[at]! + GAINED * this.capacityOn(of)) return false;
    if (bank < 0 || !direct.isInverterLinked[at]) return true;
    const soc = this.socOf(direct, bank);
    return dischargeSent(this.plan.banks[bank]!, soc) > LEAST_SENT && soc >= this.stoppedAt[at]! + GAINED;
  }

  private fillBankConditions(direct: Solution, bus: Bus, truths: Uint8Array): void {
    for (let place = 0; place < bus.banks.length; place += 1) {
      const at = bus.banks[place]!;
      const bank = this.plan.banks[at]!;
      const to = this.firstBank + BANK.count * at;
      const soc = direct.solvedAt[at]! / bank.capacity;
      const amperes = bus.current[place]!;
      if (this.isFull[at]) truths[to + BANK.notFull] = soc < 1 - OFF_END ? 1 : 0;
      else if (soc >= 1 - AT_END && amperes > 0) truths[to + BANK.full] = 1;
      if (this.isEmpty[at]) truths[to + BANK.notEmpty] = soc > OFF_END ? 1 : 0;
      else if (soc <= AT_END && amperes <= 0) truths[to + BANK.empty] = 1;
      const volts = direct.bankVolts(bus, place);
      if (!this.isOpenLow[at]) {
        if (volts <= bank.protectionLow) truths[to + BANK.low] = 1;
      } else if (bank.resetsItself && volts >= bank.resetLow) truths[to + BANK.resetLow] = 1;
      if (!this.isOpenHigh[at]) {
        if (volts >= bank.protectionHigh) truths[to + BANK.high] = 1;
      } else if (bank.resetsItself && volts <= bank.resetHigh) truths[to + BANK.resetHigh] = 1;
    }
  }

  private fillRegulatorConditions(bus: Bus, isLinked: Uint8Array, truths: Uint8Array): void {
    for (let place = 0; place < bus.regulators.length; place += 1) {
      const at = bus.regulators[place]!;
      const regulator = this.plan.regulators[at]!;
      if (!bus.isOn[place]) continue;
      const to = this.firstRegulator + REGULATOR.count * at;
      if (this.isEqualising[at]) {
        truths[to + REGULATOR.equalised] = 1;
        continue;
      }
      if (this.isFloating[at]) {
        if (bus.voltage < regulator.rebulk) truths[to + REGULATOR.again] = 1;
        continue;
      }
      if (!bus.holds[place]) continue;
      if (regulator.absorbTime < Infinity) truths[to + REGULATOR.spent] = 1;
      let amperes = bus.given[place]!;
      let tail = 0;
      // Without its link it sees its own current alone.
      const seesBank = regulator.seesBankCurrent && isLinked[at] === 1;
      if (seesBank) amperes = 0;
      for (let bank = 0; bank < bus.banks.length; bank += 1) {
        if (seesBank) amperes += bus.current[bank]!;
        tail += this.plan.banks[bus.banks[bank]!]!.tail;
      }
      if (isAtTail(regulator, amperes, tail)) truths[to + REGULATOR.tail] = 1;
    }
  }

  /** V that a charger holds in its stage. */
  heldBy(at: number): number {
    const { absorb, float, equalise } = this.plan.regulators[at]!;
    return this.isEqualising[at] ? equalise : this.isFloating[at] ? float : absorb;
  }

  /** Lets a charger begin again with a new supply. */
  beginStages(at: number): void {
    this.isFloating[at] = 0;
    this.isEqualising[at] = 0;
  }

  private nextStage(at: number, which: number, time: number): { readonly what?: 'equalise'; readonly of: string } {
    const { name, equaliseInterval } = this.plan.regulators[at]!;
    if (which === REGULATOR.equalised) {
      this.isEqualising[at] = 0;
      this.equalisedAt[at] = time;
    } else if (which !== REGULATOR.again && time - this.equalisedAt[at]! >= equaliseInterval) {
      this.isEqualising[at] = 1;
      return { what: 'equalise', of: name };
    }
    this.isFloating[at] = which === REGULATOR.again ? 0 : 1;
    return { of: name };
  }

  /** Lets gear act on a condition; answers what is to be noted, if anything. */
  fire(condition: number, time: number): { readonly what?: ScenarioEvent['what']; readonly of: string } {
    const { plan } = this;
    if (condition < this.firstBank) {
      const [at, which] = parted(condition - this.firstInverter, INVERTER.count);
      this.inverterRuns[at] = which === INVERTER.high ? 1 : 0;
      if (which === INVERTER.low) [this.stoppedAt[at], this.emptiedAt[at]] = [this.stopping[at]!, this.emptying[at]!];
      return { what: which === INVERTER.high ? 'restart' : 'trip', of: plan.inverters[at]!.name };
    }
    if (condition < this.firstRegulator) {
      const [at, which] = parted(condition - this.firstBank, BANK.count);
      if (which >= BANK.full) {
        if (which <= BANK.notFull) this.isFull[at] = which === BANK.full ? 1 : 0;
        else this.isEmpty[at] = which === BANK.empty ? 1 : 0;
        return { of: plan.banks[at]!.name };
      }
      const isOpening = which === BANK.low || which === BANK.high;
      if (which === BANK.low || which === BANK.resetLow) this.isOpenLow[at] = isOpening ? 1 : 0;
      else this.isOpenHigh[at] = isOpening ? 1 : 0;
      return { what: isOpening ? 'open' : 'close', of: plan.banks[at]!.name };
    }
    if (condition >= this.firstLoad) {
      const [place, which] = parted(condition - this.firstLoad, LOAD.count);
      const at = this.choosy[place]!;
      this.isLoadOut[at] = which === LOAD.low ? 1 : 0;
      return { what: which === LOAD.low ? 'trip' : 'restart', of: plan.loads[at]!.name };
    }
    if (condition < this.firstBus) {
      const [at, which] = parted(condition - this.firstRegulator, REGULATOR.count);
      return this.nextStage(at, which, time);
    }
    const [at, which] = parted(condition - this.firstBus, BUS.count);
    this.isBusDown[at] = which === BUS.down ? 1 : 0;
    const names = plan.banks.flatMap(({ bus, name }) => (bus === at ? [name] : [])).join(', ');
    if (which === BUS.down)
      plan.inverters.forEach((inverter, index) => {
        if (inverter.bus === at) this.inverterRuns[index] = 0;
      });
    // Without a bank nothing is cut off: the wiring of a source that is away is simply dead.
    return names ? { what: which === BUS.down ? 'trip' : 'restart', of: `the bus of ${names}` } : { of: '' };
  }
}

const parted = (index: number, count: number): [number, number] => [Math.floor(index / count), index % count];
