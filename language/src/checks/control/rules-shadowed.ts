import { quoted } from '../text/wording.js';
import { type Plant, watchedBy } from '../../control/index.js';
import { formatQuantity, siQuantity } from '../../quantity/index.js';
import type { Comparison, Signal } from '../../model/conditions.js';
import type { Rule } from '../../model/types.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { passed } from '../verdicts.js';
import { type FoundFault, faultsOf, settledControls, shownBy, unsettled } from './faults.js';
import { provenFaults } from './proofs.js';
import { isStarted } from '../../model/roles.js';

/** What a comparison watches, with its bounds in words, and whether these rule the comparison out. */
interface Bounds {
  readonly text: string;
  readonly isRuledOut: boolean;
}

/** `power(Inv) lies between 0 W and 3 kW`: the bounds of what a comparison watches, where there are any. */
function boundsOf({ terms, limit, comparison }: Comparison, plant: Plant): Bounds[] {
  const [term] = terms;
  if (terms.length !== 1) return [];
  const signal: Signal = term!.signal;
  if (signal.kind !== 'of') return [];
  const spans = (['loaded', 'unloaded'] as const).map((running) =>
    plant.span(signal, { low: 0, high: 1 }, running, 'any', 'momentary'),
  );
  const text = (value: number): string =>
    formatQuantity(siQuantity(Number(value.toPrecision(4)), limit.dimension, limit.unit));
  const [low, high] = [Math.min(...spans.map((span) => span.low)), Math.max(...spans.map((span) => span.high))];
  if (low === -Infinity && high === Infinity) return [];
  const name = `${signal.signal}(${signal.of.name})`;
  const words =
    high === Infinity
      ? `is at least ${text(low)}`
      : low === -Infinity
        ? `is at most ${text(high)}`
        : `lies between ${text(low)} and ${text(high)}`;
  const isAbove = comparison === '>' || comparison === '>=';
  return [{ text: `${name} ${words}`, isRuledOut: isAbove ? high <= limit.value : low >= limit.value }];
}

/** Why a rule is never true: the bounds that rule it out, or that nothing in these rules brings about what lies within them. */
const neverTrue = (rule: Rule, plant: Plant): string => {
  const all = watchedBy(rule).flatMap((comparison) => boundsOf(comparison, plant));
  const ruledOut = [...new Set(all.flatMap(({ text, isRuledOut }) => (isRuledOut ? [text] : [])))];
  if (ruledOut.length > 0) return `it is never true (${ruledOut.join(', ')})`;
  return all.length > 0 ? 'it is never true, since nothing that these rules do brings it about' : 'it is never true';
};

export const rulesShadowed = defineCheck({
  id: 'rules-shadowed',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A rule can never act.',
    guards:
      'A rule somebody relies on that does nothing: a start that never comes, a stop that another rule forestalls.',
    how: 'In the search of all states (see language/CONTROL.md) the rule never switches anything: its condition is never true within the bounds of what it watches, or another rule that watches the same signal holds whenever it does, or it holds only when there is nothing to switch. A rule on another signal that guards the same thing, such as a voltage beside the state of charge, is no fault. The bounds are wider than what can happen, so a rule that is reported never acts; one that is not reported may still never act.',
    fix: 'Change the threshold or the order of the rules, or remove the rule.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    start when soc(Bank) < 30 %
    stop when soc(Bank) > 85 %
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 % for 1 h
    start when soc(Bank) < 30 %
    stop when soc(Bank) > 85 %
  }
}
`,
  },
  // The search is made with the proof of the rules.
  judge: () => [],
  judgeProof: function* (context, proof) {
    const endless = new Set(
      Array.from(provenFaults(context, proof, ['endless']), ({ fault }) => `${fault.control} ${fault.set}`),
    );
    const faulty = new Set<string>();
    for (const found of faultsOf(context, proof, ['needless'])) {
      faulty.add(found.control.path);
      // That a set never stops is told by `stop-unreachable`.
      const isStop = isStarted(found.control.target) && !found.rule(found.fault.rule).switchesOn;
      if (!isStop || !endless.has(`${found.control.name} ${found.fault.set}`)) yield cannotAct(found);
    }
    for (const control of settledControls(context, proof))
      if (!faulty.has(control.path)) yield passed(control, NO_LIMIT);
    yield* unsettled(context, proof, ['needless']);
  },
});

function cannotAct(found: FoundFault<'needless'>): Verdict {
  const { fault, control, set, rule, analysis } = found;
  const own = rule(fault.rule);
  const by = fault.by === undefined ? undefined : rule(fault.by).rule;
  const why =
    fault.why === 'false'
      ? neverTrue(own.rule, analysis.plant)
      : by
        ? `${quoted(by.text)} holds whenever it does`
        : fault.why === 'covered'
          ? 'other rules hold whenever it does'
          : `it holds only when ${control.target.name} is ${own.switchesOn ? 'kept off by another rule or already on' : 'already off'}`;
  return {
    verdict: 'failed',
    subject: control.path,
    place: own.rule.place,
    headline: `${set.title}: ${quoted(own.rule.text)} can never act`,
    why,
    advice: 'Change its limit, or remove it.',
    use: NO_LIMIT,
    ...shownBy(found),
    related: by ? [{ place: by.place, text: 'holds whenever it does' }] : [],
  };
}
