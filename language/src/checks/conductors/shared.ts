import { type Derivation, type Source, displayValue, sourceText } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { inEdition } from '../../reference/index.js';
import type { Severity } from '../define.js';
import { restsOnMemory } from './memory.js';
import { isDevice } from '../../model/roles.js';

export { restsOnMemory };

/** `warning` and a remark where the limit rests on a table from memory. */
export const softened = (limit: Derivation): { severity?: Severity; remark: string } =>
  restsOnMemory(limit) ? { severity: 'warning', remark: ' (table from memory)' } : { remark: '' };

/** `NEC 2023 Table 310.16` in the edition of the design, when the derivation names one. */
export const tableOf = (derivation: Derivation, context: DesignContext): string =>
  derivation.source
    ? sourceText(inEdition(derivation.source, context.system.basis)).replace(/^NEC \(([^)]+)\)/, 'NEC $1')
    : '';

/** What was taken by default or assumed on the way to a value. */
function defaultsIn(derivation: Derivation, depth = 0): readonly Derivation[] {
  if (derivation.origin === 'assumed' || derivation.origin === 'default') return [derivation];
  return depth < 4 ? derivation.inputs.flatMap((input) => defaultsIn(input, depth + 1)) : [];
}

/** The few defaults a reader must know of, in brackets: ` (ambient 30 degC taken; not stated)`. */
export function defaultsText(derivation: Derivation, facts: readonly string[]): string {
  const counted = defaultsIn(derivation).filter(({ fact }) => fact !== undefined && facts.includes(fact));
  const told = [
    ...new Set(
      counted.map(
        (each) => `${each.name} ${displayValue(each)} ${each.origin === 'assumed' ? 'assumed' : 'taken; not stated'}`,
      ),
    ),
  ];
  return told.length > 0 ? ` (${told.slice(0, 3).join('; ')})` : '';
}

/** Overcurrent devices of a design, each with the run it stands in first. */
export function devices(context: DesignContext): { device: Instance; run: Run }[] {
  const seen = new Map<Instance, Run>();
  for (const run of context.system.runs) {
    for (const { instance } of [run.from, ...run.through, ...run.to]) {
      if (isDevice(instance) && !seen.has(instance)) seen.set(instance, run);
    }
  }
  return [...seen].map(([device, run]) => ({ device, run }));
}

export const MEMORY = (standard: string, table?: string): Source => ({
  standard,
  provenance: 'from memory',
  ...(table ? { table } : {}),
});
export const PUBLISHED = (standard: string, table?: string, edition?: string): Source => ({
  standard,
  provenance: 'published',
  ...(table ? { table } : {}),
  ...(edition ? { edition } : {}),
});
