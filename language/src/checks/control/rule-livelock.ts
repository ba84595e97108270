import { quoted } from '../text/wording.js';
import { clockText, secondsText } from '../../control/index.js';
import type { DesignContext } from '../../model/context.js';
import { displayValue, derive } from '../../derivation/index.js';
import { defineCheck, type Fix, type Verdict, atLeast, NO_LIMIT, points } from '../define.js';
import { propose } from '../fixes.js';
import { type FoundFault, faultsOf, shownBy, unsettled } from './faults.js';
import { type ProvenFault, acquitted, provenFaults, ruleNamed, shownByProof } from './proofs.js';
import { pairs } from './rules.js';
import { isStarted } from '../../model/roles.js';

const percent = (share: number): string => `${Number((share * 100).toFixed(1))} %`;

/** States of charge are written in steps of this. */
const STEP = 0.05;

function starved({ fault, control, set }: ProvenFault): Verdict {
  const { name } = control.target;
  return {
    verdict: 'failed',
    subject: control.path,
    place: control.place,
    headline: `${set.title} leaves ${name} off though ${fault.bank} is empty`,
    advice: `Write a rule that starts it by the state of charge or voltage of ${fault.bank} alone, above the cut-off of the loads.`,
    use: NO_LIMIT,
    ...shownByProof(fault),
  };
}

/** What is so only once a bank was emptied and something has charged it a little: told, and no fault of every day. */
function stranded({ fault, control, set }: ProvenFault): Verdict {
  const { name } = control.target;
  return {
    verdict: 'failed',
    severity: 'info',
    subject: control.path,
    place: control.place,
    headline: `Once ${fault.bank} was emptied and charged a little, ${set.title} leaves ${name} off${fault.isHushed ? ' in quiet hours' : ''}`,
    why: fault.isHushed
      ? 'its loads stay cut off until it is charged further'
      : 'its loads stay cut off until it is charged further, and at rest no start rule holds',
    consequence: fault.isHushed
      ? 'it stays dark until they are over'
      : `it stays dark until ${name} is started by hand or another source comes`,
    advice: fault.isHushed
      ? `Make an exception (\`unless soc(${fault.bank}) < …\`) above the charge at which its loads are fed again.`
      : `Write a rule that starts it by the state of charge of ${fault.bank}.`,
    use: NO_LIMIT,
    ...shownByProof(fault),
  };
}

function quiet(found: FoundFault<'quiet'>, context: DesignContext): Verdict {
  const { fault, control, set } = found;
  const fallback = control.fallbacks.find((each) => each.rules[0] === set.rules[0] && each.properties.has('quiet'));
  const property = (fallback ?? control).properties.get('quiet')!;
  const hours = property.value as { from: number; to: number };
  const bank = context.instance(fault.bank);
  const reserve = bank && context.maybe(bank, 'reserve');
  // Halfway between where nothing may be left and where the rules start it by day, on a round number.
  const wanted = Math.max(STEP, Math.round((fault.to + fault.from) / 2 / STEP) * STEP);
  const lost = control.fallbacks.find((each) => each.rules[0] === set.rules[0])?.link;
  const fixes: Fix[] =
    !lost && property.place && property.inheritedFrom === undefined && wanted < fault.from && wanted > fault.to
      ? [
          propose(
            `Let it start below ${percent(wanted)} in quiet hours too`,
            [
              {
                place: property.place,
                text: `${property.text.replace(/\s+unless[\s\S]*$/, '')} unless soc(${fault.bank}) < ${percent(wanted)}`,
              },
            ],
            true,
          ),
        ]
      : [];
  const advice = lost
    ? `An exception by state of charge is not heard without ${lost.name}: give the fallback quiet hours of its own with \`unless voltage(${fault.bank}) < …\`.`
    : fixes.length > 0
      ? `Write \`unless soc(${fault.bank}) < ${percent(wanted)}\`, or start earlier by day.`
      : 'Start earlier by day, or make an exception.';
  return {
    verdict: 'failed',
    subject: control.path,
    place: property.place ?? control.place,
    severity: 'warning',
    headline: `In quiet hours of ${set.title}, ${fault.bank} falls from ${percent(fault.from)} to ${fault.to > 0 ? `its reserve, ${percent(fault.to)}` : 'nothing'}`,
    why: `the loads draw ${percent(fault.taken)} from ${clockText(hours.from)} to ${clockText(hours.to)}${fault.to > 0 && reserve ? ` (reserve ${displayValue(reserve)})` : ''}, and ${control.target.name} stays off`,
    advice,
    use: atLeast(
      derive('charge when quiet hours end', fault.from - fault.taken, ''),
      derive('charge that must be left', fault.to, ''),
    ),
    ...shownBy(found),
    fixes,
  };
}

