/** Text that stands in Markdown as it is, whatever characters it holds; line ends become spaces, and addresses do not become links. */
export const escapeMarkdown = (text: string): string =>
  oneLine(text)
    .replace(/[\\`*_[\]<>#|~$@]/g, (character) => (character === '<' ? '&lt;' : `\\${character}`))
    .replace(/:(?=\/\/)/g, '\\:')
    .replace(/www\./gi, (word) => `${word.slice(0, -1)}\\.`);

const oneLine = (text: string): string => text.replace(/\s*[\r\n]+\s*/g, ' ');

/** A longer comment, in characters, is shown in part: nobody reads more under a cursor. */
const LONGEST_COMMENT = 8000;

/** Addresses that a reader of Markdown may make a link of by itself. */
const ADDRESS = /(?:\b[a-z][a-z0-9+.-]*:\/\/|\bwww\.)[^\s`<>()[\]]*[^\s`<>()[\].,;:!?]/gi;

/**
 * A doc comment as Markdown. It may come from a stranger: paragraphs, lists and code within a line are kept, images and HTML are left out,
 * and of links the text and the address are shown; nothing in it is fetched or can be followed.
 */
export function commentMarkdown(comment: string): string {
  const shown = comment.length > LONGEST_COMMENT ? `${comment.slice(0, LONGEST_COMMENT)} …` : comment;
  return shown
    .split(/\r\n?|\n/)
    .map(commentLine)
    .join('\n');
}

function commentLine(line: string): string {
  const [, indent, mark, rest] = /^(\s*)((?:[-*+]|\d{1,3}[.)])\s+)?(.*)$/su.exec(line)!;
  const bullet = mark === undefined ? '' : /^[-*+]/.test(mark) ? '- ' : mark;
  // Deeper than this, lines would become blocks of code.
  const depth = Math.min(2, indent!.length);
  // Odd pieces stand between backticks. Everything else is escaped, so that no mark but those made here has an effect.
  const pieces = rest!.split(/(`[^`]+`)/);
  const inline = pieces.map((piece, index) => (index % 2 === 1 ? code(piece.slice(1, -1)) : proseText(piece)));
  return `${' '.repeat(mark === undefined ? 0 : depth)}${bullet}${inline.join('')}`;
}

/** Prose without images and HTML, with links as text and address, and addresses as code. */
function proseText(prose: string): string {
  const words = prose
    .replace(/!\[([^\]]*)\](?:\([^)]*\)|\[[^\]]*\])?/g, '$1')
    .replace(/<(?:\/?[a-z!?][^<>]*)>/gi, (tag) => /^<([a-z][a-z0-9+.-]*:[^\s<>]*)>$/i.exec(tag)?.[1] ?? '')
    .replace(/\[([^\]]*)\]\(([^)\s]*)[^)]*\)/g, '$1 $2');
  let end = 0;
  const parts: string[] = [];
  for (const { 0: address, index } of words.matchAll(ADDRESS)) {
    parts.push(escapeMarkdown(words.slice(end, index)), code(address));
    end = index + address.length;
  }
  return [...parts, escapeMarkdown(words.slice(end))].join('');
}

/** Prose of the project's own documentation: Markdown in it is meant, but a table must not break. */
export const cell = (text: string): string => text.replace(/\s*[\r\n]+\s*/g, ' ').replaceAll('|', '\\|');

/** An inline code span, also for text that holds backticks or line ends: one that goes over a blank line would end there. */
export function code(given: string): string {
  const text = oneLine(given);
  const longest = Math.max(0, ...[...text.matchAll(/`+/g)].map((run) => run[0].length));
  if (longest === 0 && text.trim() !== '') return `\`${text}\``;
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
