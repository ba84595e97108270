import { numberIn } from '../derivation/index.js';
import { isOneMachine, isSet } from '../model/roles.js';
import type { Instance, Scenario } from '../model/types.js';
import type { DesignContext } from '../model/context.js';
import type { Plan, SourcePlan } from './plan.js';
import type { Preparation } from './prepare-direct.js';

/** What is said of the tank of a machine, whichever of its outlets says it. */
interface TankFacts {
  /** m³; undefined where no outlet states any. */
  readonly tank?: number;
  /** m³ at the start, where a scenario says so. */
  readonly start?: number;
  /** s from the start, ascending; absent where the tank is filled whenever it is empty. */
  readonly refills?: readonly number[];
}

function tankFacts(outlets: readonly Instance[], { tanks, duration }: Scenario, context: DesignContext): TankFacts {
  const stated = tanks.filter(({ of }) => outlets.includes(of));
  const [tank] = outlets.flatMap((each) => context.maybe(each, 'tank') ?? []);
  const [interval] = outlets.flatMap((each) => context.maybe(each, 'refillInterval') ?? []);
  const start = stated.find((each) => each.start)?.start;
  const times =
    stated.find((each) => each.refills)?.refills ?? everyInterval(interval && numberIn(interval, 's'), duration);
  return {
    ...(tank ? { tank: numberIn(tank, 'm3') } : {}),
    ...(start ? { start: numberIn(start, 'm3') } : {}),
    ...((times ?? start) ? { refills: times ?? [] } : {}),
  };
}

function everyInterval(interval: number | undefined, duration = 0): number[] | undefined {
  if (interval === undefined || !(interval > 0)) return undefined;
  return Array.from({ length: Math.ceil(duration / interval) - 1 }, (_, at) => (at + 1) * interval);
}

/** The tank of a set, given why its fuel is not known. `outlets` are those of its machine. */
export function tankPlan(
  outlets: readonly Instance[],
  fuelUnknown: SourcePlan['fuelUnknown'],
  { context, scenario, facts }: Pick<Preparation, 'context' | 'scenario' | 'facts'>,
): Pick<SourcePlan, 'tank' | 'fuelAtStart'> {
  const name = outlets[0]!.name;
  const { tank, start, refills } = tankFacts(outlets, scenario, context);
  if (!refills) return { tank: fuelUnknown ? Infinity : (tank ?? Infinity) };
  // What stops when it has burnt its fuel cannot be simulated without knowing what it burns.
  if (fuelUnknown) facts.number(fuelUnknown, '');
  if (tank === undefined && (start === undefined || refills.length > 0)) return { tank: facts.lack(`tank of ${name}`) };
  if (start === undefined) facts.assume(`the tank of ${name} is full at the start`);
  return { tank: tank ?? start!, fuelAtStart: start ?? tank! };
}

/** When the tanks of a design are filled. */
export function refillsOf(
  sources: readonly Instance[],
  { context, scenario }: { readonly context: DesignContext; readonly scenario: Scenario },
): Plan['refills'] {
  return sources.flatMap((source, at) => {
    if (!isSet(source)) return [];
    const outlets = sources.filter((each) => isOneMachine(each, source));
    if (outlets[0] !== source) return [];
    return (tankFacts(outlets, scenario, context).refills ?? []).map((time) => ({ source: at, at: time }));
  });
}
