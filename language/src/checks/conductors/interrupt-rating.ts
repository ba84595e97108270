import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Verdict, atMost, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { isBank } from '../../model/roles.js';
import {
  classOf,
  highestDirectVoltage,
  interruptRating,
  isMissing,
  ratingOf,
  sufficientClasses,
} from './device-ratings.js';
import { alternatingFaultAt, bankFaultAt } from './faults.js';
import { isFaultOfDefault, isFaultOfMemory } from './memory.js';
import { withoutClass } from './string-class.js';
import { devices, MEMORY, PUBLISHED, restsOnMemory } from './shared.js';

const RULES = { nec: 'NEC 110.9', iec: 'IEC 60364-4-43 434.5.1', craft: 'ABYC E-11.10' };

function* judgeDirect(device: Instance, context: DesignContext): Generator<Verdict> {
  const fault = bankFaultAt(device, context);
  if (!fault) return;
  if (fault.result.kind !== 'known') return yield notChecked(device, fault.result);
  const highest = highestDirectVoltage(device, context);
  if (isMissing(highest)) return yield notChecked(device, { kind: 'missing', missing: highest.missing });
  const { voltage } = highest;
  const volts = numberIn(voltage, 'V');
  // A device without a direct-voltage rating has no interrupt rating on direct current: `device-voltage` says so.
  if (!ratingOf(device, 'dcVoltage', context) && ratingOf(device, 'acVoltage', context)) return;
  const rating = interruptRating(device, volts, true, context);
  if (!rating)
    return yield notChecked(device, {
      kind: 'missing',
      missing: [
        classOf(device)
          ? `interruptRating of class ${classOf(device)!.name}`
          : `class or interruptRating of ${device.name}`,
      ],
    });
  const current = fault.result.derivation;
  const numbers = { current, limit: rating, voltage };
  const use = atMost(current, rating);
  if (numberIn(rating, 'A') >= numberIn(current, 'A') * (1 - 1e-9)) return yield passed(device, use, numbers);
  // A cable that is not known could lower the current; then nothing is proved.
  if (fault.facts.length > 0) return yield notChecked(device, { kind: 'missing', missing: fault.facts });
  const [prospective, rated] = pairText(current, rating);
  const better = sufficientClasses(device, volts, numberIn(current, 'A'), context);
  const own = device.properties.get('interruptRating');
  const fixes = better.slice(0, 2).map((part, index) => {
    const withdraw = own?.whole && own.inheritedFrom === undefined ? [{ place: own.whole, text: '' }] : [];
    return propose(
      `Use class ${part.name} for ${device.name}`,
      [setProperty(device, 'class', part.name), ...withdraw],
      index === 0,
    );
  });
  const isTypical = restsOnMemory(rating);
  const isRemembered = isFaultOfMemory(current, fault.banks);
  const dcVoltage = ratingOf(device, 'dcVoltage', context);
  const atVoltage =
    dcVoltage && numberIn(dcVoltage, 'V') < volts
      ? `rated at ${displayValue(dcVoltage)}, less at ${displayValue(voltage)}`
      : `at ${displayValue(voltage)} DC`;
  const isWithout = (bank: Instance): boolean => {
    const parallel = context.maybe(bank, 'parallel');
    return parallel !== undefined && numberIn(parallel, '') > 1 && !context.maybe(bank, 'stringFuse');
  };
  const advice = fault.banks.some(isWithout)
    ? 'No class known here interrupts it: give each string a device of its own, so that it meets the current of one string.'
    : 'No class known here interrupts it; a longer or smaller cable before it lowers the current.';
  yield {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, own ? 'interruptRating' : 'class'),
    ...(isTypical || isRemembered ? { severity: 'warning' as const } : {}),
    headline: `A short circuit behind ${device.name} draws ${prospective}; it interrupts ${numberIn(rating, 'A') === 0 ? 'none of it' : rated}`,
    ...whyOf(
      `${firstFew(
        fault.banks.map(({ name }) => name),
        2,
      )} full, cold cable`,
      `${classOf(device) ? `class ${classOf(device)!.name} ` : ''}${atVoltage}`,
      isTypical && 'typical of the class, from memory: read the data sheet',
      isRemembered && 'short-circuit current from memory: state `shortCircuitCurrent`',
    ),
    rule: RULES[context.system.basis.practice],
    consequence: 'it may burst and feed an arc',
    ...(better[0] ? {} : { advice }),
    use,
    numbers,
    fixes,
  };
}

