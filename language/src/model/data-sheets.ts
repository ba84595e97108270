import type { Property } from './types.js';

/*
 * What the ratings of a part say of one another whatever design it stands in. By what the words mean, so that no source is needed: a surge
 * rating is what goes beyond the continuous one, an open-circuit voltage is the highest that a module gives.
 */

/** Of two ratings of one part the first never exceeds the second; `below`: they are never equal either. */
interface Order {
  readonly lower: string;
  readonly higher: string;
  readonly below?: true;
}

const CHARGING: readonly Order[] = [
  { lower: 'float', higher: 'absorb' },
  { lower: 'absorb', higher: 'equalise' },
  { lower: 'currentLimit', higher: 'maximumCurrent' },
];
const STARTING: readonly Order[] = [{ lower: 'rated', higher: 'surge' }];

const ORDERS: Readonly<Record<string, readonly Order[]>> = {
  battery: [
    { lower: 'protectionLow', higher: 'protectionHigh', below: true },
    { lower: 'maximumDischarge', higher: 'peakDischarge' },
  ],
  solar: [
    { lower: 'maximumPowerVoltage', higher: 'openCircuitVoltage', below: true },
    { lower: 'maximumPowerCurrent', higher: 'shortCircuitCurrent', below: true },
  ],
  charger: CHARGING,
  chargeController: CHARGING,
  inverter: [...STARTING, ...CHARGING],
  generator: STARTING,
};

/** The ratings without which nothing can be said of a part of a kind: of each group one. What a charger gives is often a setting, which designs state. */
const NEEDED: Readonly<Record<string, readonly (readonly string[])[]>> = {
  battery: [['voltage'], ['capacity']],
  solar: [['power'], ['openCircuitVoltage'], ['shortCircuitCurrent']],
  inverter: [['rated', 'apparent']],
  generator: [['rated', 'apparent']],
  chargeController: [['maximumCurrent', 'currentLimit']],
};

/** Two ratings that cannot both be right. */
export interface Contradiction {
  readonly lower: Property;
  readonly higher: Property;
  readonly isBelow: boolean;
}

type Properties = ReadonlyMap<string, Property>;

/** Pairs of ratings of a part that contradict each other whatever values their ranges take. */
export const contradictionsIn = (kind: string, properties: Properties): Contradiction[] =>
  (ORDERS[kind] ?? []).flatMap(({ lower: first, higher: second, below }) => {
    const [lower, higher] = [properties.get(first), properties.get(second)];
    if (lower?.value.type !== 'quantity' || higher?.value.type !== 'quantity') return [];
    const [least, most] = [lower.value.quantity.low, higher.value.quantity.high];
    return least > most || (below && least === most) ? [{ lower, higher, isBelow: below ?? false }] : [];
  });

/** Ratings that a part lacks and that no design can do without; those that are stated wrongly are no lack. */
export const lackingIn = (kind: string, properties: Properties, wrong: readonly string[]): string[] =>
  (NEEDED[kind] ?? [])
    .filter((names) => !names.some((name) => properties.has(name) || wrong.includes(name)))
    .map((names) => names.join(' or '));
