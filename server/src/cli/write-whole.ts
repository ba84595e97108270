import { constants, fstatSync, readdirSync, unlinkSync } from 'node:fs';
import { type FileHandle, access, chmod, chown, open, realpath, rename, stat, unlink } from 'node:fs/promises';
import type { Stats } from 'node:fs';
import path from 'node:path';
import { irregular } from '../files/read-text.js';
import { CallError, reason } from './call-error.js';
import { shownPath } from './shown-path.js';
import { safeText } from './output/safe-text.js';

/** Ending of a file that is being written. It begins with a dot and holds the number of the process, so that what a killed one left can be told. */
const UNFINISHED = 'wattwright-new';
const LEFT_BEHIND = new RegExp(`^\\..+\\.(\\d+)\\.${UNFINISHED}$`);

/**
 * Writes a file whole or not at all: the text goes to a file beside it, which then takes its place, with its mode and owner. A device is
 * written to as it is; a named pipe or socket is refused.
 */
export async function writeWhole(absolute: string, text: string | Buffer): Promise<void> {
  try {
    const before = await statOf(absolute);
    const what = before && irregular(before);
    if (before && what) return await writeIrregular(absolute, text, before, what);
    // A link stays a link: what it leads to is replaced.
    const target = before ? await realpath(absolute) : absolute;
    if (before) await access(target, constants.W_OK);
    await replace(target, text, before);
    if (before && before.nlink > 1) tellOtherNames(absolute, before.nlink - 1);
  } catch (error) {
    if (error instanceof CallError) throw error;
    throw new CallError(`cannot write ${shownPath(absolute)}: ${reason(error)}; the file is as it was`);
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

async function replace(target: string, text: string | Buffer, before: Stats | undefined): Promise<void> {
  const folder = path.dirname(target);
  sweep(folder);
  const beside = path.join(folder, `.${path.basename(target)}.${process.pid}.${UNFINISHED}`);
  const remove = removedOnExit(beside);
  try {
    const handle = await open(beside, 'wx');
    try {
      await handle.writeFile(text);
      await handle.sync();
    } finally {
      await handle.close();
    }
    if (before) await likeBefore(beside, before);
    await rename(beside, target);
  } catch (error) {
    await unlink(beside).catch(() => undefined);
    throw error;
  } finally {
    remove.stop();
  }
}

/** A call that is interrupted or told to end takes its unfinished file along. */
function removedOnExit(file: string): { readonly stop: () => void } {
  const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  const end = (signal: NodeJS.Signals): void => {
    stop();
    try {
      unlinkSync(file);
    } catch {
      // It was not made yet, or has already taken its place.
    }
    process.kill(process.pid, signal);
  };
  const stop = (): void => {
    for (const signal of signals) process.off(signal, end);
  };
  for (const signal of signals) process.on(signal, end);
  return { stop };
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

/** Removes what killed calls have left in a folder. */
function sweep(folder: string): void {
  let names: string[] = [];
  try {
    names = readdirSync(folder);
  } catch {
    // A folder may be written to without being shown.
  }
  for (const name of names) {
    const process = LEFT_BEHIND.exec(name)?.[1];
    if (process === undefined || isRunning(Number(process))) continue;
    try {
      unlinkSync(path.join(folder, name));
    } catch {
      // Another call was quicker, or it may not be removed: either way it is not in our way.
    }
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
