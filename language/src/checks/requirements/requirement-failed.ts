import { withoutStop, quoted } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue } from '../../derivation/index.js';
import { formatPair, isRange, nearlyEqual } from '../../quantity/index.js';
import { whyOf } from '../verdicts.js';
import { defineCheck, type RequirementResult, NO_LIMIT } from '../define.js';

/** Terms of a message; a side that is worked out from more is left to the hover. */
const MOST_TERMS = 3;

/** What a side was worked out from: `capacity 280 Ah, current 60 A`, and the corner that governs. */
function termsOf(side: Derivation): string {
  // A number of the requirement itself is its own name.
  const inputs = side.inputs.filter((each) => typeof each.value === 'object' && each.name !== displayValue(each));
  const from =
    inputs.length > 0 && inputs.length <= MOST_TERMS
      ? inputs.map((each) => `${each.name} ${displayValue(each, 3)}`).join(', ')
      : '';
  return [from, governingText(side)].filter(Boolean).join('; ');
}

/** `14.3 kWh is below 20 kWh`. */
function compared(left: Derivation, right: Derivation): string {
  const [a, b] = [left.value, right.value];
  if (typeof a !== 'object' || typeof b !== 'object' || a.dimension !== b.dimension)
    return `the left side is ${displayValue(left)}, the right side ${displayValue(right)}`;
  const [one, two] = formatPair(a, b);
  const relation =
    isRange(a) || isRange(b)
      ? 'against'
      : nearlyEqual(a.value, b.value)
        ? 'equals'
        : a.value > b.value
          ? 'is above'
          : 'is below';
  return `${one} ${relation} ${two}`;
}

/** The comparisons a condition of `and`, `or` and `not` consists of. */
function comparisons(condition: Derivation): Derivation[] {
  const isLeaf = condition.inputs.length === 2 && condition.inputs.every(({ value }) => typeof value !== 'boolean');
  return isLeaf || condition.inputs.length === 0 ? [condition] : condition.inputs.flatMap(comparisons);
}

/** `chargeTime(Bank, 20 %, 90 %) is 5.2 h, above 4 h`, and what it was worked out from. */
function explain({ text, left, right }: RequirementResult): { headline: string; why?: string } {
  const code = quoted(text);
  if (!left) return { headline: `${code} does not hold` };
  if (typeof left.value !== 'boolean' && right) {
    const terms = [termsOf(left), termsOf(right)].filter(Boolean);
    return {
      headline: `${code} does not hold: ${compared(left, right)}`,
      ...(terms.length > 0 ? { why: terms.join('; ') } : {}),
    };
  }
  const parts = [left, ...(right ? [right] : [])].flatMap(comparisons).map((each) => {
    const [a, b] = each.inputs;
    return `${quoted(each.name)} ${each.value === true ? 'holds' : 'does not hold'}${a && b ? `, ${compared(a, b)}` : ''}`;
  });
  return { headline: `${code} does not hold`, ...(parts.length > 0 ? { why: parts.join('; ') } : {}) };
}

export const requirementFailed = defineCheck({
  id: 'requirement-failed',
  group: 'requirements',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A requirement of the design does not hold.',
    guards: 'What was promised to the customer, or decided in a review, must hold through every later change.',
    how: 'The condition after `require` is worked out with the computed quantities of the design; with ranges it must hold at the worst corner. The value of each side is shown. A requirement that rests on a missing fact is not checked; one inside a scenario is decided by the results of that scenario once it has been simulated; over several runs it must hold in each.',
    fix: 'Change the design until it holds, or the requirement with whoever asked for it.',
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
        yield { verdict: 'passed', subject, use: requirement.use ?? NO_LIMIT, numbers };
        continue;
      }
      const { headline, why } = explain(requirement);
      const because = requirement.reason ? `required because ${withoutStop(requirement.reason)}` : undefined;
      yield {
        verdict: 'failed',
        subject,
        place: requirement.place,
        headline,
        ...whyOf(why, because),
        use: requirement.use ?? NO_LIMIT,
        numbers,
      };
    }
  },
});
