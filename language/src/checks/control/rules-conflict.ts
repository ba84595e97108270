import { watchedBy } from '../../control/index.js';
import { signalKey } from '../../model/conditions.js';
import type { Rule } from '../../model/types.js';
import { defineCheck, type Fix } from '../define.js';
import { propose } from '../fixes.js';
import { passed } from '../verdicts.js';
import { faultsOf, settledControls, shownBy, shownText, unsettled } from './faults.js';
import { isInOrder, pairs, type RuleSet } from './rules.js';

const signalsOf = (rule: Rule): string[] =>
  watchedBy(rule).flatMap(({ terms }) => terms.map(({ signal }) => signalKey(signal)));

/** Voltage and current of a bank are known by wide bounds only: what can be at once within them may still never be. */
const isBounded = (rules: readonly Rule[]): boolean =>
  rules.some((rule) => signalsOf(rule).some((key) => key.startsWith('voltage(') || key.startsWith('current(')));

/** The condition of a rule without a dwell, as it is written. */
const conditionText = ({ text, dwell }: Rule): string | undefined =>
  dwell === 0 ? /^\w+\s+when\s+([\s\S]+)$/.exec(text)?.[1] : undefined;

/** Keeps a rule that starts from holding while the one that stops does. */
function apartFix(on: Rule, off: Rule): Fix[] {
  const text = conditionText(off);
  if (!text || on.condition?.type === 'any') return [];
  const { dwell: _dwell, ...rule } = on;
  const edit = { place: rule.afterCondition, text: ` and not (${text})` };
  return [propose(`Let \`${on.verb}\` wait until \`${off.verb}\` no longer holds`, [edit], true)];
}

/** Pairs of thresholds on one signal that stand in the wrong order are told by `threshold-order`. */
const isOutOfOrder = (set: RuleSet, on: Rule, off: Rule): boolean =>
  pairs({ ...set, rules: [on, off] }).some((pair) => !isInOrder(pair));

export const rulesConflict = defineCheck({
  id: 'rules-conflict',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A rule that switches on and one that switches off can hold at the same time.',
    guards:
      'The one that switches off wins: a set that should run stays off, or starts and stops again as soon as the other lets go.',
    how: 'Every state the rules can come into is searched, without running time: the charge moves from one stretch between thresholds to the next, all other signals take any value their bounds allow, timers run down in any order (see language/CONTROL.md). Where the two rules watch the same signal the finding is an error, or a warning if one of them also watches a voltage or current, which are known by wide bounds only; where they watch different ones the rule that switches off may be meant as a lock, and it is an information. Thresholds of one signal in the wrong order are told by `threshold-order`.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  load Pump { power: 2 kW   voltage: 230 V }
  control Autostart of Genset {
    start when soc(Bank) < 60 % and power(Pump) > 1 kW or soc(Bank) < 30 %
    stop when soc(Bank) > 50 % or power(Pump) > 1.5 kW
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  load Pump { power: 2 kW   voltage: 230 V }
  control Autostart of Genset {
    start when soc(Bank) < 40 % and power(Pump) > 1 kW or soc(Bank) < 30 %
    stop when soc(Bank) > 50 %
  }
}
`,
  },
  judge: function* (context) {
    const faulty = new Set<string>();
    for (const found of faultsOf(context, ['clash'])) {
      const { fault, control, set, rule } = found;
      const [on, off] = [rule(fault.on).rule, rule(fault.off).rule];
      if (isOutOfOrder(set, on, off)) continue;
      faulty.add(control.path);
      const isSame = signalsOf(on).some((key) => signalsOf(off).includes(key));
      const severity = !isSame ? 'info' : isBounded([on, off]) ? 'warning' : 'error';
      yield {
        verdict: 'failed',
        subject: control.path,
        place: on.place,
        severity,
        message: `${set.title}: \`${on.text}\` and \`${off.text}\` can hold at once, and then \`${off.verb}\` wins. ${shownText(fault)} ${isSame ? 'Write the two so that one of them ends before the other begins.' : `Where \`${off.verb}\` is meant as a lock, say so in the other rule with \`and not (…)\`.`}`,
        ...shownBy(found),
        fixes: apartFix(on, off),
      };
    }
    for (const control of settledControls(context)) if (!faulty.has(control.path)) yield passed(control);
    yield* unsettled(context, ['clash']);
  },
});
