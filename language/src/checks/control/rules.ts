import type { Control, Rule, Threshold } from '../../model/types.js';

/** Rules that hold together: those of a control, or those of one of its fallbacks. */
export interface RuleSet {
  readonly control: Control;
  readonly title: string;
  readonly rules: readonly Rule[];
}

export function ruleSets(control: Control): RuleSet[] {
  return [
    { control, title: control.name, rules: control.rules },
    ...control.fallbacks.map(({ link, rules }) => ({ control, title: `${control.name} without ${link.name}`, rules })),
  ];
}

export const switchesOn = ({ verb }: Rule): boolean => verb === 'start' || verb === 'on';

/** A pair of thresholds on one signal: what starts and what stops. */
export interface Pair {
  readonly on: Threshold;
  readonly off: Threshold;
  readonly onRule: Rule;
  readonly offRule: Rule;
}

/** Start and stop thresholds on the same signal of the same thing that work against each other (one below, one above). */
export function pairs({ rules }: RuleSet): Pair[] {
  const found: Pair[] = [];
  for (const onRule of rules.filter(switchesOn)) {
    for (const offRule of rules.filter((rule) => !switchesOn(rule))) {
      for (const on of onRule.thresholds) {
        for (const off of offRule.thresholds) {
          if (on.signal !== off.signal || on.of !== off.of) continue;
          if (isBelow(on) === isBelow(off)) continue;
          found.push({ on, off, onRule, offRule });
        }
      }
    }
  }
  return found;
}

export const isBelow = ({ comparison }: Threshold): boolean => comparison === '<' || comparison === '<=';
