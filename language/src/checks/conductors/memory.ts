import type { Derivation } from '../../derivation/index.js';

/** Whether a value, or a table row it rests on, is from memory: such a finding is at most a warning. */
export function restsOnMemory(derivation: Derivation, depth = 0): boolean {
  if (derivation.origin === 'table' && derivation.source?.provenance === 'from memory') return true;
  return depth < 6 && derivation.inputs.some((input) => restsOnMemory(input, depth + 1));
}
