import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';

/** Fuels in words for everybody; the practice says `gasoline` in its own. */
const FUELS: Readonly<Record<string, string>> = {
  petrol: 'gasoline',
  diesel: 'diesel',
  propane: 'propane (LPG)',
  naturalGas: 'natural gas from its line',
};

export const fuelOf = (set: Instance): string | undefined => FUELS[wordIn(set.properties, 'fuel') ?? ''];

/** What is done with a fuel: how it is filled, and what happens to it while the generator stands (common practice, no source). */
interface FuelAdvice {
  readonly filling: string;
  readonly resting: string;
}

const BY_HAND = 'Let it cool before you fill it. Keep fuel away from the bank and from rooms where people sleep.';

const ADVICE: Readonly<Record<string, FuelAdvice>> = {
  petrol: {
    filling: BY_HAND,
    resting:
      'run it until its fuel line is empty, or keep its fuel usable as its manual says: old fuel does not start it.',
  },
  diesel: {
    filling: BY_HAND,
    resting: 'fill its tank, so that no water gathers in it, with fuel that stands the cold.',
  },
  propane: {
    filling: 'Change bottles outdoors, away from flames, and look for leaks with soapy water.',
    resting: 'close the valve at the bottle or tank.',
  },
  naturalGas: {
    filling: 'Nothing is filled. Whoever smells gas goes out, and calls from there.',
    resting: 'close the valve of its line.',
  },
};

const UNKNOWN: FuelAdvice = { filling: BY_HAND, resting: 'leave its fuel as its manual says.' };

export const fuelAdviceOf = (set: Instance): FuelAdvice => ADVICE[wordIn(set.properties, 'fuel') ?? ''] ?? UNKNOWN;
