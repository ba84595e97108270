import { PROJECT_FILE } from '@wattwright/language';
import type { URI } from 'langium';
import { type Diagnostic, DiagnosticSeverity, DiagnosticTag } from 'vscode-languageserver';
import path from 'node:path';
import { isInside } from '../files/inside-by-name.js';
import type { ServerProjects } from '../workspace/server-projects.js';
import type { Project } from './project.js';
import { type ProjectSource, Projects } from './projects.js';

/** The projects that a source knows, as a language server asks for them. `mayDrawIn` says what may be read beside the folders. */
export function projectsFrom(
  source: ProjectSource,
  mayDrawIn: (projects: Projects, from: string, to: string) => boolean,
): ServerProjects {
  let told: Parameters<ServerProjects['onRead']>[0] = () => undefined;
  const projects: Projects = new Projects(source, (project) =>
    told(projects.addresses.uriOf(project.file), diagnosticsOf(project)),
  );
  const { pathOf, uriOf } = projects.addresses;
  const ofFile = <T>(uri: URI, answer: (file: string) => T): T | undefined => {
    const file = pathOf(uri);
    return file === undefined ? undefined : answer(file);
  };
  return {
    folder: projects.folder,
    always: projects.always,
    rulesFor: (uri) => ofFile(uri, (file) => projects.rulesFor(file)),
    allows: (from, to) => ofFile(from, (file) => ofFile(to, (other) => mayDrawIn(projects, file, other))) ?? false,
    whyMissing: (from, to) => ofFile(from, (file) => ofFile(to, (other) => projects.whyMissing(file, other))),
    leavesOut: (uri) => ofFile(uri, (file) => projects.of(file)?.leavesOut(file)) ?? false,
    concerns: (uri) =>
      uri.path.endsWith(`/${PROJECT_FILE}`) ||
      (ofFile(uri, (folder) => projects.known.some(({ file }) => isInside(folder, file))) ?? false),
    above: (folder) => (ofFile(folder, (inside) => foldersAbove(inside, source.topOf(inside))) ?? []).map(uriOf),
    forget: () => {
      // What was wrong with a file that is gone by now is wrong no longer; of the others it is told again.
      for (const { file, problems } of projects.known) if (problems.length > 0) told(uriOf(file), []);
      projects.forget();
    },
    onRead: (listener) => (told = listener),
  };
}

/** Folders above one, nearest first, in which its project file may lie. */
function foldersAbove(folder: string, top: string | undefined): string[] {
  const above: string[] = [];
  for (let at = folder; top !== undefined && at !== top && path.dirname(at) !== at;) {
    at = path.dirname(at);
    above.push(at);
  }
  return above;
}

const diagnosticsOf = ({ problems }: Project): Diagnostic[] =>
  problems.map(({ text, range, deprecated }) => ({
    range,
    message: text,
    source: 'wattwright',
    severity: deprecated ? DiagnosticSeverity.Warning : DiagnosticSeverity.Error,
    ...(deprecated ? { tags: [DiagnosticTag.Deprecated] } : {}),
  }));
