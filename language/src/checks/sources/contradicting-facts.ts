import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { DesignContext } from '../../model/context.js';
import { isAcSource, isBank, isInverter, isLoad, sourceOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { lowEnd } from '../../quantities/ends.js';
import { ROUNDING as BANK_ROUNDING, nearerFault } from '../../quantities/storage/bank-fault.js';
import { POWER_SPREAD } from '../../quantities/supply/array.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Severity, type Verdict, NO_LIMIT, points } from '../define.js';
import { pairText, passed, placeOf } from '../verdicts.js';

/** Facts of one thing that cannot all be true. */
interface Contradiction {
  readonly facts: readonly (readonly [PropertyName, Derivation])[];
  /** What is wrong with them, in words. */
  readonly why: string;
  /** Which of them counts meanwhile. */
  readonly counts?: string;
  readonly severity?: Severity;
}

/** What is stated of a thing, by name; undefined where one of the facts is not. */
type Stated = (...names: readonly PropertyName[]) => readonly Derivation[] | undefined;

const ROUNDING = 1.02;

/** Pairs of which the first cannot be more than the second, whatever the thing: what each is called, in words. */
const ORDERS: readonly {
  readonly of: (thing: Instance) => boolean;
  readonly less: PropertyName;
  readonly more: PropertyName;
  readonly unit: string;
  readonly why: string;
  readonly counts?: string;
}[] = [
  {
    of: (thing) => isAcSource(thing) || isInverter(thing),
    less: 'rated',
    more: 'surge',
    unit: 'W',
    why: 'what it gives for seconds is not less than what it gives for hours',
  },
  {
    of: (thing) => sourceOf(thing)?.from === 'sun',
    less: 'maximumPowerCurrent',
    more: 'shortCircuitCurrent',
    unit: 'A',
    why: 'a module drives most into a short circuit',
    counts: 'the larger current counts',
  },
  {
    of: (thing) => sourceOf(thing)?.from === 'sun',
    less: 'maximumPowerVoltage',
    more: 'openCircuitVoltage',
    unit: 'V',
    why: 'a module has its highest voltage without load',
    counts: 'the larger voltage counts',
  },
  {
    of: isBank,
    less: 'protectionLow',
    more: 'voltage',
    unit: 'V',
    why: 'a BMS that disconnects on discharge above nominal voltage never connects',
  },
  {
    of: isBank,
    less: 'voltage',
    more: 'protectionHigh',
    unit: 'V',
    why: 'a BMS that disconnects on charge below nominal voltage never connects',
  },
  { of: isBank, less: 'voltage', more: 'chargeLimit', unit: 'V', why: 'a unit is charged above its nominal voltage' },
  {
    of: isBank,
    less: 'maximumDischarge',
    more: 'peakDischarge',
    unit: 'A',
    why: 'what a unit gives for seconds is not less than what it gives for hours',
  },
];

function* ordersOf(thing: Instance, stated: Stated): Generator<Contradiction> {
  for (const { of, less, more, unit, why, counts } of ORDERS) {
    const facts = of(thing) ? stated(less, more) : undefined;
    if (!facts || numberIn(facts[0]!, unit) <= numberIn(facts[1]!, unit) * (1 + 1e-9)) continue;
    yield {
      facts: [
        [less, facts[0]!],
        [more, facts[1]!],
      ],
      why,
      ...(counts ? { counts } : {}),
    };
  }
}

/** Active power against apparent power, and the rated power factor of an alternator. */
function* powersOf(thing: Instance, stated: Stated): Generator<Contradiction> {
  const both = isAcSource(thing) || isInverter(thing) ? stated('rated', 'apparent') : undefined;
  if (!both) return;
  const [rated, apparent] = both as [Derivation, Derivation];
  // The power factor of an inverter is that of its charger's input.
  const factor = isAcSource(thing) ? stated('powerFactor')?.[0] : undefined;
  const active = derive(
    'active power by apparent power',
    numberIn(apparent, 'VA') * (factor ? numberIn(factor, '') : 1),
    'W',
  );
  if (numberIn(rated, 'W') <= numberIn(active, 'W') * ROUNDING) return;
  const [, most] = pairText(rated, active);
  yield {
    facts: [['rated', rated], ['apparent', apparent], ...(factor ? ([['powerFactor', factor]] as const) : [])],
    why: `${displayValue(apparent)} ${factor ? `at a power factor of ${displayValue(factor)} ` : ''}are ${most} of active power at most`,
    ...(isInverter(thing) ? {} : { counts: `${most} count` }),
  };
}

/** Power against voltage times current, of a module and of an outlet. */
function* productsOf(thing: Instance, stated: Stated): Generator<Contradiction> {
  const module =
    sourceOf(thing)?.from === 'sun' ? stated('power', 'maximumPowerVoltage', 'maximumPowerCurrent') : undefined;
  if (module) {
    const [power, volts, amperes] = module as [Derivation, Derivation, Derivation];
    const product = derive('voltage times current', numberIn(volts, 'V') * numberIn(amperes, 'A'), 'W');
    if (Math.abs(numberIn(product, 'W') / numberIn(power, 'W') - 1) > POWER_SPREAD)
      yield {
        facts: [
          ['power', power],
          ['maximumPowerVoltage', volts],
          ['maximumPowerCurrent', amperes],
        ],
        why: `${displayValue(volts)} times ${displayValue(amperes)} are ${displayValue(product)}`,
        counts: 'the smaller power counts',
        severity: 'warning',
      };
  }
  const outlet = sourceOf(thing)?.from === 'vehicle' ? stated('rated', 'rating') : undefined;
  const system = systemOf(thing);
  if (!outlet || !system) return;
  const [rated, rating] = outlet as [Derivation, Derivation];
  const most = derive(
    'what its outlet carries',
    system.lineToLine * numberIn(rating, 'A') * (system.phases === 'three' ? Math.sqrt(3) : 1),
    'W',
  );
  if (numberIn(rated, 'W') > numberIn(most, 'W') * ROUNDING)
    yield {
      facts: [
        ['rated', rated],
        ['rating', rating],
      ],
      why: `${displayValue(rating)} at ${system.text} are ${displayValue(most)} at most`,
      severity: 'warning',
    };
}

/** The lowest voltage of a load against its nominal one. */
function* lowestOf(thing: Instance, stated: Stated): Generator<Contradiction> {
  const [least] = (isLoad(thing) ? stated('minimumVoltage') : undefined) ?? [];
  const nominal = systemOf(thing);
  if (!least || !nominal || numberIn(least, 'V') <= nominal.lineToLine * (1 + 1e-9)) return;
  yield {
    facts: [['minimumVoltage', least]],
    why: `its nominal voltage is ${nominal.text}, at which it would not work`,
  };
}

/**
 * The resistance of a battery against its short-circuit current, where its lowest resistance tells of clearly more. A current that is stated
 * nearer to the battery than the resistance is its own data sheet and speaks alone.
 */
function faultOf(thing: Instance, stated: Stated, context: DesignContext): Contradiction | undefined {
  const both = isBank(thing) ? stated('shortCircuitCurrent', 'resistance', 'series') : undefined;
  const nearer = both && nearerFault(thing);
  if (!nearer || nearer === 'current') return undefined;
  const [current, resistance, series] = both as [Derivation, Derivation, Derivation];
  const voltage = context.quantity(thing, 'highestVoltage');
  if (voltage.kind !== 'known') return undefined;
  const lowest = lowEnd(resistance);
  const unit = numberIn(voltage.derivation, 'V') / numberIn(series, '');
  const drives = derive('current of the lowest resistance', unit / numberIn(lowest, 'ohm'), 'A');
  if (numberIn(drives, 'A') <= numberIn(current, 'A') * BANK_ROUNDING) return undefined;
  return {
    facts: [
      ['shortCircuitCurrent', current],
      ['resistance', resistance],
    ],
    why: `${displayValue(derive('voltage of a unit', unit, 'V'))} behind ${displayValue(lowest)} drive ${displayValue(drives)}`,
    counts: 'the larger current counts where a device has to break it',
    severity: 'warning',
  };
}

function* judgeThing(thing: Instance, context: DesignContext): Generator<Verdict> {
  const stated: Stated = (...names) => {
    const all = names.map((name) => context.maybe(thing, name));
    return all.every((each) => each !== undefined && each.origin !== 'default') ? (all as Derivation[]) : undefined;
  };
  let isSound = true;
  const fault = faultOf(thing, stated, context);
  for (const found of [
    ...[ordersOf, powersOf, productsOf, lowestOf].map((find) => find(thing, stated)),
    ...(fault ? [[fault]] : []),
  ])
    for (const { facts, why, counts, severity } of found) {
      isSound = false;
      const named = facts.map(([name, value]) => `\`${name}\` ${displayValue(value)}`);
      yield {
        verdict: 'failed',
        subject: thing.path,
        place: placeOf(thing, facts[0]![0]),
        ...(severity ? { severity } : {}),
        headline: `${thing.name} contradicts itself: ${firstFew(named)}`,
        why,
        ...(counts ? { assumes: [counts] } : {}),
        advice: 'Correct by its data sheet what is wrong.',
        use: NO_LIMIT,
        numbers: Object.fromEntries(facts),
      };
    }
  if (isSound) yield passed(thing, NO_LIMIT);
}

export const contradictingFacts = defineCheck({
  id: 'contradicting-facts',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Facts of one thing contradict each other.',
    guards:
      'A design that passes on the fact that is wrong: a power, a current or a voltage that the thing does not have.',
    how: points(
      'Facts of one thing against each other. Where two of them lead to different results, the worse counts.',
      'Generators and inverters: active against apparent power and, for generators, the rated power factor (2 % allowed for rounding); surge against continuous power.',
      'Modules: power against voltage times current at maximum power (5 % allowed; a warning); short-circuit current and open-circuit voltage against those at maximum power.',
      'Batteries: protection, charge limit and nominal voltage; peak against continuous discharge; the short-circuit current against the lowest resistance at the charge voltage (a fifth allowed; a warning), unless the current is stated nearer to the battery than the resistance.',
      'Vehicles: the power of the outlet against its voltage and rating. Loads: the lowest voltage against the nominal one.',
      'Cells, chemistry and voltage of a battery are judged by `bank-voltage`, settings against data sheets by `setting-range`.',
    ),
    fix: 'Compare the facts with the data sheet or nameplate and correct the one that is wrong.',
    sources: [{ standard: 'definitions: P = S·pf, P = U·I', provenance: 'published' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   apparent: 5 kVA   powerFactor: 0.8   voltage: 230 V }
}
`,
    passing: `design Hut {
  generator Genset { rated: 4 kW   apparent: 5 kVA   powerFactor: 0.8   voltage: 230 V }
}
`,
  },
  judge: function* (context) {
    for (const thing of context.system.instances) yield* judgeThing(thing, context);
  },
});
