import { type Derivation, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance, Threshold } from '../../model/types.js';
import { DIMENSIONS, formatPair, formatQuantity, inUnit, nearlyEqual } from '../../quantity/index.js';
import { setPointsInOrder, setPointsText } from '../../quantities/storage/set-points.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type RelatedPlace, type Verdict, atMost, atLeast, type Use } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, passed } from '../verdicts.js';
import { isBelow, pairs, type RuleSet, ruleSets } from './rules.js';
import { isProtected } from '../../quantities/storage/bank.js';
import { isBank, isInverter } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

const PRACTICE = { standard: 'common practice, no source', provenance: 'common practice, no source' } as const;

/** A state of charge in percent as written. */
const percentText = (share: number): string => `${Number((share * 100).toFixed(1))} %`;

/** Start above stop: both swapped back with the design's gap between them. */
function orderFix(low: Threshold, high: Threshold, context: DesignContext): Fix[] {
  if (low.limit.dimension === DIMENSIONS.ratio) {
    const gap = context.setting('socGap');
    const least = gap ? numberIn(gap, '') : 0.1;
    const start = Math.min(low.limit.value, high.limit.value);
    const stop = Math.min(1, Math.max(Math.max(low.limit.value, high.limit.value), start + least));
    return [
      propose(
        `Start at ${percentText(start)}, stop at ${percentText(stop)}`,
        [
          { place: low.limitPlace, text: percentText(start) },
          { place: high.limitPlace, text: percentText(stop) },
        ],
        true,
      ),
    ];
  }
  if (low.limit.value === high.limit.value) return [];
  const volts = (threshold: Threshold): string => formatQuantity(threshold.limit);
  return [
    propose(
      `Exchange the two thresholds`,
      [
        { place: low.limitPlace, text: volts(high) },
        { place: high.limitPlace, text: volts(low) },
      ],
      true,
    ),
  ];
}

/** All that acts on the bank a threshold watches, in order, as a remark at the bank. */
function inOrder({ signal, of }: Threshold, context: DesignContext): RelatedPlace[] {
  if (!isBank(of) || (signal !== 'voltage' && signal !== 'soc')) return [];
  const points = setPointsInOrder(of, signal, context);
  // Two are those of the message itself.
  return points.length > 2 ? [{ place: of.place, text: `set points from high to low: ${setPointsText(points)}` }] : [];
}

/** The lower threshold against the upper one. */
const useOf = (low: Threshold, high: Threshold): Use =>
  atMost(
    deriveQuantity('lower threshold', low.limit, { origin: 'stated', place: low.limitPlace }),
    deriveQuantity('upper threshold', high.limit, { origin: 'stated', place: high.limitPlace }),
  );
function* judgePairs(set: RuleSet, context: DesignContext): Generator<Verdict> {
  for (const { on, off, onRule } of pairs(set)) {
    const [low, high] = isBelow(on) ? [on, off] : [off, on];
    const numbers = {
      start: deriveQuantity('start', on.limit, { origin: 'stated', place: on.limitPlace }),
      stop: deriveQuantity('stop', off.limit, { origin: 'stated', place: off.limitPlace }),
    };
    if (low.limit.high < high.limit.low && !nearlyEqual(low.limit.high, high.limit.low)) {
      yield passed(set.control, useOf(low, high), numbers);
      continue;
    }
    const [lowText, highText] = formatPair(low.limit, high.limit);
    const verbs = onRule.verb === 'start' ? ['start', 'stop'] : ['on', 'off'];
    const [first, second] = isBelow(on) ? verbs : [...verbs].reverse();
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: on.limitPlace,
      headline: `${set.title}: ${first} below ${lowText} and ${second} above ${highText} of ${on.signal}(${on.of.name}) overlap`,
      why: `between the two ${set.control.target.name} would be switched on and off at once`,
      advice: `Put ${first} below ${second}.`,
      use: useOf(low, high),
      numbers,
      related: [{ place: off.limitPlace, text: `${second} threshold` }, ...inOrder(on, context)],
      fixes: orderFix(low, high, context),
    };
  }
}

interface Mark {
  readonly name: string;
  /** What has happened below it. */
  readonly thenWhat: string;
  readonly value: Derivation;
  readonly place?: Threshold['place'];
}

