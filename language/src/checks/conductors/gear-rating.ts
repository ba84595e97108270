import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { standardRatings } from '../../reference/index.js';
import { type Fix, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, pairText, placeOf, whyOf } from '../verdicts.js';

/** The smallest standard rating that is enough: gear is made in other steps too, but hardly between these. */
function largerRating(thing: Instance, property: Rated['property'], amperes: number, context: DesignContext): Fix[] {
  const rating = standardRatings(context.system.basis.practice).find((each) => each >= amperes * (1 - 1e-9));
  return rating === undefined
    ? []
    : [
        propose(
          `Choose ${thing.name} with a ${property === 'rating' ? 'rating' : 'transfer rating'} of ${rating} A`,
          [setProperty(thing, property, `${rating} A`)],
          true,
        ),
      ];
}

/** Which rating is held against which current. */
interface Rated {
  readonly property: 'rating' | 'transferRating';
  readonly quantity: 'current' | 'transferCurrent';
}

const OF_GEAR: Rated = { property: 'rating', quantity: 'current' };
export const OF_RELAY: Rated = { property: 'transferRating', quantity: 'transferCurrent' };

/** Holds the rating of a thing against the current that goes through it in its worst state. `what` says how the current gets there. */
export function* judgeRating(
  thing: Instance,
  what: string,
  context: DesignContext,
  { property, quantity }: Rated = OF_GEAR,
): Generator<Verdict> {
  const isWired = context.graph.nodesOf(thing).some((node) => context.graph.segmentsAt(node).length > 0);
  if (!isWired) return;
  const rating = context.fact(thing, property);
  if (rating.kind !== 'known') return yield notChecked(thing, rating);
  const current = context.quantity(thing, quantity);
  if (current.kind !== 'known') return yield notChecked(thing, current);
  const numbers = { current: current.derivation, limit: rating.derivation };
  const amperes = numberIn(current.derivation, 'A');
  const use = atMost(current.derivation, rating.derivation);
  if (amperes <= numberIn(rating.derivation, 'A') * (1 + 1e-9)) return yield passed(thing, use, numbers);
  const [carries, rated] = pairText(current.derivation, rating.derivation);
  const fixes = largerRating(thing, property, amperes, context);
  const terms = current.derivation.inputs.filter(({ unit }) => unit === 'A');
  const parts = terms.length > 1 ? firstFew(terms.map((term) => `${displayValue(term, 3)} ${term.name}`)) : undefined;
  yield {
    verdict: 'failed',
    subject: thing.path,
    place: placeOf(thing, property),
    headline: `${carries} ${what} ${thing.name}; it is rated ${rated}`,
    ...whyOf(parts, governingText(current.derivation)),
    advice: 'Use one with a larger rating, or lead part of the current past it.',
    use,
    numbers,
    fixes,
  };
}
