import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { cellVoltage, isProtected as hasProtection } from '../../quantities/storage/bank.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE, roundUp } from './shared.js';
import { isInverter } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { collect } from '../../quantities/worst.js';

/** The cut-off stands this far above the protection, so that sag and tolerance do not open it first: 0.05 V a cell (common practice, no source). */
const CLEARANCE_PER_CELL = 0.05;

/** Where the cut-off for a bank must at least lie, and what that rests on; what lacks for it. */
interface Floor {
  readonly lowest: Derivation;
  readonly count: Derivation;
  readonly isProtected: boolean;
  readonly least: Derivation;
}

function floorOf(bank: Instance, context: DesignContext): Floor | { readonly lacking: Result } {
  const all = collect([context.quantity(bank, 'lowestVoltage'), context.quantity(bank, 'cellCount')]);
  if (!all.ok) return { lacking: all.result };
  const [lowest, count] = all.derivations as [Derivation, Derivation];
  // Lead-acid units have no protection of their own: their lowest voltage is what the cells stand, with nothing to keep clear of.
  const isProtected = hasProtection(bank, context);
  const clearance = isProtected ? CLEARANCE_PER_CELL * numberIn(count, '') : 0;
  const least = derive('lowest cut-off', numberIn(lowest, 'V') + clearance, 'V', {
    symbol: 'U_off',
    formula: isProtected ? 'U_min + 0.05 V·n_c' : 'U_min',
    inputs: [lowest, ...(isProtected ? [count] : [])],
  });
  return { lowest, count, isProtected, least };
}

/** A cut-off that suits every bank of an inverter: above each protection, and at least each usual figure; undefined where a fact lacks. */
function suitable(inverter: Instance, context: DesignContext): number | undefined {
  const each = banksAt(inverter, context).map((bank) => {
    const floor = floorOf(bank, context);
    const usual = cellVoltage(bank, context, 'cut-off', 'U', 'cutOff');
    return 'lacking' in floor
      ? undefined
      : Math.max(numberIn(floor.least, 'V'), usual.kind === 'known' ? numberIn(usual.derivation, 'V') : 0);
  });
  return each.includes(undefined) ? undefined : roundUp(Math.max(...(each as number[])), 0.1);
}

function* judgePair(inverter: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const cutOff = context.maybe(inverter, 'cutOff');
  if (!cutOff) return yield notChecked(inverter, { kind: 'missing', missing: [`cutOff of ${inverter.name}`] });
  const found = floorOf(bank, context);
  if ('lacking' in found) return yield notChecked(inverter, found.lacking);
  const { lowest, count, isProtected, least: floor } = found;
  // A fact of the trade's usual figures, not of this bank, can only be a warning.
  const isStated = bank.properties.has('protectionLow');
  const perCell = CLEARANCE_PER_CELL * numberIn(count, '');
  const numbers = { cutOff, protection: lowest, least: floor };
  const reconnect = context.maybe(inverter, 'reconnect');
  if (reconnect && numberIn(reconnect, 'V') <= numberIn(cutOff, 'V')) {
    const value = roundUp(numberIn(cutOff, 'V') + 4 * perCell, 0.1);
    yield {
      verdict: 'failed',
      subject: inverter.path,
      place: placeOf(inverter, 'reconnect'),
      headline: `${inverter.name} cuts off at ${displayValue(cutOff)} and reconnects at ${displayValue(reconnect)}, not above it`,
      why: 'reconnection should lie 0.2 V a cell above the cut-off',
      consequence: 'it switches on and off as the voltage recovers',
      use: atLeast(reconnect, cutOff),
      numbers: { cutOff, reconnect },
      fixes: [
        propose(
          `Set reconnect of ${inverter.name} to ${value} V`,
          [setProperty(inverter, 'reconnect', `${value} V`)],
          true,
        ),
      ],
    };
    return;
  }
  const use = atLeast(cutOff, floor);
  if (numberIn(cutOff, 'V') >= numberIn(floor, 'V') * (1 - 1e-9)) return yield passed(inverter, use, numbers);
  const value = suitable(inverter, context);
  const below = numberIn(cutOff, 'V') <= numberIn(lowest, 'V');
  const [off, opens] = pairText(cutOff, lowest);
  const raised = reconnect && value !== undefined && numberIn(reconnect, 'V') <= value;
  yield {
    verdict: 'failed',
    subject: inverter.path,
    place: placeOf(inverter, 'cutOff'),
    severity: isStated && below ? 'error' : 'warning',
    headline: isProtected
      ? `${inverter.name} cuts off at ${off}; the BMS of ${bank.name} disconnects at ${opens}`
      : `${inverter.name} cuts off at ${off}; the cells of ${bank.name} need ${opens}`,
    ...whyOf(
      !isStated && 'usual for its chemistry; `protectionLow` is not stated',
      isProtected && !below && 'less than 0.05 V a cell lies between them',
    ),
    consequence: !isProtected
      ? 'the cells are discharged too deeply'
      : below
        ? 'the bank disconnects first, everything goes dark, and it may not come back by itself'
        : 'load sag makes the BMS disconnect first',
    use,
    numbers,
    related: [
      {
        place: placeOf(bank, 'protectionLow'),
        text: isProtected
          ? `the BMS of ${bank.name} disconnects at ${opens}`
          : `${bank.name} is not discharged below ${opens}`,
      },
    ],
    fixes:
      value === undefined
        ? []
        : [
            propose(
              `Set cutOff of ${inverter.name} to ${value} V`,
              [
                setProperty(inverter, 'cutOff', `${value} V`),
                ...(raised ? [setProperty(inverter, 'reconnect', `${roundUp(value + 4 * perCell, 0.1)} V`)] : []),
              ],
              true,
            ),
          ],
  };
}

export const inverterCutoff = defineCheck({
  id: 'inverter-cutoff',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'An inverter’s low-voltage cut-off lies below, or hardly above, the voltage at which the BMS of its bank disconnects.',
    guards: 'The BMS disconnects everything, chargers and controls included, and may need a person to reset it.',
    how: 'The cut-off must lie at least 0.05 V a cell above `protectionLow` times the series count (common practice, no source). Where that is not stated, the usual figure of the chemistry counts and the finding is a warning. Lead-acid units have no BMS: the cut-off must not lie below what their cells withstand. The reconnect voltage must lie above the cut-off.',
    fix: 'Raise the cut-off above the voltage at which the BMS disconnects.',
    sources: [PRACTICE],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 38..60 V   cutOff: 39 V   reconnect: 48 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 38..60 V   cutOff: 44.8 V   reconnect: 49.6 V }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const inverter of context.system.instances) {
      if (!isInverter(inverter)) continue;
      for (const bank of banksAt(inverter, context)) yield* judgePair(inverter, bank, context);
    }
  },
});
