import type { Analysis } from '../analyse/types.js';
import type { Thing } from '../model/types.js';
import type { Quantity } from '../quantity/index.js';

/** What the things of a design cost together, as far as prices are given. */
export interface PriceOf {
  /** Things that could have a price and have none, where any has one. */
  readonly unpriced: number;
  readonly price: number;
  /** The currency; absent where there is no price, or where there are several currencies. */
  readonly unit?: string;
}

const NO_PRICE: PriceOf = { unpriced: 0, price: 0 };

const quantityIn = ({ properties }: Thing, name: string): Quantity | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'quantity' ? value.quantity : undefined;
};

/** How many pieces of a thing there are: units in series times strings in parallel, or as many as it says. */
const piecesOf = (thing: Thing): number =>
  thing.kind === 'run' || thing.kind === 'link' || thing.kind === 'control'
    ? 1
    : ['series', 'parallel', 'count'].reduce((product, name) => product * (quantityIn(thing, name)?.value ?? 1), 1);

/** The sum over a design; amounts of several currencies are not added. */
export function priceOf({ designs }: Analysis): PriceOf {
  const [design] = designs;
  if (!design) return NO_PRICE;
  const { instances, runs } = design.system;
  const priced = [...instances, ...runs].flatMap((thing) => {
    const price = quantityIn(thing, 'price');
    return price ? [{ price, pieces: piecesOf(thing) }] : [];
  });
  const [first] = priced;
  if (!first) return NO_PRICE;
  const unpriced = instances.length - instances.filter((thing) => quantityIn(thing, 'price')).length;
  if (priced.some(({ price }) => price.dimension !== first.price.dimension)) return NO_PRICE;
  const price = priced.reduce((sum, each) => sum + each.price.value * each.pieces, 0);
  const unit = first.price.unit?.symbol;
  return { unpriced, price, ...(unit === undefined ? {} : { unit }) };
}
