import type { Thing } from '../model/types.js';
import type { Causes } from './causes.js';
import { MARGIN } from './margin-rules.js';
import { moved, numberOf, shownPair } from './shown.js';
import type { Sides } from './side.js';
import type { QuantityChange, Total } from './types.js';

/** Every computed quantity of a thing on both sides that reads otherwise at three digits and has moved by more than noise. */
export function quantityChanges(sides: Sides, causes: Causes): QuantityChange[] {
  const { before, after, renamed } = sides;
  const old = new Map(thingsOf(sides.before.design.system).map((thing) => [renamed(thing.name), thing]));
  return thingsOf(after.design.system).flatMap((thing) => {
    const was = old.get(thing.name);
    if (!was || was.kind !== thing.kind) return [];
    return after.design.context.quantityNames(thing).flatMap((name): QuantityChange[] => {
      const [one, other] = [before.design.context.quantity(was, name), after.design.context.quantity(thing, name)];
      if (one.kind !== 'known' || other.kind !== 'known') return [];
      const [left, right] = [numberOf(one.derivation), numberOf(other.derivation)];
      if (left === undefined || right === undefined || moved(left, right) <= MARGIN.noise) return [];
      const texts = shownPair(one.derivation, other.derivation);
      if (texts.before === texts.after) return [];
      return [
        {
          path: `${thing.name}.${name}`,
          before: one.derivation,
          after: other.derivation,
          causes: causes.of([one.derivation], [other.derivation]),
        },
      ];
    });
  });
}

const thingsOf = ({ instances, runs, links, controls }: Sides['after']['design']['system']): readonly Thing[] => [
  ...instances,
  ...runs,
  ...links,
  ...controls,
];

/** What all things of a design cost and weigh, as far as their parts say. Currencies are never converted. */
export function totals({ before, after }: Sides): Total[] {
  return (['price', 'mass'] as const).flatMap((what) => {
    const [was, is] = [sums(before, what), sums(after, what)];
    const units = new Set([...was.sums.keys(), ...is.sums.keys()]);
    return [...units].sort().flatMap((unit): Total[] => {
      const [one, other] = [was.sums.get(unit) ?? 0, is.sums.get(unit) ?? 0];
      return one === other ? [] : [{ what, unit, before: one, after: other, without: [was.without, is.without] }];
    });
  });
}

function sums({ design }: Sides['after'], what: 'price' | 'mass'): { sums: Map<string, number>; without: number } {
  const found = new Map<string, number>();
  let without = 0;
  for (const { properties } of design.system.instances) {
    const value = properties.get(what)?.value;
    if (value?.type !== 'quantity') {
      without += 1;
      continue;
    }
    const unit = what === 'mass' ? 'kg' : (value.quantity.unit?.symbol ?? '');
    found.set(unit, (found.get(unit) ?? 0) + value.quantity.value);
  }
  return { sums: found, without };
}
