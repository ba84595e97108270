import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Scenario } from '../../model/types.js';
import { meanLoad } from '../../quantities/storage/storage.js';
import { collect } from '../../quantities/worst.js';
import { formatNumber } from '../../quantity/index.js';
import { type Played, type ScenarioResult, columnsOfSignal, sampled } from '../../simulate/index.js';
import { defineCheck, type Verdict, atMost, atLeast, points } from '../define.js';
import { busesOf, namesOf } from '../storage/shared.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { isArray, sourceOf } from '../../model/roles.js';
import { refusedOutside } from '../../quantities/plant/cell-limits.js';
import { driveOf } from '../../quantities/plant/drive.js';
import { bringingTo, monthBalance } from '../../quantities/weather/balance.js';
import { ORIGINS } from '../../equipment/index.js';

const DAY = 86400;

/** A day's balance of banks that only the sun and driven sources charge, month by month. */
function* judgeBus(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [bank] = banks as readonly [Instance, ...Instance[]];
  const { sources, others } = bringingTo(bank, context);
  const isUnknown = context.system.instances.some((each) => {
    const source = sourceOf(each);
    return source !== undefined && ORIGINS[source.from].comes === 'unknown' && !driveOf(each);
  });
  // With a charger on a supply or an engine, or with what nobody has by month, the days are not reckoned.
  if (sources.length === 0 || others.length > 0 || isUnknown) return;
  const arrays = sources.filter(isArray);
  const driven = sources.filter((each) => !isArray(each));
  const origins = [...new Set(sources.map((each) => ORIGINS[sourceOf(each)!.from].title))];
  const brings = `${origins.join(' and ')} ${origins.length > 1 ? 'bring' : 'brings'}`;
  const load = meanLoad(bank, context);
  if (load.kind !== 'known') return yield notChecked(bank, load);
  if (numberIn(load.derivation, 'A') <= 0) return;
  const balance = monthBalance(bank, context);
  if ('kind' in balance) return yield notChecked(bank, balance);
  const { wanted } = balance;
  const months = balance.brought.map((each) => ({ ...each, name: `what ${brings} on a day` }));
  const short = months.filter((each) => numberIn(each, 'Wh') < numberIn(wanted, 'Wh') * (1 - 1e-9));
  const poorest = months.reduce((so, next) => (numberIn(next, 'Wh') < numberIn(so, 'Wh') ? next : so));
  if (short.length === 0) {
    // What is brought in while the cells take no charge is of no use, and when that is nobody has stated.
    const outside = refusedOutside(banks, 'charge', context);
    return yield outside
      ? notChecked(bank, outside)
      : passed(bank, atLeast(poorest, wanted), { given: poorest, wanted });
  }
  const [given, asked] = pairText(poorest, wanted);
  const arrayPowers = collect(arrays.map((array) => context.quantity(array, 'arrayPower')));
  const times = numberIn(wanted, 'Wh') / Math.max(numberIn(poorest, 'Wh'), 1e-9);
  const more =
    arrayPowers.ok && driven.length === 0 && numberIn(poorest, 'Wh') > 0
      ? derive(
          'power of the modules that would do',
          arrayPowers.derivations.reduce((sum, each) => sum + numberIn(each, 'W'), 0) * times,
          'W',
        )
      : undefined;
  const names = short.map((each) => governingText(each) ?? '');
  const when = short.length === 12 ? 'in every month' : `in ${firstFew(names, 12)}`;
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: arrays.length > 0 ? placeOf(arrays[0]!, 'power') : driven[0]!.place,
    headline: `${namesOf(banks)} needs ${asked} a day; ${brings} ${given} in ${governingText(poorest)}`,
    why: `the daily balance is negative ${when}`,
    consequence: 'the state of charge falls from day to day',
    advice: more
      ? `Fit modules of ${displayValue(more, 3)} in the same place, use less, or charge from another source as well.`
      : 'Use less, or charge from another source as well.',
    use: atLeast(poorest, wanted),
    numbers: { given: poorest, wanted, ...(more ? { power: more } : {}) },
    related: [{ place: bank.place, text: `${bank.name} is charged by ${origins.join(' and ')} alone` }],
  };
}

/** Days from which a play shows a season, and not the dark days it was made for. */
const SEASON = 14;
/** Share of charge by which the mean must sink from third to third. Rules of thumb. */
const SINKS = 0.03;

function meanOf(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let at = from; at < to; at += 1) sum += values[at]!;
  return sum / (to - from);
}

