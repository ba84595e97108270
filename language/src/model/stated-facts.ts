import type { StatedFacts } from '../equipment/index.js';
import type { Instance, Part, Property } from './types.js';

type Properties = ReadonlyMap<string, Property>;

export const wordIn = (properties: Properties, name: string): string | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'word' ? value.word : undefined;
};

export const flagIn = (properties: Properties, name: string): boolean | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'flag' ? value.flag : undefined;
};

/** What a thing states, as its kind asks for it. */
export const statedFacts = (properties: Properties): StatedFacts => ({
  has: (name) => properties.has(name),
  word: (name) => wordIn(properties, name),
  flag: (name) => flagIn(properties, name),
});

/** How many steps up the line of parts that extend each other a property is stated: 0 for the part itself. */
export function stepsTo(part: Part, property: string): number {
  const origin = part.properties.get(property)?.inheritedFrom;
  let steps = 0;
  if (origin === undefined) return steps;
  for (let at: Part | undefined = part; at && at.name !== origin; at = at.base) steps += 1;
  return steps;
}

/** How far from a thing one of its facts is stated: 0 by itself, 1 by its part, more by what that part extends; undefined where it is not. */
export function distanceOf(thing: Instance, property: string): number | undefined {
  const fact = thing.properties.get(property);
  if (!fact || fact.origin === 'default') return undefined;
  if (fact.inheritedFrom === undefined) return 0;
  return thing.part ? 1 + stepsTo(thing.part, property) : 1;
}
