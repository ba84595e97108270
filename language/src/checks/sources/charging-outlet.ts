import type { DesignContext } from '../../model/context.js';
import { isAcSource, isConnection } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance, Part, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { passed, placeOf } from '../verdicts.js';

/** The plug of a thing that is live only while its control pilot is answered, and the property that states it. */
function pilotOf(instance: Instance): { readonly part: Part; readonly property: 'outlet' | 'plug' } | undefined {
  for (const property of ['outlet', 'plug'] as const) {
    const value = instance.properties.get(property)?.value;
    if (value?.type === 'part' && flagIn(value.part.properties, 'pilot') === true)
      return { part: value.part, property };
  }
  return undefined;
}

/** The runs that carry what a source feeds, in any state. */
const runsFrom = (source: Instance, context: DesignContext): Run[] =>
  context.system.runs.filter(
    (run) =>
      run.carries === 'ac' &&
      context.circuitStates.some(({ circuit }) => acFlow(run, circuit, context)?.sources.includes(source)),
  );

function* judgeSource(source: Instance, context: DesignContext): Generator<Verdict> {
  const runs = runsFrom(source, context);
  const path = [...new Set(runs.flatMap((run) => [run.from, ...run.through, ...run.to].map((stop) => stop.instance)))];
  // Its own outlet, or a receptacle that its first run leads through.
  const outlet = [source, ...path.filter((each) => each !== source && isConnection(each))].find(pilotOf);
  if (!outlet) return;
  const { part, property } = pilotOf(outlet)!;
  const answering = path.find((each) => isConnection(each) && flagIn(each.properties, 'answersPilot') === true);
  if (answering) return yield passed(source, NO_LIMIT);
  yield {
    verdict: 'failed',
    subject: outlet.path,
    place: placeOf(outlet, property),
    headline: `${part.name} of ${outlet.name} gives no power until its control pilot is answered`,
    why: `an outlet for charging vehicles; nothing on the way from ${source.name} answers it`,
    rule: 'IEC 61851-1 and SAE J1772 (from memory)',
    advice:
      'Use an inlet or adapter made for it that answers the pilot and keeps to the current it signals (`answersPilot: yes`), or another outlet.',
    use: NO_LIMIT,
  };
}

export const chargingOutlet = defineCheck({
  id: 'charging-outlet',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A supply from an outlet for charging vehicles to which nothing answers.',
    guards:
      'An outlet that stays dead on site, and adapters that fake the answer without keeping to the current it signals.',
    how: 'An outlet whose plug has a control pilot (`pilot`, as of SAE J1772 and IEC 62196-2) closes its contactor only after a handshake. On the runs that the source feeds there has to be an inlet or adapter that says that it answers (`answersPilot: yes`). What the outlet signals that it gives is stated as the `rating` of the source.',
    fix: 'Fit what answers the control pilot of such an outlet, and state it.',
    sources: [
      { standard: 'IEC 61851-1', table: 'Annex A', provenance: 'from memory' },
      { standard: 'SAE J1772', provenance: 'from memory' },
    ],
    failing: `design Van {
  grid Charger { voltage: 240 V   rating: 32 A   outlet: SAE-J1772 }
  receptacle Inlet { plug: SAE-J1772 }
  charger Rect { input: 90..264 V   currentLimit: 60 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Charger -> Inlet -> Rect.ac { size: 8 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
    passing: `design Van {
  grid Charger { voltage: 240 V   rating: 32 A   outlet: SAE-J1772 }
  receptacle Inlet { plug: SAE-J1772   answersPilot: yes }
  charger Rect { input: 90..264 V   currentLimit: 60 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Charger -> Inlet -> Rect.ac { size: 8 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isAcSource(instance)) yield* judgeSource(instance, context);
  },
});
