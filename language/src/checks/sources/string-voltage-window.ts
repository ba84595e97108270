import { highEnd } from '../../quantities/ends.js';
import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { coldOpenVoltage } from '../../quantities/supply/array.js';
import { collect } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import {
  countLacking,
  coldOperatingVoltage,
  controllersOf,
  fittingSeries,
  hotCells,
  hotVoltage,
  neededVoltage,
} from './arrays.js';
import { PRACTICE } from './shared.js';
import { isArray } from '../../model/roles.js';

const modulesText = (count: number): string => `${count} module${count === 1 ? '' : 's'}`;

function seriesFix(array: Instance, count: number | undefined): Fix[] {
  return count === undefined || count < 1
    ? []
    : [
        propose(
          `Put ${modulesText(count)} in series in ${array.name}`,
          [setProperty(array, 'series', String(count))],
          true,
        ),
      ];
}

/** The upper end of the window in the cold: above it the controller waits until the sun has warmed the modules. */
function* judgeCold(
  array: Instance,
  controller: Instance,
  modules: number,
  context: DesignContext,
): Generator<Verdict, boolean> {
  const window = context.maybe(controller, 'window');
  const cold = coldOperatingVoltage(array, modules, context);
  if (!window || typeof window.value !== 'object' || cold.kind !== 'known') return false;
  const { high } = window.value;
  const highest = context.maybe(controller, 'maximumVoltage');
  const open = coldOpenVoltage(array, modules, context);
  // A string above what the controller survives is found by `cold-string-voltage`.
  const isTooMuch =
    highest && open.kind === 'known' && numberIn(open.derivation, 'V') > numberIn(highest, 'V') * (1 + 1e-9);
  if (numberIn(cold.derivation, 'V') <= high * (1 + 1e-9) || isTooMuch) return false;
  const fewer = Math.floor((modules * high) / numberIn(cold.derivation, 'V') + 1e-9);
  const { least } = fittingSeries(array, controller, context);
  const fixes = seriesFix(array, least !== undefined && least > fewer ? undefined : fewer);
  yield {
    verdict: 'failed',
    subject: array.path,
    severity: 'warning',
    place: placeOf(array, 'series'),
    headline: `${modulesText(modules)} of ${array.name} in series give ${displayValue(cold.derivation, 3)} in the cold; ${controller.name} tracks ${displayValue(window)}`,
    consequence: 'it charges with less, or not at all, until the modules are warm',
    advice: 'Connect fewer in series, or choose a controller with a wider window.',
    use: atMost(cold.derivation, highEnd(window)),
    numbers: { voltage: cold.derivation, window },
    fixes,
  };
  return true;
}

function* judgePair(array: Instance, controller: Instance, context: DesignContext): Generator<Verdict> {
  const series = countLacking(array, 'series', context) ?? context.fact(array, 'series');
  const modules = series.kind === 'known' ? numberIn(series.derivation, '') : 1;
  const hot = hotVoltage(array, modules, context);
  const needed = neededVoltage(controller, context);
  const all = collect([series, hot, ...(needed.ok ? [] : [needed.result])]);
  if (!all.ok || hot.kind !== 'known' || !needed.ok) return yield notChecked(array, all.ok ? hot : all.result);
  const volts = numberIn(hot.derivation, 'V');
  const numbers = { voltage: hot.derivation, needed: needed.needed };
  if (volts >= numberIn(needed.needed, 'V') * (1 - 1e-9)) {
    if (!(yield* judgeCold(array, controller, modules, context)))
      yield passed(array, atLeast(hot.derivation, needed.needed), numbers);
    return;
  }
  const cells = hotCells(array, context);
  const isFirm =
    context.maybe(array, 'noct') !== undefined &&
    context.maybe(array, 'powerCoefficient') !== undefined &&
    volts < numberIn(needed.bare, 'V') * (1 - 1e-9);
  const { least, most } = fittingSeries(array, controller, context);
  const fixes = seriesFix(array, least !== undefined && most !== undefined && least <= most ? least : undefined);
  const [gives, asks] = pairText(hot.derivation, needed.needed);
  const assumes = [
    ...(context.maybe(array, 'noct') ? [] : ['cells 30 K above the air (`noct` is not stated)']),
    ...(context.maybe(array, 'powerCoefficient') ? [] : ['`voltageCoefficient` for `powerCoefficient`']),
  ];
  yield {
    verdict: 'failed',
    subject: array.path,
    ...(isFirm ? {} : { severity: 'warning' as const }),
    place: placeOf(array, 'series'),
    headline: `${modulesText(modules)} of ${array.name} in series give ${gives} in the heat; ${controller.name} needs ${asks}`,
    ...whyOf(
      cells.kind === 'known' && `cells at ${displayValue(cells.derivation, 3)}`,
      `needed: ${needed.needed.name}`,
    ),
    assumes,
    consequence: 'the bank is not charged fully on hot days',
    advice: `Choose ${least !== undefined ? `a controller that accepts ${modulesText(least)} in series` : 'another controller'}, or modules of a higher voltage.`,
    use: atLeast(hot.derivation, needed.needed),
    numbers: { ...numbers, bare: needed.bare },
    fixes,
    related: [
      { place: controller.place, text: `${controller.name} needs ${formatNumber(numberIn(needed.needed, 'V'))} V` },
    ],
  };
}

export const stringVoltageWindow = defineCheck({
  id: 'string-voltage-window',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A string of solar modules works outside the voltages in which its charge controller can charge, in the heat or in the cold.',
    guards: 'An array that gives nothing on the hottest days, when the cold store needs it most.',
    how: points(
      'The voltage at maximum power of the string, its cells hot: nominal operating temperature `noct` in full sun at the highest `ambient`, else 30 K above the air (common practice, no source).',
      'It is held against the lower end of the controller’s `window`, and against its highest set point with `stringHeadroom` of the design (1 V unless said; common practice, no source; not for `tracking: pwm`). An error where even the set point is not reached by the data sheet’s own figures, else a warning.',
      'In the cold the string must stay within the window (a warning). The coefficient of power stands for that of the voltage at maximum power.',
    ),
    fix: 'Change the number of modules in series, or use a controller with another window.',
    sources: [{ standard: 'definition of NOCT (IEC 61215)', provenance: 'published' }, PRACTICE],
    failing: `design Hut {
  site { ambient: -10..40 degC }
  solar Array { power: 100 W   openCircuitVoltage: 22.5 V   shortCircuitCurrent: 6 A   maximumPowerVoltage: 18.5 V   voltageCoefficient: -0.28 %/K   powerCoefficient: -0.38 %/K   noct: 46 degC }
  chargeController Tracker { tracking: mppt   maximumVoltage: 75 V   window: 18..70 V   absorb: 14.2 V }
  battery Bank : Lfp12V200Ah
  run Line: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  site { ambient: -10..40 degC }
  solar Array { power: 100 W   openCircuitVoltage: 22.5 V   shortCircuitCurrent: 6 A   maximumPowerVoltage: 18.5 V   voltageCoefficient: -0.28 %/K   powerCoefficient: -0.38 %/K   noct: 46 degC   series: 2 }
  chargeController Tracker { tracking: mppt   maximumVoltage: 75 V   window: 18..70 V   absorb: 14.2 V }
  battery Bank : Lfp12V200Ah
  run Line: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const array of context.system.instances)
      if (isArray(array))
        for (const controller of controllersOf(array, context)) yield* judgePair(array, controller, context);
  },
});
