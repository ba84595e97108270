import { governingText } from '../../glossary/reason-text.js';
import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { devicesOf } from '../../quantities/conductors/conductor.js';
import { ruleValue } from '../../reference/index.js';
import { defineCheck, type Verdict, atLeast, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { basisText, notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { meetsPlug } from './plug-continuous.js';
import { leastRating } from './protection-need.js';
import { PUBLISHED } from './shared.js';
import { largerSize, otherRating } from './ways.js';
import { isBreaker } from '../../model/roles.js';

const WISH = { target: 'protection-continuous' } as const;

/** In runs with plugs the continuous share of the breakers is judged by `plug-continuous`, together with that of the plugs. */
function isToldByPlug(run: Run, device: Instance, context: DesignContext): boolean {
  if (run.carries !== 'ac' || !isBreaker(device) || !meetsPlug(run)) return false;
  const continuous = context.quantity(run, 'continuousCurrent');
  const rating = context.maybe(device, 'rating');
  if (continuous.kind !== 'known' || !rating) return false;
  const share = numberIn(ruleValue('nec', 'plugContinuousShare'), '');
  return numberIn(continuous.derivation, 'A') > share * numberIn(rating, 'A') * (1 + 1e-9);
}

function judgeDevice(run: Run, device: Instance, context: DesignContext): Verdict | undefined {
  const fact = context.fact(device, 'rating');
  if (fact.kind !== 'known') return notChecked(run, fact);
  const least = leastRating(run, device, context);
  if (least.kind !== 'known') return notChecked(run, least);
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known') return notChecked(run, current);
  const numbers = { rating: fact.derivation, needed: least.derivation, current: current.derivation };
  const use = atLeast(fact.derivation, least.derivation);
  if (numberIn(fact.derivation, 'A') >= numberIn(least.derivation, 'A') * (1 - 1e-9)) return passed(run, use, numbers);
  if (isToldByPlug(run, device, context)) return undefined;
  const isCraft = context.system.basis.practice === 'craft';
  const isBelowLoad = numberIn(fact.derivation, 'A') < numberIn(current.derivation, 'A') * (1 - 1e-9);
  const [rated, needed] = pairText(fact.derivation, least.derivation);
  const rule = isCraft ? 'common practice, no source' : `${basisText(context.system.basis)} 210.20(A), 215.3`;
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    // A device that carries its load, if warmly, is a matter of practice afloat.
    ...(isCraft && !isBelowLoad ? { severity: 'warning' as const } : {}),
    headline: `${device.name} in ${run.name} is rated ${rated}; at least ${needed} needed`,
    ...whyOf(
      `${run.name} carries ${displayValue(current.derivation, 3)}; 125 % of what lasts 3 h or more, and the rest`,
      governingText(current.derivation),
    ),
    rule,
    use,
    numbers,
    related: [{ place: run.place, text: `${run.name} carries ${displayValue(current.derivation, 3)}` }],
    // A larger device on the conductors that are there; where they are too small for it, larger ones with it.
    fixes: [otherRating(run, device, 'up', WISH), largerSize(run, WISH)],
  };
}

const judgeRuns = ofEachRun(function* (run, context) {
  if (run.carries === 'any') return;
  for (const device of new Set(devicesOf(run).map(({ instance }) => instance))) {
    const verdict = judgeDevice(run, device, context);
    if (verdict) yield verdict;
  }
});

export const protectionContinuous = defineCheck({
  id: 'protection-continuous',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A fuse or breaker is rated below 125 % of the continuous load it carries plus the rest.',
    guards: 'Devices that open after hours at their rated load, just when nobody is there, and contacts that run hot.',
    how: points(
      'Each fuse and breaker of a run against 125 % of the part of the design current that lasts three hours or more plus the rest (100 % for breakers listed for it, `fullRating`).',
      'Chargers, controllers and inverters count as continuous, loads unless they say `continuous: no`. An array counts with 125 % of its short-circuit current, so that its device is rated for 156.25 %.',
      'Whether the conductors are large enough is judged apart: the larger of the two results counts, never the product of 125 % and the corrections for ambient and bundling. Breakers beside plugs are judged by `plug-continuous`.',
      'For craft the factor is common practice without a source, and a device that still carries its load makes a warning. Under iec see `protection-coordination`.',
      'The fix is the next standard rating that the conductors allow, else rating, conductors and earth conductor together.',
    ),
    fix: 'Use the next larger rating with conductors that allow it, or carry less.',
    sources: [
      PUBLISHED('NEC', '210.20(A), 215.3, 240.6(A)', '2017-2023'),
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 150 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 4/0 AWG   type: THHN   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 200 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 4/0 AWG   type: THHN   length: 1 m }
}
`,
  },
  judge: function* (context) {
    if (context.system.basis.practice !== 'iec') yield* judgeRuns(context);
  },
});
