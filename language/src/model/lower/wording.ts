import type { Place } from '../../derivation/index.js';

/** A text that is being written may lack a name where the tree says there is one. */
export const nameOf = ({ name }: { readonly name?: string }): string => name ?? 'without a name';

/** `a bank`, `an inverter`. */
export const article = (kind: string): string => (/^[aeiou]/.test(kind) ? `an ${kind}` : `a ${kind}`);

/** From the start of one place to the end of another. */
export const joined = (from: Place, to: Place): Place => ({
  ...from,
  end: to.end,
  endLine: to.endLine,
  endCharacter: to.endCharacter,
});
