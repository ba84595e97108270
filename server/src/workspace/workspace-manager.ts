import { addLibrary, isInside } from '@wattwright/language';
import { DefaultWorkspaceManager, type LangiumSharedCoreServices, URI, UriUtils, isOperationCancelled } from 'langium';
import type { CancellationToken, WorkspaceFolder } from 'vscode-languageserver';
import { DESIGN_FILE } from './boundaries.js';

/** Folders beyond this number are not searched, so that a home folder opened as a workspace does not keep the server busy. */
const MOST_FOLDERS = 5000;

/**
 * Loads the standard library first and is then ready, so that an open document gets its findings at once; the files of the workspace
 * follow as an update of their own.
 */
export class LibraryFirstWorkspace extends DefaultWorkspaceManager {
  constructor(
    private readonly shared: LangiumSharedCoreServices,
    private readonly failed: (during: string, fault: unknown) => void,
  ) {
    super(shared);
  }

  /** Workspace folders as addresses. */
  get folderUris(): readonly URI[] {
    return (this.folders ?? []).map((folder) => URI.parse(folder.uri));
  }

  override async initializeWorkspace(folders: WorkspaceFolder[], cancelToken?: CancellationToken): Promise<void> {
    const library = addLibrary(this.shared);
    this._ready.resolve();
    const files = this.shared.workspace.TextDocuments ? this.loadFolders(folders, [], true) : Promise.resolve();
    files.catch((fault: unknown) => this.failed('reading the workspace', fault));
    try {
      await this.documentBuilder.build(library, {}, cancelToken);
    } catch (fault) {
      if (isOperationCancelled(fault)) throw fault;
      this.failed('reading the standard library', fault);
    }
  }

  /** Folders were added to the workspace or taken from it. */
  async changeFolders(added: WorkspaceFolder[], removed: WorkspaceFolder[]): Promise<void> {
    const gone = new Set([...removed, ...added].map(({ uri }) => UriUtils.normalize(uri)));
    const others = (this.folders ?? []).filter(({ uri }) => !gone.has(UriUtils.normalize(uri)));
    this.folders = [...others, ...added];
    await this.ready;
    await this.loadFolders(added, removed, false);
  }

  /**
   * Reads folders that have come, and forgets the files of folders that are gone unless another folder holds them or they are open.
   * What stays in their reach is judged again: a file may `use` what lies in its folder.
   */
  private async loadFolders(
    added: readonly WorkspaceFolder[],
    removed: readonly WorkspaceFolder[],
    isStart: boolean,
  ): Promise<void> {
    const found: URI[] = [];
    for (const folder of added) found.push(...(await this.searchFolder(this.getRootFolder(folder))));
    const changed = [...added, ...removed].map(({ uri }) => URI.parse(uri));
    // Asked when the turn has come: folders may have changed again in the meantime.
    const isHeld = (uri: URI): boolean => this.folderUris.some((folder) => isInside(folder, uri));
    await this.mutex.write((token) => {
      const known = this.langiumDocuments.all
        .map(({ uri }) => uri)
        .filter((uri) => changed.some((folder) => isInside(folder, uri)))
        .toArray();
      const isLost = (uri: URI): boolean => !isHeld(uri) && !this.shared.workspace.TextDocuments?.get(uri);
      const unknown = found.filter((uri) => !this.langiumDocuments.hasDocument(uri) && isHeld(uri));
      // At the start nothing has been judged yet by another workspace.
      const again = isStart ? [] : known.filter((uri) => !isLost(uri));
      return this.documentBuilder.update([...unknown, ...again], known.filter(isLost), token);
    });
  }

  override async searchFolder(start: URI): Promise<URI[]> {
    const files: URI[] = [];
    const folders = [start];
    for (let searched = 0; folders.length > 0 && searched < MOST_FOLDERS; searched += 1) {
      const folder = folders.shift()!;
      try {
        for (const entry of await this.fileSystemProvider.readDirectory(folder)) {
          if (!this.shouldIncludeEntry(entry)) continue;
          if (entry.isDirectory) folders.push(entry.uri);
          else if (entry.isFile) files.push(entry.uri);
        }
      } catch {
        // A folder that cannot be read holds no designs for us.
      }
    }
    return files;
  }

  override shouldIncludeEntry(...[entry]: Parameters<DefaultWorkspaceManager['shouldIncludeEntry']>): boolean {
    const name = UriUtils.basename(entry.uri);
    if (name.startsWith('.')) return false;
    return entry.isDirectory ? !['node_modules', 'out', 'dist'].includes(name) : name.endsWith(DESIGN_FILE);
  }
}
