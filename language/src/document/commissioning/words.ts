import type { Instance, Run } from '../../model/types.js';
import { isArray, isConnection, isService, isStarted, isTurned, sourceOf } from '../../model/roles.js';

export const named = (things: readonly { readonly name: string }[]): string =>
  things.map(({ name }) => name).join(', ');

export const LIMITS = {
  // IEC 60364-6:2016 table 6A, from memory.
  insulation: 'at least 1 MΩ; extra-low voltage at least 0.5 MΩ (IEC 60364-6, from memory)',
  torque: 'as the device or its sheet says',
  joint: 'no joint more than 10 K above a similar joint (common practice, no source)',
  banks: 'none above 1 % of their voltage (common practice, no source)',
  plate: 'as its plate or data sheet says',
} as const;

/** What is done where a design forbids the next step. */
export const ENDS = 'Commissioning ends here until the design is changed.';

/** What opens on residual current must do when it is tested, by practice. */
export const RESIDUAL_LIMITS: Readonly<Record<string, string>> = {
  nec: 'trips, by its button and by the tester; class A at 4 mA to 6 mA (UL 943, from memory)',
  iec: 'trips, by its button and by the tester, within 300 ms at its rated residual current (IEC 61008-1, general type)',
  craft: 'trips, by its button and by the tester, within 100 ms at no more than 30 mA (ABYC E-11, from memory)',
};

/** Whether a run of a source is plugged in, and not landed on terminals: at a connector of the design, or at the outlet of the service. */
export const isPlugged = (run: Run): boolean =>
  [run.from, ...run.through, ...run.to].some(
    ({ instance }) => isConnection(instance) || (isService(instance) && instance.properties.has('outlet')),
  );

/**
 * A machine that charges by itself: what turns it must never turn it with its conductors open. A turbine without load races and gives far
 * more than its voltage, and an alternator that loses its bank destroys its own diodes and what else it feeds. Common practice, no source.
 */
export const needsItsLoad = isTurned;

const COMMANDS = {
  wind: ['release its brake', 'brake it'],
  water: ['open its valve slowly', 'close its valve'],
  engine: ['start the engine', 'stop the engine'],
} as const;

function commandOf(source: Instance, runs: readonly Run[]): readonly [start: string, stop: string] {
  if (isStarted(source)) return ['start it', 'stop it'];
  if (isArray(source)) return ['uncover it', 'cover it'];
  if (isService(source))
    return runs.some(isPlugged)
      ? ['switch its outlet on', 'switch its outlet off']
      : ['have it switched on by whoever may', 'have it switched off'];
  const from = sourceOf(source)?.from ?? '';
  return COMMANDS[from as keyof typeof COMMANDS] ?? ['switch it on', 'switch it off'];
}

export const toStart = (source: Instance, runs: readonly Run[]): string => commandOf(source, runs)[0];
export const toStop = (source: Instance, runs: readonly Run[]): string => commandOf(source, runs)[1];
