export * from './quantity/index.js';
export * from './derivation/index.js';
export * from './calculate/index.js';
export * as ast from './grammar/generated/ast.js';
export * from './syntax/module.js';
export { type SafeParser } from './syntax/parser.js';
export * from './syntax/format.js';
export * from './syntax/scope.js';
export * from './syntax/tokens.js';
export type * from './model/types.js';
export type * from './model/context.js';
export {
  type Comparison as SignalComparison,
  type Condition,
  type Signal,
  type SignalTerm,
  type StateSignal,
  comparisonHolds,
  comparisonsOf,
  conditionHolds,
  signalKey,
  signalsOf,
} from './model/conditions.js';
export * from './model/graph.js';
export * from './model/network.js';
export { isBank } from './model/roles.js';
export {
  ALL_KINDS,
  CATALOGUE_KINDS,
  INSTANCE_KINDS,
  type AllowedWord,
  type KindDefinition,
  type PropertyDefinition,
  type PropertyType,
  kindOf,
  kindsThat,
  mayBeCommanded,
  mayBeLost,
  mayBurnFuel,
  mayStore,
  mayUse,
  aliasesOfProperty,
  aliasesOfWord,
  canonicalWord,
  propertyOf,
  usualTerminals,
} from './equipment/index.js';
export type { QuantityName } from './model/quantity-names.js';
export {
  CLOCK_SIGNALS,
  CONDITION_WORDS,
  PLAIN_SIGNALS,
  SCENARIO_RESULTS,
  STATE_SIGNALS,
} from './model/lower/signals.js';
export { MEASURES, type MeasureWord } from './model/measures.js';
export { nearest } from './model/nearest.js';
export * from './quantities/index.js';
export { governingText } from './glossary/reason-text.js';
export { isReading, shareOf } from './checks/verdicts.js';
export * from './quantities/design-functions.js';
export { type ReadingResult } from './quantities/readings/readings.js';
export { type SetPoint, setPointsInOrder } from './quantities/storage/set-points.js';
export * from './simulate/index.js';
export { type BankThreshold, type PlotOptions, scenarioPlot } from './plot/scenario-plot.js';
export { type PlotData, type PlotWindow, plotData } from './plot/plot-data.js';
export { plotThresholds } from './plot/thresholds.js';
export type { Curve, Proof, ProofFault } from './proof/index.js';
export * from './glossary/reason-text.js';
export { inPeopleUnits } from './glossary/units-text.js';
export * from './checks/index.js';
export * from './analyse/analyse.js';
export { assumptionsOf } from './analyse/assumptions.js';
export type { OutcomeResult } from './analyse/outcomes.js';
export * from './analyse/carry.js';
export * from './analyse/questions.js';
export { type AskForRuns, type PlayableRuns, type RunsAsked, ScenarioCache } from './analyse/scenarios.js';
export { messageWithVariant } from './analyse/findings.js';
export * from './analyse/evaluate-text.js';
export * from './analyse/meaning.js';
export * from './analyse/parts.js';
export type { ProjectRules } from './analyse/project-rules.js';
export * from './analyse/folding.js';
export * from './analyse/subjects.js';
export { textFault } from './analyse/text-fault.js';
export * from './analyse/surroundings.js';
export * from './analyse/types.js';
export * from './propose/index.js';
export { analyseAs } from './propose/trial.js';
export * from './choose/index.js';
export * from './compare/index.js';
export * from './explain/index.js';
export * from './project/index.js';
export * from './draw/index.js';
export { isAgainst } from './draw/model/direction.js';
export * from './document/index.js';
