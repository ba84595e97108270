import type { PropertyName } from '../../equipment/index.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { defineCheck, type Verdict, atMost, atLeast, type Use } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { pairText, passed, placeOf, fullest } from '../verdicts.js';
import { chargingOf, isInverter, isOwnCharger } from '../../model/roles.js';

/** A setting, and the property of the data sheet that bounds it: from above, or on either side where that is a range. */
interface Bound {
  readonly setting: PropertyName;
  readonly by: PropertyName;
  readonly unit: 'A' | 'V';
  readonly isWindow?: boolean;
}

const BOUNDS: readonly Bound[] = [
  { setting: 'currentLimit', by: 'maximumCurrent', unit: 'A' },
  { setting: 'inputLimit', by: 'maximumInputCurrent', unit: 'A' },
  ...(['absorb', 'float', 'equalise'] as const).map(
    (setting) => ({ setting, by: 'output', unit: 'V', isWindow: true }) as const,
  ),
  ...(['cutOff', 'reconnect'] as const).map(
    (setting) => ({ setting, by: 'dcVoltage', unit: 'V', isWindow: true }) as const,
  ),
];

/** The end of what the device can be set to that a setting lies beyond; undefined inside. */
function beyond(setting: Derivation, limit: Derivation, { unit, isWindow }: Bound): Derivation | undefined {
  const [low, high] = [lowEnd(limit), highEnd(limit)];
  if (numberIn(highEnd(setting), unit) > numberIn(high, unit) * (1 + 1e-9)) return high;
  return isWindow && numberIn(lowEnd(setting), unit) < numberIn(low, unit) * (1 - 1e-9) ? low : undefined;
}

/** The end of what the device can be set to that a setting is nearest to. */
const useOf = (setting: Derivation, limit: Derivation, { isWindow }: Bound): Use =>
  isWindow
    ? fullest(atMost(setting, highEnd(limit)), atLeast(setting, lowEnd(limit)))
    : atMost(setting, highEnd(limit));
function* judgeDevice(device: Instance, context: DesignContext): Generator<Verdict> {
  for (const bound of BOUNDS) {
    const setting = context.maybe(device, bound.setting);
    const limit = context.maybe(device, bound.by);
    if (!setting || !limit) continue;
    const end = beyond(setting, limit, bound);
    if (!end) {
      yield passed(device, useOf(setting, limit, bound), { setting, limit });
      continue;
    }
    const [set, most] = pairText(setting, end);
    const isAbove = numberIn(highEnd(setting), bound.unit) > numberIn(end, bound.unit);
    const held = bound.setting === 'currentLimit' || bound.setting === 'inputLimit';
    yield {
      verdict: 'failed',
      subject: device.path,
      place: placeOf(device, bound.setting),
      headline: `${bound.setting} of ${device.name} is ${set}; it can be set to ${most} at ${isAbove ? 'most' : 'least'}`,
      why: `by its \`${bound.by}\``,
      ...(held ? { assumes: [`${most} in all calculations`] } : {}),
      use: isAbove ? atMost(setting, end) : atLeast(setting, end),
      numbers: { setting, limit: end },
      fixes: [
        propose(
          `Set ${bound.setting} of ${device.name} to ${displayValue(end)}`,
          [setProperty(device, bound.setting, displayValue(end))],
          true,
        ),
      ],
    };
  }
}

/** Inverters, chargers, controllers and converters: what is set, unlike sources that charge by themselves. */
const isSettable = (instance: Instance): boolean =>
  isInverter(instance) || (chargingOf(instance) !== undefined && !isOwnCharger(instance));

export const settingRange = defineCheck({
  id: 'setting-range',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A charger, controller, converter or inverter is set to what its data sheet does not allow.',
    guards:
      'Settings sheets that cannot be carried out on site, and calculations that count with what the device never gives.',
    how: 'Settings against the data sheet of the device: `currentLimit` against `maximumCurrent`, `inputLimit` against `maximumInputCurrent`, charge voltages against the `output` range, cut-off and reconnection of an inverter against its `dcVoltage` window. Where a limit is set above what the device gives, everything else counts with what it gives.',
    fix: 'Set a value within the range of the data sheet, or use equipment that can be set so far.',
    sources: [{ standard: 'the data sheet of the device', provenance: 'data sheet' }],
    failing: `design Hut {
  charger Rect { currentLimit: 100 A   maximumCurrent: 80 A   absorb: 56 V   output: 42..60 V }
  battery Bank : Lfp48V280Ah
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  charger Rect { currentLimit: 80 A   maximumCurrent: 80 A   absorb: 56 V   output: 42..60 V }
  battery Bank : Lfp48V280Ah
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isSettable(instance)) yield* judgeDevice(instance, context);
  },
});
