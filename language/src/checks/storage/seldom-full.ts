import { derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Scenario } from '../../model/types.js';
import { timeModel } from '../../reference/energy/index.js';
import { formatSpan, type ScenarioResult } from '../../simulate/index.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, passed } from '../verdicts.js';
import { banksOf, chemistryOf } from './shared.js';

const isAsked = (scenario: Scenario, context: DesignContext): boolean =>
  context.system.requirements.some(
    (requirement) => requirement.scenario === scenario.name && /\btimeSinceFull\b/.test(requirement.text),
  );

function* judgePlay(context: DesignContext, scenario: Scenario, result: ScenarioResult): Generator<Verdict> {
  const limit = context.setting('fullChargeInterval');
  if (!limit) return;
  for (const bank of banksOf(context)) {
    if (chemistryOf(bank, context)?.family !== 'lead') continue;
    const times = result.totals.map(({ timeSinceFull }) => timeSinceFull.get(bank.name) ?? 0);
    const longest = derive(`longest time for which ${bank.name} was not full`, Math.max(...times), 's', {
      notes: [`scenario ${scenario.name}`],
    });
    const use = atMost(longest, limit);
    const numbers = { longest, limit };
    const isHeld = numberIn(longest, 's') <= numberIn(limit, 's') * (1 + 1e-9);
    // A requirement of the scenario says how long it may be, and is judged as such.
    if (isHeld || isAsked(scenario, context)) {
      yield passed(bank, use, numbers);
      continue;
    }
    const soc = { kind: 'of', signal: 'soc', of: bank } as const;
    const best = result.measure({ what: 'max', signal: soc }, 1);
    const isNever = best.kind === 'known' && numberIn(best.derivation, '') < timeModel('counts-as-full').value;
    yield {
      verdict: 'failed',
      subject: bank.path,
      place: scenario.place,
      headline: `In ${scenario.name} ${bank.name} is not full for ${formatSpan(numberIn(longest, 's'))}; ${formatSpan(numberIn(limit, 's'))} at most`,
      ...(isNever ? { why: 'it is never full' } : {}),
      rule: 'every one to four weeks, from memory; set by `fullChargeInterval`',
      consequence: 'its plates sulphate and the capacity is lost for good',
      advice: 'Let a generator or the grid charge it to the end of absorption now and then, or add modules.',
      use,
      numbers,
      related: [{ place: bank.place, text: `${bank.name} is lead-acid` }],
    };
  }
}

export const seldomFull = defineCheck({
  id: 'seldom-full',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'In a simulated scenario a lead-acid bank goes for weeks without a full charge.',
    guards: 'A bank that its owner replaces after two winters.',
    how: 'The longest time for which the bank is below 97 % of charge (`timeSinceFull`), from the start where it starts so, in the worst of all runs, is held against `fullChargeInterval` of the design. A scenario with a requirement on `timeSinceFull` is judged by that. A scenario that is shorter than the interval says nothing.',
    fix: 'Add sun or generator time until a full charge comes every week or two, or let the rules charge to full now and then.',
    sources: [
      {
        standard: 'national-laboratory papers on lead-acid in photovoltaic systems: charge that stays incomplete',
        provenance: 'published',
      },
      { standard: 'a full charge every one to four weeks', provenance: 'from memory' },
    ],
    failing: `design Hut {
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah   resistance: 4 mohm   cellTemperature: 20 degC }
  load Radio { power: 1 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Winter { from: 2027-01-10   duration: 20 d   sun: none   soc(Bank): 90 % }
}
`,
    passing: `design Hut {
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   series: 2   capacity: 200 Ah   resistance: 4 mohm   cellTemperature: 20 degC }
  load Radio { power: 1 W   supply: dc   profile: always }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  scenario Winter { from: 2027-01-10   duration: 10 d   sun: none   soc(Bank): 90 % }
}
`,
  },
  judge: () => [],
  judgePlayed: function* (context, scenario, played) {
    if (played.kind === 'played') yield* judgePlay(context, scenario, played.result);
    else if (played.kind === 'missing')
      for (const bank of banksOf(context))
        if (chemistryOf(bank, context)?.family === 'lead')
          yield notChecked(bank, { kind: 'missing', missing: played.missing });
  },
});
