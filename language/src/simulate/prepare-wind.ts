import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Scenario } from '../model/types.js';
import { driveByMonth, windDriveOf } from '../quantities/plant/drive.js';
import type { Facts } from '../quantities/plant/facts.js';
import { turbineNumbers, windIn, windShape } from '../quantities/weather/wind.js';
import type { Weather } from '../quantities/weather/plans.js';
import type { TurbinePlan, WindPlan } from './plan.js';
import { zoneOf } from './prepare-sun.js';

const MONTHS = Array.from({ length: 12 }, (_, month) => month + 1);

const STILL: WindPlan = {
  mode: 'none',
  speedByMonth: [],
  shape: 2,
  persistence: 0,
  swing: 0,
  yearSpread: 0,
  zoneHours: 0,
};

/** The wind of a play and the turbines in it, as numbers. */
export function windPlans(
  turbines: readonly Instance[],
  scenario: Scenario,
  context: DesignContext,
  facts: Facts,
  weather: Weather | undefined,
): { readonly wind: WindPlan; readonly turbines: readonly TurbinePlan[] } {
  if (turbines.length === 0) return { wind: STILL, turbines: [] };
  const mode = weather?.wind ? 'file' : (scenario.wind ?? (scenario.sun === 'months' ? 'months' : undefined));
  if (mode === undefined) {
    if (weather) facts.assume(`the weather file ${scenario.weather} has no wind in every row`);
    facts.lack(`wind of ${scenario.name}`);
  }
  const plans = turbines.map((turbine) => ({
    ...turbineNumbers(turbine, windDriveOf(turbine)!, context, facts),
    meanByMonth: Float64Array.from(mode === 'months' ? MONTHS : [], (month) =>
      facts.number(driveByMonth(turbine, 'middle', context)![month - 1]!, 'W'),
    ),
  }));
  return { wind: windPlan(mode ?? 'none', scenario, context, facts, weather), turbines: plans };
}

function windPlan(
  mode: WindPlan['mode'],
  scenario: Scenario,
  context: DesignContext,
  facts: Facts,
  weather: Weather | undefined,
): WindPlan {
  const site = (name: string): number => {
    const stated = context.siteFact(name);
    return stated ? facts.of(stated, '') : 0;
  };
  const longitude = context.siteFact('longitude');
  return {
    mode,
    speedByMonth: mode === 'months' ? MONTHS.map((month) => facts.number(windIn(month, context), 'm/s')) : [],
    shape: numberIn(windShape(context), ''),
    persistence: site('windPersistence'),
    swing: site('windSwing'),
    yearSpread: site('windYearSpread'),
    zoneHours:
      weather?.kind === 'hours'
        ? zoneOf(scenario, longitude ? facts.of(longitude, 'deg') : 15 * weather.zoneHours, context, facts)
        : 0,
    ...(mode === 'file' && weather ? { weather } : {}),
  };
}
