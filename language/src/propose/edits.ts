import type { TextEdit } from '../checks/define.js';
import { lineEndOf } from '../syntax/format.js';

/** One change of a text: what stands from `start` to `end` becomes `text`. */
export interface Edit {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

export const overlaps = (left: Edit, right: Edit): boolean =>
  left.start === right.start || (left.start < right.end && right.start < left.end);

/** Puts edits that do not overlap into a text. */
export function edited(text: string, edits: readonly Edit[]): string {
  let out = '';
  let at = 0;
  for (const { start, end, text: replacement } of [...edits].sort((left, right) => left.start - right.start)) {
    out += text.slice(at, start) + replacement;
    at = end;
  }
  return out + text.slice(at);
}

/** What a change writes ends its lines as the file does. */
export const inLinesOf = (file: string, edits: readonly Edit[]): Edit[] => {
  const lineEnd = lineEndOf(file);
  return edits.map((edit) => ({ ...edit, text: edit.text.replace(/\r?\n/g, lineEnd) }));
};

/** Whether it puts something in and takes nothing away. */
export const isInsertion = ({ start, end }: Edit): boolean => start === end;

/** The edits of a change in one file; undefined where it reaches into another one, or where its edits overlap. */
export function editsIn(uri: string, file: string, edits: readonly TextEdit[]): readonly Edit[] | undefined {
  if (edits.length === 0 || edits.some(({ place }) => place.uri !== uri)) return undefined;
  const own = edits.map(({ place, text }) => ({ start: place.offset, end: place.end, text }));
  // What one change inserts at one place stands there in its order.
  const clash = own.some((edit, index) =>
    own.slice(index + 1).some((other) => overlaps(edit, other) && !(isInsertion(edit) && isInsertion(other))),
  );
  return clash ? undefined : inLinesOf(file, own);
}

/** A text in which each character knows where it stood at first; -1 for new ones. */
interface Traced {
  readonly text: string;
  readonly from: readonly number[];
}

function traced({ text, from }: Traced, edits: readonly Edit[]): Traced {
  const next: number[] = [];
  let at = 0;
  for (const { start, end, text: replacement } of [...edits].sort((left, right) => left.start - right.start)) {
    for (; at < start; at += 1) next.push(from[at]!);
    for (let count = 0; count < replacement.length; count += 1) next.push(-1);
    at = end;
  }
  for (; at < from.length; at += 1) next.push(from[at]!);
  return { text: edited(text, edits), from: next };
}

/** Two changes one after the other as one change of the first text; `second` counts in the text that `first` gives. */
export function composed(text: string, first: readonly Edit[], second: readonly Edit[]): readonly Edit[] {
  const start: Traced = { text, from: Array.from({ length: text.length }, (_, index) => index) };
  const after = traced(traced(start, first), second);
  const edits: Edit[] = [];
  let behind = 0;
  let fresh = '';
  const close = (until: number): void => {
    if (until > behind || fresh !== '') edits.push({ start: behind, end: until, text: fresh });
    fresh = '';
  };
  for (const [index, origin] of after.from.entries()) {
    if (origin < 0) {
      fresh += after.text[index]!;
      continue;
    }
    if (origin !== behind || fresh !== '') close(origin);
    behind = origin + 1;
  }
  close(text.length);
  return edits;
}