/** Voltage marks of a bank in the order that must hold: protection, cut-off, start, stop, charge voltage. */
function* judgeVoltages(set: RuleSet, bank: Instance, context: DesignContext): Generator<Verdict> {
  const starts = set.rules
    .filter(({ verb }) => verb === 'start')
    .flatMap(({ thresholds }) =>
      thresholds.filter((each) => each.signal === 'voltage' && each.of === bank && isBelow(each)),
    );
  if (starts.length === 0) return;
  const cutOffs: Mark[] = context.system.instances.flatMap((instance) => {
    const value =
      isInverter(instance) && banksAt(instance, context).includes(bank) ? context.maybe(instance, 'cutOff') : undefined;
    return value
      ? [
          {
            name: `the cut-off of ${instance.name}`,
            thenWhat: 'the inverter is off',
            value,
            ...(value.place ? { place: value.place } : {}),
          },
        ]
      : [];
  });
  const lowest = context.quantity(bank, 'lowestVoltage');
  const floor: Mark[] = [
    ...cutOffs,
    ...(lowest.kind === 'known'
      ? [
          isProtected(bank, context)
            ? {
                name: `the disconnect of ${bank.name} by its BMS`,
                value: lowest.derivation,
                thenWhat: 'the bank is off',
              }
            : {
                name: `the lowest voltage of ${bank.name}`,
                value: lowest.derivation,
                thenWhat: 'its cells are discharged too deeply',
              },
        ]
      : []),
  ];
  if (floor.length === 0)
    return yield notChecked(set.control, { kind: 'missing', missing: [`protectionLow of ${bank.name}`] });
  const highest = floor.reduce((so, next) => (numberIn(next.value, 'V') > numberIn(so.value, 'V') ? next : so));
  for (const start of starts) {
    const limit = deriveQuantity('start threshold', start.limit, { origin: 'stated', place: start.limitPlace });
    const numbers = { start: limit, floor: highest.value };
    if (inUnit(start.limit, 'V') > numberIn(highest.value, 'V') * (1 + 1e-9)) {
      yield passed(set.control, atLeast(limit, highest.value), numbers);
      continue;
    }
    const [startText, floorText] = formatPair(start.limit, highest.value.value as never);
    const value = usualStart(bank, numberIn(highest.value, 'V'), context);
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: start.limitPlace,
      headline: `${set.title} starts ${set.control.target.name} below ${startText}; ${highest.name} lies at ${floorText}`,
      why: `${highest.thenWhat} before ${set.control.target.name} is started`,
      use: atLeast(limit, highest.value),
      numbers,
      related: [
        ...(highest.place ? [{ place: highest.place, text: `${highest.name}: ${displayValue(highest.value)}` }] : []),
        ...inOrder(start, context),
      ],
      fixes:
        value === undefined
          ? []
          : [propose(`Start at ${value} V`, [{ place: start.limitPlace, text: `${value} V` }], true)],
    };
  }
}

/** Usual start voltage by chemistry, at least 0.05 V a cell above what must lie below it. */
function usualStart(bank: Instance, floor: number, context: DesignContext): number | undefined {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const count = context.quantity(bank, 'cellCount');
  if (!row || count.kind !== 'known') return undefined;
  const cells = numberIn(count.derivation, '');
  return Number(Math.max(row.generatorStart * cells, floor + 0.05 * cells).toFixed(1));
}

function* judgeControl(control: Control, context: DesignContext): Generator<Verdict> {
  for (const set of ruleSets(control)) {
    yield* judgePairs(set, context);
    const banks = new Set(set.rules.flatMap(({ thresholds }) => thresholds.map(({ of }) => of)).filter(isBank));
    for (const bank of banks) yield* judgeVoltages(set, bank, context);
  }
}

export const thresholdOrder = defineCheck({
  id: 'threshold-order',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A start threshold does not lie below its stop threshold, or a voltage start lies below the cut-off or the disconnect of the BMS.',
    guards:
      'A generator that starts and stops at once, or one that is asked to start when the bank has already switched everything off.',
    how: 'Start and stop on the same signal must be in order, in the rules and in every fallback. Voltages must be in this order: disconnect of the BMS (without one, the lowest voltage of the cells), inverter cut-off, start, stop; whether stop can be reached is judged by `stop-unreachable`.',
    fix: 'Set the start below the stop and above the cut-off of the inverter and the disconnect of the BMS.',
    sources: [PRACTICE],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 50 %
    stop when soc(Bank) > 45 %
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 %
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls) yield* judgeControl(control, context);
  },
});
