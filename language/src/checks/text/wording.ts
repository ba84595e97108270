/** `a`, `a or b`, `a, b or c`; names in code marks. Long lists are cut. */
export function oneOf(names: readonly string[], most = 8): string {
  const marked = names.slice(0, most).map((name) => `\`${name}\``);
  if (names.length > most) return `${marked.join(', ')} …`;
  return marked.length < 2 ? (marked[0] ?? '') : `${marked.slice(0, -1).join(', ')} or ${marked.at(-1)}`;
}

/** A text from a design as it may stand in a message: control characters out, cut at a length that fits. */
export function quoted(text: string, most = 60): string {
  const plain = [...text].filter((letter) => letter >= ' ' && letter !== '\u007f').join('');
  const letters = [...plain];
  return `\`${letters.length > most ? `${letters.slice(0, most).join('')}…` : plain}\``;
}

/** The first few names, and how many more there are: `A, B and 3 more`. */
export function firstFew(names: readonly string[], most = 3): string {
  if (names.length > most) return `${names.slice(0, most).join(', ')} and ${names.length - most} more`;
  return names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}

/** The way round a circle, from its beginning back to it; the middle of a long one is left out. */
export const wayRound = (steps: readonly string[], most = 6): string =>
  (steps.length > most ? [...steps.slice(0, most - 2), '…', ...steps.slice(-1)] : steps).join(' → ');

/** With a capital letter in front. */
export const capital = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** Without the full stop at its end. */
export const withoutStop = (text: string): string => text.replace(/[.\s]+$/, '');
