import {
  type JsonNode,
  NO_SETTINGS,
  type PartFolder,
  type ProjectSettings,
  type SettingProblem,
  readSettings,
} from '@wattwright/language';
import ignore from 'ignore';
import { type Node, type ParseError, createScanner, parseTree, printParseErrorCode } from 'jsonc-parser';
import path from 'node:path';
import { isInside } from '../files/inside-by-name.js';

/** Characters and depth of nesting beyond which a text is no project file that anybody wrote. */
const LONGEST = 1_000_000;
const DEEPEST = 20;

/** Something to say of a project file, with its place. Lines and characters count from 0. */
export interface ProjectProblem {
  readonly text: string;
  readonly range: { readonly start: Position; readonly end: Position };
  /** It works all the same. */
  readonly deprecated: boolean;
}

interface Position {
  readonly line: number;
  readonly character: number;
}

/** What a project file says, and what is wrong with it. */
export interface Project {
  /** Absolute paths. */
  readonly file: string;
  readonly folder: string;
  /** The folder that nothing of the project leads out of: the top of the repository, or where none is, its own folder. */
  readonly top: string;
  /** The text of the file; empty where it cannot be read. */
  readonly text: string;
  readonly settings: ProjectSettings;
  readonly problems: readonly ProjectProblem[];
  /** Whether a file is left out where a folder is checked. */
  readonly leavesOut: (file: string) => boolean;
}

/** Reads a project file. Total: a text that is none gives a project that says nothing, and the reason. */
export function projectFrom(
  file: string,
  text: string | { readonly unread: string },
  top: string,
  isThere: (file: string) => boolean = () => true,
): Project {
  const folder = path.dirname(file);
  const unusable = (problem: SettingProblem): Project => ({
    file,
    folder,
    top,
    text: typeof text === 'string' ? text : '',
    settings: NO_SETTINGS,
    problems: [placed(problem, typeof text === 'string' ? text : '')],
    leavesOut: () => false,
  });
  if (typeof text !== 'string') return unusable({ text: `it ${text.unread}`, offset: 0, length: 0 });
  const read = treeOf(text);
  if ('text' in read) return unusable(read);
  const { settings, problems, places } = readSettings(read);
  const outside = [...settings.parts].flatMap(([name, parts]): SettingProblem[] => {
    if ('package' in parts || staysWithin(top, folder, parts.folder)) return [];
    const { offset, length } = places.get(`parts.${name}`)!;
    const held = top === folder ? 'this folder' : 'the repository';
    return [
      {
        text: `the folder of \`${name}\` leads out of ${held}; parts from elsewhere come as a package`,
        offset,
        length,
      },
    ];
  });
  const strayed = settings.tables.flatMap((file, index): SettingProblem[] => {
    const { offset, length } = places.get(`tables.${index}`)!;
    if (!staysWithin(top, folder, file)) return [{ text: 'this file lies outside of the repository', offset, length }];
    if (!file.endsWith('.watt')) return [{ text: 'wiring tables are .watt files', offset, length }];
    return isThere(path.resolve(folder, file)) ? [] : [{ text: 'there is no such file', offset, length }];
  });
  const isSound = (parts: PartFolder): boolean => 'package' in parts || staysWithin(top, folder, parts.folder);
  const leftOut = ignore().add([...settings.exclude]);
  return {
    file,
    folder,
    top,
    text,
    settings: {
      ...settings,
      parts: new Map([...settings.parts].filter(([, parts]) => isSound(parts))),
      tables: strayed.length > 0 ? [] : settings.tables,
    },
    problems: [...problems, ...outside, ...strayed].map((problem) => placed(problem, text)),
    leavesOut: (each) =>
      settings.exclude.length > 0 &&
      isInside(folder, each) &&
      leftOut.ignores(path.relative(folder, each).split(path.sep).join('/')),
  };
}

const staysWithin = (top: string, folder: string, relative: string): boolean => {
  const wanted = path.resolve(folder, relative);
  return wanted === top || isInside(top, wanted);
};

function treeOf(text: string): JsonNode | SettingProblem {
  if (text.length > LONGEST)
    return { text: `it holds more than ${LONGEST / 1e6} million characters`, offset: 0, length: 0 };
  const tooDeep = whereTooDeep(text);
  if (tooDeep !== undefined) return { text: `it is nested more than ${DEEPEST} deep here`, offset: tooDeep, length: 1 };
  if (text.trim() === '') return { text: 'it is empty; write {} where nothing is to be said', offset: 0, length: 0 };
  const errors: ParseError[] = [];
  // A mark of the byte order in front is no part of the text.
  const root: Node | undefined = parseTree(text.replace(/^\uFEFF/, ' '), errors, { disallowComments: true });
  const [first] = errors;
  if (first)
    return {
      text: `it is no JSON text: ${worded(printParseErrorCode(first.error))}`,
      offset: first.offset,
      length: first.length,
    };
  return root ?? { text: 'it is no JSON text', offset: 0, length: 0 };
}

/** Parsers of trees call themselves: a text nested without end would exhaust the stack. */
function whereTooDeep(text: string): number | undefined {
  const scanner = createScanner(text, true);
  let depth = 0;
  for (scanner.scan(); scanner.getTokenOffset() < text.length; scanner.scan()) {
    const at = scanner.getTokenOffset();
    if (text[at] === '{' || text[at] === '[') depth += 1;
    if (text[at] === '}' || text[at] === ']') depth -= 1;
    if (depth > DEEPEST) return at;
  }
  return undefined;
}

/** `CommaExpected` → `comma expected`. */
const worded = (code: string): string => code.replace(/(?<=[a-z])(?=[A-Z])/g, ' ').toLowerCase();

function placed({ text, offset, length, deprecated = false }: SettingProblem, whole: string): ProjectProblem {
  return { text, deprecated, range: { start: positionAt(whole, offset), end: positionAt(whole, offset + length) } };
}

function positionAt(text: string, offset: number): Position {
  const before = text.slice(0, offset).split(/\r\n|\r|\n/);
  return { line: before.length - 1, character: before.at(-1)!.length };
}
