import type { URI } from 'langium';
import { allowedByProject } from '../files/reach.js';
import type { ServerProjects } from '../workspace/server-projects.js';
import { projectsFrom } from './for-server.js';
import { projectsOfMachine } from './of-machine.js';

/** The projects of files of this machine, for a language server that works in some folders. */
export const projectsForServer = (folders: () => readonly URI[]): ServerProjects =>
  projectsFrom(
    projectsOfMachine(() => folders().flatMap((folder) => (folder.scheme === 'file' ? [folder.fsPath] : []))),
    allowedByProject,
  );
