import { type LangiumDocuments, URI } from 'langium';
import { isInside } from '../files/inside-by-name.js';
import type { ServerProjects } from '../workspace/server-projects.js';
import { projectsFrom } from './for-server.js';
import type { Addresses } from './projects.js';

/** A project file as an editor hands it over to a server that reads no files. */
export interface ToldFile {
  readonly uri: string;
  /** Undefined where the editor could not read it. */
  readonly text?: string;
}

/** What an editor says to a server that reads no files: all project files of its folders, again after each change. */
export const PROJECT_FILES_TOLD = 'wattwright/projectFiles';

/** The project files that an editor has told of. */
export class ToldFiles {
  private texts: ReadonlyMap<string, string | { readonly unread: string }> = new Map();

  /** Takes what an editor says. What is no list of files changes nothing. */
  replace(said: unknown): boolean {
    const files = (said as { readonly files?: unknown } | null)?.files;
    if (!Array.isArray(files)) return false;
    const texts = new Map<string, string | { readonly unread: string }>();
    for (const each of files as readonly unknown[]) {
      const { uri, text } = (each ?? {}) as Partial<ToldFile>;
      if (typeof uri !== 'string') continue;
      texts.set(URI.parse(uri).toString(), typeof text === 'string' ? text : { unread: 'cannot be read' });
    }
    this.texts = texts;
    return true;
  }

  textOf(uri: URI): string | { readonly unread: string } | undefined {
    return this.texts.get(uri.toString());
  }
}

/**
 * The projects of what is open in an editor that reads its files itself, such as one in a browser. Its folders may lie anywhere that
 * has paths with `/`; folders of another place than the first one have no projects, since paths would not tell them apart.
 */
export function projectsForEditor(
  folders: () => readonly URI[],
  told: ToldFiles,
  documents: () => Pick<LangiumDocuments, 'all' | 'getDocument'>,
): ServerProjects {
  const isHere = (uri: URI): boolean => {
    const [first] = folders();
    return first !== undefined && uri.scheme === first.scheme && uri.authority === first.authority;
  };
  const addresses: Addresses = {
    pathOf: (uri) => (isHere(uri) ? uri.path : undefined),
    uriOf: (file) => (folders()[0] ?? URI.file('/')).with({ path: file }),
  };
  return projectsFrom(
    {
      addresses,
      topOf: (folder) =>
        folders()
          .filter(isHere)
          .map((around) => around.path.replace(/(?<=.)\/$/, ''))
          .find((around) => around === folder || isInside(around, folder)),
      textOf: (file) => {
        const uri = addresses.uriOf(file);
        return told.textOf(uri) ?? documents().getDocument(uri)?.textDocument.getText();
      },
      isFolder: (folder) =>
        documents().all.some(({ uri }) => {
          const file = addresses.pathOf(uri);
          return file !== undefined && isInside(folder, file);
        }),
    },
    // An editor hands over what it has opened itself: there is nothing beside it that could be read by accident.
    (projects, from, to) => projects.folderAround(from, to) !== undefined,
  );
}
