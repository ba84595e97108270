import { type PartArgument, callFunction } from '../../calculate/index.js';
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { type PropertyName } from '../../equipment/index.js';
import { partArgument } from '../../model/lower/property-facts.js';
import { isBreaker, isConnection, ownDeviceOf, ownDeviceTitle } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import { calculation } from '../calculation.js';
import type { QuantityContext } from '../define.js';

/** What something in the way of a current carries for hours. */
export interface ContinuousLimit {
  readonly current: Derivation;
  readonly title: string;
  /** Whether the limit is of a plug made to North American standards, which the 80 % is a rule for. */
  readonly isNorthAmerican: boolean;
}

function plugOf(owner: Instance, property: string): PartArgument | undefined {
  const value = owner.properties.get(property)?.value;
  return value?.type === 'part' ? partArgument(value.part) : undefined;
}

const isNorthAmerican = (owner: Instance, property: string): boolean => {
  const value = owner.properties.get(property)?.value;
  const practices = value?.type === 'part' ? value.part.properties.get('basis')?.value : undefined;
  return practices?.type === 'words' && practices.words.includes('nec');
};

/** The property that states the breaker built into a source, where it states one. */
export function ownBreaker(instance: Instance): PropertyName | undefined {
  const device = ownDeviceOf(instance);
  return device?.as === 'breaker' && instance.properties.has(device.rating) ? device.rating : undefined;
}

/** What a run's breakers, receptacles, plugs and the outlet of its source carry continuously. */
export function continuousLimits(run: Run, context: QuantityContext): ContinuousLimit[] {
  const limits: ContinuousLimit[] = [];
  const share = ruleValue('nec', 'plugContinuousShare');
  const eighty = (rating: Derivation, title: string): void => {
    limits.push({
      current: derive('continuous current', numberIn(rating, 'A') * numberIn(share, ''), 'A', {
        formula: '0.8·rating',
        inputs: [share, rating],
      }),
      title,
      isNorthAmerican: false,
    });
  };
  const plug = (owner: Instance, property: string, title: string): void => {
    const part = plugOf(owner, property);
    const result = part && callFunction(calculation('plugContinuous'), { plug: part });
    if (result?.kind === 'known')
      limits.push({
        current: result.derivation,
        title: title.replace('%', part!.name),
        isNorthAmerican: isNorthAmerican(owner, property),
      });
  };
  const stops = [run.from, ...run.through, ...run.to];
  for (const { instance } of stops) {
    const rating = context.maybe(instance, 'rating');
    if (isBreaker(instance) && rating && context.maybe(instance, 'fullRating')?.value !== true)
      eighty(rating, `breaker ${instance.name}`);
    if (isConnection(instance)) {
      plug(instance, 'plug', `the % receptacle ${instance.name}`);
      plug(instance, 'outlet', `the % outlet of ${instance.name}`);
      if (!instance.properties.has('plug') && rating) eighty(rating, `receptacle ${instance.name}`);
      continue;
    }
    plug(instance, 'plug', `the % plug of ${instance.name}`);
    plug(instance, 'outlet', `the % outlet of ${instance.name}`);
    const breaker = ownBreaker(instance);
    const held = breaker && context.maybe(instance, breaker);
    if (held && context.maybe(instance, 'fullRating')?.value !== true) eighty(held, ownDeviceTitle(instance));
  }
  return limits.sort((a, b) => numberIn(a.current, 'A') - numberIn(b.current, 'A'));
}
