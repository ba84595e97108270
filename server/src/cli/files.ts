import ignore, { type Ignore } from 'ignore';
import { type Dirent, readdirSync, statSync } from 'node:fs';
import path from 'node:path';
import { isReallyInside } from '../files/inside.js';
import { Unreadable, decoded, irregular, readBytes, readText as readRegular } from '../files/read-text.js';
import { repositoryOf } from '../project/of-machine.js';
import type { Projects } from '../project/projects.js';
import { CallError, reason } from './call-error.js';
import { projectsOfCall } from './projects.js';
import { safeText } from './output/safe-text.js';
import { shownPath } from './shown-path.js';

/** Ending of a design file. */
export const DESIGN_FILE = '.watt';

/** A text to work on: from a file or from standard input. */
export interface SourceFile {
  /** Absolute path; for standard input the path its stated name would have. */
  readonly path: string;
  readonly text: string;
  readonly isStandardInput: boolean;
  /** The folder that was named and that it was found in; its own folder where it was named itself. */
  readonly within: string;
}

const hasGlob = (text: string): boolean => /[*?[{]/.test(text);

/** One folder's ignore rules. */
interface Rules {
  readonly folder: string;
  readonly rules: Ignore;
}

function rulesOf(folder: string): Rules | undefined {
  const file = path.join(folder, '.gitignore');
  try {
    return { folder, rules: ignore().add(readRegular(file)) };
  } catch {
    return undefined;
  }
}

/** Ignore rules of the folders above, up to the repository's own; none when `folder` is itself ignored, since it was asked for by name. */
function rulesAbove(folder: string): readonly Rules[] {
  const repository = repositoryOf(folder);
  if (!repository || repository === folder) return [];
  const above: Rules[] = [];
  for (let at = path.dirname(folder); ; at = path.dirname(at)) {
    const rules = rulesOf(at);
    if (rules) above.unshift(rules);
    if (at === repository) break;
  }
  return isIgnored(folder, true, above) ? [] : above;
}

function isIgnored(absolute: string, isFolder: boolean, rules: readonly Rules[]): boolean {
  // The nearest rules decide first, as git has it.
  for (const { folder, rules: own } of [...rules].reverse()) {
    const relative = path.relative(folder, absolute).split(path.sep).join('/');
    const { ignored, unignored } = own.test(isFolder ? `${relative}/` : relative);
    if (ignored) return true;
    if (unignored) return false;
  }
  return false;
}

const NEVER_ENTERED = new Set(['node_modules', '.git']);

function walk(folder: string, rules: readonly Rules[], visit: (file: string, isLink: boolean) => void): void {
  const own = rulesOf(folder);
  const here = own ? [...rules, own] : rules;
  let entries: Dirent[];
  try {
    entries = readdirSync(folder, { withFileTypes: true });
  } catch (error) {
    throw new CallError(`cannot read the folder ${shownPath(folder)}: ${reason(error)}`);
  }
  for (const entry of entries) {
    const absolute = path.join(folder, entry.name);
    // Links to folders are not followed, so that a walk always ends.
    if (entry.isDirectory()) {
      if (!NEVER_ENTERED.has(entry.name) && !entry.name.startsWith('.') && !isIgnored(absolute, true, here))
        walk(absolute, here, visit);
    } else if (entry.name.endsWith(DESIGN_FILE) && isFile(entry, absolute) && !isIgnored(absolute, false, here)) {
      visit(absolute, entry.isSymbolicLink());
    }
  }
}

function isFile(entry: Dirent, absolute: string): boolean {
  if (!entry.isSymbolicLink()) return entry.isFile();
  try {
    return statSync(absolute).isFile();
  } catch {
    return false;
  }
}

/**
 * Every design file of a folder, without those that are ignored or that their project leaves out, and without links that lead out of it, which
 * are told to `leftOut`.
 */
export function filesIn(
  folder: string,
  projects: Projects = projectsOfCall(),
  leftOut: (link: string) => void = () => undefined,
): string[] {
  const found: string[] = [];
  walk(folder, rulesAbove(folder), (file, isLink) => {
    if (projects.of(file)?.leavesOut(file)) return;
    if (isLink && !isReallyInside(folder, file)) leftOut(file);
    else found.push(file);
  });
  return found;
}

const tellLeftOut = (link: string): void => {
  process.stderr.write(
    `wattwright: ${safeText(shownPath(link))} leads out of the folder that was named and is left out; name it to read it\n`,
  );
};

/** A file to read, with the folder that was named and that it was found in. */
type Found = Pick<SourceFile, 'path' | 'within'>;

const alone = (file: string): Found => ({ path: file, within: path.dirname(file) });

async function expand(asked: string, cwd: string, projects: Projects): Promise<Found[]> {
  const absolute = path.resolve(cwd, asked);
  let stats;
  try {
    stats = statSync(absolute);
  } catch (error) {
    if (!hasGlob(asked)) throw new CallError(`cannot read ${asked}: ${reason(error)}`);
    // A pattern the shell has left alone.
    const { glob } = await import('tinyglobby');
    const matches = await glob(asked, { cwd, absolute: true, ignore: ['**/node_modules/**'] });
    const designs = matches.filter((match) => match.endsWith(DESIGN_FILE)).map((match) => path.normalize(match));
    if (designs.length === 0) throw new CallError(`no ${DESIGN_FILE} file matches ${asked}; check the pattern`);
    return designs.map(alone);
  }
  if (stats.isDirectory()) {
    const designs = filesIn(absolute, projects, tellLeftOut);
    if (designs.length === 0) {
      const folder = asked === '.' ? 'this folder' : asked;
      throw new CallError(
        `there is no ${DESIGN_FILE} file in ${folder}; name a file, or start a design with \`wattwright new DIR\``,
      );
    }
    return designs.map((file) => ({ path: file, within: absolute }));
  }
  if (!asked.endsWith(DESIGN_FILE))
    throw new CallError(`${asked} is not a ${DESIGN_FILE} file; name a design file or a folder`);
  const what = irregular(stats);
  if (what) throw new CallError(`${asked} is ${what}; only regular files are read`);
  return [alone(absolute)];
}

function readStandardInput(): string {
  try {
    return decoded(readBytes(0));
  } catch (error) {
    if (error instanceof Unreadable) throw new CallError(`standard input ${error.message}`);
    throw new CallError(`cannot read standard input: ${reason(error)}`);
  }
}

export function readText(absolute: string): string {
  try {
    return readRegular(absolute);
  } catch (error) {
    if (error instanceof Unreadable) throw new CallError(`${shownPath(absolute)} ${error.message}`);
    throw new CallError(`cannot read ${shownPath(absolute)}: ${reason(error)}`);
  }
}

export interface SourceOptions {
  /** File name that stands for standard input. */
  readonly standardInputName?: string;
  /** Whether standard input may be empty: nothing is laid out as nothing, but checks clean only by mistake. */
  readonly mayBeEmpty?: boolean;
  readonly cwd?: string;
}

/** The files named by PATH arguments, sorted by path, each once. `-` is standard input. */
export async function sourceFiles(
  asked: readonly string[],
  { standardInputName = 'stdin.watt', mayBeEmpty = false, cwd = process.cwd() }: SourceOptions = {},
): Promise<SourceFile[]> {
  const found = new Map<string, Found>();
  const projects = projectsOfCall();
  for (const one of asked.length > 0 ? asked : ['.']) {
    if (one === '-') continue;
    // Found in several folders that were named, it counts with the widest.
    for (const each of await expand(one, cwd, projects)) {
      const before = found.get(each.path);
      if (!before || each.within.length < before.within.length) found.set(each.path, each);
    }
  }
  const files = [...found.values()]
    .sort((left, right) => (left.path < right.path ? -1 : 1))
    .map((file) => ({ ...file, text: readText(file.path), isStandardInput: false }));
  if (!asked.includes('-')) return files;
  const text = readStandardInput();
  if (text.trim() === '' && !mayBeEmpty)
    throw new CallError('standard input is empty; pipe a design into it, or name a file');
  const named = path.resolve(cwd, standardInputName);
  return [{ ...alone(named), text, isStandardInput: true }, ...files.filter((file) => file.path !== named)];
}
