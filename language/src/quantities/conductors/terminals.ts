import { type Derivation, numberIn, withFacts } from '../../derivation/index.js';
import { wordIn } from '../../model/stated-facts.js';
import { isDevice } from '../../model/roles.js';
import type { Run, Stop } from '../../model/types.js';
import { sameSize } from '../../quantity/index.js';
import { ruleValue } from '../../reference/index.js';
import type { QuantityContext } from '../define.js';

const stopsOf = (run: Run): readonly Stop[] => [run.from, ...run.through, ...run.to];

const cooler = (left: Derivation, right: Derivation): Derivation =>
  numberIn(right, 'degC') < numberIn(left, 'degC') ? right : left;

/** The gear at and along a run that does not say what its terminals are rated for. */
const unmarkedGear = (run: Run, context: QuantityContext): readonly Stop[] =>
  stopsOf(run).filter(({ instance }) => !context.maybe(instance, 'terminals'));

/**
 * Whether NEC 110.14(C)(1)(a) counts, which asks 60 °C of terminals that are not marked: circuits of 100 A and less by their device, else
 * by the conductors they are marked for, 14 to 1 AWG.
 */
function isSmallCircuit(run: Run, size: Derivation, context: QuantityContext): boolean {
  const ratings = stopsOf(run).flatMap(({ instance }) =>
    isDevice(instance) ? (context.maybe(instance, 'rating') ?? []) : [],
  );
  if (ratings.length > 0)
    return (
      Math.min(...ratings.map((rating) => numberIn(rating, 'A'))) <= numberIn(ruleValue('nec', 'smallCircuit'), 'A')
    );
  const largest = numberIn(ruleValue('nec', 'smallCircuitLargest'), 'mm2');
  const area = numberIn(size, 'mm2');
  return area <= largest || sameSize(area, largest);
}

/** Flexible cords have ampacities that no column of terminals is below (NEC Table 400.5(A)(1)); portable power cables have not. */
function isFlexibleCord(run: Run): boolean {
  const value = run.properties.get('type')?.value;
  if (value?.type !== 'part' || value.part.kind !== 'cord') return false;
  return wordIn(value.part.properties, 'ampacityTable') !== 'power-cable';
}

/** What the code asks of terminals that nobody has read the marking of. */
function unmarked(run: Run, size: Derivation, context: QuantityContext): Derivation {
  const isSmall = !isFlexibleCord(run) && isSmallCircuit(run, size, context);
  return withFacts(ruleValue('nec', isSmall ? 'terminalUnmarked' : 'terminalDefault'), {
    name: `terminals of ${run.name}`,
    fact: 'terminals',
    origin: 'default',
    notes: [
      isSmall
        ? 'not stated: NEC 110.14(C) reads 60 degC up to 100 A unless the gear is marked 75 degC; read the marking'
        : 'not stated: NEC 110.14(C) reads 75 degC above 100 A',
    ],
  });
}

/**
 * The lowest temperature rating of the terminals a run meets, with conductors of a size: its own statement, and what the gear at and along
 * it states; where neither speaks for all of them, under nec what the code asks of unmarked ones. Under iec and craft terminals limit only
 * where the design says so.
 */
export function terminalsOf(run: Run, size: Derivation, context: QuantityContext): Derivation | undefined {
  const own = context.maybe(run, 'terminals');
  const gear = stopsOf(run).flatMap(({ instance }) => context.maybe(instance, 'terminals') ?? []);
  const isOpen = context.system.basis.practice === 'nec' && !own && unmarkedGear(run, context).length > 0;
  const counted = [...gear, ...(own ? [own] : []), ...(isOpen ? [unmarked(run, size, context)] : [])];
  const [first, ...rest] = counted;
  return first && rest.reduce(cooler, first);
}

/** Whether the terminals of a run are taken for 60 °C because nothing says that they are marked for more. */
export function areUnmarked(run: Run, size: Derivation, context: QuantityContext): boolean {
  const taken = terminalsOf(run, size, context);
  return (
    taken?.origin === 'default' &&
    numberIn(taken, 'degC') < numberIn(ruleValue('nec', 'terminalDefault'), 'degC') - 1e-6
  );
}
