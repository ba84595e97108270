import { chargeShare } from '../equipment/bank-curve.js';
import type { Bus } from '../solve/bus.js';
import type { DirectSide } from './direct-side.js';
import type { Plan } from './plan.js';

/**
 * Positions of the sums in the flows; then by source its power and its fuel, by array what is taken, by bank the current out of it, and by
 * source what no bus takes of what drives it: all of that, and the part that heats its diversion load.
 */
export const FLOW = { sources: 0, loads: 1, lost: 2, diverted: 3, first: 4 } as const;

/** Where energy comes from and goes to on the direct-current side, as it was solved last. */
export class EnergyFlows {
  constructor(
    private readonly plan: Plan,
    private readonly side: DirectSide,
  ) {}

  /** Fills in all flows as the buses were solved last. */
  fill(flows: Float64Array): void {
    const { plan, side } = this;
    clear(flows);
    let lost = -side.toLoadsOfBuses;
    side.losses.fill(side.configuration, side.chargerInput);
    for (let at = 0; at < plan.buses; at += 1) lost += side.busLoad[at]!;
    clear(side.taken);
    clear(side.sourcePower);
    clear(side.spare);
    for (let at = 0; at < plan.inverters.length; at += 1)
      if (side.inverterInput[at]! > 0)
        lost +=
          side.inverterInput[at]! -
          side.inverterLoad[at]! -
          side.inverterExtra[at]! +
          side.losses.byFeeder[plan.sources.length + at]!;
      else if (side.isInverterOn[at] && side.configuration.passageSource[at]! >= 0) lost += plan.inverters[at]!.idle;
    for (const bus of side.buses) lost += this.lostOn(bus, flows);
    for (let at = 0; at < side.spare.length; at += 1) flows[side.firstSpare + at] = side.spare[at]!;
    let fromSources = 0;
    for (let at = 0; at < plan.sources.length; at += 1) {
      const source = plan.sources[at]!;
      const inConductors = side.losses.byFeeder[at]!;
      lost += inConductors;
      const power =
        source.kind === 'direct' ? side.sourcePower[at]! : side.sourceLoad[at]! + side.chargerPower[at]! + inConductors;
      side.sourcePower[at] = power;
      fromSources += power;
      flows[FLOW.first + 2 * at] = power;
    }
    for (let at = 0; at < plan.sources.length; at += 1) {
      const source = plan.sources[at]!;
      if (!side.isTurning[at] || source.machine !== at) continue;
      let power = 0;
      for (let outlet = at; outlet < plan.sources.length; outlet += 1)
        if (plan.sources[outlet]!.machine === at) power += side.sourcePower[outlet]!;
      flows[FLOW.first + 2 * at + 1] = burn(source.burnShare, source.burnRate, power / source.rated);
    }
    const arrays = FLOW.first + 2 * plan.sources.length;
    for (let at = 0; at < plan.arrays.length; at += 1) {
      flows[arrays + at] = side.taken[at]!;
      fromSources += side.taken[at]!;
    }
    flows[FLOW.sources] = fromSources;
    flows[FLOW.loads] = side.toLoads;
    flows[FLOW.lost] = lost;
  }

  private lostOn(bus: Bus, flows: Float64Array): number {
    const { plan, side } = this;
    const volts = bus.voltage;
    let lost = 0;
    for (let place = 0; place < bus.regulators.length; place += 1) {
      const at = bus.regulators[place]!;
      const regulator = plan.regulators[at]!;
      const amperes = bus.given[place]!;
      const isDriven = regulator.source >= 0 && regulator.powerByMonth.length > 0;
      if (amperes === 0 && !isDriven) continue;
      const input = (amperes * (volts + amperes * regulator.droop)) / regulator.efficiency;
      lost += input - amperes * volts;
      if (regulator.fromBus >= 0) lost += side.inletLost[at]!;
      if (regulator.source >= 0) side.sourcePower[regulator.source]! += input;
      if (isDriven && side.isSourceLive[regulator.source]) {
        // What drives it goes on driving it, whatever the bus takes: the rest heats its diversion load, or goes by unused.
        const spare = Math.max(0, side.limitOf(at) - input);
        const diverted = Math.min(spare, regulator.diversion);
        side.spare[regulator.source] = spare;
        side.sourcePower[regulator.source]! += diverted;
        flows[FLOW.diverted]! += diverted;
      }
      const { arrays } = regulator;
      let available = 0;
      for (let behind = 0; behind < arrays.length; behind += 1) available += side.arrayWatts[arrays[behind]!]!;
      if (available <= 0) continue;
      for (let behind = 0; behind < arrays.length; behind += 1)
        side.taken[arrays[behind]!]! += (input * side.arrayWatts[arrays[behind]!]!) / available;
    }
    const drawn = FLOW.first + 2 * plan.sources.length + plan.arrays.length;
    for (let place = 0; place < bus.banks.length; place += 1) {
      const at = bus.banks[place]!;
      const bank = plan.banks[at]!;
      const amperes = bus.current[place]!;
      const rest = side.rest[at]!;
      const soc = side.solvedAt[at]! / bank.capacity;
      lost += (volts - rest) * amperes;
      lost +=
        amperes > 0
          ? rest * amperes * (1 - chargeShare(bank, soc))
          : -rest * amperes * (side.rates.rateEffect(at, -amperes) - 1);
      lost += rest * bank.selfDischarge * side.solvedAt[at]!;
      if (amperes < 0) flows[drawn + at] = -amperes;
    }
    return lost;
  }
}

/** Sets a short list to zero; for so few a loop is quicker than `fill`. */
export function clear(values: Float64Array): void {
  for (let at = 0; at < values.length; at += 1) values[at] = 0;
}

/** Fuel rate at a share of the rating, on the straight lines between the points, held beyond them. */
function burn(shares: Float64Array, rates: Float64Array, share: number): number {
  const last = shares.length - 1;
  if (last < 0) return 0;
  if (share <= shares[0]!) return rates[0]!;
  if (share >= shares[last]!) return rates[last]!;
  let at = 0;
  while (shares[at + 1]! < share) at += 1;
  return rates[at]! + ((rates[at + 1]! - rates[at]!) * (share - shares[at]!)) / (shares[at + 1]! - shares[at]!);
}
