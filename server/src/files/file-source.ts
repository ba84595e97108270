import type { UnreadText } from '@wattwright/language';
import type { FileSystemProvider } from 'langium';
import { CarefulFileSystemProvider } from './careful-file-system.js';
import type { Projects } from '../project/projects.js';
import { Reach, allowedByProject } from './reach.js';
import { textBeside } from './text-beside.js';

/** Where files are read from: this machine, or a commit. Paths are absolute. */
export interface FileSource {
  readonly provider: () => FileSystemProvider;
  /** Whether a file may draw in another through `use` or `weather`. */
  readonly allows: (from: string, to: string) => boolean;
  /** The folder whose naming would allow a file that may not be read. */
  readonly folderToName: (to: string) => string;
  /** The text of a file; why it cannot be read where it is there; undefined where there is none. */
  readonly textBeside: (file: string) => string | UnreadText | undefined;
  /** The projects of its files. */
  readonly projects: Projects;
}

/** The files of this machine, as far as the folders that were named, and those that projects name for parts, reach. */
export function filesOfMachine(
  named: readonly string[],
  projects: Projects,
  workingFolder = process.cwd(),
): FileSource {
  const reach = new Reach(workingFolder, named);
  return {
    provider: () => new CarefulFileSystemProvider(),
    allows: (from, to) => reach.allows(from, to) || allowedByProject(projects, from, to),
    folderToName: (to) => reach.folderToName(to),
    textBeside,
    projects,
  };
}
