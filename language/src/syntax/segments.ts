/**
 * Where a text can be taken apart without reading it: behind the brackets that close a member of a design or a declaration. What stands between
 * two such places is read alone as it is read within the whole, so that after an edit only the segment around it is read again.
 */

import { withoutWords } from './islands.js';

/** What a place in a text is behind: the head of a design, one of its members, the whole design, or another declaration. */
export type MarkKind = 'head' | 'member' | 'design' | 'declaration';

/** A place behind a bracket at which a text can be taken apart. */
export interface Mark {
  readonly at: number;
  readonly kind: MarkKind;
}

/** The beginning of a text, where a declaration may stand as behind another. */
export const BEGINNING: Mark = { at: 0, kind: 'declaration' };

/** Whether members of a design can stand behind a mark. */
export const isWithinDesign = ({ kind }: Mark): boolean => kind === 'head' || kind === 'member';

const NAME = String.raw`[A-Za-z_\u00C0-\u024F][\w\u00C0-\u024F-]*`;
const HEAD_OF_DESIGN = new RegExp(String.raw`(?:^|\s)design\s+${NAME}\s*(?:"(?:\\.|[^"\\\n\r])*"\s*)?$`);

/** Texts in quotes, comments, and the brackets of bodies. A comment that nothing closes is none. */
const pieces = (): RegExp => /"(?:\\.|[^"\\\n\r])*"|\/\/[^\n\r]*|\/\*[^]*?(?:\*\/|$)|[{}]/g;

/** A body or table may be followed by a further value, which belongs to the same member. */
const BEGINS_MEMBER = /^(?:\s|\/\/[^\n\r]*|\/\*[^]*?\*\/)*[A-Za-z_\u00C0-\u00D6\u00D8-\u00F6\u00F8-\u017F}]/;
/** How far what follows a bracket is looked at before it is taken for a text that cannot be taken apart there. */
const LOOKED_AT = 2000;

/** Whether the member behind a mark begins before a place of its text. */
export const beginsBefore = (text: string, at: number, place: number): boolean =>
  BEGINS_MEMBER.test(text.slice(at, Math.min(place, at + LOOKED_AT)));

/**
 * The marks of a text behind one of its marks, in their order. Ends with `unbalanced` where brackets do not go together or a comment is not
 * closed: such a text is read as a whole. May be left off at any mark.
 */
export function* marksBehind(text: string, { at: from, kind }: Mark): Generator<Mark, 'balanced' | 'unbalanced'> {
  const found = pieces();
  found.lastIndex = from;
  let isDesign = isWithinDesign({ at: from, kind });
  let depth = isDesign ? 1 : 0;
  // Where the declaration began whose bracket is looked for.
  let start = from;
  for (let match = found.exec(text); match; match = found.exec(text)) {
    const [piece] = match;
    const at = match.index + piece.length;
    if (piece.startsWith('/*') && (piece.length < 4 || !piece.endsWith('*/'))) return 'unbalanced';
    if (piece === '{') {
      depth += 1;
      if (depth > 1) continue;
      isDesign = HEAD_OF_DESIGN.test(withoutWords(text.slice(start, match.index)));
      if (isDesign) yield { at, kind: 'head' };
    } else if (piece === '}') {
      depth -= 1;
      if (depth < 0) return 'unbalanced';
      if (depth === 0) {
        yield { at, kind: isDesign ? 'design' : 'declaration' };
        isDesign = false;
        start = at;
      } else if (depth === 1 && isDesign && BEGINS_MEMBER.test(text.slice(at, at + LOOKED_AT)))
        yield { at, kind: 'member' };
    }
  }
  return depth === 0 ? 'balanced' : 'unbalanced';
}

/** A stretch between two marks: members of a design, or declarations of the file. */
export interface Segment {
  readonly from: number;
  readonly to: number;
  readonly holds: 'members' | 'declarations';
  /** Where the body of the design begins that it is in, or that stands before it. */
  readonly body: number;
}

/** The segment that a mark ends; none behind a head, which is not read alone. */
export function segmentBetween(before: Mark, { at, kind }: Mark, body: number): Segment | undefined {
  if (kind === 'head') return undefined;
  const holds = kind === 'declaration' ? 'declarations' : 'members';
  return { from: before.at, to: kind === 'design' ? at - 1 : at, holds, body };
}

/** All marks of a text; undefined for one that has to be read as a whole. */
export function marksOf(text: string): Mark[] | undefined {
  const marks: Mark[] = [BEGINNING];
  const finding = marksBehind(text, BEGINNING);
  for (;;) {
    const next = finding.next();
    if (next.done) return next.value === 'balanced' ? marks : undefined;
    marks.push(next.value);
  }
}
