import { BankRates } from './bank-rates.js';
import type { Allotment } from './allotment.js';
import { Bus } from '../solve/bus.js';
import { type ConductorLosses, lostBefore, wiredAmperes } from '../solve/conductor-losses.js';
import { inverterDraw } from '../solve/inverter-draw.js';
import { Gear } from './gear.js';
import { EnergyFlows, FLOW, clear } from './energy-flows.js';
import type { SunLine } from './sun-line.js';
import type { Configuration, Plan } from './plan.js';
import { SignalValues } from './signal-values.js';
import { isFedByAlternating } from './plan-questions.js';
import { chargeShare, slopeOf, stretchAt } from '../equipment/bank-curve.js';
import { chargeSent } from '../equipment/sent-limits.js';
import { setResistances } from '../quantities/plant/polarisation.js';

/** Share of its voltage to which a bus is solved with the losses of its cables, and rounds in which it always is. */
const SETTLED = 1e-10;
const MOST_ROUNDS = 20;

/**
 * The direct-current side at an instant: the buses with their banks, regulators and inverters, and everything that follows from their
 * voltages: currents, rates and flows of energy.
 */
export class DirectSide {
  readonly buses: readonly Bus[];
  configuration!: Configuration;

  /* Set from outside. */
  /** Of the day that is played, from 0 for January. */
  month = 0;
  /** W that the wind makes each turbine give now. */
  readonly turbineWatts: Float64Array;
  readonly isSourceLive: Uint8Array;
  readonly isTurning: Uint8Array;
  readonly isInverterOn: Uint8Array;
  readonly isRegulatorOn: Uint8Array;
  readonly isLinked: Uint8Array;
  /** Whether each inverter hears its bank. */
  readonly isInverterLinked: Uint8Array;
  /** A that each regulator holds to since its link fell silent; infinite for those that hold nothing. */
  readonly heldLimit: Float64Array;
  readonly served: Float64Array;

  /** What alternating-current conductors lose. */
  losses!: ConductorLosses;

  /** What gear has switched. */
  readonly gear: Gear;

  readonly flows: number;
  /** What is recorded and watched. */
  readonly signals: SignalValues;
  /** How the charge of banks moves, and where energy flows, as it is solved. */
  readonly rates: BankRates;
  private readonly energy: EnergyFlows;

  readonly arrayWatts: Float64Array;
  /** How power and current of each regulator go on with the sun where it was taken last (W/s, A/s), and whether none does. */
  readonly powerRate: Float64Array;
  readonly limitRate: Float64Array;
  isSunStill = true;
  /** V and V per coulomb at which each bank rests. */
  readonly rest: Float64Array;
  readonly restSlope: Float64Array;
  private readonly stretch: Int32Array;
  /** Rate at the start of the step: at a point of its curve a bank belongs to the stretch it goes towards. */
  readonly heading: Float64Array;
  /** C each bank was last solved at. */
  readonly solvedAt: Float64Array;
  /** 1 while a bank is kept from taking charge (not: full, or taking no more). */
  private readonly isBlocked: Uint8Array;
  readonly isSolved: Uint8Array;
  /** W of alternating current chargers take from each source and inverter, and W out of each inverter's bus. */
  readonly chargerPower: Float64Array;
  /** W of alternating current that each charger takes. */
  readonly chargerInput: Float64Array;
  readonly inverterExtra: Float64Array;
  readonly inverterInput: Float64Array;
  private readonly busExtra: Float64Array;
  readonly sourceLoad: Float64Array;
  readonly inverterLoad: Float64Array;
  readonly sourcePower: Float64Array;
  readonly taken: Float64Array;
  /** W of what drives each source that no bus takes, and where they stand in the flows. */
  readonly spare: Float64Array;
  readonly firstSpare: number;
  /** Where regulators and banks stand on their buses. */
  readonly place: Int32Array;
  readonly bankPlace: Int32Array;
  readonly busOfBank: readonly Bus[];
  readonly busOfRegulator: readonly Bus[];
  /** Regulators that the sun rules. */
  private readonly sunny: readonly number[];
  /* What stands until something switches: W to loads, lost by converters before them, drawn by loads of each bus, and whether chargers
     or converters make one bus depend on another. */
  toLoads = 0;
  /** W to loads that buses feed. */
  toLoadsOfBuses = 0;
  readonly busLoad: Float64Array;
  /** W that converters of loads draw behind their input cables. */
  private readonly inletWatts: Float64Array;
  /** W lost in the input cables of regulators that charge from another bus. */
  readonly inletLost: Float64Array;
  /** Loads of each bus whose cables lose what the voltage before them says. */
  private readonly wired: readonly (readonly number[])[];
  /** Whether chargers on inverters, or converters, make one bus depend on another. */
  isChained = false;

