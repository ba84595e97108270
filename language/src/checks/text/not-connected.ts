import { passed } from '../verdicts.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { type Check, defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { LANGUAGE } from './sources.js';
import { oneOf } from './wording.js';
import { chargingOf, invertingOf, passingOf } from '../../model/roles.js';

/** Terminals that must lead somewhere for a thing to do its work; those of gear may end in the open. */
function neededBy(instance: Instance): readonly string[] {
  // Its charger and its relay are extras of an inverter, which works from the bank without them.
  const inverts = invertingOf(instance);
  if (inverts) return [inverts.from];
  const charges = chargingOf(instance);
  if (charges && charges.supply.kind !== 'own') return [charges.supply.at, charges.at];
  const passes = passingOf(instance);
  return passes ? [...passes.from, passes.to] : [];
}

function* judgeInstance(instance: Instance, context: DesignContext): Generator<Verdict> {
  const open = context.graph.nodesOf(instance).filter((node) => context.graph.segmentsAt(node).length === 0);
  if (open.length === 0) return yield passed(instance, NO_LIMIT);
  if (open.length === instance.terminals.length) {
    yield {
      verdict: 'failed',
      subject: instance.path,
      place: instance.place,
      headline: `Nothing is connected to ${instance.name}`,
      advice: 'Add a run to it, or remove it.',
      use: NO_LIMIT,
    };
    return;
  }
  const needed = neededBy(instance);
  const lacking = open
    .filter(({ terminal }) => needed.includes(terminal.name))
    .map(({ terminal }) => `${instance.name}.${terminal.name}`);
  if (lacking.length === 0) return yield passed(instance, NO_LIMIT);
  yield {
    verdict: 'failed',
    subject: instance.path,
    place: instance.place,
    headline: `Nothing is connected to ${oneOf(lacking)}`,
    why: `${instance.name} cannot work without it`,
    use: NO_LIMIT,
  };
}

export const notConnected: Check = defineCheck({
  id: 'not-connected',
  group: 'text',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A thing, or a terminal it needs, has no run.',
    guards: 'What is not connected is left out of every calculation.',
    how: 'Every thing must be an end of a run or be in one; chargers, controllers, converters, inverters and transfer gear need a run at each terminal they work with.',
    fix: 'Add a run to the thing or terminal, or remove the thing.',
    sources: [LANGUAGE],
    failing: `design Hut {
  battery Bank : Lfp12V100Ah
}
`,
    passing: `design Hut {
  battery Bank : Lfp12V100Ah
  load Lamp { power: 20 W   supply: dc }
  run Line: Bank -> Lamp { size: 2.5 mm2   length: 3 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) yield* judgeInstance(instance, context);
  },
});
