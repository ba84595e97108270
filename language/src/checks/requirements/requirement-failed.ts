import { displayValue } from '../../derivation/index.js';
import { formatPair } from '../../quantity/index.js';
import { defineCheck, type RequirementResult } from '../define.js';

/** Both sides of a comparison as texts that differ. */
function sides({ left, right }: RequirementResult): readonly [string, string] | undefined {
  if (!left || !right) return undefined;
  if (
    typeof left.value === 'object' &&
    typeof right.value === 'object' &&
    left.value.dimension === right.value.dimension
  )
    return formatPair(left.value, right.value);
  return [displayValue(left), displayValue(right)];
}

export const requirementFailed = defineCheck({
  id: 'requirement-failed',
  group: 'requirements',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A requirement of the design does not hold.',
    guards: 'What was promised to the customer, or decided in a review, is kept through every later change.',
    how: 'The condition after `require` is worked out with the computed quantities of the design; with ranges it must hold at the worst corner. The value of each side is shown. A requirement that rests on a missing fact is not checked; one inside a scenario waits for the scenario to be played.',
    sources: [{ standard: 'the design itself', provenance: 'own derivation' }],
    failing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 280 Ah }
  require Bank.energy >= 20 kWh because "two days without sun"
}
`,
    passing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 280 Ah   parallel: 2 }
  require Bank.energy >= 20 kWh because "two days without sun"
}
`,
  },
  judge: function* ({ system }, requirements) {
    for (const requirement of requirements) {
      if (requirement.scenario) continue;
      if (requirement.holds === undefined) {
        const why = requirement.undecided ?? '';
        const lacking = /^missing (.*)$/.exec(why)?.[1]?.split(', ');
        yield {
          verdict: 'not-checked',
          subject: system.name,
          place: requirement.place,
          missing: lacking ?? [`\`${requirement.text}\`: ${why}`],
          ...(lacking ? {} : { isRefused: true }),
        };
        continue;
      }
      const numbers = {
        ...(requirement.left ? { left: requirement.left } : {}),
        ...(requirement.right ? { right: requirement.right } : {}),
      };
      if (requirement.holds) {
        yield { verdict: 'passed', subject: system.name, numbers };
        continue;
      }
      const both = sides(requirement);
      const corner = requirement.left?.governing ? ` (${requirement.left.governing})` : '';
      yield {
        verdict: 'failed',
        subject: system.name,
        place: requirement.place,
        message: `\`${requirement.text}\` does not hold${both ? `: the left side is ${both[0]}${corner}, the right side ${both[1]}` : ''}${requirement.reason ? `. It is required because: ${requirement.reason.replace(/[.\s]+$/, '')}` : ''}.`,
        numbers,
      };
    }
  },
});