  constructor(
    private readonly plan: Plan,
    private readonly sun: SunLine,
  ) {
    const { banks, regulators, inverters, sources, loads, arrays } = plan;
    this.gear = new Gear(plan);
    this.turbineWatts = new Float64Array(plan.turbines.length);
    this.buses = Array.from({ length: plan.buses }, (_, bus) => busOf(plan, bus));
    this.place = new Int32Array(regulators.length);
    for (const bus of this.buses) bus.regulators.forEach((regulator, at) => (this.place[regulator] = at));
    this.bankPlace = new Int32Array(banks.length);
    for (const bus of this.buses) bus.banks.forEach((bank, at) => (this.bankPlace[bank] = at));
    this.busOfBank = banks.map(({ bus }) => this.buses[bus]!);
    this.busOfRegulator = regulators.map(({ bus }) => this.buses[bus]!);
    this.sunny = regulators.flatMap(({ arrays: behind }, at) => (behind.length > 0 ? [at] : []));
    this.busLoad = new Float64Array(plan.buses);
    this.inletWatts = new Float64Array(plan.inlets.length);
    this.inletLost = new Float64Array(regulators.length);
    this.wired = Array.from({ length: plan.buses }, (_, bus) =>
      loads.flatMap((load, at) =>
        load.bus === bus && (load.inlet >= 0 || (load.wire > 0 && load.fedVolts === 0)) ? [at] : [],
      ),
    );
    this.isSourceLive = new Uint8Array(sources.length);
    this.isTurning = new Uint8Array(sources.length);
    this.isInverterOn = new Uint8Array(inverters.length);
    this.isRegulatorOn = new Uint8Array(regulators.length);
    this.isLinked = new Uint8Array(regulators.length);
    this.isInverterLinked = new Uint8Array(inverters.length);
    this.heldLimit = new Float64Array(regulators.length).fill(Infinity);
    this.served = new Float64Array(loads.length);
    this.arrayWatts = new Float64Array(arrays.length);
    this.powerRate = new Float64Array(regulators.length);
    this.limitRate = new Float64Array(regulators.length);
    this.isSolved = new Uint8Array(plan.buses).fill(1);
    this.busExtra = new Float64Array(plan.buses);
    this.isBlocked = new Uint8Array(banks.length);
    this.heading = new Float64Array(banks.length);
    this.rest = new Float64Array(banks.length);
    this.restSlope = new Float64Array(banks.length);
    this.stretch = new Int32Array(banks.length);
    this.solvedAt = new Float64Array(banks.length);
    this.chargerPower = new Float64Array(sources.length);
    this.chargerInput = new Float64Array(regulators.length);
    this.inverterExtra = new Float64Array(inverters.length);
    this.inverterInput = new Float64Array(inverters.length);
    this.sourceLoad = new Float64Array(sources.length);
    this.inverterLoad = new Float64Array(inverters.length);
    this.sourcePower = new Float64Array(sources.length);
    this.taken = new Float64Array(arrays.length);
    this.signals = new SignalValues(plan, this);
    this.rates = new BankRates(plan, this);
    this.energy = new EnergyFlows(plan, this);

    this.spare = new Float64Array(sources.length);
    this.firstSpare = FLOW.first + 2 * sources.length + arrays.length + banks.length;
    this.flows = this.firstSpare + sources.length;
  }

  sourceFlow = (source: number): number => FLOW.first + 2 * source;
  fuelFlow = (source: number): number => FLOW.first + 2 * source + 1;
  arrayFlow = (array: number): number => FLOW.first + 2 * this.plan.sources.length + array;
  spareFlow = (source: number): number => this.firstSpare + source;
  drawnFlow = (bank: number): number => FLOW.first + 2 * this.plan.sources.length + this.plan.arrays.length + bank;

