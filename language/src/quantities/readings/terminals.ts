import { capabilitiesOf, INSTANCE_KINDS, none } from '../../equipment/index.js';
import type { QuantityName } from '../../model/quantity-names.js';

/** Quantities at the terminals of a kind by what is written after its things: what the current at that side is called. */
const BY_KIND: ReadonlyMap<string, ReadonlyMap<string, QuantityName>> = new Map(
  INSTANCE_KINDS.map(({ kind }) => {
    const { charges, inverts } = capabilitiesOf(kind);
    const found = new Map<string, QuantityName>();
    // What one bus gives another goes by its input and output as a whole; a source has one terminal.
    if (charges !== none && charges.supply.kind !== 'own' && charges.supply.kind !== 'bus')
      found.set(`${charges.at}.current`, 'outputCurrent');
    // An inverter goes by what it draws at its direct-current side, where its charger works too.
    if (inverts !== none) found.set(`${inverts.from}.current`, 'dcCurrent');
    if (charges !== none && charges.supply.kind === 'alternating')
      found.set(`${charges.supply.at}.current`, 'inputCurrent');
    return [kind, found];
  }),
);

/** The quantity that `Rect.dc.current` stands for, by the kind of the thing and what is written after it (`dc.current`). */
export const terminalQuantity = (kind: string, written: string): QuantityName | undefined =>
  BY_KIND.get(kind)?.get(written);

/** What can be written after a thing of a kind, terminal first: `dc.current`. */
export const terminalQuantityNames = (kind: string): readonly string[] => [...(BY_KIND.get(kind)?.keys() ?? [])];
