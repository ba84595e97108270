/** A place in a text as the lexer counts it: lines and characters from zero, a line ending with either sign or both. */
export interface Position {
  readonly line: number;
  readonly character: number;
}

/** The position of a place, counted on from an earlier one. */
export function positionAt(
  text: string,
  offset: number,
  from = 0,
  begin: Position = { line: 0, character: 0 },
): Position {
  let { line } = begin;
  let lineStart = from - begin.character;
  const ends = /\n|\r\n?/g;
  ends.lastIndex = from;
  for (let end = ends.exec(text); end && end.index < offset; end = ends.exec(text)) {
    line += 1;
    lineStart = end.index + end[0].length;
  }
  return { line, character: offset - lineStart };
}
