import { NO_NAMED_FOLDERS, type NamedFolders, type ProjectRules } from '@wattwright/language';
import type { URI } from 'langium';
import type { Diagnostic } from 'vscode-languageserver';

/** What a language server asks of the projects that its files belong to. */
export interface ServerProjects extends NamedFolders {
  readonly rulesFor: (file: URI) => ProjectRules | undefined;
  /** Whether a file may draw in another that lies outside of its workspace folder, because its project names the folder. */
  readonly allows: (from: URI, to: URI) => boolean;
  /** Why what a name stands for is not there, in words that follow on `it`. */
  readonly whyMissing: (from: URI, to: URI) => string | undefined;
  /** Whether a file is left out unless somebody opens it. */
  readonly leavesOut: (file: URI) => boolean;
  /** Whether something that has changed on the disk is a project file, or a folder that held one. */
  readonly concerns: (uri: URI) => boolean;
  /** Folders above a workspace folder in which its project file may lie. */
  readonly above: (folder: URI) => readonly URI[];
  /** Lets project files be read again. */
  readonly forget: () => void;
  /** Says who hears of a project file each time it is read. */
  readonly onRead: (listener: (file: URI, diagnostics: Diagnostic[]) => void) => void;
}

/** Where no files can be read, such as in a worker of a browser, no project is known. */
export const NO_PROJECTS: ServerProjects = {
  ...NO_NAMED_FOLDERS,
  rulesFor: () => undefined,
  allows: () => false,
  whyMissing: () => undefined,
  leavesOut: () => false,
  concerns: () => false,
  above: () => [],
  forget: () => undefined,
  onRead: () => undefined,
};
