import { firstFew } from '../text/wording.js';
import { displayValue, numberIn, derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Scenario } from '../../model/types.js';
import type { ScenarioResult } from '../../simulate/index.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked } from '../verdicts.js';
import { isLoad } from '../../model/roles.js';

/** Energy below this counts as none, Wh: what rounding leaves. */
const NOTHING = 0.5;

const isAsked = (scenario: Scenario, context: DesignContext): boolean =>
  context.system.requirements.some(
    (requirement) => requirement.scenario === scenario.name && /\bunserved\b/.test(requirement.text),
  );

function* judgePlay(context: DesignContext, scenario: Scenario, result: ScenarioResult): Generator<Verdict> {
  const all = result.measure({ what: 'unserved' });
  if (all.kind !== 'known') return;
  const none = derive('unserved energy that counts as none', NOTHING, 'Wh');
  const use = atMost(all.derivation, none);
  const passed: Verdict = { verdict: 'passed', subject: scenario.path, use, numbers: { unserved: all.derivation } };
  // A requirement of the scenario says how much may go unserved, and is judged as such.
  if (numberIn(all.derivation, 'Wh') <= NOTHING || isAsked(scenario, context)) return yield passed;
  const loads = context.system.instances.flatMap((load): { load: Instance; energy: number; text: string }[] => {
    const own = isLoad(load) ? result.measure({ what: 'unserved', of: load }) : undefined;
    if (own?.kind !== 'known') return [];
    const energy = numberIn(own.derivation, 'Wh');
    return energy > NOTHING ? [{ load, energy, text: `${load.name} ${displayValue(own.derivation)}` }] : [];
  });
  const worst = [...loads].sort((a, b) => b.energy - a.energy);
  yield {
    verdict: 'failed',
    subject: scenario.path,
    place: scenario.place,
    headline: `In ${scenario.name} loads go unserved by ${displayValue(all.derivation, 3)}`,
    ...(worst.length > 0 ? { why: firstFew(worst.map(({ text }) => text)) } : {}),
    advice:
      'Raise what the sources give or the bank holds, shed loads by a control, or allow it with `require unserved <= …`.',
    use,
    numbers: { unserved: all.derivation },
    related: worst.map(({ load, text }) => ({ place: load.place, text: `unserved: ${text}` })),
  };
}

export const scenarioUnserved = defineCheck({
  id: 'scenario-unserved',
  group: 'requirements',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'In a simulated scenario energy that loads demand is unserved.',
    guards: 'A site that goes dark on the third day.',
    how: 'The energy that loads wanted by their profiles and that was not served, in every run of the scenario; what a control of the design sheds does not count. A scenario with a requirement on `unserved` is judged by that.',
    fix: 'Add energy, storage or generator time for that stretch, or shed loads by a rule that says which may wait.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Dark { from: 2027-01-10   duration: 2 d   sun: none   soc(Bank): 90 % }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Dark { from: 2027-01-10   duration: 1 d   sun: none   soc(Bank): 90 % }
}
`,
  },
  judge: () => [],
  judgePlayed: function* (context, scenario, played) {
    if (played.kind === 'played') yield* judgePlay(context, scenario, played.result);
    else if (played.kind === 'missing') yield notChecked(scenario, { kind: 'missing', missing: played.missing });
  },
});
