import { type Derivation, deriveQuantity } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';

/** The input limit that is set while a supply feeds a thing: its own for that supply where one is stated, else the one for all. */
export function inputSettingOn(
  thing: Instance,
  feeder: Instance | undefined,
  context: DesignContext,
): Derivation | undefined {
  const value = thing.properties.get('inputLimitFrom')?.value;
  const row = value?.type === 'bySupply' ? value.rows.find(({ supply }) => supply === feeder?.name) : undefined;
  if (!row) return context.maybe(thing, 'inputLimit');
  return deriveQuantity(`input limit of ${thing.name} from ${row.supply}`, row.quantity, {
    fact: 'inputLimitFrom',
    origin: row.isAssumed ? 'assumed' : 'stated',
    notes: row.isAssumed ? ['assumed'] : [],
    place: row.place,
  });
}
