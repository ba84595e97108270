import { callFunction } from '../../calculate/index.js';
import { type Place, deriveFact, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import type { Fix, TextEdit } from '../../checks/define.js';
import { insertText, propose } from '../../checks/fixes.js';
import { classesFor } from '../../checks/conductors/device-ratings.js';
import type { DistanceRule } from '../../checks/conductors/device-distance.js';
import { distanceText } from '../../checks/conductors/device-place.js';
import { type End, type Fed, feedInto, sourcesText } from '../../checks/conductors/feeding.js';
import { type Setup, mostAt } from '../../checks/conductors/sizing.js';
import { editsOf, fixOf, proposeSize, proposeSizes } from './joint-fixes.js';
import { isBank, isDevice } from '../../model/roles.js';
import { calculation } from '../../quantities/calculation.js';
import { largestBranchRating } from '../../quantities/conductors/motor-circuit.js';
import { nodesBehind } from '../../quantities/network/behind.js';
import { ruleValue } from '../../reference/index.js';
import { leastRating } from '../../checks/conductors/protection-need.js';

/** A device name that is still free. */
function freeName(base: string, context: DesignContext): string {
  let name = base;
  for (let count = 2; context.instance(name) || context.system.runs.some((run) => run.name === name); count += 1)
    name = `${base}${count}`;
  return name;
}

const emptyAt = (place: Place, side: 'before' | 'after'): Place =>
  side === 'after'
    ? { ...place, offset: place.end, line: place.endLine, character: place.endCharacter }
    : { ...place, end: place.offset, endLine: place.line, endCharacter: place.character };

/** The class of fuse for a new device on direct current: the weakest that stands the voltage and fault current of the banks that feed it. */
function fuseClass(feed: Fed, rating: number, run: Run, isAtBank: boolean, context: DesignContext): string | undefined {
  if (run.carries !== 'dc') return undefined;
  const joined = context.graph.joinedTo(context.graph.nodeOf(run.from));
  const banks = joined.filter(isBank);
  const voltages = banks.map((bank) => context.quantity(bank, 'highestVoltage'));
  const faults = banks.map((bank) => context.quantity(bank, 'faultCurrent'));
  if (banks.length === 0 || feed.kind === 'open') return undefined;
  if (!voltages.every((each) => each.kind === 'known') || !faults.every((each) => each.kind === 'known'))
    return undefined;
  const volts = Math.max(...voltages.map(({ derivation }) => numberIn(derivation, 'V')));
  const amperes = faults.reduce((sum, { derivation }) => sum + numberIn(derivation, 'A'), 0);
  return classesFor({ device: 'fuse', rating, volts, amperes, isAtBank }, context)[0]?.name;
}

/** The largest rating of the devices that stand first behind a run from which nothing comes back, A; 0 where none does. */
function largestBehind(run: Run, context: DesignContext): number {
  if (feedInto(run, 'far', context).kind !== 'none') return 0;
  const ratings = nodesBehind(run, context.graph).flatMap(({ instance }) => {
    const rating = isDevice(instance) ? context.maybe(instance, 'rating') : undefined;
    return rating ? numberIn(rating, 'A') : [];
  });
  return Math.max(0, ...ratings);
}

/** The smallest rating of a branch circuit of alternating current, A. */
const leastOfBranch = (run: Run, context: DesignContext): number =>
  run.carries === 'ac' && context.system.basis.practice === 'nec'
    ? numberIn(ruleValue('nec', 'smallestBranch'), 'A')
    : 0;

/**
 * The rating of a fuse that a run is to have: what its load needs, what lets the motors behind it start, and no less than the devices behind it
 * where the conductors allow that, so that a fault behind one of them leaves the others their supply.
 */
function neededRating(run: Run, end: End, context: DesignContext): number | undefined {
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known' || numberIn(current.derivation, 'A') === 0) return undefined;
  const basis = deriveFact('basis', context.system.basis.practice, { origin: 'stated' });
  const least = leastRating(run, undefined, context);
  const needed = [
    callFunction(calculation('protectionFor'), { current: current.derivation, basis }),
    least.kind === 'known' ? callFunction(calculation('nextRating'), { current: least.derivation, basis }) : least,
  ];
  const ratings = needed.flatMap((each) => (each.kind === 'known' ? numberIn(each.derivation, 'A') : []));
  if (ratings.length < needed.length) return undefined;
  const ofMotor = largestBranchRating(run, context);
  const rating = Math.max(...ratings, ofMotor ? numberIn(ofMotor, 'A') : 0);
  const size = context.maybe(run, 'size');
  const most = size && mostAt(run, size, context);
  const behind = Math.max(end === 'near' ? largestBehind(run, context) : 0, leastOfBranch(run, context));
  return most?.kind === 'known' && behind <= numberIn(most.derivation, 'A') ? Math.max(rating, behind) : rating;
}

/** Adds a fuse at an end, with rating and class, and with a larger conductor where the fuse that the load needs is too large for it. */
export function addFuse(run: Run, end: End, feed: Fed, rule: DistanceRule | undefined, context: DesignContext): Fix[] {
  if (run.to.length > 1 && end === 'far') return [];
  // In a loop the current, and with it the rating, changes with the size that goes with the rating.
  if (context.graph.sides(run).loop) return [];
  const rating = neededRating(run, end, context);
  if (rating === undefined) return [];
  const proposal = context.maybe(run, 'size') && proposeSize(run, context, { added: rating });
  if (!proposal) return [];
  const { size } = proposal;
  const stop = end === 'near' ? run.from : run.to[0]!;
  const at = distanceText(run, end, rule, context);
  if (at === undefined) return [];
  const name = freeName(`${run.name}Fuse`, context);
  const part = fuseClass(feed, rating, run, isBank(stop.instance), context);
  const edits: TextEdit[] = [
    end === 'near'
      ? { place: emptyAt(stop.place, 'after'), text: ` -> ${name}${at}` }
      : { place: emptyAt(stop.place, 'before'), text: `${name}${at} -> ` },
    ...editsOf(run, proposal),
    insertText(context.system.insert, `fuse ${name} { ${part ? `class: ${part}   ` : ''}rating: ${rating} A }`),
  ];
  return [
    propose(
      `Add a fuse of ${rating} A at the ${stop.instance.name} end of ${run.name}${size ? ` and make it ${size.name}` : ''}`,
      edits,
    ),
  ];
}

/** Makes the conductors large enough for the devices they are fed through, so that these protect them. */
export function suitFeed(run: Run, feed: Fed, context: DesignContext): Fix[] {
  if (feed.kind !== 'limited') return [];
  const amperes = numberIn(feed.current, 'A');
  const suits = ({ size }: Setup): boolean => {
    const most = mostAt(run, size, context);
    return most?.kind === 'known' && numberIn(most.derivation, 'A') >= amperes * (1 - 1e-9);
  };
  if (!context.maybe(run, 'size')) return [];
  return proposeSizes(run, context, { accepts: suits }).map((proposal) => {
    const { title, ...rest } = fixOf(run, proposal);
    return { ...rest, title: `${title}, which ${sourcesText(feed)} can protect` };
  });
}
