import type { AstNode, ParseResult } from 'langium';
import * as ast from '../grammar/generated/ast.js';
import { type Edit, editBetween } from './edit-between.js';
import { type Graft, grafted } from './graft.js';
import { type Parse, blanked } from './islands.js';
import {
  type ReadSegment,
  bodyNode,
  contentOf,
  errorsWithin,
  isBracket,
  isFaulty,
  readSegment,
} from './segment-reader.js';
import {
  type Mark,
  type Segment,
  beginsBefore,
  isWithinDesign,
  marksBehind,
  marksOf,
  segmentBetween,
} from './segments.js';

/** With more faulty segments than this a text is read as a whole. */
const MOST_FAULTY = 8;

/** How a text is taken apart, and what is wrong in its segments. */
interface Layout {
  readonly text: string;
  readonly marks: readonly Mark[];
  /** Segments that cannot be read without an error, by the number of the mark that ends them. */
  readonly faulty: ReadonlyMap<number, ReadSegment>;
}

/** Layouts by tree; a tree whose parts are used in another has none any more. */
const layouts = new WeakMap<AstNode, Layout | 'used up'>();

/** Where the body begins in which each mark stands, or behind which: the last head up to it. */
function bodiesOf(marks: readonly Mark[]): number[] {
  let body = 0;
  return marks.map(({ kind, at }) => (kind === 'head' ? (body = at) : body));
}

/** The segment that ends at a mark; none of the first, and none of a head. */
function segmentAt(marks: readonly Mark[], index: number, bodies: readonly number[]): Segment | undefined {
  const before = marks[index - 1];
  return before && segmentBetween(before, marks[index]!, bodies[index]!);
}

/** Where the body of a design begins. */
const bodyOf = ({ $cstNode }: ast.Design): number | undefined =>
  $cstNode && contentOf(bodyNode($cstNode)).find(isBracket('{'))?.end;

/** The design whose body begins at a place. */
const designAt = ({ declarations }: ast.File, body: number): ast.Design | undefined =>
  declarations.find((each): each is ast.Design => ast.isDesign(each) && bodyOf(each) === body);

/** Whether the designs that the marks tell of are in a tree. */
function fits(marks: readonly Mark[], { declarations }: ast.File): boolean {
  const bodies = new Set(declarations.filter(ast.isDesign).map(bodyOf));
  return marks.every(({ kind, at }) => kind !== 'head' || bodies.has(at));
}

function layoutOf(result: ParseResult): Layout | undefined {
  const file = result.value;
  const known = layouts.get(file);
  if (known) return known === 'used up' ? undefined : known;
  const text = ast.isFile(file) && !isFaulty(result) ? file.$cstNode?.root.fullText : undefined;
  const marks = text === undefined ? undefined : marksOf(text);
  if (text === undefined || !marks || !fits(marks, file as ast.File)) return undefined;
  const layout: Layout = { text, marks, faulty: new Map() };
  layouts.set(file, layout);
  return layout;
}

function resultOf(file: ast.File, layout: Layout, { lexerReport }: ParseResult): ParseResult {
  layouts.set(file, layout);
  const { text, marks, faulty } = layout;
  const bodies = bodiesOf(marks);
  const errors = [...faulty]
    .sort(([left], [right]) => left - right)
    .map(([index, read]) => errorsWithin(text, segmentAt(marks, index, bodies)!, read));
  return {
    value: file,
    lexerErrors: errors.flatMap(({ lexerErrors }) => lexerErrors),
    parserErrors: errors.flatMap(({ parserErrors }) => parserErrors),
    ...(lexerReport ? { lexerReport } : {}),
  };
}

/**
 * A faulty text of which everything but a few segments can be read as it stands: these are read, and mended, each by itself, so that a slip
 * costs nothing outside of its segment. Undefined where it cannot be told which segments they are.
 */
export function readBySegments(text: string, whole: ParseResult, parse: Parse): ParseResult | undefined {
  const marks = marksOf(text);
  if (!marks) return undefined;
  const bodies = bodiesOf(marks);
  const segments = marks.map((_, index) => segmentAt(marks, index, bodies));
  const faulty = new Map<number, ReadSegment>();
  let [sound, result] = [text, whole];
  while (isFaulty(result)) {
    const before = faulty.size;
    for (const index of faultyIn(result, segments)) {
      if (faulty.has(index)) continue;
      const read = readSegment(text, segments[index]!, parse);
      if (!read) return undefined;
      if (!isFaulty(read)) continue;
      faulty.set(index, read);
      sound = blanked(sound, segments[index]!.from, segments[index]!.to);
    }
    if (faulty.size === before || faulty.size > MOST_FAULTY) return undefined;
    result = parse(sound);
  }
  const mended = result.value;
  if (!ast.isFile(mended) || !fits(marks, mended)) return undefined;
  let file: ast.File = mended;
  for (const [index, read] of faulty) {
    const segment = segments[index]!;
    const { from, to, holds, body } = segment;
    const grafts: Graft[] = [{ segment, read }];
    file = grafted(file, holds === 'members' ? designAt(file, body) : undefined, {
      from,
      to,
      before: text,
      text,
      end: to,
      grafts,
    });
  }
  return resultOf(file, { text, marks, faulty }, result);
}

