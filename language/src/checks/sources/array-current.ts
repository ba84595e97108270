import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { necSourceFactor } from '../../reference/energy/sources.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { arraysOf } from '../../quantities/supply/joined.js';
import { countLacking, controllersOf } from './arrays.js';
import { PRACTICE } from './shared.js';
import { fewerStrings } from './string-current.js';
import { isArrayCharger } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

const names = (arrays: readonly Instance[]): string => arrays.map(({ name }) => name).join(' and ');

/** A controller that switches the array onto the bank passes the whole current of the modules. */
function* judgeSwitching(
  controller: Instance,
  arrays: readonly Instance[],
  limit: Derivation,
  context: DesignContext,
): Generator<Verdict> {
  const all = collect(
    arrays.map((array) => countLacking(array, 'parallel', context) ?? context.quantity(array, 'arrayCurrent')),
  );
  if (!all.ok) return yield notChecked(controller, all.result);
  const strong = sumOf('largest array current', 'I_max', 'A', all.derivations);
  const standard = numberIn(strong, 'A') / necSourceFactor('module-maximum-current').factor;
  const numbers = { current: strong, limit };
  const use = atMost(strong, limit);
  if (numberIn(strong, 'A') <= numberIn(limit, 'A') * (1 + 1e-9)) return yield passed(controller, use, numbers);
  const fixes = fewerStrings(arrays, numberIn(strong, 'A'), numberIn(limit, 'A'), context);
  const [gives, takes] = pairText(strong, limit);
  yield {
    verdict: 'failed',
    subject: controller.path,
    ...(standard > numberIn(limit, 'A') * (1 + 1e-9) ? {} : { severity: 'warning' as const }),
    place: placeOf(controller, 'maximumCurrent'),
    headline: `${controller.name} switches up to ${gives} of ${names(arrays)}; it is rated ${takes}`,
    why: 'it connects the array straight to the bank and carries all of its current, 125 % in strong sun',
    advice: `Connect fewer strings, or choose a controller for ${gives}.`,
    use,
    numbers,
    fixes,
  };
}

/** The part of an array's power that one of several controllers on it takes. */
const partOf = (power: Derivation, controllers: number): Derivation =>
  controllers === 1
    ? power
    : derive(power.name, numberIn(power, 'W') / controllers, 'W', {
        formula: 'P/n',
        inputs: [power, derive('controllers on the array', controllers, '', { symbol: 'n' })],
      });

/** A tracking controller limits its output by itself: what the array could give above that is lost. */
function* judgeTracking(
  controller: Instance,
  arrays: readonly Instance[],
  limit: Derivation,
  context: DesignContext,
): Generator<Verdict> {
  const [bank] = banksAt(controller, context);
  if (!bank) return;
  const excess = context.setting('arrayExcess');
  const all = collect([
    context.quantity(bank, 'bankVoltage'),
    ...arrays.map((array) => context.quantity(array, 'arrayPower')),
  ]);
  if (!all.ok) return yield notChecked(controller, all.result);
  if (!excess) return;
  const [voltage, ...whole] = all.derivations as [Derivation, ...Derivation[]];
  const power = sumOf(
    'power of the arrays',
    'P',
    'W',
    whole.map((each, index) => partOf(each, controllersOf(arrays[index]!, context).length)),
  );
  const current = derive('current the arrays could give', numberIn(power, 'W') / numberIn(voltage, 'V'), 'A', {
    symbol: 'I',
    formula: 'P/U_nom',
    inputs: [power, voltage],
  });
  const most = derive('most that is of use', numberIn(limit, 'A') * numberIn(excess, ''), 'A', {
    formula: 'I_max·excess',
    inputs: [limit, excess],
  });
  const numbers = { current, limit, most };
  const use = atMost(current, most);
  if (numberIn(current, 'A') <= numberIn(most, 'A') * (1 + 1e-9)) return yield passed(controller, use, numbers);
  const fixes = fewerStrings(arrays, numberIn(current, 'A'), numberIn(most, 'A'), context);
  const [gives, takes] = pairText(current, limit);
  yield {
    verdict: 'failed',
    subject: controller.path,
    severity: 'warning',
    place: placeOf(controller, 'maximumCurrent'),
    headline: `${names(arrays)} could give ${gives}; ${controller.name} gives ${takes} at most`,
    why: `${displayValue(power, 3)} at ${displayValue(voltage, 3)}; more than ${displayValue(excess)} of its output is curtailed on clear days`,
    rule: 'a rule of thumb, set by `arrayExcess`',
    advice: `Connect fewer strings, or choose a controller for ${gives}.`,
    use,
    numbers,
    fixes,
  };
}

function* judgeController(controller: Instance, context: DesignContext): Generator<Verdict> {
  const arrays = arraysOf(controller, context);
  if (arrays.length === 0) return;
  const tracking = context.maybe(controller, 'tracking')?.value;
  const limit = context.maybe(controller, 'maximumCurrent');
  const open = [
    ...(limit ? [] : [`maximumCurrent of ${controller.name}`]),
    ...(tracking ? [] : [`tracking of ${controller.name}`]),
  ];
  if (!limit || !tracking) return yield notChecked(controller, { kind: 'missing', missing: open });
  yield* tracking === 'pwm'
    ? judgeSwitching(controller, arrays, limit, context)
    : judgeTracking(controller, arrays, limit, context);
}

export const arrayCurrent = defineCheck({
  id: 'array-current',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'An array gives more current than its charge controller is made for.',
    guards: 'A switching controller that overheats; modules on a tracking controller that are paid for and never used.',
    how: 'A controller with `tracking: pwm` carries the short-circuit current of all its strings, 125 % of it in strong sun (NEC 690.8(A)(1)): above `maximumCurrent` even without the 125 % it is an error, with them a warning. A tracking controller limits itself; the power of its arrays at standard test conditions over the nominal bank voltage may be up to `arrayExcess` of its `maximumCurrent` (130 % unless said; common practice, no source), above that it is a warning. What the bank accepts is judged by `charge-current`.',
    fix: 'Use a larger controller, or fewer strings.',
    sources: [necSourceFactor('module-maximum-current').source, PRACTICE],
    failing: `design Hut {
  solar Array { power: 100 W   openCircuitVoltage: 22.5 V   shortCircuitCurrent: 6 A   parallel: 4 }
  chargeController Switcher { tracking: pwm   maximumVoltage: 30 V   maximumCurrent: 20 A   absorb: 14.2 V }
  battery Bank : Lfp12V200Ah
  run Line: Array -> Switcher.solar { size: 10 mm2   length: 10 m }
  run Out: Switcher.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  solar Array { power: 100 W   openCircuitVoltage: 22.5 V   shortCircuitCurrent: 6 A   parallel: 4 }
  chargeController Switcher { tracking: pwm   maximumVoltage: 30 V   maximumCurrent: 30 A   absorb: 14.2 V }
  battery Bank : Lfp12V200Ah
  run Line: Array -> Switcher.solar { size: 10 mm2   length: 10 m }
  run Out: Switcher.dc -> Bank { size: 16 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances)
      if (isArrayCharger(instance)) yield* judgeController(instance, context);
  },
});