/** Quiet hours that a week shows to empty the bank, where no limit of the rules alone tells why. */
function emptied({ fault, control, set }: ProvenFault): Verdict {
  const { name } = control.target;
  const fallback = control.fallbacks.find((each) => each.rules[0] === set.rules[0] && each.properties.has('quiet'));
  return {
    verdict: 'failed',
    subject: control.path,
    place: (fallback ?? control).properties.get('quiet')?.place ?? control.place,
    severity: 'warning',
    headline: `${set.title} keeps ${name} off in quiet hours with ${fault.bank} below its reserve`,
    why: 'a start rule holds, and quiet hours alone keep it off',
    advice: `Make an exception (\`unless soc(${fault.bank}) < …\`), or let ${name} charge ${fault.bank} higher before they begin.`,
    use: NO_LIMIT,
    ...shownByProof(fault),
  };
}

function chatter({ fault, control, set }: ProvenFault, context: DesignContext): Verdict | undefined {
  const [on, off] = [ruleNamed(context, fault.on), ruleNamed(context, fault.off)];
  if (!on || !off) return undefined;
  const isOwn = fault.on!.control === fault.off!.control;
  // Thresholds that face each other on one signal are judged by their order and their gap.
  if (isOwn && pairs({ ...set, rules: [on, off] }).length > 0) return undefined;
  const { name } = control.target;
  const stops = isOwn ? quoted(off.text) : `${fault.off!.control}: ${quoted(off.text)}`;
  const advice = !isOwn
    ? `Let the controls watch one signal with a gap between, or give one a \`priority\` whose stop does not end what the other starts.`
    : isStarted(control.target)
      ? 'Give it a `minimumRun`, or let both rules watch one signal with a gap between.'
      : 'Give the rules dwells (`for …`), or let both watch one signal with a gap between.';
  return {
    verdict: 'failed',
    subject: control.path,
    place: on.place,
    headline: `${set.title} switches ${name} on and off again and again`,
    why: `off after ${secondsText(Math.round(fault.run!))} by ${stops}, on again ${secondsText(Math.round(fault.rest!))} later`,
    advice,
    use: NO_LIMIT,
    ...shownByProof(fault),
  };
}

export const ruleLivelock = defineCheck({
  id: 'rule-livelock',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The rules let a generator stay off though the bank is empty, keep it off through quiet hours until the bank is empty, or switch it on and off for ever.',
    guards: 'A dark site beside a full tank, or a generator that wears out in a week.',
    how: points(
      'The rules are simulated for a week under many conditions (see language/CONTROL.md).',
      'A bank that gives nothing any more must not stand so for two hours, dwells and rests apart, with its generator off. That it stays off once the bank was emptied, cut off from its loads and charged a little is a note.',
      'Chatter: six runs in a row shorter than `leastRun` (20 min unless set; common practice, no source), or six cycles of a load within 10 min each.',
      'Quiet hours, without running time: the mean load within them, from the lowest charge at which the generator may still be off when they begin, down to the `reserve` of the bank (a warning, since the load is a mean).',
    ),
    fix: 'Change thresholds, quiet hours or least times until the bank is charged in every week that is tried.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 1 kW   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 % for 1 min
    stop when soc(Bank) > 85 %
    quiet: 20:00..08:00
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  load Radio { power: 1 kW   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Radio { size: 10 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 % for 1 min
    stop when soc(Bank) > 85 %
    quiet: 20:00..08:00 unless soc(Bank) < 20 %
  }
}
`,
  },
  // Only the proof of the rules shows it.
  judge: () => [],
  judgeProof: function* (context, proof) {
    const faulty = new Set<string>();
    const shown = [...provenFaults(context, proof, ['quiet'])];
    for (const found of faultsOf(context, proof, ['quiet'])) {
      // What a bank could come to is told once a week shows it, or where no week can be simulated.
      if (proof.kind === 'proven' && !shown.some(({ control }) => control === found.control)) continue;
      faulty.add(found.control.path);
      yield quiet(found, context);
    }
    for (const found of shown) {
      if (faulty.has(found.control.path)) continue;
      faulty.add(found.control.path);
      yield emptied(found);
    }
    for (const found of provenFaults(context, proof, ['starved', 'stranded', 'chatter'])) {
      const { kind, isHushed } = found.fault;
      // That quiet hours bring the bank down is told already.
      if (isHushed && faulty.has(found.control.path)) continue;
      const verdict =
        kind === 'starved' ? starved(found) : kind === 'stranded' ? stranded(found) : chatter(found, context);
      if (!verdict) continue;
      faulty.add(found.control.path);
      yield verdict;
    }
    yield* acquitted(context, proof, faulty);
    yield* unsettled(context, proof, ['quiet']);
  },
});
