import type { Derivation } from '../../derivation/index.js';
import type { Instance } from '../../model/types.js';
import { isFromMemory } from '../../quantities/conductors/device-class.js';

/** Whether a value, or a table row it rests on, is from memory: such a finding is at most a warning. */
export function restsOnMemory(derivation: Derivation, depth = 0): boolean {
  if (derivation.origin === 'table' && derivation.source?.provenance === 'from memory') return true;
  return depth < 6 && derivation.inputs.some((input) => restsOnMemory(input, depth + 1));
}

/** The facts that a value was worked out from, with where each comes from. */
function factsIn(derivation: Derivation, depth = 0): readonly Derivation[] {
  const own = derivation.fact === undefined ? [] : [derivation];
  return depth < 8 ? [...own, ...derivation.inputs.flatMap((input) => factsIn(input, depth + 1))] : own;
}

/** Whether a fact of a thing is inherited from a part that says it is from memory. */
function isRemembered(thing: Instance, fact: string): boolean {
  const property = thing.properties.get(fact);
  return property?.inheritedFrom !== undefined && thing.part !== undefined && isFromMemory(thing.part, fact);
}

/** Whether a fault current rests on facts of its banks that their parts have from memory: a data sheet may say less. */
export const isFaultOfMemory = (fault: Derivation, banks: readonly Instance[]): boolean => {
  const facts = new Set(factsIn(fault).flatMap(({ fact }) => fact ?? []));
  return banks.some((bank) => [...facts].some((fact) => isRemembered(bank, fact)));
};

/** Whether a fault current rests on a value that was taken where the design states none: the reactance of a set, from memory. */
export const isFaultOfDefault = (fault: Derivation): boolean =>
  factsIn(fault).some(({ fact, origin }) => fact === 'reactance' && origin === 'default');
