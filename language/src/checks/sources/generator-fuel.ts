import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Thing } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { collect } from '../../quantities/worst.js';
import { defineCheck, type Verdict, atMost, atLeast } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { chargeRuns } from './charge-run.js';
import { PRACTICE } from './shared.js';
import { isSet } from '../../model/roles.js';

/** Below this lowest temperature a propane supply must be known to give off enough gas (common practice, no source). */
const COLD = 0;

/** How long a set is to run on one tank, why, and the property that says so where one does. */
interface Plan {
  readonly time: Derivation;
  readonly why: string;
  readonly owner?: Thing;
  readonly property?: string;
}

const longest = (plans: readonly Plan[]): Plan | undefined =>
  plans.reduce<Plan | undefined>(
    (so, next) => (so && numberIn(so.time, 's') >= numberIn(next.time, 's') ? so : next),
    undefined,
  );

/** The run a set is meant for: as it says itself, else the charge its rules ask for, else the times of its control. */
function planOf(set: Instance, context: DesignContext): Plan | undefined {
  const stated = context.maybe(set, 'plannedRun');
  if (stated) return { time: stated, why: 'its `plannedRun`', owner: set, property: 'plannedRun' };
  const charges = chargeRuns(set, context).flatMap(({ time, bank, from, to }) =>
    time.kind === 'known'
      ? [{ time: time.derivation, why: `to charge ${bank.name} from ${displayValue(from)} to ${displayValue(to)}` }]
      : [],
  );
  if (charges.length > 0) return longest(charges);
  const controls = context.system.controls.filter(({ target }) => target === set);
  for (const property of ['maximumRun', 'minimumRun'] as const) {
    const plans = controls.flatMap((control) => {
      const time = context.maybe(control, property);
      return time ? [{ time, why: `\`${property}\` of ${control.name}`, owner: control, property }] : [];
    });
    if (plans.length > 0) return longest(plans);
  }
  return undefined;
}

function* judgeTank(set: Instance, context: DesignContext): Generator<Verdict> {
  const plan = planOf(set, context);
  // A charge that is asked of it and never comes to its end leaves nothing to plan by.
  const endless = plan ? undefined : chargeRuns(set, context).find(({ time }) => time.kind === 'refused');
  if (endless) return yield notChecked(set, endless.time);
  const reserve = context.setting('fuelReserve');
  const tank = context.maybe(set, 'tank');
  const open = [...(tank ? [] : [`tank of ${set.name}`]), ...(plan ? [] : [`plannedRun of ${set.name}`])];
  const both = collect([
    context.quantity(set, 'fuelRate'),
    ...(open.length > 0 ? [{ kind: 'missing' as const, missing: open }] : []),
  ]);
  if (!both.ok || !plan || !tank)
    return yield notChecked(set, both.ok ? { kind: 'missing', missing: open } : both.result);
  const [rate] = both.derivations as [Derivation];
  const kept = reserve ? numberIn(reserve, '') : 0;
  const lasts = derive('time on one tank', ((numberIn(tank, 'L') * (1 - kept)) / numberIn(rate, 'L/h')) * 3600, 's', {
    symbol: 't',
    formula: 'V·(1 − reserve)/F',
    inputs: [tank, ...(reserve ? [reserve] : []), rate],
  });
  const numbers = { lasts, planned: plan.time, rate };
  const use = atLeast(lasts, plan.time);
  if (numberIn(lasts, 's') >= numberIn(plan.time, 's') * (1 - 1e-9)) return yield passed(set, use, numbers);
  const wanted = Math.ceil((numberIn(plan.time, 'h') * numberIn(rate, 'L/h')) / (1 - kept) - 1e-9);
  const [time, planned] = pairText(lasts, plan.time);
  const hours = Math.floor(numberIn(lasts, 'h') * 10 + 1e-9) / 10;
  const power = context.quantity(set, 'meanPower');
  const isMemory = rate.source?.provenance === 'from memory';
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'tank'),
    headline: `The tank of ${set.name} lasts ${time}; ${planned} needed`,
    ...whyOf(
      `${displayValue(tank)}${kept > 0 ? ` less ${formatNumber(kept * 100)} %` : ''} at ${displayValue(rate, 3)}${power.kind === 'known' ? `, ${displayValue(power.derivation, 3)} on average` : ''}`,
      plan.why,
      isMemory && 'usual burn of its kind, from memory',
    ),
    advice: `A tank of ${wanted} L lasts that long.`,
    use,
    numbers,
    fixes:
      plan.owner && plan.property && hours > 0
        ? [
            propose(
              `Fill up after ${formatNumber(hours)} h: set ${plan.property} of ${plan.owner.name}`,
              [setProperty(plan.owner, plan.property, `${formatNumber(hours)} h`)],
              true,
            ),
          ]
        : [],
  };
}

