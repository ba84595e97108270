import ignore, { type Ignore } from 'ignore';
import { type Dirent, existsSync, readFileSync, readdirSync, realpathSync, statSync } from 'node:fs';
import { chmod, open, realpath, rename, stat, unlink } from 'node:fs/promises';
import path from 'node:path';
import { CallError, reason } from './call-error.js';

/** Ending of a design file. */
export const DESIGN_FILE = '.watt';

/** A text to work on: from a file or from standard input. */
export interface SourceFile {
  /** Absolute path; for standard input the path its stated name would have. */
  readonly path: string;
  readonly text: string;
  readonly isStandardInput: boolean;
}

const hasGlob = (text: string): boolean => /[*?[{]/.test(text);

/** The name of a path as output shows it: relative to the working folder, with `/`. */
export function shownPath(absolute: string, cwd = process.cwd()): string {
  const relative = path.relative(cwd, absolute);
  return (relative === '' ? '.' : relative).split(path.sep).join('/');
}

/** One folder's ignore rules. */
interface Rules {
  readonly folder: string;
  readonly rules: Ignore;
}

function rulesOf(folder: string): Rules | undefined {
  const file = path.join(folder, '.gitignore');
  try {
    return { folder, rules: ignore().add(readFileSync(file, 'utf8')) };
  } catch {
    return undefined;
  }
}

/** The folder that holds `.git`, at or above `folder`. */
export function repositoryOf(folder: string): string | undefined {
  for (let at = folder; ; at = path.dirname(at)) {
    if (existsSync(path.join(at, '.git'))) return at;
    if (path.dirname(at) === at) return undefined;
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

function walk(folder: string, rules: readonly Rules[], found: string[]): void {
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
        walk(absolute, here, found);
    } else if (entry.name.endsWith(DESIGN_FILE) && isFile(entry, absolute) && !isIgnored(absolute, false, here)) {
      found.push(absolute);
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

/** Every design file of a folder, ignored ones left out. */
export function filesIn(folder: string): string[] {
  const found: string[] = [];
  walk(folder, rulesAbove(folder), found);
  return found;
}

async function expand(asked: string, cwd: string): Promise<string[]> {
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
    return designs;
  }
  if (stats.isDirectory()) {
    const designs = filesIn(absolute);
    if (designs.length === 0) {
      const folder = asked === '.' ? 'this folder' : asked;
      throw new CallError(
        `there is no ${DESIGN_FILE} file in ${folder}; name a file, or start a design with \`wattwright new DIR\``,
      );
    }
    return designs;
  }
  if (!asked.endsWith(DESIGN_FILE))
    throw new CallError(`${asked} is not a ${DESIGN_FILE} file; name a design file or a folder`);
  return [absolute];
}

function readStandardInput(): string {
  try {
    return readFileSync(0, 'utf8');
  } catch (error) {
    throw new CallError(`cannot read standard input: ${reason(error)}`);
  }
}

export function readText(absolute: string): string {
  try {
    return readFileSync(absolute, 'utf8');
  } catch (error) {
    throw new CallError(`cannot read ${shownPath(absolute)}: ${reason(error)}`);
  }
}

/** The files named by PATH arguments, sorted by path, each once. `-` is standard input. */
export async function sourceFiles(
  asked: readonly string[],
  standardInputName = 'stdin.watt',
  cwd = process.cwd(),
): Promise<SourceFile[]> {
  const paths = new Set<string>();
  for (const one of asked.length > 0 ? asked : ['.']) {
    if (one !== '-') for (const found of await expand(one, cwd)) paths.add(found);
  }
  const files = [...paths].sort().map((file) => ({ path: file, text: readText(file), isStandardInput: false }));
  if (!asked.includes('-')) return files;
  const named = path.resolve(cwd, standardInputName);
  return [
    { path: named, text: readStandardInput(), isStandardInput: true },
    ...files.filter((file) => file.path !== named),
  ];
}

/**
 * The folder a design may draw files from with `use`: its repository, else the working folder when the file lies in it, else the
 * folder of the file.
 */
export function workspaceOf(file: string, cwd = process.cwd()): string {
  const folder = path.dirname(file);
  const repository = repositoryOf(folder);
  if (repository) return repository;
  return isInside(cwd, file) ? cwd : folder;
}

export function isInside(folder: string, file: string): boolean {
  const relative = path.relative(folder, file);
  return relative !== '' && !relative.startsWith(`..${path.sep}`) && relative !== '..' && !path.isAbsolute(relative);
}

/** Whether a file lies inside a folder once links are followed. What cannot be followed to its end lies nowhere. */
export function isReallyInside(folder: string, file: string): boolean {
  if (!isInside(folder, file)) return false;
  try {
    return isInside(realpathSync(folder), realpathSync(file));
  } catch {
    return false;
  }
}

/** Writes a file whole or not at all: the text goes to a file beside it, which then takes its place. */
export async function writeWhole(absolute: string, text: string): Promise<void> {
  let target = absolute;
  let mode: number | undefined;
  try {
    // A link stays a link: what it leads to is replaced.
    target = await realpath(absolute);
    mode = (await stat(target)).mode & 0o7777;
  } catch {
    // A new file.
  }
  const beside = path.join(path.dirname(target), `.${path.basename(target)}.${process.pid}.new`);
  try {
    const handle = await open(beside, 'wx');
    try {
      await handle.writeFile(text, 'utf8');
      await handle.sync();
    } finally {
      await handle.close();
    }
    if (mode !== undefined) await chmod(beside, mode);
    await rename(beside, target);
  } catch (error) {
    await unlink(beside).catch(() => undefined);
    throw new CallError(`cannot write ${shownPath(absolute)}: ${reason(error)}; the file is as it was`);
  }
}
