import { chargeShare } from '../equipment/bank-curve.js';
import { sentAt, slopeAt } from '../equipment/sent-limits.js';
import { raise } from '../quantity/index.js';
import type { Bus } from '../solve/bus.js';
import type { Modes, SharedBus } from './modes.js';
import type { Plan } from './plan.js';

/** Share of the capacity over which the slope of a polarisation is taken. */
const SOC_STEP = 1e-5;

/** What the rates of banks follow from, once the buses are solved. */
interface Solved {
  readonly buses: readonly Bus[];
  readonly busOfBank: readonly Bus[];
  readonly bankPlace: Int32Array;
  /** V per coulomb of each bank at rest. */
  readonly restSlope: Float64Array;
  /** Where each bank is going, told here. */
  readonly heading: Float64Array;
  /** How power and current of each regulator go on with the sun (W/s, A/s), and whether none does. */
  readonly powerRate: Float64Array;
  readonly limitRate: Float64Array;
  readonly isSunStill: boolean;
}

/** How the charge of banks moves with their currents, with the charge of all, and with the sun. */
export class BankRates {
  /** Change of the rate of each bank with its current, where its stiffness was asked for last. */
  private readonly effect: Float64Array;
  /** What a bank gains or loses of its charge for each coulomb of its current, where its rate was asked for last. */
  private readonly share: Float64Array;
  /** V per coulomb by which each bank resists more as it is charged: its rest, and what it polarises at its current. */
  private readonly pull: Float64Array;
  private readonly shared: SharedBus;

  constructor(
    private readonly plan: Plan,
    private readonly side: Solved,
  ) {
    const perBank = (): Float64Array => new Float64Array(plan.banks.length);
    [this.effect, this.share, this.pull] = [perBank(), perBank(), perBank()];
    this.shared = {
      ...{ size: 0, banks: new Int32Array(plan.banks.length), steepness: 0 },
      ...{ effect: perBank(), restSlope: perBank(), resistance: perBank() },
    };
  }

  /** C/s into each bank. */
  fill(charge: Float64Array, rate: Float64Array): void {
    const { banks } = this.plan;
    for (let at = 0; at < banks.length; at += 1) {
      const bank = banks[at]!;
      const amperes = this.side.busOfBank[at]!.current[this.side.bankPlace[at]!]!;
      const share = amperes > 0 ? chargeShare(bank, charge[at]! / bank.capacity) : this.rateEffect(at, -amperes);
      this.share[at] = share;
      rate[at] = share * amperes - bank.selfDischarge * charge[at]!;
    }
  }

  /** Change of the rate of each bank with its charge (1/s), once the rates have been filled. */
  fillStiffness(charge: Float64Array, rate: Float64Array, stiffness: Float64Array): void {
    const { banks } = this.plan;
    for (let at = 0; at < banks.length; at += 1) {
      const [bank, bus, place] = [banks[at]!, this.side.busOfBank[at]!, this.side.bankPlace[at]!];
      const amperes = bus.current[place]!;
      const soc = charge[at]! / bank.capacity;
      const share = this.share[at]!;
      this.side.heading[at] = rate[at]!;
      // Above its rated current a bank loses more of its charge, the more it gives.
      this.effect[at] = amperes <= 0 && share > 1 ? share * bank.peukert : share;
      this.pull[at] = this.side.restSlope[at]! + this.polarisationSlope(bus, place, soc);
      let change = this.effect[at] * bus.slope[place]! * this.pull[at];
      if (amperes > 0) {
        if (bus.isAtMost(place) && bank.acceptance < Infinity) change = -share * bank.acceptance;
        else if (bank.chargeBySoc && this.isAtSent(at, amperes, soc))
          change = (share * slopeAt(bank.chargeBySoc, soc)) / bank.capacity;
        if (soc > bank.knee)
          change -= (amperes * (bank.efficiency - bank.efficiencyFull)) / ((1 - bank.knee) * bank.capacity);
      }
      stiffness[at] = change - bank.selfDischarge;
    }
  }

  /** How the rates of all banks go on with the sun alone (C/s²), once their stiffness has been asked for. Answers whether any does. */
  fillDrift(drift: Float64Array): boolean {
    drift.fill(0);
    if (this.side.isSunStill) return false;
    for (const bus of this.side.buses) {
      if (!(bus.steepness > 0)) continue;
      let amperes = 0;
      for (let place = 0; place < bus.regulators.length; place += 1) {
        const at = bus.regulators[place]!;
        if (bus.isAtPower(place)) amperes += this.side.powerRate[at]! / bus.voltage;
        else if (bus.isAtLimit(place)) amperes += this.side.limitRate[at]!;
      }
      for (let place = 0; place < bus.banks.length; place += 1)
        if (bus.isFree(place)) {
          const at = bus.banks[place]!;
          drift[at] = (this.effect[at]! * amperes) / (bus.steepness * bus.ohmsOf(place));
        }
    }
    return true;
  }

  /** How the rates of all banks move with the charge of all, once their stiffness has been asked for. */
  fillModes(modes: Modes, stiffness: Float64Array): void {
    modes.part(stiffness);
    for (const bus of this.side.buses) {
      if (bus.banks.length < 2 || !(bus.steepness > 0)) continue;
      const { shared } = this;
      let size = 0;
      for (let place = 0; place < bus.banks.length; place += 1) {
        if (!bus.isFree(place)) continue;
        const at = bus.banks[place]!;
        shared.banks[size] = at;
        shared.effect[size] = this.effect[at]!;
        shared.restSlope[size] = this.pull[at]!;
        shared.resistance[size] = bus.ohmsOf(place);
        size += 1;
      }
      if (size < 2) continue;
      shared.size = size;
      shared.steepness = bus.steepness;
      modes.couple(shared, stiffness);
    }
  }

  /** V per coulomb by which the polarisation of a bank grows with its charge, at its current. */
  private polarisationSlope(bus: Bus, place: number, soc: number): number {
    const { polarisation, capacity } = this.plan.banks[bus.banks[place]!]!;
    if (!polarisation || !bus.isFree(place)) return 0;
    const ohms = bus.isGiving(place) ? polarisation.discharge : polarisation.charge;
    const change = (ohms(soc + SOC_STEP) - ohms(soc - SOC_STEP)) / (2 * SOC_STEP);
    return (bus.current[place]! * change) / capacity;
  }

  /** Whether what goes into a bank is what it allows at its state of charge. */
  private isAtSent(at: number, amperes: number, soc: number): boolean {
    const bank = this.plan.banks[at]!;
    const sent = sentAt(bank.chargeBySoc, soc);
    return sent < bank.chargeLimit && Math.abs(amperes - sent) <= 1e-6 * Math.max(1, sent);
  }

  /** How many times its current a bank loses of its charge while it gives so much. */
  rateEffect(at: number, amperes: number): number {
    const { peukert, ratedCurrent } = this.plan.banks[at]!;
    return peukert > 1 && amperes > ratedCurrent ? raise(amperes / ratedCurrent, peukert - 1) : 1;
  }
}
