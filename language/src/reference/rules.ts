/** Numbers that stand in the text of a standard rather than in a table. */
import { type Derivation, derive } from '../derivation/index.js';
import { craftRules } from './craft.js';
import { iecRules } from './iec.js';
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
  | 'bankDeviceDistance'
  | 'bankDeviceDistanceEnclosed'
  | 'tapLength'
  | 'tapShare'
  | 'longTapLength'
  | 'longTapShare'
  | 'terminalDefault'
  | 'terminalUnmarked'
  | 'smallCircuit'
  | 'smallCircuitLargest'
  | 'cordCircuit'
  | 'cordCircuitSmallest'
  | 'motorConductor'
  | 'motorOverload'
  | 'motorOverloadOther'
  | 'motorServiceFactor'
  | 'smallMotor'
  | 'generalCircuit'
  | 'smallestBranch'
  | 'smallGroupMotor'
  | 'smallGroupCircuit'
  | 'motorTapLength'
  | 'motorTapShare'
  | 'controllerTapLength'
  | 'controllerTapShare'
  | 'dwellingShare'
  | 'dwellingLeast'
  | 'dwellingMost';

export type CraftRule =
  | 'circularMilConstant'
  | 'criticalDrop'
  | 'otherDrop'
  | 'protectionDistance'
  | 'protectionDistanceEnclosed'
  | 'protectionDistanceAtBattery'
  | 'protectionDistanceMetric'
  | 'protectionDistanceMetricEnclosed'
  | 'largestShareOfAmpacity'
  | 'continuousFactor';

export type IecRule = 'deviceDistance' | 'displacedDevice';

interface RulesOf {
  readonly nec: NecRule;
  readonly craft: CraftRule;
  readonly iec: IecRule;
}

const TABLES = { nec: necRules, craft: craftRules, iec: iecRules } as const;

const VALUES = new Map<string, Derivation>();

/** The number of a rule with its section as source; plain numbers are factors, ratios or constants. Made once. */
export function ruleValue<B extends keyof RulesOf>(basis: B, rule: RulesOf[B]): Derivation {
  const key = `${basis} ${rule}`;
  let value = VALUES.get(key);
  if (!value) VALUES.set(key, (value = readRule(basis, rule)));
  return value;
}

function readRule<B extends keyof RulesOf>(basis: B, rule: RulesOf[B]): Derivation {
  const table = TABLES[basis];
  const row = table.rows.find((candidate) => candidate.rule === rule);
  if (!row) throw new RangeError(`the ${basis} rules have no ${rule}`);
  const { standard, edition, ...own } = sourceOf(table, row);
  const source = { ...own, ...(row.standard ? { standard: row.standard } : { standard, edition }), table: row.section };
  return derive(row.name, row.value, row.unit ?? '', { origin: 'table', source, notes: [row.text] });
}
