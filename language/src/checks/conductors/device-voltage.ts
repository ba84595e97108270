import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn, derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { classFact } from '../../quantities/conductors/device-class.js';
import { acFlow, legCurrents } from '../../quantities/flow/flow.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Fix, type Verdict, atMost, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { classOf, highestDirectVoltage, isMissing, ratingOf, sufficientClasses } from './device-ratings.js';
import { bankFaultAt } from './faults.js';
import { MEMORY, softened } from './shared.js';
import { isArray, isDevice, isSwitch } from '../../model/roles.js';
import { withoutClass } from './string-class.js';

/** Devices and switches that must open a circuit. */
function openers(context: DesignContext): { device: Instance; run: Run }[] {
  const seen = new Map<Instance, Run>();
  for (const run of context.system.runs) {
    for (const { instance } of [run.from, ...run.through, ...run.to])
      if ((isDevice(instance) || isSwitch(instance)) && !seen.has(instance)) seen.set(instance, run);
  }
  return [...seen].map(([device, run]) => ({ device, run }));
}

/** Classes that stand the voltage and interrupt what flows there, as fixes; worked out only where something is wrong. */
function otherClass(device: Instance, volts: number, context: DesignContext): { readonly fixes: readonly Fix[] } {
  const fault = bankFaultAt(device, context);
  // A class that stands the voltage and may burst in a short circuit is no remedy.
  const isOpen = fault !== undefined && fault.result.kind !== 'known';
  const amperes = fault?.result.kind === 'known' ? numberIn(fault.result.derivation, 'A') : 0;
  const better = isSwitch(device) || isOpen ? [] : sufficientClasses(device, volts, amperes, context);
  const own = device.properties.get('dcVoltage');
  const fixes = better.slice(0, 2).map((part, index) => {
    const withdraw = own?.whole && own.inheritedFrom === undefined ? [{ place: own.whole, text: '' }] : [];
    return propose(
      `Use class ${part.name} for ${device.name}`,
      [setProperty(device, 'class', part.name), ...withdraw],
      index === 0,
    );
  });
  return { fixes };
}

function* judgeDirect(device: Instance, context: DesignContext): Generator<Verdict> {
  const highest = highestDirectVoltage(device, context);
  if (isMissing(highest)) return yield notChecked(device, { kind: 'missing', missing: highest.missing });
  const { voltage, what, lacking } = highest;
  const rating = ratingOf(device, 'dcVoltage', context);
  const alternating = ratingOf(device, 'acVoltage', context);
  const place = placeOf(device, device.properties.has('dcVoltage') ? 'dcVoltage' : 'class');
  const volts = numberIn(voltage, 'V');
  if (!rating) {
    if (!alternating)
      return yield notChecked(device, {
        kind: 'missing',
        missing: [isSwitch(device) ? `dcVoltage of ${device.name}` : `class or dcVoltage of ${device.name}`],
      });
    const { fixes } = otherClass(device, volts, context);
    yield {
      verdict: 'failed',
      subject: device.path,
      place,
      headline: `${device.name} works on up to ${displayValue(voltage)} DC; it is rated for AC only (${displayValue(alternating)})`,
      ...whyOf(classOf(device) && `class ${classOf(device)!.name}`),
      rule: ruleOf(context),
      consequence: 'without a current zero it may not open the arc',
      advice: 'Use one that is rated for direct current.',
      use: NO_LIMIT,
      numbers: { voltage, alternating },
      fixes,
    };
    return;
  }
  const numbers = { voltage, limit: rating };
  if (numberIn(rating, 'V') >= volts * (1 - 1e-9))
    return yield lacking.length > 0
      ? notChecked(device, { kind: 'missing', missing: lacking })
      : passed(device, atMost(voltage, rating), numbers);
  const [seen, rated] = pairText(voltage, rating);
  const { severity } = softened(rating);
  const { fixes } = otherClass(device, volts, context);
  yield {
    verdict: 'failed',
    subject: device.path,
    place,
    ...(severity ? { severity } : {}),
    headline: `${device.name} works on up to ${seen} DC; it is rated ${rated}`,
    ...whyOf(governingText(voltage), what, severity && 'rating typical of the class, from memory: read the data sheet'),
    rule: ruleOf(context),
    consequence: 'it may not open the arc',
    advice: 'Use one that is rated for that voltage.',
    use: atMost(voltage, rating),
    numbers,
    fixes,
  };
}

/** Whether everything behind a run is known to stand between one line and the neutral. */
function loadsOneLine(run: Run, source: Instance, circuit: CircuitState, context: DesignContext): boolean {
  const flow = acFlow(run, circuit, context);
  if (!flow) return false;
  const { result, perLeg } = legCurrents(flow.nodes.values(), source, context);
  return result.kind === 'known' && perLeg.size === 1;
}

