import {
  closeSync,
  constants,
  copyFileSync,
  fstatSync,
  fsyncSync,
  linkSync,
  openSync,
  readdirSync,
  renameSync,
  unlinkSync,
} from 'node:fs';
import { type FileHandle, access, chmod, chown, open, realpath, stat, unlink } from 'node:fs/promises';
import type { Stats } from 'node:fs';
import path from 'node:path';
import { irregular } from '../files/read-text.js';
import { CallError, reason } from './call-error.js';
import { shownPath } from './shown-path.js';
import { safeText } from './output/safe-text.js';
import { undoneOnSignal } from './undone.js';

/** Ending of a file that is being written. It begins with a dot and holds the number of the process, so that what a killed one left can be told. */
const UNFINISHED = 'wattwright-new';
/** Ending of what stood in the place of a file until all that belong together have theirs. */
const BEFORE = 'wattwright-old';
/** Ending of a mark beside files that belong together: all their texts are whole, and they are taking their places. */
const PLACING = 'wattwright-placing';
const LEFT_BEHIND = new RegExp(`^\\.(.+)\\.(\\d+)\\.(${UNFINISHED}|${BEFORE}|${PLACING})$`);

/**
 * Writes a file whole or not at all: the text goes to a file beside it, which then takes its place, with its mode and owner. A device is
 * written to as it is; a named pipe or socket is refused.
 */
export const writeWhole = (absolute: string, text: string | Buffer): Promise<void> =>
  writeAllWhole(new Map([[absolute, text]]));

/**
 * Writes files that belong together, each as `writeWhole` does: all texts lie beside their files before the first takes its place, so that
 * a disk that fills up, or an interruption, leaves all of them as they were. Where one cannot take its place, those before it go back.
 *
 * @param rename puts a file in its place without waiting
 */
export async function writeAllWhole(
  files: ReadonlyMap<string, string | Buffer>,
  rename: Rename = renameSync,
): Promise<void> {
  const beside: Unplaced[] = [];
  try {
    for (const [absolute, text] of files)
      await tellingWhere(absolute, files.size, async () => {
        const before = await statOf(absolute);
        const what = before && irregular(before);
        if (before && what) return await writeIrregular(absolute, text, before, what);
        // A link stays a link: what it leads to is replaced.
        const target = before ? await realpath(absolute) : absolute;
        if (before) await access(target, constants.W_OK);
        beside.push(await writeBeside(absolute, target, text, before));
      });
    placeAll(beside, rename);
    for (const { absolute, before } of beside)
      if (before && before.nlink > 1) tellOtherNames(absolute, before.nlink - 1);
  } finally {
    for (const { file, kept } of beside) {
      await unlink(file).catch(() => undefined);
      kept.stop();
    }
  }
}

/**
 * Puts every text in its place, or none. It waits for nothing, so that a signal finds either all of them as they were or all of them new.
 * A process that is killed outright, or a machine without power, can stop between two: then a mark says that all texts are whole, and
 * the next call that writes into the folder brings the rest into their places.
 */
function placeAll(beside: readonly Unplaced[], rename: Rename): void {
  const folders = beside.length > 1 ? new Set(beside.map(({ target }) => path.dirname(target))) : [];
  const marks: string[] = [];
  try {
    for (const folder of folders) marks.push(markedPlacing(folder));
    placeEach(beside, rename);
  } finally {
    for (const mark of marks) remove(mark);
  }
}

/** Leaves the mark in a folder, on the disk before the first file takes its place. */
function markedPlacing(folder: string): string {
  const mark = path.join(folder, `.set.${process.pid}.${PLACING}`);
  const descriptor = openSync(mark, 'w');
  fsyncSync(descriptor);
  closeSync(descriptor);
  return mark;
}

function placeEach(beside: readonly Unplaced[], rename: Rename): void {
  const placed: { readonly each: Unplaced; readonly old: string | undefined }[] = [];
  for (const each of beside) {
    let old: string | undefined;
    try {
      // One alone takes its place at once: nothing has to go back.
      if (each.before && beside.length > 1) old = keptBefore(each.target);
      rename(each.file, each.target);
    } catch (error) {
      const changed = putBack(placed, rename);
      if (old !== undefined) remove(old);
      const state =
        changed.length === 0
          ? unchanged(beside.length)
          : `these are new already and could not be put back: ${changed.map((each) => shownPath(each)).join(', ')}`;
      throw new CallError(`cannot write ${shownPath(each.absolute)}: ${reason(error)}; ${state}`);
    }
    placed.push({ each, old });
  }
  for (const { old } of placed) if (old !== undefined) remove(old);
}

/** Another name for what stands in a place, or a copy where the file system has no such names. */
function keptBefore(target: string): string {
  const old = path.join(path.dirname(target), `.${path.basename(target)}.${process.pid}.${BEFORE}`);
  try {
    linkSync(target, old);
  } catch {
    copyFileSync(target, old, constants.COPYFILE_EXCL);
  }
  return old;
}