/** Segments in which errors stand. */
function faultyIn({ lexerErrors, parserErrors }: ParseResult, segments: readonly (Segment | undefined)[]): Set<number> {
  const places = [...lexerErrors.map(({ offset }) => offset), ...parserErrors.map(({ token }) => token.startOffset)];
  return new Set(
    places.flatMap((place) => {
      const index = segments.findIndex((segment) => segment && segment.from <= place && place < segment.to);
      return index < 0 ? [] : [index];
    }),
  );
}

/** The marks that an edit leaves as they are, and those that come between them. */
interface Remarked {
  /** The last mark before and the first behind, by their numbers in the text before. */
  readonly first: number;
  readonly last: number;
  /** What stands in place of those between them, and of the last. */
  readonly marks: readonly Mark[];
}

function remarked(layout: Layout, text: string, { from, oldEnd, newEnd }: Edit): Remarked | undefined {
  const { marks: old } = layout;
  // A bracket before on the same line may come to stand in quotes, and whether there is a mark behind a member hangs on what follows.
  const lineStart = layout.text.lastIndexOf('\n', from - 1) + 1;
  const first = old.findLastIndex(
    ({ at, kind }) => at <= lineStart && (kind !== 'member' || beginsBefore(layout.text, at, from)),
  );
  const by = newEnd - oldEnd;
  const atEnds = new Map(old.slice(first + 1).map((mark, index) => [mark.at + by, { mark, index: first + 1 + index }]));
  const marks: Mark[] = [];
  for (const mark of marksBehind(text, old[first]!)) {
    marks.push(mark);
    const same = mark.at >= newEnd ? atEnds.get(mark.at) : undefined;
    if (same && same.mark.kind === mark.kind) return { first, last: same.index, marks };
  }
  return undefined;
}

/**
 * The tree of a text that was made of another by an edit, taken over from the tree of before but for the segments that the edit touches. Says the
 * same as reading the whole; undefined where that has to be done. Uses up the tree of before.
 */
export function readEdited(
  previous: ParseResult,
  text: string,
  parse: Parse,
  /** Whether the limits of a whole text cannot be reached by pieces such as this. */
  isModest: (piece: string) => boolean,
): ParseResult | undefined {
  const layout = layoutOf(previous);
  if (!layout) return undefined;
  const change = remarked(layout, text, editBetween(layout.text, text));
  if (!change) return undefined;
  const { first, last } = change;
  const by = text.length - layout.text.length;
  const old = layout.marks;
  const isWithin = isWithinDesign(old[first]!);
  const isPlain = ({ kind }: Mark, isLast: boolean): boolean =>
    isWithin ? kind === 'member' || (kind === 'design' && isLast) : kind === 'declaration';
  const areOnlySegments = (marks: readonly Mark[]): boolean =>
    marks.every((mark, index) => isPlain(mark, index === marks.length - 1));
  if (!areOnlySegments(change.marks) || !areOnlySegments(old.slice(first + 1, last + 1))) return undefined;

  const marks = [
    ...old.slice(0, first + 1),
    ...change.marks,
    ...old.slice(last + 1).map(({ at, kind }) => ({ at: at + by, kind })),
  ];
  const bodies = bodiesOf(marks);
  const further = change.marks.length - (last - first);
  const faulty = new Map<number, ReadSegment>();
  for (const [index, read] of layout.faulty)
    if (index <= first) faulty.set(index, read);
    else if (index > last) faulty.set(index + further, read);
  const grafts: Graft[] = [];
  for (let index = first + 1; index <= first + change.marks.length; index += 1) {
    const segment = segmentAt(marks, index, bodies)!;
    const read = isModest(text.slice(segment.from, segment.to)) ? readSegment(text, segment, parse) : undefined;
    if (!read) return undefined;
    if (isFaulty(read)) faulty.set(index, read);
    grafts.push({ segment, read });
  }
  if (faulty.size > MOST_FAULTY) return undefined;
  const file = previous.value as ast.File;
  layouts.set(file, 'used up');
  const changed = grafted(file, isWithin ? designAt(file, bodies[first]!) : undefined, {
    from: old[first]!.at,
    to: segmentBetween(old[last - 1]!, old[last]!, 0)!.to,
    before: layout.text,
    text,
    end: grafts.at(-1)!.segment.to,
    grafts,
  });
  return resultOf(changed, { text, marks, faulty }, previous);
}
