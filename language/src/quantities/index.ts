import { arrayQuantities } from './supply/array.js';
import { bankFaultQuantities } from './storage/bank-fault.js';
import { bankQuantities } from './storage/bank.js';
import { conductorQuantities } from './conductors/conductor.js';
import { chargerQuantities } from './supply/chargers.js';
import { inputLimitQuantities } from './supply/input-limit.js';
import { inverterQuantities } from './demand/inverters.js';
import { loadQuantities } from './demand/loads.js';
import type { QuantityDefinition } from './define.js';
import { circuitQuantities, flowQuantities } from './flow/flow.js';
import { requiredQuantities } from './flow/required.js';
import { generatorDayQuantities } from './supply/generator-day.js';
import { fuelQuantities } from './supply/generator-fuel.js';
import { ratingQuantities } from './supply/generator-rating.js';
import { faultQuantities } from './faults/faults.js';
import { meetingQuantities } from './network/nodes.js';
import { networkQuantities } from './network/solution.js';
import { demandQuantities } from './supply/source-demand.js';
import { yearQuantities } from './weather/year.js';
import { startingQuantities } from './supply/starting.js';
import { storageQuantities } from './storage/storage.js';

/** Every computed quantity of a design, in the order in which `calc` lists them. */
export const QUANTITIES: readonly QuantityDefinition[] = [
  ...bankQuantities,
  ...bankFaultQuantities,
  ...storageQuantities,
  ...chargerQuantities,
  ...inverterQuantities,
  ...loadQuantities,
  ...ratingQuantities,
  ...demandQuantities,
  ...inputLimitQuantities,
  ...fuelQuantities,
  ...generatorDayQuantities,
  ...arrayQuantities,
  ...yearQuantities,
  ...startingQuantities,
  ...flowQuantities,
  ...requiredQuantities,
  ...circuitQuantities,
  ...conductorQuantities,
  ...networkQuantities,
  ...meetingQuantities,
  ...faultQuantities,
];

const byKind = new Map<string, Map<string, QuantityDefinition>>();
for (const definition of QUANTITIES) {
  for (const kind of definition.kinds) {
    const own = byKind.get(kind) ?? new Map<string, QuantityDefinition>();
    own.set(definition.name, definition);
    byKind.set(kind, own);
  }
}

export const findQuantity = (kind: string, name: string): QuantityDefinition | undefined => byKind.get(kind)?.get(name);
export const quantitiesOf = (kind: string): readonly QuantityDefinition[] => [...(byKind.get(kind)?.values() ?? [])];

export type { QuantityDefinition } from './define.js';