/** The alternating voltages that a device opens against, one for each source and state, and what lacks. */
function alternatingAt(device: Instance, run: Run, context: DesignContext): { volts: Derivation[]; missing: string[] } {
  const node = context.graph.nodesOf(device)[0];
  const volts: Derivation[] = [];
  const missing = new Set<string>();
  for (const { circuit } of context.circuitStates)
    for (const source of (node && circuit.supply.get(node.key)) ?? []) {
      const system = systemOf(source);
      if (!system) {
        missing.add(`voltage of ${source.name}`);
        continue;
      }
      const isOneLine = system.phases === 'single' || loadsOneLine(run, source, circuit, context);
      volts.push(
        derive(
          isOneLine ? 'supply voltage, line to neutral' : 'supply voltage, line to line',
          // Systems are called by whole volts: 230/400 V is 230.9 V.
          isOneLine ? Math.floor(system.lineToNeutral + 1e-6) : system.lineToLine,
          'V',
          { symbol: 'U', notes: [`supply ${system.text}`] },
        ),
      );
    }
  return { volts, missing: [...missing] };
}

function* judgeAlternating(device: Instance, run: Run, context: DesignContext): Generator<Verdict> {
  const { volts, missing } = alternatingAt(device, run, context);
  const [first, ...rest] = volts;
  // What nothing feeds in any state is the matter of other checks.
  if (!first) {
    if (missing.length > 0) yield notChecked(device, { kind: 'missing', missing });
    return;
  }
  const highest = rest.reduce((so, next) => (numberIn(next, 'V') > numberIn(so, 'V') ? next : so), first);
  const rating = ratingOf(device, 'acVoltage', context);
  const part = classOf(device);
  const direct = part && classFact(part, 'dcVoltage');
  if (!rating && !direct) {
    const asked = isSwitch(device) || part ? 'acVoltage' : 'class or acVoltage';
    return yield notChecked(device, { kind: 'missing', missing: [`${asked} of ${device.name}`, ...missing] });
  }
  const place = placeOf(device, device.properties.has('acVoltage') ? 'acVoltage' : 'class');
  const advice = 'Use one that is rated for that voltage.';
  if (!rating)
    return yield {
      verdict: 'failed',
      subject: device.path,
      place,
      headline: `${device.name} works on ${displayValue(highest)} AC; its class is rated for DC only (${displayValue(direct!)})`,
      why: `class ${part!.name}`,
      rule: ruleOf(context),
      advice,
      use: NO_LIMIT,
      numbers: { voltage: highest, direct: direct! },
    };
  const numbers = { voltage: highest, limit: rating };
  const use = atMost(highest, rating);
  if (numberIn(rating, 'V') >= numberIn(highest, 'V') * (1 - 1e-9))
    return yield missing.length > 0 ? notChecked(device, { kind: 'missing', missing }) : passed(device, use, numbers);
  const { severity } = softened(rating);
  const [seen, rated] = pairText(highest, rating);
  yield {
    verdict: 'failed',
    subject: device.path,
    place,
    ...(severity ? { severity } : {}),
    headline: `${device.name} works on ${seen} AC; it is rated ${rated}`,
    ...whyOf(severity && 'rating typical of the class, from memory: read the data sheet'),
    rule: ruleOf(context),
    advice,
    use,
    numbers,
  };
}

/** What holds a device to the voltage it stands on: device standards by way of the wiring rules, from memory. */
function ruleOf({ system: { basis } }: DesignContext): string {
  const sections: Readonly<Record<string, string>> = {
    nec: '240.60, 404.14, 706.31',
    iec: '5-53',
    craft: '(ABYC E-11)',
  };
  return `${basisText(basis)} ${sections[basis.practice] ?? ''}, from memory`;
}

export const deviceVoltage = defineCheck({
  id: 'device-voltage',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A fuse, breaker or switch is used at a higher direct voltage than it is rated for, or is rated for the other sort of current only.',
    guards:
      'A direct-current arc has no zero to go out at: a 32 V fuse or an AC breaker on a 48 V bank keeps burning after it opened.',
    how: points(
      'The voltage rating of the device, its own or that of its class, against the highest voltage of its circuit.',
      'Direct current: the highest charger set point of the bank, or the open-circuit voltage of the array at the lowest temperature of the site (what passes at 25 °C is not checked without it).',
      'Alternating current: the voltage of the supply, between a line and the neutral where the run behind the device loads one line (NEC 240.85, from memory), else between lines. A class that is rated for direct current only may not be used on it.',
      'The class of the string fuses of arrays (`stringFuse`) is a question; `string-fuses` judges it.',
    ),
    fix: 'Use a class with a direct-voltage rating above the highest voltage of the bank.',
    sources: [MEMORY('NEC', '240.60, 404, 690.9, 706.31'), MEMORY('IEC 60947-2')],
    failing: `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { dcVoltage: 32 V   interruptRating: 20 kA   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 125 A }
  load Heater { power: 3 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 2 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const { device, run } of openers(context)) {
      if (run.carries === 'dc') yield* judgeDirect(device, context);
      else if (run.carries === 'ac') yield* judgeAlternating(device, run, context);
    }
    // What is stated is held against the voltage by `string-fuses`.
    yield* withoutClass(isArray, context);
  },
});
