import type { Control, Rule, Threshold } from '../../model/types.js';
import { nearlyEqual } from '../../quantity/index.js';

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

/** All values below the lower threshold and above the upper one leave something between them. */
export const isInOrder = ({ on, off }: Pair): boolean => {
  const [low, high] = isBelow(on) ? [on, off] : [off, on];
  return low.limit.high < high.limit.low && !nearlyEqual(low.limit.high, high.limit.low);
};

/**
 * Start and stop thresholds on the same signal of the same thing that work against each other (one below, one above). Where both rules
 * need all of their conditions, one pair in order keeps the two rules apart; the others then do not count. Conditions of another form
 * (`not`, hours, mixed `and` and `or`) are left out, since they may keep rules apart in ways that thresholds do not show.
 */
export function pairs({ rules }: RuleSet): Pair[] {
  const found: Pair[] = [];
  for (const onRule of rules.filter(switchesOn)) {
    for (const offRule of rules.filter((rule) => !switchesOn(rule))) {
      if (onRule.joined === 'other' || offRule.joined === 'other') continue;
      const both = onRule.thresholds.flatMap((on) =>
        offRule.thresholds
          .filter((off) => on.signal === off.signal && on.of === off.of && isBelow(on) !== isBelow(off))
          .map((off) => ({ on, off, onRule, offRule })),
      );
      const needsAll = onRule.joined !== 'or' && offRule.joined !== 'or';
      const apart = both.filter(isInOrder);
      found.push(...(needsAll && apart.length > 0 ? apart : both));
    }
  }
  return found;
}

export const isBelow = ({ comparison }: Threshold): boolean => comparison === '<' || comparison === '<=';
