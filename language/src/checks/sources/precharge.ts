import { derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE } from './shared.js';
import { isInverter } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

/** A capacitor is charged for practical purposes after five time constants. */
const TIME_CONSTANTS = 5;
/** A time a person or a relay waits before the contactor closes (common practice, no source). */
const PRECHARGE_SECONDS = 2;

/** Whether a bank has electronics that open on a current peak; undefined when neither its chemistry nor a protection is stated. */
function hasElectronics(bank: Instance, context: DesignContext): boolean | undefined {
  if (bank.properties.has('protectionHigh') || bank.properties.has('protectionLow')) return true;
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  return row && row.protection !== null;
}

/** A resistor in E12 steps, in ohm: the nearest value at or below. Source: IEC 60063. */
function standardResistor(ohms: number): number {
  const steps = [1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];
  const decade = 10 ** Math.floor(Math.log10(ohms));
  const step = steps.filter((each) => each * decade <= ohms * (1 + 1e-9)).at(-1) ?? 1;
  return Number((step * decade).toPrecision(2));
}

function* judgeInverter(inverter: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  if (context.maybe(inverter, 'precharge')?.value === true) return yield passed(inverter, NO_LIMIT);
  const electronics = hasElectronics(bank, context);
  if (electronics === false) return yield passed(inverter, NO_LIMIT);
  const capacitance = context.maybe(inverter, 'inputCapacitance');
  const least = context.setting('prechargeCapacitance');
  const stated = context.maybe(inverter, 'precharge') !== undefined;
  const open = [
    ...(capacitance ? [] : [`inputCapacitance of ${inverter.name}`]),
    ...(electronics === undefined ? [`chemistry of ${bank.name}`] : []),
  ];
  if (!capacitance || !least || open.length > 0) return yield notChecked(inverter, { kind: 'missing', missing: open });
  const numbers = { capacitance, limit: least };
  const use = atMost(capacitance, least);
  if (numberIn(capacitance, 'mF') < numberIn(least, 'mF') * (1 - 1e-9)) return yield passed(inverter, use, numbers);
  if (!stated) return yield notChecked(inverter, { kind: 'missing', missing: [`precharge of ${inverter.name}`] });
  const voltage = context.quantity(bank, 'highestVoltage');
  if (voltage.kind !== 'known') return yield notChecked(inverter, voltage);
  const volts = numberIn(voltage.derivation, 'V');
  const farads = numberIn(capacitance, 'F');
  const energy = derive('energy of the empty capacitors', (farads * volts ** 2) / 2, 'J', {
    symbol: 'W',
    formula: 'C·U²/2',
    inputs: [capacitance, voltage.derivation],
  });
  const fault = context.quantity(bank, 'faultCurrent');
  const peak = fault.kind === 'known' ? fault.derivation : undefined;
  const resistor = standardResistor(PRECHARGE_SECONDS / TIME_CONSTANTS / farads);
  const [has, from] = pairText(capacitance, least);
  yield {
    verdict: 'failed',
    subject: inverter.path,
    place: placeOf(inverter, 'precharge'),
    headline: `${inverter.name} has ${has} at its input and no precharge; needed from ${from} on`,
    ...whyOf(
      `${bank.name} drives ${peak ? `up to ${displayValue(peak, 2)}` : 'its short-circuit current'} into it when the switch closes`,
    ),
    rule: 'a rule of thumb, set by `prechargeCapacitance`',
    consequence: 'the BMS disconnects and the contacts burn',
    advice: `Fit a precharge: ${formatNumber(resistor)} Ω for ${PRECHARGE_SECONDS} s, rated for ${formatNumber(Math.ceil(numberIn(energy, 'J')))} J at ${displayValue(voltage.derivation)}.`,
    use,
    numbers: { ...numbers, energy, ...(peak ? { peak } : {}) },
    fixes: [
      propose(
        `Fit ${inverter.name} with a precharge (${formatNumber(resistor)} ohm, ${PRECHARGE_SECONDS} s)`,
        [setProperty(inverter, 'precharge', 'yes')],
        true,
      ),
    ],
    related: [{ place: bank.place, text: `the BMS of ${bank.name} disconnects on a current peak` }],
  };
}

export const precharge = defineCheck({
  id: 'precharge',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'An inverter with large input capacitors is switched onto a bank with a BMS without precharge.',
    guards:
      'A BMS that disconnects as on a short circuit at every switching-on, welded contacts, and an arc in the face of whoever connects the lug.',
    how: 'Lithium banks, and banks that state the voltages of a BMS, have one that disconnects on a current peak. `inputCapacitance` of `prechargeCapacitance` or more (1 mF unless said; common practice, no source) then needs `precharge: yes`. The resistor charges the capacitors in five time constants within 2 s; it must absorb the energy C·U²/2. Banks without a BMS only suffer the spark.',
    fix: 'Fit a precharge resistor and switch, or an inverter that precharges itself.',
    sources: [{ standard: 'charging of a capacitor', provenance: 'own derivation' }, PRACTICE],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   inputCapacitance: 12 mF   precharge: no }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   inputCapacitance: 12 mF   precharge: yes }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const inverter of context.system.instances) {
      const [bank] = isInverter(inverter) ? banksAt(inverter, context) : [];
      if (bank) yield* judgeInverter(inverter, bank, context);
    }
  },
});
