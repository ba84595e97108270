/*
 * Small texts with marks. `//- name.watt` begins a file, `$0` is the cursor, and a comment line with carets announces what the line
 * above must show:
 *
 *     run Feed: Bank -> Inv.dc { length: 6 m   size: 16 mm2 }
 *     //  ^^^^ warning voltage-drop: loses
 */

export interface Position {
  readonly line: number;
  readonly character: number;
}

/** What a line of carets announces. */
export interface Announced {
  readonly line: number;
  readonly from: number;
  readonly to: number;
  readonly severity: string;
  readonly check: string;
  /** Must be part of the message. */
  readonly message: string;
}

export interface FixtureFile {
  readonly name: string;
  /** Without the cursor; lines of carets stay, as comments. */
  readonly text: string;
  readonly cursor?: Position;
  readonly announced: readonly Announced[];
}

const FILE = /^\/\/- (\S+)$/;
const CARETS = /^\s*\/\/\s*(\^+)\s*(\S+) ([\w-]+)(?::\s*(.*))?$/;

/** The files of a fixture; a text without `//-` is one file of that name. */
export function parseFixture(text: string, name = 'design.watt'): FixtureFile[] {
  const files: { name: string; lines: string[] }[] = [];
  for (const line of text.split('\n')) {
    const begins = FILE.exec(line);
    if (begins) files.push({ name: begins[1]!, lines: [] });
    else {
      if (files.length === 0) files.push({ name, lines: [] });
      files.at(-1)!.lines.push(line);
    }
  }
  return files.map(({ name: file, lines }) => parseFile(file, lines));
}

function parseFile(name: string, lines: readonly string[]): FixtureFile {
  let cursor: Position | undefined;
  const announced: Announced[] = [];
  let subjectLine = 0;
  const plain = lines.map((line, index) => {
    const at = line.indexOf('$0');
    if (at >= 0) cursor = { line: index, character: at };
    const carets = CARETS.exec(line);
    if (carets) {
      const from = line.indexOf('^');
      announced.push({
        line: subjectLine,
        from,
        to: from + carets[1]!.length,
        severity: carets[2]!,
        check: carets[3]!,
        message: carets[4] ?? '',
      });
    } else subjectLine = index;
    return line.replace('$0', '');
  });
  return { name, text: plain.join('\n'), announced, ...(cursor ? { cursor } : {}) };
}

/** The one file of a fixture that holds the cursor. */
export function withCursor(text: string): FixtureFile & { readonly cursor: Position } {
  const file = parseFixture(text).find((candidate) => candidate.cursor);
  if (!file?.cursor) throw new Error('the fixture has no $0');
  return { ...file, cursor: file.cursor };
}