/** Gives each place back to what stood there before, the last first; the places where that fails. */
function putBack(
  placed: readonly { readonly each: Unplaced; readonly old: string | undefined }[],
  rename: Rename,
): string[] {
  return [...placed].reverse().flatMap(({ each: { absolute, target }, old }) => {
    try {
      if (old === undefined) unlinkSync(target);
      else rename(old, target);
      return [];
    } catch {
      return [absolute];
    }
  });
}

function remove(file: string): void {
  try {
    unlinkSync(file);
  } catch {
    // It is in nobody's way; a later call takes it along.
  }
}

const unchanged = (count: number): string =>
  count === 1 ? 'the file is as it was' : `all ${count} files are as they were`;

type Rename = (from: string, to: string) => void;

/** A text that lies beside the file whose place it is to take. */
interface Unplaced {
  readonly absolute: string;
  readonly target: string;
  readonly file: string;
  readonly before: Stats | undefined;
  readonly kept: { readonly stop: () => void };
}

async function tellingWhere(absolute: string, count: number, act: () => Promise<void>): Promise<void> {
  try {
    await act();
  } catch (error) {
    if (error instanceof CallError) throw error;
    throw new CallError(`cannot write ${shownPath(absolute)}: ${reason(error)}; ${unchanged(count)}`);
  }
}

async function statOf(file: string): Promise<Stats | undefined> {
  try {
    return await stat(file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}

async function writeBeside(
  absolute: string,
  target: string,
  text: string | Buffer,
  before: Stats | undefined,
): Promise<Unplaced> {
  const folder = path.dirname(target);
  sweep(folder);
  const file = path.join(folder, `.${path.basename(target)}.${process.pid}.${UNFINISHED}`);
  const kept = undoneOnSignal(() => unlinkSync(file));
  try {
    const handle = await open(file, 'wx');
    try {
      await handle.writeFile(text);
      await handle.sync();
    } finally {
      await handle.close();
    }
    if (before) await likeBefore(file, before);
    return { absolute, target, file, before, kept };
  } catch (error) {
    await unlink(file).catch(() => undefined);
    kept.stop();
    throw error;
  }
}

/** The mode and, where it is another's and this may be set, the owner of the file before. */
async function likeBefore(file: string, before: Stats): Promise<void> {
  const now = await stat(file);
  if (now.uid !== before.uid || now.gid !== before.gid)
    await chown(file, before.uid, before.gid).catch(() => undefined);
  // After the owner, since a change of owner may take bits of the mode away.
  await chmod(file, before.mode & 0o7777);
}

function tellOtherNames(absolute: string, others: number): void {
  const names =
    others === 1 ? 'another name (a hard link), which keeps' : `${others} other names (hard links), which keep`;
  process.stderr.write(`wattwright: ${safeText(shownPath(absolute))} had ${names} the text of before\n`);
}

async function writeIrregular(absolute: string, text: string | Buffer, before: Stats, what: string): Promise<void> {
  const ours = fstatSync(1);
  // What is our own output already may be a socket, which cannot be opened anew.
  if (before.dev === ours.dev && before.ino === ours.ino) {
    process.stdout.write(text);
    return;
  }
  if (!before.isCharacterDevice())
    throw new CallError(`cannot write ${shownPath(absolute)}: it is ${what}; name a regular file`);
  let handle: FileHandle | undefined;
  try {
    handle = await open(absolute, 'w');
    await handle.writeFile(text);
  } catch (error) {
    throw new CallError(`cannot write ${shownPath(absolute)}: ${reason(error)}`);
  } finally {
    await handle?.close();
  }
}

/** What a killed call has left in a folder. */
interface Leftover {
  readonly file: string;
  /** The name of the file that it was about. */
  readonly of: string;
  readonly process: string;
  readonly sort: string;
}

function leftoversIn(folder: string): Leftover[] {
  let names: string[] = [];
  try {
    names = readdirSync(folder);
  } catch {
    // A folder may be written to without being shown.
  }
  return names.flatMap((name): Leftover[] => {
    const [, of, process, sort] = LEFT_BEHIND.exec(name) ?? [];
    if (of === undefined || process === undefined || sort === undefined || isRunning(Number(process))) return [];
    return [{ file: path.join(folder, name), of, process, sort }];
  });
}

/** Brings what killed calls have left in a folder to an end: a set that was taking its places gets the rest of them, and everything else goes. */
function sweep(folder: string): void {
  const left = leftoversIn(folder);
  const placing = new Set(left.flatMap(({ sort, process }) => (sort === PLACING ? process : [])));
  const completed = left
    .filter(({ sort, process }) => sort === UNFINISHED && placing.has(process))
    .filter(({ file, of }) => isPlaced(file, path.join(folder, of)));
  for (const { file } of left) remove(file);
  if (completed.length > 0)
    process.stderr.write(
      `wattwright: a call before this one was killed while its files took their places; the rest of them are in place now: ${safeText(
        completed
          .map(({ of }) => of)
          .sort()
          .join(', '),
      )}\n`,
    );
}

function isPlaced(file: string, target: string): boolean {
  try {
    renameSync(file, target);
    return true;
  } catch {
    // Another call was quicker, or a folder has come into its place.
    return false;
  }
}

function isRunning(id: number): boolean {
  try {
    process.kill(id, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}
