import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { feederIn } from './chargers.js';
import { loadsBehind } from './passed-loads.js';
import type { Around } from '../plant/chargers.js';
import { supplyAround } from '../plant/feeders.js';
import { meanShare, powerOf } from '../demand/steady-share.js';
import { leftOfSupply } from './supply-left.js';
import { collect, sumOf } from '../worst.js';

/** Mean apparent power of a load, VA. */
function apparentMean(load: Instance, context: DesignContext): Result {
  const all = collect([powerOf(load, meanShare, context), context.fact(load, 'powerFactor')]);
  if (!all.ok) return all.result;
  const [power, factor] = all.derivations as [Derivation, Derivation];
  return known(
    derive(`apparent power of ${load.name}`, numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
      symbol: `S_${load.name}`,
      formula: 'P/pf',
      inputs: [power, factor],
    }),
  );
}

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
  const passed = collect(loads.map((load) => apparentMean(load, context)));
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
