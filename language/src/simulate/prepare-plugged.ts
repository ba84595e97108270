import type { DesignContext } from '../model/context.js';
import type { Cord, Inlet } from '../model/cords.js';
import { interlockOf } from '../model/roles.js';
import type { Scenario } from '../model/types.js';
import type { Facts } from '../quantities/plant/facts.js';

/**
 * The cords that are plugged in while a scenario lasts: what it says of each inlet, else the only one whose source it does not lose for
 * good. Nobody guesses which of several it is.
 */
export const pluggedIn = (scenario: Scenario, context: DesignContext, facts: Facts): readonly Cord[] =>
  context.graph.inlets.flatMap((inlet) => pluggedInto(inlet, scenario, facts));

function pluggedInto({ at, cords, interlock }: Inlet, scenario: Scenario, facts: Facts): readonly Cord[] {
  const stated = scenario.plugged.find(
    ({ inlet }) => inlet === at || (interlock !== undefined && interlockOf(inlet) === interlock),
  );
  const names = (of: readonly Cord[]): string => of.map(({ run }) => run.name).join(', ');
  if (stated) {
    const { by } = stated;
    if (!by) return [];
    const meant = cords.filter(({ run, sources, charging }) =>
      [run, ...sources, ...charging].some(({ path }) => path === by.path),
    );
    if (meant.length === 0)
      facts.refused.add(`${by.name} does not lead to ${at.name}, whose cords are ${names(cords)}`);
    if (meant.length > 1)
      facts.refused.add(
        `${by.name} leads to ${at.name} by ${names(meant)}: name the cord, as in plugged(${at.name}): ${meant[0]!.run.name}`,
      );
    return meant;
  }
  const isLost = (cord: Cord): boolean =>
    cord.sources.length > 0 &&
    cord.sources.every((source) =>
      scenario.absences.some(({ of, from, to }) => of === source && from <= 0 && to >= (scenario.duration ?? Infinity)),
    );
  const left = cords.filter((cord) => !isLost(cord));
  if (left.length > 1) {
    const [first] = left;
    const asked =
      interlock === undefined ? `what is plugged into ${at.name}` : `which way interlock "${interlock}" has closed`;
    facts.lack(`${asked} in ${scenario.name} (plugged(${at.name}): ${first!.run.name})`);
    return [];
  }
  return left;
}
