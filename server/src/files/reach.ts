import { lstatSync } from 'node:fs';
import path from 'node:path';
import type { Projects } from '../project/projects.js';
import { isInside, isReallyInside } from './inside.js';

/**
 * Which files a call may read beside those it was given, for `use` and `weather`: those inside a folder that was named or that holds a
 * file that was named, and those inside the working folder where the file that asks lies in it too. A link that leads out of these
 * counts as outside. What a project file allows beside these is for `allowedByProject` to say.
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

/** Whether a project names the folder that `to` lies in, and neither that folder nor the file is a link that leads out. */
export function allowedByProject(projects: Projects, from: string, to: string): boolean {
  const around = projects.folderAround(from, to);
  if (!around) return false;
  const { folder, top } = around;
  return !isThere(to) || ((folder === top || isReallyInside(top, folder)) && isReallyInside(folder, to));
}
