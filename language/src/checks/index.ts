import { conductorChecks } from './conductors/index.js';
import { controlChecks } from './control/index.js';
import type { Check } from './define.js';
import { requirementChecks } from './requirements/index.js';
import { sourceChecks } from './sources/index.js';
import { storageChecks } from './storage/index.js';
import { textChecks } from './text/index.js';

/** Every check, in the order of the catalogue. */
export const CHECKS: readonly Check[] = [
  ...textChecks,
  ...conductorChecks,
  ...sourceChecks,
  ...storageChecks,
  ...controlChecks,
  ...requirementChecks,
];

const byId = new Map(CHECKS.map((check) => [check.id, check]));

/** By the ids that checks had before. */
const byFormerId = new Map(CHECKS.flatMap((check) => (check.formerly ? [[check.formerly, check] as const] : [])));

/** A check by its id, or by the one it had before. */
export const findCheck = (id: string): Check | undefined => byId.get(id) ?? byFormerId.get(id);

export * from './define.js';
