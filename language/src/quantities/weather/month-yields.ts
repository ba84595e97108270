import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { MEAN_DAYS, solarModel, solarSource } from '../../reference/energy/index.js';
import { Facts } from '../plant/facts.js';
import { MONTH_NAMES } from '../supply/months.js';
import { arrayPlan, clearnessOf, skyOf } from './array-numbers.js';
import { likelyClearness } from './clearness.js';
import { DaySun } from './day-sun.js';

/** s: the sun is taken as standing still for so long. */
const SLOT = 600;

/** The sum over the slots of a day, W. */
function wattsOf(sun: DaySun, volts: number | undefined): number {
  const [watts, amperes] = [sun.watts[0]!, sun.amperes[0]!];
  let sum = 0;
  for (let at = sun.first; at < sun.end; at += 1)
    sum += volts === undefined ? watts[at]! : Math.min(amperes[at]! * volts, watts[at]!);
  return sum;
}

/**
 * What an array gives on a day of each month, dull and bright days as a play has them averaged, Wh, from the site's clearness index by month: at maximum power, or with `volts` at the
 * voltage of a bank that a switching controller ties it to. The value is that of the poorest month; `parts` has every month by its number.
 */
export function monthYields(array: Instance, volts: number | undefined, context: DesignContext): Result {
  return context.keptFor(YIELDS, array, volts, () => workOut(array, volts, context));
}

const YIELDS = query<readonly [Instance, number | undefined], Result>('yield of an array by month');

function workOut(array: Instance, volts: number | undefined, context: DesignContext): Result {
  const facts = new Facts();
  const plan = arrayPlan(array, 'months', context, facts);
  const latitude = context.siteFact('latitude');
  const ambient = context.siteFact('ambient');
  const clearness = clearnessOf(context, facts);
  const sky = skyOf(context, facts);
  if (!latitude) facts.lack('latitude of the site');
  if (facts.missing.size > 0) return missing(...facts.missing);
  const [refusal] = facts.refused;
  if (refusal !== undefined) return refused(refusal);
  const [albedo] = solarModel('albedo') as [number];
  const north = numberIn(latitude!, 'deg');
  // Solar time: where the clock stands does not change what a day yields.
  const sun = new DaySun(
    {
      mode: 'months',
      latitude: north,
      longitude: 0,
      zoneHours: 0,
      air: ambient ? numberIn(ambient, 'degC') : 25,
      albedo,
      clearness,
      ...sky,
    },
    [plan],
    SLOT,
  );
  const months = MEAN_DAYS.rows.map(({ month, day }): Derivation => {
    const days = likelyClearness(clearness[month - 1]!, sky.daySpread?.[month - 1]);
    let joules = 0;
    for (const each of days) {
      sun.fill(day, each, 0);
      joules += sun.slot * wattsOf(sun, volts);
    }
    return derive(`yield of ${array.name} on a day in ${MONTH_NAMES[month - 1]}`, joules / days.length / 3600, 'Wh', {
      symbol: `W_${array.name}`,
      inputs: [
        derive(`clearness of ${MONTH_NAMES[month - 1]}`, clearness[month - 1]!, '', {
          symbol: 'K_T',
          origin: 'stated',
        }),
        latitude!,
      ],
      source: solarSource('hour-of-day-share'),
      governing: [{ kind: 'month', month }],
      notes: [...facts.assumptions],
    });
  });
  const poorest = months.reduce((so, next) => (numberIn(next, 'Wh') < numberIn(so, 'Wh') ? next : so));
  return known({ ...poorest, parts: Object.fromEntries(months.map((each, month) => [`month${month + 1}`, each])) });
}
