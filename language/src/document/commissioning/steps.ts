import type { Instance, Link, Rule, Run } from '../../model/types.js';

/** What a step does to the system, as far as its order matters. */
export type Action =
  /** Gear is opened, closed, its fuse taken out or put in. */
  | { readonly do: 'open' | 'close'; readonly gear: Instance }
  /** The end of a run is left off a terminal, or put on it. */
  | { readonly do: 'part' | 'land'; readonly run: Run }
  /** A source begins or ceases to give anything at its terminals. A bank always does. */
  | { readonly do: 'start' | 'stop'; readonly source: Instance }
  /** Hands are on the conductors of a run and its ends. */
  | { readonly do: 'work'; readonly run: Run }
  /** The input capacitance of an inverter is charged through a resistor. */
  | { readonly do: 'precharge'; readonly inverter: Instance }
  /** The voltages of banks are held against each other before anything joins them. */
  | { readonly do: 'compare'; readonly banks: readonly Instance[] }
  /** Transfer gear is set to one of its supplies. */
  | { readonly do: 'select'; readonly gear: Instance; readonly terminal: string }
  /** From then on there is voltage at its output. */
  | { readonly do: 'switchOn'; readonly inverter: Instance }
  | { readonly do: 'connect' | 'disconnect'; readonly link: Link }
  /** A rule of a control is entered, or made to act once. */
  | { readonly do: 'enter' | 'force'; readonly control: string; readonly rule: Rule; readonly without?: Link };

/** What a meter should show at a step. */
export interface Expectation {
  readonly what: string;
  /** The thing, its terminal and the quantity, as a reading names them; absent for what no design predicts. */
  readonly reading?: { readonly of: Instance | Run; readonly terminal?: string; readonly what: string };
  /** In words, where it is no number of the design: a limit with its source. */
  readonly limit?: string;
}

export interface CommissioningStep {
  readonly phase: string;
  readonly text: string;
  readonly actions: readonly Action[];
  readonly expects: readonly Expectation[];
  /** Where something can hurt. */
  readonly caution?: string;
  /** What to do, and where to look, if what is measured or seen is off. */
  readonly otherwise: string;
}

/** What to do where a step says nothing else. */
export const STOP = 'Stop. Open what was closed last, find out why, and begin this step again.';

/** A stop stands before its start, so that nothing can start that would not stop. */
export const stopsFirst = (rules: readonly Rule[]): readonly Rule[] => [
  ...rules.filter(({ verb }) => verb === 'stop' || verb === 'off'),
  ...rules.filter(({ verb }) => verb === 'start' || verb === 'on'),
];

/** What a rule does to its target, in words. */
export const EFFECT = { start: 'starts', stop: 'stops', on: 'is switched on', off: 'is switched off' } as const;
