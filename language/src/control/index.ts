export * from './automaton.js';
export * from './carriers.js';
export * from './clock.js';
export {
  compileControls,
  type CompiledControl,
  type CompiledControls,
  type CompiledRule,
  type CompiledSet,
  type CompiledTarget,
  watchedBy,
} from './compile.js';
export * from './analysis.js';
export { reachedVoltage } from './charge-end.js';
export { type BankPlant, type Figure, isMissing, Plant } from './plant.js';
export { clockText, secondsText, type TraceStep, traceText } from './trace.js';
