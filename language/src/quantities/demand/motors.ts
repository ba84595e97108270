import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, deriveFact, known } from '../../derivation/index.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { calculation } from '../calculation.js';
import type { QuantityContext } from '../define.js';
import { banksAt } from '../supply/joined.js';
import { connect, missingFrom, systemOf } from '../supply/supply.js';

/** What sort of motor a load is; undefined where it is none, or does not say so. */
export const motorOf = (load: Instance): string | undefined => wordIn(load.properties, 'motor');

/** Voltage and system by which the tables of motors are read. */
function tableArguments(
  motor: Instance,
  source: Instance | undefined,
  context: QuantityContext,
): { readonly voltage: Derivation; readonly system: 'dc' | 'single' | 'three' } | undefined {
  const system = source && systemOf(source);
  if (system) {
    const connection = connect(motor, system, context);
    if (missingFrom(connection)) return undefined;
    return { voltage: connection.voltage, system: connection.factor > 1 ? 'three' : 'single' };
  }
  const [bank] = banksAt(motor, context);
  const voltage = bank && context.quantity(bank, 'bankVoltage');
  return voltage?.kind === 'known' ? { voltage: voltage.derivation, system: 'dc' } : undefined;
}

/**
 * Full-load current of one motor for its conductors and its short-circuit device: of the table by its horsepower (NEC 430.6(A)), else of its
 * nameplate. Undefined where it states neither; refused where the table has no such motor and no nameplate stands in for it.
 */
export function fullLoadCurrent(
  motor: Instance,
  source: Instance | undefined,
  context: QuantityContext,
): Result | undefined {
  const horsepower = context.maybe(motor, 'horsepower');
  const nameplate = context.maybe(motor, 'fullLoadCurrent');
  const read = horsepower && tableArguments(motor, source, context);
  if (!horsepower || !read) return nameplate && known(nameplate);
  const table = callFunction(calculation('motorCurrent'), {
    power: horsepower,
    voltage: read.voltage,
    system: deriveFact('system', read.system, { origin: 'stated' }),
  });
  return table.kind !== 'known' && nameplate ? known(nameplate) : table;
}
