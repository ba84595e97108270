import { type Derivation } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Scenario } from '../model/types.js';
import { bankNumbers } from '../quantities/plant/banks.js';
import { type CellUse, REFERENCE_TEMPERATURE, cellsOutside } from '../quantities/plant/cell-limits.js';
import { timeModel } from '../reference/energy/index.js';
import type { Facts } from '../quantities/plant/facts.js';
import type { Buses } from '../quantities/plant/wiring.js';
import type { BankPlan } from './plan.js';

/** Initial value that a scenario states for a signal of a thing. */
const initialOf = (scenario: Scenario, signal: string, of: Instance): Derivation | undefined =>
  scenario.initial.find((each) => each.signal.kind === 'of' && each.signal.signal === signal && each.signal.of === of)
    ?.value;

/** °C of the cells of a bank while a scenario is played. */
function temperatureOf(bank: Instance, scenario: Scenario, context: DesignContext, facts: Facts): number {
  const stated = initialOf(scenario, 'temperature', bank);
  if (stated) return facts.of(stated, 'degC');
  const cells = context.maybe(bank, 'cellTemperature');
  if (cells) {
    const played = facts.of(cells, 'degC');
    for (const use of ['charge', 'discharge'] as const) assumeWithin(bank, use, played, context, facts);
    return played;
  }
  facts.assume(
    `the cells of ${bank.name} are taken at ${REFERENCE_TEMPERATURE} °C: neither cellTemperature nor temperature(${bank.name}) is stated`,
  );
  return REFERENCE_TEMPERATURE;
}

/** Says where a bank is played in cells that can be used, and they reach temperatures at which they cannot. */
function assumeWithin(bank: Instance, use: CellUse, played: number, context: DesignContext, facts: Facts): void {
  const outside = cellsOutside(bank, use, context);
  if (!outside) return;
  const { end, limit, reaches } = outside;
  if (end === 'cold' ? played < limit : played > limit) return;
  facts.assume(
    `the cells of ${bank.name} get as ${end} as ${reaches} °C, at which it ${use === 'charge' ? 'accepts' : 'gives'} no charge: state temperature(${bank.name}) to simulate that`,
  );
}

/** A bank as a scenario starts with it. Facts that lack are noted; the numbers are then of no use. */
export function bankPlan(
  bank: Instance,
  scenario: Scenario,
  context: DesignContext,
  buses: Buses,
  facts: Facts,
): BankPlan | undefined {
  const numbers = bankNumbers(bank, temperatureOf(bank, scenario, context, facts), context, buses, facts);
  const start = initialOf(scenario, 'soc', bank);
  const soc = start ? facts.of(start, '') : facts.lack(`soc(${bank.name}) of ${scenario.name}`);
  return numbers && { ...numbers, soc: Math.min(1, Math.max(0, soc)), fullFrom: timeModel('counts-as-full').value };
}
