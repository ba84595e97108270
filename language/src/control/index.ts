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
} from './compile.js';
