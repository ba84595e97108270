import type { Derivation } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance } from '../model/types.js';
import { inputSettingOn } from '../quantities/plant/input-setting.js';
import { limitsToSet } from '../quantities/supply/input-limit.js';

/** What is set as input limit of a thing while a supply feeds it. */
export interface SupplySetting {
  readonly thing: Instance;
  readonly supply: Instance;
  readonly setting: Derivation;
}

/** The input limits that have to be changed with the supply: of every thing that states one for a supply of its own, those of all its supplies. */
export function supplySettings(context: DesignContext): readonly SupplySetting[] {
  return context.system.instances
    .filter((thing) => thing.properties.has('inputLimitFrom'))
    .flatMap((thing) =>
      limitsToSet(thing, context).flatMap(({ source }): SupplySetting[] => {
        const setting = inputSettingOn(thing, source, context);
        return setting ? [{ thing, supply: source, setting }] : [];
      }),
    );
}
