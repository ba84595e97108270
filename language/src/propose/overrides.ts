import type { TextEdit } from '../checks/define.js';
import { type Edit, editsIn, inLinesOf } from './edits.js';

/** Names that may stand as they are. */
const PLAIN = /^[\p{L}_][\p{L}\p{N}_]*$/u;

/**
 * A change of a design that is written in another file, as what its variant in this file says instead: `Line.size = 4 AWG`. `close` is where
 * the closing brace of the variant stands. What stands in this file already is changed there. Undefined where the change is more than
 * properties of things.
 */
export function asOverrides(
  uri: string,
  file: string,
  close: number,
  edits: readonly TextEdit[],
): readonly Edit[] | undefined {
  if (edits.length === 0 || file[close] !== '}') return undefined;
  const isHere = ({ place }: TextEdit): boolean => place.uri === uri;
  const here = edits.some(isHere) ? editsIn(uri, file, edits.filter(isHere)) : [];
  const there = insertion(
    file,
    close,
    edits.filter((edit) => !isHere(edit)),
  );
  return here && there && [...here, ...inLinesOf(file, [there])];
}

function insertion(file: string, close: number, edits: readonly TextEdit[]): Edit | undefined {
  const lines: string[] = [];
  for (const { gives } of edits) {
    if (!gives || gives.some(({ thing }) => !PLAIN.test(thing))) return undefined;
    lines.push(...gives.map(({ thing, property, text }) => `${thing}.${property} = ${text}`));
  }
  const before = file.slice(0, close);
  const indent = /(^|\n)([ \t]*)$/.exec(before);
  // A brace on a line of its own: a line before it for each; else beside what stands there.
  if (indent) {
    const start = close - indent[2]!.length;
    const text = lines.map((line) => `${indent[2]!}  ${line}\n`).join('');
    return { start, end: start, text };
  }
  const end = before.trimEnd().length;
  const gap = before[end - 1] === '{' ? ' ' : '   ';
  return { start: end, end: close, text: `${gap}${lines.join('   ')} ` };
}

/** Where a place of a text stands once edits before it have been made. */
export const shifted = (offset: number, edits: readonly Edit[]): number =>
  edits
    .filter(({ end }) => end <= offset)
    .reduce((at, { start, end, text }) => at + text.length - (end - start), offset);
