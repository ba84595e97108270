import { type Result, missing } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { feederIn } from './chargers.js';
import { loadsBehind } from './passed-loads.js';
import type { Around } from '../plant/chargers.js';
import { supplyAround } from '../plant/feeders.js';
import { apparentOf, meanShare, powerOf } from '../demand/steady-share.js';
import { leftOfSupply } from './supply-left.js';
import { collect, sumOf, whenKnown } from '../worst.js';

/** What stands around a charger in a state, as far as it bounds what it gives: its supply, what it passes on, and what others leave of the supply. */
export function chargingAround(
  charger: Instance,
  circuit: CircuitState,
  context: DesignContext,
): { readonly ok: true; readonly around: Around } | { readonly ok: false; readonly result: Result } {
  const feeder = feederIn(charger, circuit);
  if (!feeder) return { ok: true, around: {} };
  const connection = supplyAround(charger, feeder, context);
  if ('missing' in connection) return { ok: false, result: missing(connection.missing) };
  const loads = circuit.passing.has(charger) ? [...loadsBehind(charger, context)] : [];
  const passed = collect(
    loads.map((load) => whenKnown(powerOf(load, meanShare, context), (power) => apparentOf(load, power, context))),
  );
  if (!passed.ok) return { ok: false, result: passed.result };
  const left = leftOfSupply(charger, feeder, circuit, context);
  return {
    ok: true,
    around: {
      ...connection,
      ...(loads.length > 0 ? { passed: sumOf('loads it passes on', 'S_passed', 'VA', passed.derivations) } : {}),
      ...(left ? { supplyPower: left } : {}),
    },
  };
}
