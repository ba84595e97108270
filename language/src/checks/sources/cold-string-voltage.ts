import { formatNumber } from '../../quantity/index.js';
import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { coldOpenVoltage } from '../../quantities/supply/array.js';
import { collect } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { countLacking, controllersOf, fittingSeries } from './arrays.js';
import { PRACTICE } from './shared.js';
import { isArray } from '../../model/roles.js';

function fixesFor(array: Instance, controller: Instance, context: DesignContext): { fixes: Fix[]; most: number } {
  const { least, most = 0 } = fittingSeries(array, controller, context);
  // A string too short to charge in the heat is no remedy.
  const fits = most >= 1 && least !== undefined && least <= most;
  return {
    most,
    fixes: fits
      ? [
          propose(
            `Put ${most} module${most === 1 ? '' : 's'} in series in ${array.name}`,
            [setProperty(array, 'series', String(most))],
            true,
          ),
        ]
      : [],
  };
}

function* judgePair(array: Instance, controller: Instance, context: DesignContext): Generator<Verdict> {
  const series = countLacking(array, 'series', context) ?? context.fact(array, 'series');
  const highest = context.fact(controller, 'maximumVoltage');
  const modules = series.kind === 'known' ? numberIn(series.derivation, '') : 1;
  const voltage = coldOpenVoltage(array, modules, context);
  const all = collect([series, highest, voltage]);
  if (!all.ok || voltage.kind !== 'known' || highest.kind !== 'known')
    return yield notChecked(array, all.ok ? voltage : all.result);
  const numbers = { voltage: voltage.derivation, limit: highest.derivation };
  const use = atMost(voltage.derivation, highest.derivation);
  if (numberIn(voltage.derivation, 'V') <= numberIn(highest.derivation, 'V') * (1 + 1e-9))
    return yield passed(array, use, numbers);
  const byTable = context.maybe(array, 'voltageCoefficient') === undefined;
  const [rises, most] = pairText(voltage.derivation, highest.derivation);
  const ambient = context.siteFact('ambient');
  const coldest = ambient && typeof ambient.value === 'object' ? `${formatNumber(ambient.value.low)} °C` : '';
  const { fixes, most: fewer } = fixesFor(array, controller, context);
  const module = context.maybe(array, 'openCircuitVoltage');
  yield {
    verdict: 'failed',
    subject: array.path,
    ...(byTable ? { severity: 'warning' as const } : {}),
    place: placeOf(array, 'series'),
    headline: `${modules} module${modules === 1 ? '' : 's'} of ${array.name} in series reach ${rises} at ${coldest}; ${controller.name} survives ${most}`,
    ...whyOf(
      module &&
        `${displayValue(module)} each at 25 °C, ${byTable ? 'NEC Table 690.7(A) from memory; no `voltageCoefficient` is stated' : 'by its `voltageCoefficient`'}`,
    ),
    consequence: 'it is destroyed on the first clear cold morning',
    advice:
      fewer >= 1
        ? `${fewer} in series would be few enough, but too few to charge in the heat; choose a controller for a higher voltage.`
        : 'Choose a controller for a higher voltage.',
    use,
    numbers,
    fixes,
    related: [{ place: placeOf(controller, 'maximumVoltage'), text: `${controller.name} survives ${most}` }],
  };
}

export const coldStringVoltage = defineCheck({
  id: 'cold-string-voltage',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A string of solar modules rises above what its charge controller survives, in the record cold.',
    guards: 'A controller that dies on the first clear cold morning, often with fire.',
    how: 'Open-circuit voltage times the modules in series at the lowest temperature of the site (`ambient`), by the module’s `voltageCoefficient`, else by NEC Table 690.7(A) (from memory; a warning then), against `maximumVoltage` of the controller. The lowest temperature is the record, not the usual one.',
    fix: 'Use fewer modules in series, or a controller for a higher voltage.',
    sources: [
      { standard: 'NEC', edition: '2017-2023', table: '690.7(A)', provenance: 'from memory' },
      { standard: 'tutorial page on module strings', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Hut {
  site { ambient: -25..35 degC }
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   voltageCoefficient: -0.28 %/K   series: 4 }
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   window: 60..145 V   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  run Line: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  site { ambient: -25..35 degC }
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   voltageCoefficient: -0.28 %/K   series: 3 }
  chargeController Tracker { tracking: mppt   maximumVoltage: 150 V   window: 60..145 V   absorb: 56 V }
  battery Bank : Lfp48V280Ah
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
