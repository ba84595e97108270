import { PROJECT_FILE } from '@wattwright/language';
import { URI } from 'langium';
import { type Diagnostic, DiagnosticSeverity, DiagnosticTag } from 'vscode-languageserver';
import { isInside } from '../files/inside.js';
import { allowedByProject } from '../files/reach.js';
import type { ServerProjects } from '../workspace/server-projects.js';
import { projectsOfMachine } from './of-machine.js';
import type { Project } from './project.js';
import { Projects } from './projects.js';

/** The projects of files of this machine, for a language server that works in some folders. */
export function projectsForServer(folders: () => readonly URI[]): ServerProjects {
  let told: Parameters<ServerProjects['onRead']>[0] = () => undefined;
  const projects = new Projects(
    projectsOfMachine(() => folders().flatMap((folder) => (folder.scheme === 'file' ? [folder.fsPath] : []))),
    (project) => told(URI.file(project.file), diagnosticsOf(project)),
  );
  const ofFile = <T>(uri: URI, answer: (file: string) => T): T | undefined =>
    uri.scheme === 'file' ? answer(uri.fsPath) : undefined;
  return {
    folder: projects.folder,
    always: projects.always,
    rulesFor: (uri) => ofFile(uri, (file) => projects.rulesFor(file)),
    allows: (from, to) =>
      to.scheme === 'file' && (ofFile(from, (file) => allowedByProject(projects, file, to.fsPath)) ?? false),
    whyMissing: (from, to) => ofFile(from, (file) => projects.whyMissing(file, to.fsPath)),
    leavesOut: (uri) => ofFile(uri, (file) => projects.of(file)?.leavesOut(file)) ?? false,
    concerns: (uri) =>
      uri.path.endsWith(`/${PROJECT_FILE}`) ||
      (uri.scheme === 'file' && projects.known.some(({ file }) => isInside(uri.fsPath, file))),
    forget: () => {
      // What was wrong with a file that is gone by now is wrong no longer; of the others it is told again.
      for (const { file, problems } of projects.known) if (problems.length > 0) told(URI.file(file), []);
      projects.forget();
    },
    onRead: (listener) => (told = listener),
  };
}

const diagnosticsOf = ({ problems }: Project): Diagnostic[] =>
  problems.map(({ text, range, deprecated }) => ({
    range,
    message: text,
    source: 'wattwright',
    severity: deprecated ? DiagnosticSeverity.Warning : DiagnosticSeverity.Error,
    ...(deprecated ? { tags: [DiagnosticTag.Deprecated] } : {}),
  }));
