import { type Derivation, type Result, refused } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { hasCurve } from '../../quantities/faults/clearing.js';
import { type FarFault, farFaults as faultsAtEnds } from '../../quantities/faults/faults-smallest.js';
import type { NotChecked } from '../define.js';
import { notChecked } from '../verdicts.js';
import { isDevice } from '../../model/roles.js';

export type { FarFault };

/** One open question for all devices of a design for which no time-current data exist. */
export function* withoutCurve(context: DesignContext): Generator<NotChecked> {
  const names = context.system.instances
    .filter((device) => isDevice(device) && !hasCurve(device, context))
    .filter((device) => context.graph.nodesOf(device).some((node) => context.graph.segmentsAt(node).length > 0))
    .map(({ name }) => name);
  if (names.length === 0) return;
  const { name, place } = context.system;
  yield notChecked({ path: name, place }, refused(`no time-current data for ${names.join(', ')}`));
}

/** The devices of a run for which there are time-current data. */
export const devicesWithCurve = (
  stops: readonly { readonly instance: Instance }[],
  context: DesignContext,
): Instance[] =>
  stops.map(({ instance }) => instance).filter((device) => isDevice(device) && hasCurve(device, context));

/** The weakest fault at each fed end of a run that devices of the run with known curves would have to clear; results that are not known by themselves. */
export const farFaults = (
  run: Run,
  context: DesignContext,
  size?: Derivation,
): { faults: FarFault[]; open: Result[] } => faultsAtEnds(run, context, (device) => hasCurve(device, context), size);
