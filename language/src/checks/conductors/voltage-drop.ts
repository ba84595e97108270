import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { formatPair, ratio, formatNumber } from '../../quantity/index.js';
import { defineCheck, type Verdict, atMost, type Failed, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { dropCurrent } from '../../quantities/conductors/conductor.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PUBLISHED, tableOf } from './shared.js';
import { largerSize } from './ways.js';
import { propose, setProperty } from '../fixes.js';
import { openFacts } from './drop-limits.js';
import { dropLimit } from './sizing.js';
import { type WayDrop, isTooMuch, wayDrops } from './way-drop.js';

const percent = (share: number, digits: number): string => `${formatNumber(share * 100, digits)} %`;

/** Two ratios in percent, with as many digits as make them differ. */
function percentPair(left: number, right: number): readonly [string, string] {
  for (let digits = 2; digits <= 8; digits += 1)
    if (percent(left, digits) !== percent(right, digits)) return [percent(left, digits), percent(right, digits)];
  return formatPair(ratio(left), ratio(right));
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const drop = context.quantity(run, 'voltageDrop');
  if (drop.kind !== 'known') return yield notChecked(run, drop);
  const share = drop.derivation.parts['ratio'];
  if (!share) return;
  const limit = dropLimit(run, context);
  const numbers = { drop: drop.derivation, share, limit };
  const use = atMost(share, limit);
  if (numberIn(share, '') <= numberIn(limit, '') * (1 + 1e-9)) {
    const open = openFacts(run, context.maybe(run, 'size'), share, limit, context);
    return yield open.length > 0 ? notChecked(run, { kind: 'missing', missing: open }) : passed(run, use, numbers);
  }
  const voltage = context.quantity(run, 'nominalVoltage');
  const length = context.maybe(run, 'length');
  const size = context.maybe(run, 'size');
  const current = dropCurrent(run, context);
  if (voltage.kind !== 'known' || !length || !size || current.kind !== 'known') return;
  const [is, most] = percentPair(numberIn(share, ''), numberIn(limit, ''));
  const allowed: Derivation = derive(
    'voltage drop allowed',
    numberIn(limit, '') * numberIn(voltage.derivation, 'V'),
    'V',
    { formula: 'limit·U', inputs: [limit, voltage.derivation] },
  );
  const longest = derive('longest length', (numberIn(length, 'm') * numberIn(limit, '')) / numberIn(share, ''), 'm', {
    formula: 'L·limit/drop',
    inputs: [length, limit, share],
  });
  const [lost, may] = pairText(drop.derivation, allowed);
  const isAdvised = limit.origin === 'default';
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    headline: `${run.name} loses ${lost} of ${displayValue(voltage.derivation)} (${is}); the limit is ${most} (${may})`,
    ...whyOf(
      `${displayValue(current.derivation, 3)} over ${displayValue(length)} out and back in ${displayValue(size)}`,
      governingText(current.derivation),
      `at most ${displayValue(longest, 3)} long`,
    ),
    rule: isAdvised
      ? `advised by ${tableOf(limit, context) || basisText(context.system.basis)}, not stated in the design`
      : 'stated in the design',
    use,
    numbers: { ...numbers, allowed, longest },
    fixes: [largerSize(run, { target: 'voltage-drop' })],
  };
}

function surgeTold({ converter, bank, current, drop, allowed }: WayDrop): Told {
  const [is, may] = pairText(drop, allowed);
  return {
    headline: `At its surge ${converter.name} loses ${is} over the cables from ${bank.name}; ${may} are left`,
    why: `${displayValue(current, 3)}; from nominal voltage, less the resistance of ${bank.name}, to its cut-off`,
    consequence: 'it stops when a motor starts',
  };
}