/** Propane boils off slowly in the cold; undefined where that is no matter. */
function* judgeGas(set: Instance, context: DesignContext): Generator<Verdict> {
  if (context.maybe(set, 'fuel')?.value !== 'propane') return;
  const ambient = context.siteFact('ambient');
  const coldest = ambient && typeof ambient.value === 'object' ? ambient.value.low : undefined;
  const gives = context.maybe(set, 'vaporisation');
  const rate = context.quantity(set, 'fuelRate');
  if (!gives) {
    if (coldest !== undefined && coldest < COLD)
      yield notChecked(set, { kind: 'missing', missing: [`vaporisation of ${set.name}`] });
    return;
  }
  if (rate.kind !== 'known') return yield notChecked(set, rate);
  const numbers = { rate: rate.derivation, gives };
  const use = atMost(rate.derivation, gives);
  if (numberIn(rate.derivation, 'L/h') <= numberIn(gives, 'L/h') * (1 + 1e-9)) return yield passed(set, use, numbers);
  const [burns, given] = pairText(rate.derivation, gives);
  const times = Math.ceil(numberIn(rate.derivation, 'L/h') / numberIn(gives, 'L/h') - 1e-9);
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'vaporisation'),
    headline: `${set.name} burns ${burns} of propane; its cylinders give off ${given} in the cold`,
    ...whyOf(coldest !== undefined && `down to ${formatNumber(coldest)} °C here`),
    consequence: 'they ice over and the engine starves though they are not empty',
    advice: `Join ${times} times as many cylinders, or use a heated vaporiser.`,
    use,
    numbers,
  };
}

export const generatorFuel = defineCheck({
  id: 'generator-fuel',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'The tank of a generator is empty before the planned run is over, or its propane does not boil off fast enough in the cold.',
    guards: 'The generator stops at night with the bank half charged, and somebody fills a hot tank in the dark.',
    how: 'Fuel is counted at the mean power while it charges (chargers at their limits, loads by profile and duty), by the generator’s own `burn` figures, else by the table of its fuel (petrol: from memory, ±25 %). The tank less `fuelReserve` of the design (10 % unless said; common practice, no source) must last for `plannedRun`; where that is not stated, for the charge from the start to the stop threshold of its control, else for the control’s `maximumRun` or `minimumRun`. Natural gas has no tank. Propane is held against `vaporisation`, which is a question where the site gets below 0 °C.',
    fix: 'Use a larger tank or cylinder, refuel on the way, or run for less.',
    sources: [
      { standard: 'diesel fuel consumption charts; owner’s manuals of standby generators', provenance: 'published' },
      { standard: 'petrol generators: straight lines', provenance: 'from memory' },
      PRACTICE,
    ],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: petrol   waveform: conventional   tank: 10 L   plannedRun: 8 h   burn: { 50 %: 2 L/h, 100 %: 3 L/h } }
  load Heater { power: 2.5 kW   profile: always }
  run Cord: Genset -> Heater { size: 4 mm2   length: 10 m }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: petrol   waveform: conventional   tank: 20 L   plannedRun: 8 h   burn: { 50 %: 2 L/h, 100 %: 3 L/h } }
  load Heater { power: 2.5 kW   profile: always }
  run Cord: Genset -> Heater { size: 4 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const set of context.system.instances) {
      if (!isSet(set)) continue;
      // A set on the gas main has no tank to empty.
      if (context.maybe(set, 'fuel')?.value !== 'naturalGas' || set.properties.has('tank'))
        yield* judgeTank(set, context);
      yield* judgeGas(set, context);
    }
  },
});
