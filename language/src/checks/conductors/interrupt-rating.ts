import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { systemOf } from '../../quantities/supply.js';
import { defineCheck, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { classOf, highestDirectVoltage, interruptRating, isMissing, sufficientClasses } from './device-ratings.js';
import { acFaultAt, bankFaultAt } from './faults.js';
import { devices, MEMORY, PUBLISHED } from './shared.js';

const RULES = { nec: 'NEC 110.9', iec: 'IEC 60364-4-43 434.5.1', craft: 'ABYC E-11.10' };

function* judgeDirect(device: Instance, context: DesignContext): Generator<Verdict> {
  const fault = bankFaultAt(device, context);
  if (!fault) return;
  if (fault.result.kind !== 'known') return yield notChecked(device, fault.result);
  const voltage = highestDirectVoltage(device, context);
  if (isMissing(voltage)) return yield notChecked(device, { kind: 'missing', missing: voltage.missing });
  const volts = numberIn(voltage, 'V');
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
  if (numberIn(rating, 'A') >= numberIn(current, 'A') * (1 - 1e-9)) return yield passed(device, numbers);
  // A cable that is not known could lower the current; then nothing is proved.
  if (fault.facts.length > 0) return yield notChecked(device, { kind: 'missing', missing: fault.facts });
  const [prospective, rated] = pairText(current, rating);
  const better = sufficientClasses(device, volts, numberIn(current, 'A'), context);
  const own = device.properties.get('interruptRating');
  const fixes = better.slice(0, 2).map((part, index) => {
    const withdraw = own?.whole && own.inheritedFrom === undefined ? [{ place: own.whole, text: '' }] : [];
    return propose(
      `Take class ${part.name} for ${device.name}`,
      [setProperty(device, 'class', part.name), ...withdraw],
      index === 0,
    );
  });
  yield {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, own ? 'interruptRating' : 'class'),
    message: `A short circuit behind ${device.name} draws up to ${prospective} from ${banksText(device, context)} (cold cable, bank full), and ${device.name}${classOf(device) ? `, class ${classOf(device)!.name},` : ''} interrupts ${numberIn(rating, 'A') === 0 ? 'none of it' : rated} at ${displayValue(voltage)} DC: it may burst and feed an arc (${RULES[context.system.basis.practice]}, ${basisText(context.system.basis)}).${better[0] ? ` Class ${better[0].name} interrupts enough.` : ' Choose a class with a higher interrupt rating at this direct voltage.'}`,
    numbers,
    fixes,
  };
}

const banksText = (device: Instance, context: DesignContext): string => {
  const node = context.graph.nodesOf(device)[0];
  const names = node
    ? [
        ...new Set(
          [...context.graph.reach(node).values()]
            .filter(({ instance }) => instance.kind === 'battery')
            .map(({ instance }) => instance.name),
        ),
      ]
    : [];
  return names.join(' and ');
};

function* judgeAlternating(device: Instance, run: Run, context: DesignContext): Generator<Verdict> {
  const fault = acFaultAt(device, context);
  if (!fault) return;
  if (fault.kind !== 'known') return yield notChecked(device, fault);
  const node = context.graph.nodesOf(device)[0]!;
  const source = context.circuitStates
    .flatMap(({ circuit }) => [...(circuit.supply.get(node.key) ?? [])])
    .find((each) => systemOf(each));
  const rating = interruptRating(device, source ? systemOf(source)!.lineToLine : 0, false, context);
  if (!rating)
    return yield notChecked(device, { kind: 'missing', missing: [`class or interruptRating of ${device.name}`] });
  const numbers = { current: fault.derivation, limit: rating };
  if (numberIn(rating, 'A') >= numberIn(fault.derivation, 'A') * (1 - 1e-9)) return yield passed(device, numbers);
  const [prospective, rated] = pairText(fault.derivation, rating);
  yield {
    verdict: 'failed',
    subject: device.path,
    place: placeOf(device, device.properties.has('interruptRating') ? 'interruptRating' : 'class'),
    message: `A short circuit behind ${device.name} in ${run.name} draws up to ${prospective}, and ${device.name} interrupts ${rated} (${RULES[context.system.basis.practice]}, ${basisText(context.system.basis)}). Choose a device with a higher interrupt rating.`,
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
    how: 'The prospective current of all banks (highest charge voltage over cell, unit or string resistance, strings in parallel) through the cold cable up to the device is held against the interrupt rating at the direct voltage, its own or that of its class. On the AC side it is the fault current of the grid connection, or rated current over transient reactance for a generator. What a bank’s own electronics might cut off does not count.',
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
  },
});
