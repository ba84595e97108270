import { derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { lowestInverterVoltage } from '../../quantities/converters.js';
import { devicesOf } from '../../quantities/conductor.js';
import { defineCheck, type Verdict } from '../define.js';
import { notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { MEMORY } from './shared.js';

/** The inverter a run ends in, when its current is that inverter's. */
const inverterOf = (run: Run): Instance | undefined =>
  [run.from, ...run.to].find(({ instance, terminal }) => instance.kind === 'inverter' && terminal?.name === 'dc')
    ?.instance;

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const inverter = inverterOf(run);
  if (!inverter) return;
  const right = context.quantity(inverter, 'dcCurrent');
  if (right.kind !== 'known') return yield notChecked(run, right);
  const power = context.maybe(inverter, 'rated');
  const efficiency = context.maybe(inverter, 'efficiency');
  const nominal = context.quantity(run, 'nominalVoltage');
  const lowest = lowestInverterVoltage(inverter, context);
  if (!power || !efficiency || nominal.kind !== 'known' || lowest.kind !== 'known') return;
  const watts = numberIn(power, 'W');
  const atNominal = derive(
    'current at nominal voltage',
    watts / (numberIn(efficiency, '') * numberIn(nominal.derivation, 'V')),
    'A',
    { formula: 'P/(η·U_nom)', inputs: [power, efficiency, nominal.derivation] },
  );
  const multiplied = derive(
    'current with efficiency multiplied',
    (watts * numberIn(efficiency, '')) / numberIn(nominal.derivation, 'V'),
    'A',
    { formula: 'P·η/U_nom', inputs: [power, efficiency, nominal.derivation] },
  );
  const numbers = { current: right.derivation, atNominal, multiplied };
  for (const { instance: device } of devicesOf(run)) {
    const rating = context.maybe(device, 'rating');
    if (!rating || numberIn(rating, 'A') >= numberIn(right.derivation, 'A') * (1 - 1e-9)) continue;
    const misled = [atNominal, multiplied].find((current) => numberIn(rating, 'A') >= numberIn(current, 'A'));
    if (!misled) continue;
    const [real, rated] = pairText(right.derivation, rating);
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(device, 'rating'),
      message: `${device.name} (${rated}) would do for ${displayValue(misled, 3)}, the current of ${inverter.name} by ${misled.formula ?? ''}; at its lowest voltage, ${displayValue(lowest.derivation)}, and divided by its efficiency, ${inverter.name} draws ${real} (P/(η·U_min)), and the device opens just when the bank is low. Rate device and conductors for ${real}.`,
      numbers: { ...numbers, rating },
    };
    return;
  }
  yield passed(run, numbers);
}

export const runCurrentBasis = defineCheck({
  id: 'run-current-basis',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The device of an inverter’s run suits the current at nominal voltage, or with efficiency multiplied, but not the one at the lowest voltage.',
    guards: 'The fuse opens when the bank is low and the load is high, which is when it is needed most.',
    how: 'The tool always works out DC currents as P/(η·U_min). Where a device is smaller than that and at least P/(η·U_nom) or P·η/U_nom, the mistake is named.',
    sources: [MEMORY('NEC', '690.8(A), 706.30')],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 130 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 2/0 AWG   type: THHN   length: 1 m }
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
    for (const run of context.system.runs) if (run.carries === 'dc') yield* judgeRun(run, context);
  },
});
