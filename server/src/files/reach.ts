import { lstatSync } from 'node:fs';
import path from 'node:path';
import { isInside, isReallyInside } from './inside.js';

/**
 * Which files a call may read beside those it was given, for `use` and `weather`: those inside a folder that was named or that holds a
 * file that was named, and those inside the working folder where the file that asks lies in it too. A link that leads out of these
 * counts as outside. A project file that allows more would add to `named`.
 */
export class Reach {
  private readonly named: readonly string[];

  constructor(
    private readonly workingFolder: string,
    named: readonly string[],
  ) {
    this.named = [...new Set(named)];
  }

  /** Whether `from` may draw in `to`, both absolute. What is not there may be asked for, so that it is told to be missing. */
  allows(from: string, to: string): boolean {
    const folders = isInside(this.workingFolder, from) ? [...this.named, this.workingFolder] : this.named;
    const around = folders.filter((folder) => isInside(folder, to));
    return around.length > 0 && (!isThere(to) || around.some((folder) => isReallyInside(folder, to)));
  }

  /** The folder whose naming would allow `to`, as the command line would write it. */
  folderToName(to: string): string {
    const relative = path.relative(this.workingFolder, path.dirname(to));
    return (relative === '' ? '.' : relative).split(path.sep).join('/');
  }
}

function isThere(file: string): boolean {
  try {
    lstatSync(file);
    return true;
  } catch {
    return false;
  }
}
