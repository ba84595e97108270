/** Numbers that stand in the text of a standard rather than in a table. */
import { type Derivation, derive } from '../derivation/index.js';
import { craftRules } from './craft.js';
import { necRules } from './nec.js';
import { sourceOf } from './table.js';

export type NecRule =
  | 'continuousFactor'
  | 'plugContinuousShare'
  | 'nextSizeUpLimit'
  | 'branchDropAdvice'
  | 'totalDropAdvice'
  | 'unmarkedBreakerInterrupt'
  | 'unmarkedFuseInterrupt'
  | 'parallelSmallest'
  | 'terminalDefault';

export type CraftRule =
  | 'circularMilConstant'
  | 'criticalDrop'
  | 'otherDrop'
  | 'protectionDistance'
  | 'protectionDistanceEnclosed'
  | 'protectionDistanceAtBattery'
  | 'largestShareOfAmpacity'
  | 'continuousFactor';

const TABLES = { nec: necRules, craft: craftRules } as const;

/** The number of a rule with its section as source; plain numbers are factors, ratios or constants. */
export function ruleValue<B extends 'nec' | 'craft'>(
  basis: B,
  rule: B extends 'nec' ? NecRule : CraftRule,
): Derivation {
  const table = TABLES[basis];
  const row = table.rows.find((candidate) => candidate.rule === rule);
  if (!row) throw new RangeError(`the ${basis} rules have no ${rule}`);
  const source = { ...sourceOf(table, row), table: row.section };
  return derive(row.name, row.value, row.unit ?? '', { origin: 'table', source, notes: [row.text] });
}
