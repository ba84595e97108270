import type { QuantityName } from '../model/quantity-names.js';

/** Quantities at a terminal: what the current at that side of a thing is called. */
const TERMINAL_QUANTITIES: Readonly<Record<string, QuantityName>> = {
  'charger.dc.current': 'outputCurrent',
  'charger.ac.current': 'inputCurrent',
  'inverter.dc.current': 'dcCurrent',
  'inverter.input.current': 'inputCurrent',
  'chargeController.dc.current': 'outputCurrent',
};

/** The quantity that `Rect.dc.current` stands for, by the kind of the thing and what is written after it (`dc.current`). */
export const terminalQuantity = (kind: string, written: string): QuantityName | undefined =>
  TERMINAL_QUANTITIES[`${kind}.${written}`];

/** What can be written after a thing of a kind, terminal first: `dc.current`. */
export const terminalQuantityNames = (kind: string): readonly string[] =>
  Object.keys(TERMINAL_QUANTITIES).flatMap((key) => (key.startsWith(`${kind}.`) ? [key.slice(kind.length + 1)] : []));