function alternatingRating(device: Instance, context: DesignContext): Derivation | undefined {
  const node = context.graph.nodesOf(device)[0]!;
  const source = context.circuitStates
    .flatMap(({ circuit }) => [...(circuit.supply.get(node.key) ?? [])])
    .find((each) => systemOf(each));
  return interruptRating(device, source ? systemOf(source)!.lineToLine : 0, false, context);
}

/** What a device can interrupt at the voltage at which it works, by itself or by its class; undefined where neither says it. */
export function interruptRatingIn(device: Instance, run: Run, context: DesignContext): Derivation | undefined {
  if (run.carries === 'ac') return alternatingRating(device, context);
  const highest = highestDirectVoltage(device, context);
  return isMissing(highest) ? undefined : interruptRating(device, numberIn(highest.voltage, 'V'), true, context);
}

function* judgeAlternating(device: Instance, run: Run, context: DesignContext): Generator<Verdict> {
  const fault = alternatingFaultAt(device, context);
  if (!fault) return;
  if (fault.kind !== 'known') return yield notChecked(device, fault);
  const rating = alternatingRating(device, context);
  if (!rating)
    return yield notChecked(device, { kind: 'missing', missing: [`class or interruptRating of ${device.name}`] });
  const numbers = { current: fault.derivation, limit: rating };
  const use = atMost(fault.derivation, rating);
  if (numberIn(rating, 'A') >= numberIn(fault.derivation, 'A') * (1 - 1e-9)) return yield passed(device, use, numbers);
  const [prospective, rated] = pairText(fault.derivation, rating);
  const isTypical = restsOnMemory(rating);
  const isTaken = isFaultOfDefault(fault.derivation);
  yield {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, device.properties.has('interruptRating') ? 'interruptRating' : 'class'),
    ...(isTypical || isTaken ? { severity: 'warning' as const } : {}),
    headline: `A short circuit behind ${device.name} draws ${prospective}; it interrupts ${rated}`,
    ...whyOf(
      `in ${run.name}`,
      governingText(fault.derivation),
      isTaken && 'reactance from memory: state `reactance` of the generator',
      isTypical && 'typical of the class, from memory: read the data sheet',
    ),
    rule: RULES[context.system.basis.practice],
    consequence: 'it may burst and feed an arc',
    advice: 'Choose a device with a higher interrupting rating.',
    use,
    numbers,
  };
}

export const interruptRatingCheck = defineCheck({
  id: 'interrupt-rating',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A fuse or breaker cannot interrupt the short-circuit current that can flow through it, at its voltage.',
    guards: 'A device that tries to open more than it can bursts, and a direct-current arc goes on burning.',
    how: points(
      'The prospective short-circuit current at the device against its interrupt rating at that voltage, its own or that of its class.',
      'From banks: highest charge voltage over the resistance of cells, units or strings, strings in parallel, through the cold cable up to the device. The banks on one side of the device are added up; the larger side counts. What a BMS might cut off does not count.',
      'On the AC side: the fault current of the grid connection, or for a generator its rated current over its reactance (0.1 per unit when not stated, from memory). An inverter limits its own.',
      'A class states what it interrupts on alternating current apart where that differs (`acInterruptRating`).',
      'A warning: an interrupt rating of a library class that is typical and from memory, a resistance or short-circuit current that a library battery has from memory, a generator’s reactance that is not stated.',
      'The class of the fuses of strings in parallel (`stringFuse`) is a question; `string-fuses` judges it.',
    ),
    fix: 'Use a class that interrupts that current at that voltage, such as class T beside the bank.',
    sources: [
      MEMORY('NEC', '110.9, 706.31'),
      MEMORY('IEC 60364-4-43', '434.5.1'),
      PUBLISHED('ABYC E-11.10', 'from quotations'),
    ],
    failing: `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { dcVoltage: 80 V   interruptRating: 2 kA   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { dcVoltage: 125 V   interruptRating: 20 kA   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const { device, run } of devices(context)) {
      if (run.carries === 'dc') yield* judgeDirect(device, context);
      else if (run.carries === 'ac') yield* judgeAlternating(device, run, context);
    }
    // What is stated is held against it by `string-fuses`.
    yield* withoutClass(isBank, context);
  },
});
