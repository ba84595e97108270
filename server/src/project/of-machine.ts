import { existsSync, statSync } from 'node:fs';
import path from 'node:path';
import { isInside, isReallyInside } from '../files/inside.js';
import { textBeside } from '../files/text-beside.js';
import type { ProjectSource } from './projects.js';

/** The folder that holds `.git`, at or above `folder`. */
export function repositoryOf(folder: string): string | undefined {
  for (let at = folder; ; at = path.dirname(at)) {
    if (existsSync(path.join(at, '.git'))) return at;
    if (path.dirname(at) === at) return undefined;
  }
}

function isFolder(folder: string): boolean {
  try {
    return statSync(folder).isDirectory();
  } catch {
    return false;
  }
}

/**
 * Project files of this machine. Outside of any repository they are looked for up to the folder around a file that somebody works in, so that
 * nobody else's file in a folder above counts.
 */
export const projectsOfMachine = (folders: () => readonly string[]): ProjectSource => ({
  topOf: (folder) => repositoryOf(folder) ?? folders().find((around) => around === folder || isInside(around, folder)),
  textOf: (file) => {
    const text = textBeside(file);
    return text === undefined || isReallyInside(path.dirname(file), file)
      ? text
      : { unread: 'is a link that leads out of its folder' };
  },
  isFolder,
});
