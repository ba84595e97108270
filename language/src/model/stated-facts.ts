import type { StatedFacts } from '../equipment/index.js';
import type { Property } from './types.js';

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
