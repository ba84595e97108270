import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { necSourceFactor } from '../../reference/energy/sources.js';
import { defineCheck, type Fix, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { arraysOf } from '../../quantities/supply/joined.js';
import { countLacking } from './arrays.js';
import { isArrayCharger } from '../../model/roles.js';

/** Fewer strings in parallel, where one array alone is on the controller. */
export function fewerStrings(arrays: readonly Instance[], total: number, most: number, context: DesignContext): Fix[] {
  const [array, ...others] = arrays;
  const parallel = array && context.maybe(array, 'parallel');
  if (!array || others.length > 0 || !parallel) return [];
  const strings = Math.floor((most / total) * numberIn(parallel, '') + 1e-9);
  return strings < 1
    ? []
    : [
        propose(
          `Put ${strings} string${strings === 1 ? '' : 's'} in parallel in ${array.name}`,
          [setProperty(array, 'parallel', String(strings))],
          true,
        ),
      ];
}

function* judgeController(controller: Instance, context: DesignContext): Generator<Verdict> {
  const arrays = arraysOf(controller, context);
  if (arrays.length === 0) return;
  const all = collect([
    context.fact(controller, 'maximumInputCurrent'),
    ...arrays.map((array) => countLacking(array, 'parallel', context) ?? context.quantity(array, 'arrayCurrent')),
  ]);
  if (!all.ok) return yield notChecked(controller, all.result);
  const [limit, ...currents] = all.derivations as [Derivation, ...Derivation[]];
  const strong = sumOf('largest array current', 'I_max', 'A', currents);
  const { factor } = necSourceFactor('module-maximum-current');
  const standard = derive('short-circuit current of the arrays', numberIn(strong, 'A') / factor, 'A', {
    symbol: 'I_sc',
    formula: 'I_max/1.25',
    inputs: [strong],
  });
  const numbers = { current: strong, standard, limit };
  const use = atMost(strong, limit);
  if (numberIn(strong, 'A') <= numberIn(limit, 'A') * (1 + 1e-9)) return yield passed(controller, use, numbers);
  const isFirm = numberIn(standard, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  const fixes = fewerStrings(arrays, numberIn(strong, 'A'), numberIn(limit, 'A'), context);
  const [gives, takes] = pairText(strong, limit);
  yield {
    verdict: 'failed',
    subject: controller.path,
    ...(isFirm ? {} : { severity: 'warning' as const }),
    place: placeOf(controller, 'maximumInputCurrent'),
    headline: `${firstFew(arrays.map(({ name }) => name))} can drive ${gives} into ${controller.name}; it accepts ${takes}`,
    ...whyOf(
      `125 % of the ${displayValue(standard)} short-circuit current, for strong sun`,
      !isFirm && 'within it at standard test conditions',
    ),
    advice: `Connect fewer strings, or choose a controller for ${displayValue(strong)}.`,
    use,
    numbers,
    fixes,
    related: arrays.map((array) => ({ place: array.place, text: `${array.name} stands here` })),
  };
}

export const stringCurrent = defineCheck({
  id: 'string-current',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The strings on a charge controller can drive more current into it than it accepts.',
    guards: 'An input stage that burns out on the first day with snow and clouds around the sun.',
    how: 'Short-circuit current times the strings in parallel of all arrays on the controller, times 125 % for strong sun (NEC 690.8(A)(1)), against its `maximumInputCurrent`. Above that without the 125 % it is an error, with them a warning. The output side is judged by `array-current`, the conductors by `run-ampacity`.',
    fix: 'Use fewer strings, or a controller that accepts more current.',
    sources: [necSourceFactor('module-maximum-current').source],
    failing: `design Hut {
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   parallel: 3 }
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   maximumInputCurrent: 35 A   absorb: 28 V }
  battery Bank : Lfp24V200Ah
  run Line: Array -> Tracker.solar { size: 10 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   parallel: 2 }
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   maximumInputCurrent: 35 A   absorb: 28 V }
  battery Bank : Lfp24V200Ah
  run Line: Array -> Tracker.solar { size: 10 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances)
      if (isArrayCharger(instance)) yield* judgeController(instance, context);
  },
});
