import type { Derivation } from '../derivation/index.js';
import type { Carries, Instance, Run } from './types.js';

/**
 * A state of the sources: which AC sources feed, whether the sun or other DC sources charge, or the battery alone carries the loads.
 * `id` is stable: `battery`, `sun`, `ac:Genset`, `ac:Genset+sun`.
 */
export interface SourceState {
  readonly id: string;
  /** For messages: `Genset running`, `battery alone`, `Genset running, sun on Array`. */
  readonly title: string;
  /** The AC sources that feed in this state. */
  readonly acSources: readonly Instance[];
  /** The DC sources (solar, wind, alternator, DC vehicle) that charge in this state. */
  readonly dcSources: readonly Instance[];
}

/** Where a run lies. */
export interface RunCircuit {
  readonly run: Run;
  readonly carries: Carries;
  /** Sources that can drive current into it at its near (`from`) end and at its far end, in any state: bank, sources, converters. */
  readonly feedsNear: readonly Instance[];
  readonly feedsFar: readonly Instance[];
  /** Nominal voltage of its circuit (line to line for a run with two lines, else line to neutral; bank voltage for DC), when known. */
  readonly voltage?: Derivation;
}

/** What holds in one state. */
export interface CircuitState {
  readonly state: SourceState;
  /** Instances that are live on their AC side in this state, each with the AC sources (generator, grid, inverter …) that feed it. */
  readonly acSupply: ReadonlyMap<Instance, readonly Instance[]>;
  /** Whether the inverter inverts (rather than passes through) in this state. */
  readonly inverting: ReadonlySet<Instance>;
}
