import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue } from '../../derivation/index.js';
import { formatPair, isRange, nearlyEqual } from '../../quantity/index.js';
import { defineCheck, type RequirementResult } from '../define.js';

/** Terms of a message; a side that is worked out from more is left to the hover. */
const MOST_TERMS = 6;

/** What a side was worked out from: `capacity 280 Ah, current 60 A`, and the corner that governs. */
function terms(side: Derivation): string {
  // A number of the requirement itself is its own name.
  const inputs = side.inputs.filter((each) => typeof each.value === 'object' && each.name !== displayValue(each));
  const from =
    inputs.length > 0 && inputs.length <= MOST_TERMS
      ? inputs.map((each) => `${each.name} ${displayValue(each)}`).join(', ')
      : '';
  const facts = [from && `from ${from}`, governingText(side)].filter(Boolean).join('; ');
  return facts ? ` (${facts})` : '';
}

/** `14.3 kWh (from …) is below 20 kWh`. */
function compared(left: Derivation, right: Derivation): string {
  const [a, b] = [left.value, right.value];
  if (typeof a !== 'object' || typeof b !== 'object' || a.dimension !== b.dimension)
    return `the left side is ${displayValue(left)}, the right side ${displayValue(right)}`;
  const [one, two] = formatPair(a, b);
  const relation =
    isRange(a) || isRange(b)
      ? 'is to be held against'
      : nearlyEqual(a.value, b.value)
        ? 'equals'
        : a.value > b.value
          ? 'is above'
          : 'is below';
  return `${one}${terms(left)} ${relation} ${two}${terms(right)}`;
}

/** The comparisons a condition of `and`, `or` and `not` consists of. */
function comparisons(condition: Derivation): Derivation[] {
  const isLeaf = condition.inputs.length === 2 && condition.inputs.every(({ value }) => typeof value !== 'boolean');
  return isLeaf || condition.inputs.length === 0 ? [condition] : condition.inputs.flatMap(comparisons);
}

/** Why a condition does not hold, with the value of each side. */
function explain({ left, right }: RequirementResult): string {
  if (!left) return '';
  if (typeof left.value !== 'boolean') return right ? `: ${compared(left, right)}` : '';
  const parts = [left, ...(right ? [right] : [])].flatMap(comparisons).map((each) => {
    const [a, b] = each.inputs;
    return `\`${each.name}\` ${each.value === true ? 'holds' : 'does not hold'}${a && b ? `, ${compared(a, b)}` : ''}`;
  });
  return `: ${parts.join('; ')}`;
}

export const requirementFailed = defineCheck({
  id: 'requirement-failed',
  group: 'requirements',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A requirement of the design does not hold.',
    guards: 'What was promised to the customer, or decided in a review, is kept through every later change.',
    how: 'The condition after `require` is worked out with the computed quantities of the design; with ranges it must hold at the worst corner. The value of each side is shown. A requirement that rests on a missing fact is not checked; one inside a scenario is decided by the results of that scenario once it has been played; over several runs it must hold in each.',
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
      if (requirement.isWaiting || requirement.isFaulty) continue;
      const subject = requirement.scenario ? `${system.name}.${requirement.scenario}` : system.name;
      if (requirement.holds === undefined) {
        const { missing, undecided } = requirement;
        yield {
          verdict: 'not-checked',
          subject,
          place: requirement.place,
          missing: missing ?? [`\`${requirement.text}\`: ${undecided ?? 'not decided'}`],
          ...(missing ? {} : { isRefused: true }),
        };
        continue;
      }
      const numbers = {
        ...(requirement.left ? { left: requirement.left } : {}),
        ...(requirement.right ? { right: requirement.right } : {}),
      };
      if (requirement.holds) {
        yield { verdict: 'passed', subject, numbers };
        continue;
      }
      const reason = requirement.reason ? ` It is required because: ${requirement.reason.replace(/[.\s]+$/, '')}.` : '';
      yield {
        verdict: 'failed',
        subject,
        place: requirement.place,
        message: `\`${requirement.text}\` does not hold${explain(requirement)}.${reason}`,
        numbers,
      };
    }
  },
});