function chargeTold({ converter, bank, current, drop, allowed }: WayDrop): Told {
  const [is, may] = pairText(drop, allowed);
  const isDefault = allowed.inputs[0]!.origin === 'default';
  return {
    headline: `The cables between ${converter.name} and ${bank.name} lose ${is} at ${displayValue(current, 3)}; ${may} allowed`,
    why: `${converter.name} measures at its own terminals; ${percent(numberIn(allowed.inputs[0]!, ''), 3)} of its set point`,
    rule: isDefault ? 'a rule of thumb' : 'set in the design',
    consequence: 'it mistakes the loss for charge and ends the bulk phase early',
  };
}

type Told = Pick<Failed, 'headline' | 'why' | 'rule' | 'consequence'>;

/** Losses over the whole way between a bank and the inverter or charger at the end of a run. */
function* judgeWays(run: Run, context: DesignContext): Generator<Verdict> {
  const size = context.maybe(run, 'size');
  for (const way of size ? wayDrops(run, size, context) : []) {
    const numbers = { drop: way.drop, allowed: way.allowed, current: way.current };
    const use = atMost(way.drop, way.allowed);
    if (!isTooMuch(way)) {
      yield passed(run, use, numbers);
      continue;
    }
    const fixes = [
      largerSize(run, { target: 'voltage-drop' }),
      ...(way.kind === 'charge'
        ? [
            propose(`Let ${way.converter.name} measure at ${way.bank.name} (remoteSense: yes)`, [
              setProperty(way.converter, 'remoteSense', 'yes'),
            ]),
          ]
        : []),
    ];
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(run, 'size'),
      ...(way.kind === 'surge' ? surgeTold(way) : chargeTold(way)),
      use,
      numbers,
      related: [{ place: way.converter.place, text: `${way.converter.name} stands at the end of ${run.name}` }],
      fixes,
    };
  }
}

export const voltageDrop = defineCheck({
  id: 'voltage-drop',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'A run loses more voltage at its design current than its limit, or so much at surge or while charging that an inverter cuts off or a charger ends the bulk phase early.',
    guards:
      'Inverters that cut off early, chargers that end the bulk phase too soon because they see the drop as charge, motors that do not start, dim lights.',
    how: points(
      'Out and back, at the design current (on the array side of a charge controller the current at maximum power) and 75 °C conductor temperature, as a share of the nominal voltage of the circuit.',
      'Limit: `dropLimit` of the run, else `dcDropLimit` or `acDropLimit` of the design, else what the practice advises.',
      'nec: 3 % (informational).',
      'iec: 5 % on a public supply and 8 % on a private one; 3 % and 6 % where it feeds lighting (`lighting: yes` of a load).',
      'craft: 3 % for panel feeders, navigation lights, bilge blowers and electronics, 10 % for other runs that end in a load. `use` of the load says which; between the two it is a question.',
      'Alternating current counts at the least favourable power factor from that of its loads up to 1, and under nec with the impedance of its `raceway`, which is a question where it decides.',
      'At an inverter with a surge rating: at surge power and cut-off voltage the cables from the bank may lose what the nominal voltage, less the sag over the bank’s lowest resistance, leaves above the cut-off.',
      'At a charger that does not measure at the bank: all cables up to the bank may lose 2 % of its absorption set point (rule of thumb; `chargeDropLimit` of the design sets another).',
    ),
    fix: 'Use a larger or shorter conductor, a higher voltage, or a setting that leaves room for the drop.',
    sources: [
      PUBLISHED('NEC', '210.19(A) informational note, Chapter 9 Tables 8 and 9', '2017-2023'),
      PUBLISHED('IEC 60364-5-52', 'Table G.52.1'),
      PUBLISHED('ABYC E-11', 'from quotations'),
    ],
    failing: `design Hut {
  basis: iec
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 30 A }
  load Pump { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 150 mm -> Pump { size: 6 mm2   type: H07V-K   length: 18 m   method: C }
}
`,
    passing: `design Hut {
  basis: iec
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 30 A }
  load Pump { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 150 mm -> Pump { size: 16 mm2   type: H07V-K   length: 18 m   method: C }
}
`,
  },
  judge: ofEachRun(function* (run, context) {
    yield* judgeRun(run, context);
    yield* judgeWays(run, context);
  }),
});
