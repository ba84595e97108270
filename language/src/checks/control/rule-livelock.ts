import { clockText, secondsText } from '../../control/index.js';
import type { DesignContext } from '../../model/context.js';
import { displayValue } from '../../derivation/index.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose } from '../fixes.js';
import { passed } from '../verdicts.js';
import { type FoundFault, faultsOf, settledControls, shownBy, shownText, unsettled } from './faults.js';
import { pairs } from './rules.js';
import { isStarted } from '../../model/roles.js';

const percent = (share: number): string => `${Number((share * 100).toFixed(1))} %`;

/** States of charge are written in steps of this. */
const STEP = 0.05;

function starved(found: FoundFault<'starved'>): Verdict {
  const { fault, control, set } = found;
  const { name } = control.target;
  return {
    verdict: 'failed',
    subject: control.path,
    place: control.place,
    message: `${set.title} never starts ${name} though ${fault.bank} is empty. ${shownText(fault)} Write a rule that starts it by the state of charge or voltage of ${fault.bank} alone.`,
    ...shownBy(found),
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
    message: `${set.title} lets ${control.target.name} stay off at ${percent(fault.from)} of ${fault.bank} when quiet hours begin, and from ${clockText(hours.from)} to ${clockText(hours.to)} the loads take ${percent(fault.taken)} of it: the bank comes down to ${fault.to > 0 ? `its reserve of ${percent(fault.to)}${reserve ? ` (${displayValue(reserve)})` : ''}` : 'nothing'} before they end, with nothing else that charges. ${advice}`,
    ...shownBy(found),
    fixes,
  };
}

function chatter(found: FoundFault<'chatter'>): Verdict | undefined {
  const { fault, control, set, rule } = found;
  const [on, off] = [rule(fault.on).rule, rule(fault.off).rule];
  // Thresholds that face each other on one signal are judged by their order and their gap.
  if (pairs({ ...set, rules: [on, off] }).length > 0) return undefined;
  const { name } = control.target;
  return {
    verdict: 'failed',
    subject: control.path,
    place: on.place,
    message: `${set.title} can switch ${name} on and off for ever with the charge, loads and sources as they are: \`${on.text}\`, after ${secondsText(fault.run)} \`${off.text}\`, and ${secondsText(fault.rest)} later on again. ${shownText(fault)} ${isStarted(control.target) ? 'Give it a `minimumRun`, or let both rules watch one signal with a gap between.' : 'Give the rules dwells (`for …`), or let both watch one signal with a gap between.'}`,
    ...shownBy(found),
  };
}

export const ruleLivelock = defineCheck({
  id: 'rule-livelock',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The rules let a set stay off though the bank is empty, keep it off through quiet hours until the bank is empty, or switch it on and off for ever.',
    guards: 'A dark site beside a full tank, or a set that wears out in a week.',
    how: 'Without running time (see language/CONTROL.md): with the bank empty and no other source, the rules must start the set within two days and all of their timers, whatever steady load is on. Quiet hours are held against the mean load within them, from the lowest charge at which the set may still be off when they begin, down to the `reserve` of the bank (a warning, since the load is a mean). With charge, loads and sources as they are, the rules must not give runs shorter than `leastRun` (20 min unless set; common practice, no source), or switch a load on and off within 10 min. Each charge in steps of one percent and both sides of each threshold are looked at.',
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
  judge: function* (context) {
    const faulty = new Set<string>();
    for (const found of faultsOf(context, ['starved', 'quiet', 'chatter'])) {
      const { kind } = found.fault;
      const verdict =
        kind === 'starved'
          ? starved(found as FoundFault<'starved'>)
          : kind === 'quiet'
            ? quiet(found as FoundFault<'quiet'>, context)
            : chatter(found as FoundFault<'chatter'>);
      if (!verdict) continue;
      faulty.add(found.control.path);
      yield verdict;
    }
    for (const control of settledControls(context)) if (!faulty.has(control.path)) yield passed(control);
    yield* unsettled(context, ['starved', 'quiet', 'chatter']);
  },
});