/** Banks whose mean charge sinks from third to third of a play of some weeks. */
function* judgePlay(scenario: Scenario, result: ScenarioResult, context: DesignContext): Generator<Verdict> {
  const days = result.duration / DAY;
  const unserved = result.measure({ what: 'unserved' });
  // Where loads went without, the bank stopped sinking because it was empty: `scenario-unserved` tells that.
  if (days < SEASON || (unserved.kind === 'known' && numberIn(unserved.derivation, 'Wh') > 1)) return;
  for (const column of columnsOfSignal(result, 'soc')) {
    const values = sampled(result.series, column.values, 3600, result.duration);
    const third = Math.floor(values.length / 3);
    const means = [0, 1, 2].map((part) => meanOf(values, part * third, (part + 1) * third)) as [number, number, number];
    const [first, middle, last] = means;
    const before = derive(`mean charge of ${column.of.name} in the first third`, first, '');
    const after = derive(`mean charge of ${column.of.name} in the last third`, last, '');
    const fall = derive(
      `fall of the mean charge of ${column.of.name} from third to third`,
      Math.min(first - middle, middle - last),
      '',
    );
    const use = atMost(fall, derive('largest fall that counts as level', SINKS, ''));
    if (first - middle < SINKS || middle - last < SINKS) {
      yield passed(scenario, use, { before, after });
      continue;
    }
    const perDay = (first - last) / ((days * 2) / 3);
    const left = derive('time until it is empty', (last / perDay) * DAY, 's');
    const energy = context.quantity(column.of, 'energy');
    const lacks =
      energy.kind === 'known'
        ? derive('what is missing on a day', perDay * numberIn(energy.derivation, 'Wh'), 'Wh', {
            formula: 'Δcharge·W_bank/days',
            inputs: [before, after, energy.derivation],
          })
        : undefined;
    const percent = (value: number): string => `${formatNumber(value * 100, 3)} %`;
    yield {
      verdict: 'failed',
      subject: scenario.path,
      place: scenario.place,
      headline: `In ${scenario.name} the charge of ${column.of.name} falls from ${percent(first)} to ${percent(last)}`,
      why: `means of the first, middle and last third: ${percent(first)}, ${percent(middle)}, ${percent(last)}`,
      consequence: `empty ${displayValue(left, 2)} later at this rate`,
      advice: `${lacks ? `Charge ${displayValue(lacks, 3)} a day more` : 'Charge it more'}, or use less.`,
      use,
      numbers: { before, after, ...(lacks ? { lacks } : {}) },
      related: [{ place: column.of.place, text: `${column.of.name} is never filled again` }],
    };
  }
}

export const energyDeficit = defineCheck({
  id: 'energy-deficit',
  group: 'requirements',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'The loads use more in a day than sun and water deliver in some month, or a bank sinks from week to week of a simulation.',
    guards: 'Systems that work in summer and are dead in December, and larger banks bought where modules are missing.',
    how: points(
      'The mean day of each month, and simulations of two weeks or more.',
      'Without simulating, for banks that only arrays and hydro turbines charge: what these give on the mean day of each month, against the mean load for 24 h over the charge efficiency of the chemistry. Any month below is a finding. Banks with another source are left to scenarios.',
      'An array: Klein’s mean days, the site’s `clearness` by month, tilted to its plane; hot modules, a share for dirt and mismatch, and the efficiency of the controller are counted.',
      'A turbine: 24 h at what its water gives in that month.',
      'Not checked without `clearness` and `latitude` of the site, nor where the balance holds and `cellTemperature` goes beyond what the cells may be charged at.',
      'In a simulated scenario of 14 days or more: a bank whose mean charge sinks by 3 points and more from the first third to the middle one and again to the last (rules of thumb), unless loads go unserved, which `scenario-unserved` reports. Shorter simulations are dark days on purpose, and their requirements say what they must yield.',
    ),
    fix: 'Add modules or another source for that month, lower the loads, or state the generator runs that make up for it.',
    sources: [
      { standard: 'Klein: mean days of the months; Erbs; Liu and Jordan; Hay and Davies', provenance: 'published' },
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Relay {
  site { latitude: 47 deg   longitude: 8 deg   altitude: 900 m   ambient: -10..25 degC
    clearness: { 1: 0.38, 2: 0.44, 3: 0.46, 4: 0.47, 5: 0.48, 6: 0.50, 7: 0.53, 8: 0.52, 9: 0.50, 10: 0.43, 11: 0.36, 12: 0.33 } }
  solar Array { power: 200 W   openCircuitVoltage: 24 V   shortCircuitCurrent: 11 A   tilt: 60 deg   azimuth: 180 deg }
  chargeController Box { tracking: mppt   absorb: 14.2 V   efficiency: 96 %   maximumCurrent: 20 A }
  battery Bank : Lfp12V200Ah
  load Radio { power: 20 W   supply: dc   profile: always }
  run Line: Array -> Box.solar { size: 6 mm2   length: 5 m }
  run Out: Box.dc -> Bank { size: 10 mm2   length: 2 m }
  run Feed: Bank -> Radio { size: 2.5 mm2   length: 2 m }
}
`,
    passing: `design Relay {
  site { latitude: 47 deg   longitude: 8 deg   altitude: 900 m   ambient: -10..25 degC
    clearness: { 1: 0.38, 2: 0.44, 3: 0.46, 4: 0.47, 5: 0.48, 6: 0.50, 7: 0.53, 8: 0.52, 9: 0.50, 10: 0.43, 11: 0.36, 12: 0.33 } }
  solar Array { power: 200 W   openCircuitVoltage: 24 V   shortCircuitCurrent: 11 A   tilt: 60 deg   azimuth: 180 deg }
  chargeController Box { tracking: mppt   absorb: 14.2 V   efficiency: 96 %   maximumCurrent: 20 A }
  battery Bank : Lfp12V200Ah
  load Radio { power: 6 W   supply: dc   profile: always }
  run Line: Array -> Box.solar { size: 6 mm2   length: 5 m }
  run Out: Box.dc -> Bank { size: 10 mm2   length: 2 m }
  run Feed: Bank -> Radio { size: 2.5 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const banks of busesOf(context)) yield* judgeBus(banks, context);
  },
  judgePlayed: function* (context, scenario, played: Played) {
    // What a play lacks is named by `scenario-unserved`.
    if (played.kind === 'played') yield* judgePlay(scenario, played.result, context);
  },
});