  /* ---- what is set before a step ---- */

  /** Takes over which loads are served and what chargers may draw, and sets every regulator that the sun does not rule. */
  takeAllotment(allotment: Allotment): void {
    const { plan } = this;
    this.losses = allotment.losses;
    this.sourceLoad.set(allotment.sourceLoad);
    this.inverterLoad.set(allotment.inverterLoad);
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const regulator = plan.regulators[at]!;
      const bus = this.buses[regulator.bus]!;
      const place = this.place[at]!;
      const isFed = regulator.fromBus < 0 || !this.gear.isBusDown[regulator.fromBus];
      bus.isOn[place] = this.isRegulatorOn[at] && isFed ? 1 : 0;
      bus.isLinked[place] = this.isLinked[at]!;
      bus.set[place] = this.gear.heldBy(at);
      bus.limit[place] = Math.min(regulator.currentLimit, this.heldLimit[at]!);
      bus.power[place] = this.behindLeads(
        at,
        isFedByAlternating(regulator)
          ? Math.min(this.limitOf(at), allotment.chargerInput[at]! * regulator.efficiency)
          : this.limitOf(at),
      );
    }
    this.keepWhatStands();
  }

  /** Works out what does not follow from the charge of the banks, once for all steps until something switches. */
  private keepWhatStands(): void {
    const { plan, served, configuration } = this;
    this.toLoads = 0;
    this.toLoadsOfBuses = 0;
    for (let at = 0; at < plan.loads.length; at += 1) {
      this.toLoads += served[at]!;
      if (plan.loads[at]!.bus >= 0) this.toLoadsOfBuses += served[at]!;
    }
    for (let at = 0; at < plan.buses; at += 1) this.fillBusLoad(at, this.voltsBefore(at));
    this.signals.takeServed(served);
    this.isChained =
      plan.regulators.some(({ fromBus }) => fromBus >= 0) ||
      configuration.chargerFeeder.some((feeder) => feeder >= plan.sources.length);
    this.inverterExtra.fill(0);
    this.busExtra.fill(0);
    for (let at = 0; at < plan.buses; at += 1) this.buses[at]!.drawn = this.drawnFrom(at);
    for (const bus of this.buses)
      for (let place = 0; place < bus.banks.length; place += 1) {
        const at = bus.banks[place]!;
        const bank = plan.banks[at]!;
        const isCutOff = !bank.resetsItself && (this.gear.isOpenLow[at] || this.gear.isOpenHigh[at]);
        this.isBlocked[at] = !bank.takesCharge || this.gear.isOpenHigh[at] || isCutOff ? 1 : 0;
        bus.most[place] = this.isBlocked[at] ? 0 : Infinity;
        bus.least[place] =
          !bank.givesCharge || this.gear.isOpenLow[at] || isCutOff || this.gear.isEmpty[at] ? 0 : -Infinity;
        bus.asked[place] = bank.chargeLimit;
      }
  }

  /** V of a bus as it was solved last, else its nominal voltage. */
  private voltsBefore(bus: number): number {
    return this.buses[bus]!.voltage > 0 ? this.buses[bus]!.voltage : this.plan.busVolts[bus]!;
  }

  /** What loads draw from a bus at a voltage, with what their cables lose. */
  private fillBusLoad(bus: number, volts: number): void {
    const { loads, inlets } = this.plan;
    const { inletWatts } = this;
    let drawn = 0;
    for (let at = 0; at < loads.length; at += 1)
      if (loads[at]!.bus === bus && loads[at]!.inlet >= 0) inletWatts[loads[at]!.inlet] = 0;
    for (let at = 0; at < loads.length; at += 1) {
      const load = loads[at]!;
      const served = this.served[at]!;
      if (load.bus !== bus || served === 0) continue;
      const before = load.fedVolts > 0 ? load.fedVolts : volts;
      const own = load.upstream * (load.wire > 0 ? before * wiredAmperes(load.wire, served, before) : served);
      drawn += own;
      if (load.inlet < 0) continue;
      // What those behind one converter draw over its input cable adds up before it is squared.
      const behind = inletWatts[load.inlet]!;
      inletWatts[load.inlet] = behind + own;
      drawn += lostBefore(inlets[load.inlet]!, behind + own, volts) - lostBefore(inlets[load.inlet]!, behind, volts);
    }
    this.busLoad[bus] = drawn;
  }

  /** V at the converter that feeds a load once it takes so many watts more, else at its bus, as that was solved last; 0 where the cable cannot carry them. */
  converterVolts(at: number, more: number): number {
    const { bus, inlet, upstream } = this.plan.loads[at]!;
    const { voltage } = this.buses[bus]!;
    if (inlet < 0) return voltage;
    const ohms = this.plan.inlets[inlet]!;
    const watts = this.inletWatts[inlet]! + upstream * more;
    return voltage * voltage < 4 * ohms * watts ? 0 : voltage - ohms * wiredAmperes(ohms, watts, voltage);
  }

  /** V at a load that takes so many watts, with its bus as it was solved last; 0 where its cable cannot carry them. */
  loadVolts(at: number, watts: number): number {
    const { bus, wire, fedVolts } = this.plan.loads[at]!;
    const before = fedVolts > 0 ? fedVolts : this.buses[bus]!.voltage;
    return before * before < 4 * wire * watts ? 0 : before - wire * wiredAmperes(wire, watts, before);
  }

  /** W that the own facts of a regulator let it give in the month that is played. */
  limitOf(at: number): number {
    const { powerLimit, powerByMonth, turbine } = this.plan.regulators[at]!;
    if (turbine >= 0) return Math.min(powerLimit, this.turbineWatts[turbine]!);
    return powerByMonth.length > 0 ? powerByMonth[this.month]! : powerLimit;
  }

  /** W that arrive at the bus of what a regulator gives at its terminals: less the loss in its leads, at the nominal voltage. */
  private behindLeads(at: number, watts: number): number {
    if (watts === Infinity) return watts;
    const { bus, droop } = this.plan.regulators[at]!;
    const amperes = watts / this.plan.busVolts[bus]!;
    return Math.max(0, watts - droop * amperes * amperes);
  }

  /** Takes over what the arrays can give so many s along the lines of the sun. */
  takeSun(along: number): void {
    const { plan, arrayWatts, sun } = this;
    for (let at = 0; at < arrayWatts.length; at += 1)
      arrayWatts[at] = Math.max(0, sun.watts[at]! + along * sun.wattsRate[at]!);
    this.isSunStill = true;
    for (let each = 0; each < this.sunny.length; each += 1) {
      const at = this.sunny[each]!;
      const { bus: of, arrays, takesCurrent, currentLimit } = plan.regulators[at]!;
      const bus = this.buses[of]!;
      const place = this.place[at]!;
      let [watts, wattsRate, amperes, amperesRate] = [0, 0, 0, 0];
      for (let behind = 0; behind < arrays.length; behind += 1) {
        const array = arrays[behind]!;
        watts += arrayWatts[array]!;
        wattsRate += sun.wattsRate[array]!;
        amperes += sun.amperes[array]! + along * sun.amperesRate[array]!;
        amperesRate += sun.amperesRate[array]!;
      }
      const isLit = watts > 0;
      if (!isLit && wattsRate <= 0) this.gear.beginStages(at);
      if (wattsRate !== 0 || amperesRate !== 0) this.isSunStill = false;
      bus.isOn[place] = isLit && this.isRegulatorOn[at] ? 1 : 0;
      bus.set[place] = this.gear.heldBy(at);
      const most = Math.min(currentLimit, this.heldLimit[at]!);
      if (takesCurrent) bus.limit[place] = Math.min(most, Math.max(0, amperes));
      this.limitRate[at] = takesCurrent && amperes < most ? amperesRate : 0;
      bus.power[place] = this.sunnyPower(at, watts);
      this.powerRate[at] = this.sunnyPower(at, watts + wattsRate) - bus.power[place]!;
    }
  }

  /** No controller gives more than its array, whatever the voltage it switches it to. */
  private sunnyPower(at: number, watts: number): number {
    return this.behindLeads(at, Math.min(this.limitOf(at), Math.max(0, watts) * this.plan.regulators[at]!.efficiency));
  }

  /** Goes along the lines of the sun within a step. */
  moveSun(along: number): void {
    if (!this.isSunStill) this.takeSun(along);
  }

  /* ---- solution at a charge ---- */

  /** Finds voltages and currents of all buses at a charge of the banks. */
  solve(charge: Float64Array): void {
    const { plan, configuration } = this;
    clear(this.chargerPower);
    if (this.isChained) {
      this.inverterExtra.fill(0);
      this.busExtra.fill(0);
    }
    for (let order = 0; order < plan.buses; order += 1) {
      const at = configuration.busOrder[order]!;
      const bus = this.buses[at]!;
      if (this.isChained) {
        this.fillBetween(at);
        bus.drawn = this.drawnFrom(at);
      }
      for (let place = 0; place < bus.banks.length; place += 1) this.setBank(bus, place, charge);
      this.isSolved[at] = this.solveBus(at, bus) ? 1 : 0;
      this.passOn(bus);
    }
  }

  /** What conductors lose between the inverters of a bus and the chargers that they feed, all of which have been solved. */
  private fillBetween(bus: number): void {
    const { inverters, sources } = this.plan;
    for (let at = 0; at < inverters.length; at += 1)
      if (inverters[at]!.bus === bus && this.inverterExtra[at]! > 0)
        this.inverterExtra[at]! += this.losses.byChargers(this.configuration, sources.length + at, this.chargerInput);
  }

  /** Buses that have a voltage at which everything gets what it draws. */
  solvedBuses(): number {
    let sum = 0;
    for (let at = 0; at < this.isSolved.length; at += 1) sum += this.isSolved[at]!;
    return sum;
  }

  /** Tells apart which forms all buses were solved in. */
  solvedForms(): number {
    let forms = 0;
    for (let at = 0; at < this.buses.length; at += 1) forms = 65_537 * forms + this.buses[at]!.forms;
    return forms;
  }

  /** Solves a bus with what the cables of its loads lose at the very voltage that comes of it. */
  private solveBus(at: number, bus: Bus): boolean {
    if (this.wired[at]!.length === 0) return bus.solve();
    let before = this.voltsBefore(at);
    for (let round = 0; ; round += 1) {
      this.fillBusLoad(at, before);
      bus.drawn = this.drawnFrom(at);
      const isSolved = bus.solve();
      if (!isSolved || Math.abs(bus.voltage - before) <= SETTLED * before || round === MOST_ROUNDS) return isSolved;
      before = bus.voltage;
    }
  }

  /** W drawn from a bus by loads, inverters and converters. */
  private drawnFrom(at: number): number {
    const { plan, configuration } = this;
    // Loads on a bus that is down are not served.
    let drawn = this.busExtra[at]! + this.busLoad[at]!;
    for (let index = 0; index < plan.inverters.length; index += 1) {
      const inverter = plan.inverters[index]!;
      if (inverter.bus !== at) continue;
      if (!this.isInverterOn[index] || configuration.passes[index]) {
        this.inverterInput[index] = 0;
        continue;
      }
      const output = this.inverterLoad[index]! + this.inverterExtra[index]!;
      const input = inverterDraw(inverter, output);
      // What its leads lose, at the nominal voltage of the bus.
      const amperes = input / plan.busVolts[at]!;
      this.inverterInput[index] = input + inverter.leads * amperes * amperes;
      drawn += this.inverterInput[index]!;
    }
    return drawn;
  }

  private setBank(bus: Bus, place: number, charge: Float64Array): void {
    const at = bus.banks[place]!;
    const bank = this.plan.banks[at]!;
    const { curve, capacity } = bank;
    const here = charge[at]!;
    this.solvedAt[at] = here;
    const soc = here / capacity;
    const stretch = this.stretch[at]!;
    // Most steps stay on the stretch of the step before.
    if (!(soc > curve.soc[stretch]! && soc < curve.soc[stretch + 1]!))
      this.stretch[at] = stretchAt(curve, soc, this.heading[at]!);
    const on = this.stretch[at]!;
    const slope = slopeOf(curve, on);
    this.rest[at] = curve.volts[on]! + slope * (soc - curve.soc[on]!);
    this.restSlope[at] = slope / capacity;
    bus.rest[place] = this.rest[at]!;
    if (bank.polarisation) setResistances(bus, place, bank, soc);
    if (bank.chargeBySoc) bus.asked[place] = chargeSent(bank, soc);
    // How much a bank takes follows from its charge only where it is full, or takes less and less.
    if (this.isBlocked[at] || !(this.gear.isFull[at] || bank.acceptance < Infinity)) return;
    const lost = (bank.selfDischarge * here) / chargeShare(bank, soc);
    bus.most[place] = this.gear.isFull[at] ? lost : (capacity - here) * bank.acceptance + lost;
  }

  /** Charge at the next point of a bank's curve from a charge on. */
  pointAhead(at: number, charge: number, direction: number): number {
    const { curve, capacity } = this.plan.banks[at]!;
    const soc = charge / capacity;
    let stretch = this.stretch[at]!;
    // Most steps stay on one stretch.
    if (!(soc > curve.soc[stretch]! && soc < curve.soc[stretch + 1]!)) stretch = stretchAt(curve, soc, direction);
    return (direction > 0 ? curve.soc[stretch + 1]! : curve.soc[stretch]!) * capacity;
  }

  /** What regulators of a bus take from sources, inverters, arrays and other buses. */
  private passOn(bus: Bus): void {
    const { plan, configuration } = this;
    const volts = bus.voltage;
    for (let place = 0; place < bus.regulators.length; place += 1) {
      const at = bus.regulators[place]!;
      const regulator = plan.regulators[at]!;
      const amperes = bus.given[place]!;
      const input = (amperes * (volts + amperes * regulator.droop)) / regulator.efficiency;
      if (isFedByAlternating(regulator)) {
        const feeder = configuration.chargerFeeder[at]!;
        this.chargerInput[at] = feeder < 0 ? 0 : input;
        if (feeder < 0) continue;
        if (feeder < plan.sources.length) this.chargerPower[feeder]! += input;
        else this.inverterExtra[feeder - plan.sources.length]! += input;
      } else if (regulator.fromBus >= 0) {
        this.inletLost[at] = lostBefore(regulator.inlet, input, this.voltsBefore(regulator.fromBus));
        this.busExtra[regulator.fromBus]! += input + this.inletLost[at]!;
      }
    }
  }

  /** Terminal voltage of a bank. */
  bankVolts(bus: Bus, place: number): number {
    const at = bus.banks[place]!;
    const bank = this.plan.banks[at]!;
    const amperes = bus.current[place]!;
    if (bank.polarisation && bus.isFree(place) && bus.voltage > 0) return bus.voltage - amperes * bank.leads;
    // A bank that takes no more than it can polarises up to the voltage of its bus.
    return bus.isAtMost(place) && !this.isBlocked[at]
      ? bus.voltage - amperes * bank.leads
      : this.rest[at]! + amperes * bank.resistance;
  }

  /** Power of every flow of energy (W), fuel (m³/s) and current out of banks (A). */
  fillFlows(flows: Float64Array): void {
    this.energy.fill(flows);
  }

  /** A that all banks of a bus together ask of chargers at a charge. */
  sentTo(bus: number, charge: Float64Array): number {
    let sum = 0;
    this.plan.banks.forEach((bank, at) => {
      if (bank.bus === bus) sum += chargeSent(bank, charge[at]! / bank.capacity);
    });
    return sum;
  }
}

function busOf(plan: Plan, at: number): Bus {
  const positions = (things: readonly { readonly bus: number }[]): number[] =>
    things.flatMap((thing, index) => (thing.bus === at ? [index] : []));
  const bus = new Bus(positions(plan.banks), positions(plan.regulators));
  bus.banks.forEach((bank, place) => {
    bus.resistance[place] = plan.banks[bank]!.resistance + plan.banks[bank]!.leads;
  });
  bus.regulators.forEach((regulator, place) => (bus.droop[place] = plan.regulators[regulator]!.droop));
  return bus;
}
