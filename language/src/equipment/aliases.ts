/**
 * Second words that mean a property as well as its own name does, whatever the kind: what one practice writes `earth`, another writes
 * `ground`. Both are read as the first; a text keeps the word of its author.
 */
const PROPERTY_ALIASES: Readonly<Record<string, string>> = {
  ground: 'earth',
  earthFault: 'groundFault',
  breakingCapacity: 'interruptRating',
  equalize: 'equalise',
};

/** Second words that mean a value: `fuel: gasoline` is `fuel: petrol`. */
const WORD_ALIASES: Readonly<Record<string, string>> = {
  gasoline: 'petrol',
  aluminum: 'aluminium',
};

const own = (aliases: Readonly<Record<string, string>>, word: string): string =>
  Object.hasOwn(aliases, word) ? aliases[word]! : word;

/** The name of the property that a word means; the word itself where it is no second one. */
export const canonicalProperty = (word: string): string => own(PROPERTY_ALIASES, word);

/** The word of the language that a value means; the word itself where it is no second one. */
export const canonicalWord = (word: string): string => own(WORD_ALIASES, word);

const aliasesOf = (aliases: Readonly<Record<string, string>>, name: string): string[] =>
  Object.keys(aliases).filter((alias) => aliases[alias] === name);

/** Other words that are read as a property of this name. */
export const aliasesOfProperty = (name: string): string[] => aliasesOf(PROPERTY_ALIASES, name);

/** Other words that are read as a value of this name. */
export const aliasesOfWord = (word: string): string[] => aliasesOf(WORD_ALIASES, word);
