import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, missing, numberIn } from '../../derivation/index.js';
import { governingText } from '../../glossary/reason-text.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, raise } from '../../quantity/index.js';
import { meanLoad, shareAtRate } from '../../quantities/storage/storage.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Verdict, atMost, atLeast } from '../define.js';
import { notChecked, pairText, passed } from '../verdicts.js';
import { PRACTICE, busesOf, chemistryOf, moreStrings, namesOf } from './shared.js';
import { takesToInvert } from '../../model/roles.js';

/** Whether the bus has one bank and an inverter: then `inverter-bank-current` looks at all that draws from it. */
const isLeftToInverters = (banks: readonly Instance[], context: DesignContext): boolean =>
  banks.length === 1 &&
  context.graph.nodesOf(banks[0]!).some((node) => [...context.graph.reach(node).values()].some(takesToInvert));

/** Everything that draws at once against what the data sheets of the units allow. */
function* judgeLimit(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [first] = banks as readonly [Instance, ...Instance[]];
  if (isLeftToInverters(banks, context)) return;
  const needed = banks.filter(
    (bank) => context.maybe(bank, 'maximumDischarge') || chemistryOf(bank, context)?.family !== 'lead',
  );
  // Lead units seldom name a limit: what they lose at a high rate is looked at instead.
  if (needed.length < banks.length) return;
  const total = context.quantity(first, 'dischargeCurrent');
  if (total.kind === 'known' && numberIn(total.derivation, 'A') === 0) return;
  const all = collect([total, ...banks.map((bank) => context.quantity(bank, 'dischargeCurrentLimit'))]);
  if (!all.ok) return yield notChecked(first, all.result);
  const [current, ...limits] = all.derivations as [Derivation, ...Derivation[]];
  const sum = numberIn(current, 'A');
  const limit = sumOf('discharge limit', 'I_lim', 'A', limits);
  const most = numberIn(limit, 'A');
  const numbers = { current, limit };
  const use = atMost(current, limit);
  if (sum <= most * (1 + 1e-9)) return yield passed(first, use, numbers);
  const [is, allowed] = pairText(current, limit);
  const terms = firstFew(current.inputs.map((each) => `${each.name} ${displayValue(each, 3)}`));
  const fixes = moreStrings(banks, sum / most, context);
  yield {
    verdict: 'failed',
    subject: first.path,
    place: first.place,
    headline: `${namesOf(banks)} can be loaded with ${is} at once; ${banks.length === 1 ? 'it gives' : 'they give'} ${allowed}`,
    why: [terms, governingText(current)].filter(Boolean).join('; '),
    rule: '`maximumDischarge`, all strings together',
    consequence: 'the BMS disconnects under full load',
    advice: 'Add strings, or keep loads from running together.',
    use,
    numbers,
    fixes,
  };
}

/** Capacity a lead bank still gives at the mean rate of its loads. */
function* judgeRate(bank: Instance, context: DesignContext): Generator<Verdict> {
  const draw = meanLoad(bank, context);
  if (chemistryOf(bank, context)?.family !== 'lead') return;
  if (draw.kind === 'known' && numberIn(draw.derivation, 'A') === 0) return;
  const all = collect([
    context.quantity(bank, 'bankCapacity'),
    context.fact(bank, 'capacityTime'),
    draw.kind === 'known' ? shareAtRate(bank, draw.derivation, context) : context.fact(bank, 'peukert'),
    draw,
  ]);
  if (!all.ok) return yield notChecked(bank, all.result);
  const [capacity, time, share] = all.derivations as [Derivation, Derivation, Derivation];
  // What it gives itself, beside the other banks of its bus.
  const [load, , , exponent] = share.inputs as [Derivation, Derivation, Derivation, Derivation];
  const amperes = numberIn(load, 'A');
  const rated = numberIn(capacity, 'Ah') / numberIn(time, 'h');
  const ratio = numberIn(share, '');
  const least = context.setting('rateShare');
  if (!least) return yield notChecked(bank, missing(`rateShare of ${context.system.name}`));
  const use = atLeast(share, least);
  if (ratio >= numberIn(least, '') * (1 - 1e-9)) return yield passed(bank, use, { share, least });
  const given = derive('capacity at this rate', numberIn(capacity, 'Ah') * ratio, 'Ah', {
    formula: 'C·s',
    inputs: [capacity, share],
  });
  // Strings that bring the rate down to where the share is kept: the share falls with the current to the power of k − 1.
  const times = raise(numberIn(least, '') / ratio, 1 / (numberIn(exponent, '') - 1));
  const fixes = moreStrings([bank], times, context);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: bank.place,
    severity: 'warning',
    headline: `${bank.name} gives ${displayValue(given, 3)} at its mean load, ${formatNumber(ratio * 100, 3)} %; at least ${formatNumber(numberIn(least, '') * 100, 3)} % expected`,
    why: `${displayValue(load, 3)}, ${formatNumber(amperes / rated, 3)} times the rate its ${displayValue(capacity, 3)} hold for (${displayValue(time)})`,
    rule: 'common practice, no source; set by `rateShare`',
    advice: 'Choose a larger bank, or count on the lower capacity.',
    use,
    numbers: { share, given, least },
    fixes,
  };
}

export const dischargeRate = defineCheck({
  id: 'discharge-rate',
  group: 'storage',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Everything that draws from a bank at once demands more than its units give.',
    guards:
      'A BMS that disconnects under full load, and lead banks that are empty long before their rated capacity is used.',
    how: 'The rated current of inverters at the lowest voltage at which they run, of DC loads and of converters is added up in every source state and held against `maximumDischarge` times the strings of all banks on the bus. A single bank with an inverter is judged by `inverter-bank-current`. For lead the capacity at the mean current of the loads follows from `capacityTime` and `peukert`, C·(I·H/C)^(1 − k); less than `rateShare` of the rated capacity (80 % unless set: a rule of thumb) is a warning.',
    fix: 'Add units in parallel, choose units that give more, or run fewer loads at once.',
    sources: [
      { standard: 'battery-monitor manual: capacity by current and exponent', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Van {
  battery Bank : Lfp12V50Ah
  load Cooler { power: 360 W   supply: dc }
  load Heater { power: 240 W   supply: dc }
  bus Dc {}
  run Feed: Bank -> Dc { size: 35 mm2   length: 1 m }
  run CoolerFeed: Dc -> Cooler { size: 10 mm2   length: 2 m }
  run HeaterFeed: Dc -> Heater { size: 10 mm2   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V50Ah { parallel: 2 }
  load Cooler { power: 360 W   supply: dc }
  load Heater { power: 240 W   supply: dc }
  bus Dc {}
  run Feed: Bank -> Dc { size: 35 mm2   length: 1 m }
  run CoolerFeed: Dc -> Cooler { size: 10 mm2   length: 2 m }
  run HeaterFeed: Dc -> Heater { size: 10 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const banks of busesOf(context)) {
      yield* judgeLimit(banks, context);
      // Lead banks of one bus share the load; with several the mean of each is open.
      if (banks.length === 1) yield* judgeRate(banks[0]!, context);
    }
  },
});
