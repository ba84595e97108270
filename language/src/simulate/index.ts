import type { DesignContext } from '../model/context.js';
import type { Scenario } from '../model/types.js';
import type { PlayOptions, Played } from './types.js';

export * from './types.js';

/**
 * Plays a scenario of a design: executes its control rules over time on an energy model of its sources, converters, banks and loads. The
 * same design, scenario, weather text and resolution give the same numbers.
 */
export function playScenario(_context: DesignContext, scenario: Scenario, _options: PlayOptions = {}): Played {
  const facts = [
    ...(scenario.start.date === undefined ? [`from of ${scenario.name}`] : []),
    ...(scenario.duration === undefined ? [`duration of ${scenario.name}`] : []),
  ];
  if (facts.length > 0) return { kind: 'missing', missing: facts };
  return { kind: 'refused', reason: 'playing scenarios is not built yet' };
}
