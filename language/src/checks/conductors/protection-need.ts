import { overloadRow } from '../../calculate/conductors/protection.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  fromTable,
  known,
  numberIn,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { restOf, worstNeed } from '../../quantities/flow/loading.js';
import { requiredByNec } from '../../quantities/flow/required.js';
import { iecOverload, ruleValue, sourceOf } from '../../reference/index.js';
import { sortOf } from './device-ratings.js';

const NO_FACTOR = derive('factor for the largest motor', 1, '');

/**
 * Least rating (A) a device of a run, or one to be added to it, needs for its load: 125 % of the continuous part plus the rest (nec; craft as
 * common practice), the design current under iec, and for breakers that are listed for 100 % of their rating.
 */
export function leastRating(run: Run, device: Instance | undefined, context: DesignContext): Result {
  const { practice } = context.system.basis;
  const current = context.quantity(run, 'current');
  if (practice === 'iec' || current.kind !== 'known') return current;
  if (device && context.maybe(device, 'fullRating')?.value === true) return current;
  // The device of a motor has to let it start, and is bounded from above (NEC 430.52); no 125 % is asked of it.
  if (practice === 'nec') return requiredByNec(run, context, NO_FACTOR);
  const factor = ruleValue('craft', 'continuousFactor');
  return worstNeed(run, context, (loading) => {
    const rest = restOf(loading);
    const needed = numberIn(factor, '') * numberIn(loading.continuous, 'A') + numberIn(rest, 'A');
    return known(
      derive('least rating', needed, 'A', {
        formula: 'factor·I_c + I_n',
        inputs: [factor, loading.continuous, rest],
        ...(factor.source ? { source: factor.source } : {}),
      }),
    );
  });
}

/** The current that surely opens a device in its conventional time, against 1.45 times what the conductors carry (IEC 60364-4-43 433.1). */
export interface Coordination {
  readonly operating: Derivation;
  readonly limit: Derivation;
  readonly isBroken: boolean;
}

export function coordinationOf(device: Instance, rating: Derivation, ampacity: Derivation): Coordination {
  const sort = sortOf(device);
  const row = overloadRow(numberIn(rating, 'A'), sort);
  const factor = fromTable(
    'conventional operating current over rating',
    row?.operating ?? iecOverload.overloadLimit,
    '',
    sourceOf(iecOverload, row),
    { symbol: 'k_2', inputs: [deriveFact('device', sort, { origin: 'stated' })] },
  );
  const operating = derive('conventional operating current', numberIn(factor, '') * numberIn(rating, 'A'), 'A', {
    symbol: 'I_2',
    formula: 'k_2·I_n',
    inputs: [factor, { ...rating, symbol: 'I_n' }],
  });
  const share = fromTable('overload a conductor stands', iecOverload.overloadLimit, '', sourceOf(iecOverload));
  const limit = derive('largest operating current', iecOverload.overloadLimit * numberIn(ampacity, 'A'), 'A', {
    formula: '1.45·I_z',
    inputs: [share, { ...ampacity, symbol: 'I_z' }],
  });
  return { operating, limit, isBroken: numberIn(operating, 'A') > numberIn(limit, 'A') * (1 + 1e-9) };
}
