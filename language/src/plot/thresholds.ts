import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { isBank } from '../model/roles.js';
import { setPointsInOrder } from '../quantities/storage/set-points.js';
import type { BankThreshold } from './scenario-plot.js';

/** The set points of every bank, as marks of a plot: what starts, stops and cuts off at which charge and voltage. */
export const plotThresholds = (context: DesignContext): BankThreshold[] =>
  context.system.instances.filter(isBank).flatMap((bank) =>
    (['soc', 'voltage'] as const).flatMap((signal) =>
      setPointsInOrder(bank, signal, context).map(({ what, value }) => ({
        bank: bank.name,
        signal,
        text: what,
        at: numberIn(value, signal === 'soc' ? '' : 'V'),
      })),
    ),
  );
