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
