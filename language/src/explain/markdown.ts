/** Text that stands in Markdown as it is, whatever characters it holds; line ends become spaces. */
export const escapeMarkdown = (text: string): string =>
  text
    .replace(/\s*[\r\n]+\s*/g, ' ')
    .replace(/[\\`*_[\]<>#|~$]/g, (character) => (character === '<' ? '&lt;' : `\\${character}`));

/** Prose of the project's own documentation: Markdown in it is meant, but a table must not break. */
export const cell = (text: string): string => text.replace(/\s*[\r\n]+\s*/g, ' ').replaceAll('|', '\\|');

/** An inline code span, also for text that holds backticks. */
export function code(text: string): string {
  const longest = Math.max(0, ...[...text.matchAll(/`+/g)].map((run) => run[0].length));
  if (longest === 0) return `\`${text}\``;
  const fence = '`'.repeat(longest + 1);
  return `${fence} ${text} ${fence}`;
}

export function fenced(text: string, language: string): string {
  const longest = Math.max(2, ...[...text.matchAll(/`+/g)].map((run) => run[0].length));
  const fence = '`'.repeat(longest + 1);
  return `${fence}${language}\n${text.replace(/\s+$/, '')}\n${fence}`;
}

export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.map(cell).join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

/** The address of a heading within a page, as the usual Markdown renderers make it. */
export const anchor = (heading: string): string =>
  heading
    .toLowerCase()
    .replace(/[^\p{L}\p{N}\s_-]/gu, '')
    .replace(/\s/g, '-');

/** A page from its blocks: one empty line between, one line end at the end. */
export const page = (blocks: readonly string[]): string => `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
