import { governedBy } from '../../glossary/reason-text.js';
import { type Reason, type Derivation, derive, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { type Quantity, formatNumber, formatPair } from '../../quantity/index.js';
import { meanLoad, timeFor, usableCharge } from '../../quantities/storage/storage.js';
import { batterySizing } from '../../reference/energy/index.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { busesOf, moreStrings, namesOf } from './shared.js';

function* judgeBus(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const asking = banks.flatMap((bank) => {
    const time = context.maybe(bank, 'autonomy');
    return time ? [{ bank, time }] : [];
  });
  if (asking.length === 0) return;
  const { bank, time: required } = asking.reduce((so, next) =>
    numberIn(next.time, 'h') > numberIn(so.time, 'h') ? next : so,
  );
  const load = meanLoad(bank, context);
  if (load.kind !== 'known') return yield notChecked(bank, load);
  const fresh = usableCharge(bank, false, load.derivation, context);
  if (fresh.kind !== 'known') return yield notChecked(bank, fresh);
  const whole = timeFor(bank, fresh.derivation, load.derivation);
  if (whole.kind !== 'known') return yield notChecked(bank, whole);
  const hours = numberIn(required, 'h');
  const ageing = batterySizing('aging');
  const factor = fromTable('ageing', ageing.value, '', ageing.source, { symbol: 'k_a' });
  const cold = usableCharge(bank, true, load.derivation, context);
  const usable =
    cold.kind === 'known'
      ? derive('usable charge, aged and in the cold', numberIn(cold.derivation, 'Ah') / ageing.value, 'Ah', {
          symbol: 'Q',
          formula: 'Q/k_a',
          inputs: [cold.derivation, factor],
          governing: governingOf(cold.derivation),
        })
      : undefined;
  const aged = usable && timeFor(bank, usable, load.derivation);
  if (numberIn(whole.derivation, 'h') >= hours * (1 - 1e-9)) {
    if (!aged || aged.kind !== 'known') return yield notChecked(bank, cold);
    if (numberIn(aged.derivation, 'h') >= hours * (1 - 1e-9))
      return yield passed(bank, atLeast(aged.derivation, required), { time: aged.derivation, required });
  }
  const isFresh = numberIn(whole.derivation, 'h') < hours * (1 - 1e-9);
  const shown = isFresh || aged?.kind !== 'known' ? whole.derivation : aged.derivation;
  const reached = aged?.kind === 'known' ? aged.derivation : whole.derivation;
  const times = hours / numberIn(reached, 'h');
  // In the unit in which the designer asks for it.
  const [is, asked] = formatPair(shown.value as Quantity, required.value as Quantity);
  const fixes = moreStrings(banks, times, context);
  const charge = isFresh ? fresh.derivation : usable!;
  const more = derive('usable charge asked for', numberIn(charge, 'Ah') * (hours / numberIn(shown, 'h')), 'Ah');
  const when = isFresh ? 'new and warm' : `aged to ${formatNumber(100 / ageing.value, 3)} %${governedBy(charge)}`;
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'autonomy'),
    severity: isFresh ? 'error' : 'warning',
    headline: `${namesOf(banks)} ${banks.length === 1 ? 'carries' : 'carry'} the loads for ${is} without charge; ${asked} required`,
    why: `${when}: ${displayValue(charge, 3)} down to the reserve at a mean of ${displayValue(load.derivation, 3)}`,
    advice: `Add capacity (${displayValue(more, 3)} usable), or use less.`,
    use: atLeast(shown, required),
    numbers: { time: shown, required, load: load.derivation, charge },
    fixes,
  };
}

/** The corner that governs a charge or, where several banks are added up, that of the first. */
const governingOf = (charge: Derivation): readonly Reason[] =>
  charge.governing ?? charge.inputs.find(({ governing }) => governing !== undefined)?.governing ?? [];

export const autonomy = defineCheck({
  id: 'autonomy',
  group: 'storage',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A bank carries its loads for less than the time its `autonomy` demands.',
    guards: 'Loads that go dark, or a generator that must run, before the days without sun or grid are over.',
    how: 'Capacity of all banks on the bus less their `reserve`, over the mean current of the loads with the battery alone (by profile and duty, through the efficiency of inverters, idle draw included; loads that control rules shed count in full). Less than demanded when new and warm is an error; less when aged to 80 % and at the lowest `cellTemperature` is a warning. Lead that states `peukert` and `capacityTime` gives less at a mean current above the one it is rated at, never more below it.',
    fix: 'Add units in parallel, lower the loads, or agree on a shorter time.',
    sources: [
      { standard: 'IEEE 1013 and IEEE 1562: stand-alone sizing', provenance: 'from memory' },
      { standard: 'UPS battery capacity sheet: replaced at 80 % of capacity', provenance: 'published' },
      { standard: 'handbook on uninterruptible supplies: lead capacity by temperature', provenance: 'published' },
    ],
    failing: `design Relay {
  battery Bank : Agm12V100Ah { autonomy: 3 d   cellTemperature: 5..35 degC }
  load Radio { power: 15 W   supply: dc   profile: always }
  run Feed: Bank -> Radio { size: 4 mm2   length: 2 m }
}
`,
    passing: `design Relay {
  battery Bank : Agm12V100Ah { autonomy: 3 d   cellTemperature: 5..35 degC   parallel: 3 }
  load Radio { power: 15 W   supply: dc   profile: always }
  run Feed: Bank -> Radio { size: 4 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const banks of busesOf(context)) yield* judgeBus(banks, context);
  },
});
