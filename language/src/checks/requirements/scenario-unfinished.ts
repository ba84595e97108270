import { firstFew } from '../text/wording.js';
import type { Scenario } from '../../model/types.js';
import { clockTime, type ScenarioEvent, type ScenarioResult } from '../../simulate/index.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { notChecked, passed } from '../verdicts.js';

/** Banks whose protection has opened and not closed again when the scenario ends. */
function leftOpen({ events }: ScenarioResult): ScenarioEvent[] {
  const open = new Map<string, ScenarioEvent>();
  for (const event of events) {
    if (event.what === 'open') open.set(event.of, event);
    if (event.what === 'close') open.delete(event.of);
  }
  return [...open.values()];
}

function judgePlay(scenario: Scenario, result: ScenarioResult): Verdict {
  const open = leftOpen(result);
  if (open.length === 0) return passed(scenario, NO_LIMIT);
  const told = open.map(({ of, time }) => `${of} on ${clockTime(result, time).slice(0, 16).replace('T', ' at ')}`);
  return {
    verdict: 'failed',
    subject: scenario.path,
    place: scenario.place,
    headline: `In ${scenario.name} the BMS of ${firstFew(
      open.map(({ of }) => of),
      2,
    )} disconnects and does not reconnect`,
    why: firstFew(told),
    advice: 'Charge earlier, or shed loads before the bank is empty.',
    use: NO_LIMIT,
  };
}

export const scenarioUnfinished = defineCheck({
  id: 'scenario-unfinished',
  group: 'requirements',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A scenario cannot be simulated, or on the way the BMS of a bank disconnects and does not reconnect.',
    guards: 'Results that look whole and are not: after that moment the site is another one.',
    how: 'The first run of the scenario is looked at: no bank may be disconnected by its BMS when it ends. A scenario that cannot be simulated says why. Tanks are taken as filled again in time; how long one lasts is judged by `generator-fuel`.',
    fix: 'State what the simulation needs, or change rules, sources or bank so that the BMS of the bank does not disconnect.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah { reset: manual }
  load Radio { power: 500 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Dark { from: 2027-01-10   duration: 2 d   sun: none   soc(Bank): 90 % }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah { reset: manual }
  load Radio { power: 500 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Dark { from: 2027-01-10   duration: 1 d   sun: none   soc(Bank): 90 % }
}
`,
  },
  judge: () => [],
  judgePlayed: function* (_context, scenario, played) {
    if (played.kind === 'played') yield judgePlay(scenario, played.result);
    if (played.kind === 'missing') yield notChecked(scenario, { kind: 'missing', missing: played.missing });
    // What is wrong with its text has been said where it stands.
    if (played.kind === 'refused' && !played.isFaulty)
      yield {
        verdict: 'failed',
        subject: scenario.path,
        place: scenario.place,
        headline: `${scenario.name} cannot be simulated`,
        why: played.reason,
        use: NO_LIMIT,
      };
  },
});
