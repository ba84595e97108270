import { quoted } from '../text/wording.js';
import { watchedBy } from '../../control/index.js';
import { isRange } from '../../quantity/index.js';
import { signalKey } from '../../model/conditions.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Rule } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { passed, placeOf } from '../verdicts.js';
import { faultsOf, settledControls, shownBy, unsettled } from './faults.js';
import { provenFaults } from './proofs.js';
import type { RuleAt } from '../../proof/index.js';
import { isInOrder, pairs, type RuleSet } from './rules.js';
import { isOneMachine, isStarted, machineOf } from '../../model/roles.js';

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

const rankOf = ({ properties }: Control): number | undefined => {
  const value = properties.get('priority')?.value;
  return value?.type === 'quantity' ? value.quantity.value : undefined;
};

/** Controls of one thing of which none goes before the other. */
function equalsOf(context: DesignContext): (readonly Control[])[] {
  const groups = new Map<string, Control[]>();
  for (const control of context.system.controls) {
    const key = `${machineOf(control.target) ?? control.target.name} ${rankOf(control)}`;
    groups.set(key, [...(groups.get(key) ?? []), control]);
  }
  return [...groups.values()].filter((group) => group.length > 1);
}

/** Ranks in the order of the text, none of them that of another control of the same thing. */
function rankFix(group: readonly Control[], context: DesignContext): Fix[] {
  const taken = new Set(
    context.system.controls.flatMap((each) =>
      isOneMachine(each.target, group[0]!.target) && !group.includes(each) ? (rankOf(each) ?? []) : [],
    ),
  );
  const free = Array.from({ length: group.length + taken.size }, (_, at) => at + 1).filter((rank) => !taken.has(rank));
  const texts = group.map(({ name }, at) => `${name} priority ${free[at]}`);
  return [
    propose(
      `Give ${texts.join(' and ')}`,
      group.map((control, at) => setProperty(control, 'priority', `${free[at]}`)),
      true,
    ),
  ];
}

/** Controls of one thing that may ask for opposites, where nothing says whose word counts. */
function* judgeEquals(context: DesignContext): Generator<Verdict> {
  for (const group of equalsOf(context)) {
    const [first, ...others] = group as [Control, ...Control[]];
    const names = group.map(({ name }) => name).join(' and ');
    const { name } = first.target;
    const rank = rankOf(first);
    const meanwhile = isStarted(first.target)
      ? `${name} runs until the last of them stops it`
      : `${name} stays off until the last that switched it off releases it`;
    const fixes = rankFix(group, context);
    yield {
      verdict: 'failed',
      subject: others[0]!.path,
      place: rank === undefined ? others[0]!.place : placeOf(others[0]!, 'priority'),
      severity: 'warning',
      headline: `${names} command ${name} ${rank === undefined ? 'without a `priority`' : `with the same priority ${rank}`}`,
      why: meanwhile,
      use: NO_LIMIT,
      related: [{ place: first.place, text: `${first.name} commands ${name} too` }],
      fixes,
    };
  }
}

export const rulesConflict = defineCheck({
  id: 'rules-conflict',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A rule that switches on and one that switches off can hold at the same time, or two controls of one thing have the same rank.',
    guards:
      'The one that switches off wins: a generator that should run stays off, or starts and stops again as soon as the other lets go.',
    how: points(
      'Every state that the rules can come into is searched, without running time: the charge moves from one stretch between thresholds to the next, all other signals have any value their bounds allow, timers run down in any order (see language/CONTROL.md).',
      'Where the two rules watch the same signal it is an error, or a warning if one of them also watches a voltage or current, which are known by wide bounds only.',
      'Where they watch different signals, the rule that switches off may be meant as a lock, and it is an information.',
      'Thresholds of one signal in the wrong order are reported by `threshold-order`.',
      'Two controls that command one thing need a `priority`: without it, or with the same, it is a warning.',
    ),
    fix: 'Change a threshold so that both cannot hold, or give the controls different ranks.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when not soc(Bank) > 60 %
    stop when soc(Bank) > 50 % and hour >= 8 h
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 500 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when not soc(Bank) > 60 %
    stop when soc(Bank) > 65 % and hour >= 8 h
  }
}
`,
  },
  judge: (context) => judgeEquals(context),
  judgeProof: function* (context, proof) {
    const shown =
      proof.kind === 'proven'
        ? new Set(Array.from(provenFaults(context, proof, ['clash']), ({ fault }) => pairKey(fault.on!, fault.off!)))
        : undefined;
    const faulty = new Set<string>();
    for (const found of faultsOf(context, proof, ['clash'])) {
      const { fault, control, set, rule } = found;
      const [on, off] = [rule(fault.on).rule, rule(fault.off).rule];
      if (isOutOfOrder(set, on, off)) continue;
      // Without a play that shows it, it is neither told of nor denied.
      faulty.add(control.path);
      const at = (of: Rule): RuleAt => ({ control: control.name, set: fault.set, rule: set.rules.indexOf(of) });
      if (shown && !hasRange([on, off]) && !shown.has(pairKey(at(on), at(off)))) continue;
      const isSame = signalsOf(on).some((key) => signalsOf(off).includes(key));
      const severity = !isSame ? 'info' : isBounded([on, off]) ? 'warning' : 'error';
      yield {
        verdict: 'failed',
        subject: control.path,
        place: on.place,
        severity,
        headline: `${set.title}: ${quoted(on.text)} and ${quoted(off.text)} can hold at once`,
        why: `then \`${off.verb}\` wins`,
        advice: isSame
          ? 'Write the two so that one ends before the other begins.'
          : `Where \`${off.verb}\` is meant as a lock, say so in the other rule with \`and not (…)\`.`,
        use: NO_LIMIT,
        ...shownBy(found),
        fixes: apartFix(on, off),
      };
    }
    for (const control of settledControls(context, proof))
      if (!faulty.has(control.path)) yield passed(control, NO_LIMIT);
    yield* unsettled(context, proof, ['clash']);
  },
});

/** Plays take the middle of a limit that is a range; its ends are known by the search alone. */
const hasRange = (rules: readonly Rule[]): boolean =>
  rules.some((rule) => watchedBy(rule).some(({ limit }) => isRange(limit)));

const pairKey = (on: RuleAt, off: RuleAt): string => `${on.control} ${on.set} ${on.rule}/${off.rule}`;
