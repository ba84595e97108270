import type { Signal } from '../model/conditions.js';
import type { Control, Instance, Link } from '../model/types.js';

/**
 * The link a signal comes over to a control: one the control has a fallback for, else one to what it commands, else any that ends at the
 * watched thing. State of charge is known only to the bank’s own electronics; a voltage can be measured on the spot.
 */
export function carrierOf(signal: string, thing: Instance, control: Control, links: readonly Link[]): Link | undefined {
  if (signal === 'voltage' || thing === control.target) return undefined;
  const ending = links.filter(({ from, to }) => from === thing || to === thing);
  return (
    ending.find((link) => control.fallbacks.some((fallback) => fallback.link === link)) ??
    ending.find(({ from, to }) => from === control.target || to === control.target) ??
    ending[0]
  );
}

/** The link of a signal of a condition; the clock needs none. */
export const carrierOfSignal = (signal: Signal, control: Control, links: readonly Link[]): Link | undefined =>
  signal.kind === 'of' ? carrierOf(signal.signal, signal.of, control, links) : undefined;
