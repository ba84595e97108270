import { addLibrary } from '@wattwright/language';
import { DefaultWorkspaceManager, type LangiumSharedCoreServices, URI, UriUtils } from 'langium';
import type { CancellationToken, WorkspaceFolder } from 'vscode-languageserver';
import { DESIGN_FILE } from './boundaries.js';

/** Folders beyond this number are not searched, so that a home folder opened as a workspace does not keep the server busy. */
const MOST_FOLDERS = 5000;

/**
 * Loads the standard library first and is then ready, so that an open document gets its findings at once; the files of the workspace
 * follow as an update of their own.
 */
export class LibraryFirstWorkspace extends DefaultWorkspaceManager {
  constructor(private readonly shared: LangiumSharedCoreServices) {
    super(shared);
  }

  /** Workspace folders as addresses. */
  get folderUris(): readonly URI[] {
    return (this.folders ?? []).map((folder) => URI.parse(folder.uri));
  }

  override async initializeWorkspace(folders: WorkspaceFolder[], cancelToken?: CancellationToken): Promise<void> {
    const library = addLibrary(this.shared);
    this._ready.resolve();
    const files = this.shared.workspace.TextDocuments ? this.loadFolders(folders) : Promise.resolve();
    files.catch((fault: unknown) => console.error('The workspace could not be read:', fault));
    await this.documentBuilder.build(library, {}, cancelToken);
  }

  /** Folders were added to the workspace or taken from it. */
  async changeFolders(added: WorkspaceFolder[], removed: WorkspaceFolder[]): Promise<void> {
    const gone = new Set(removed.map((folder) => folder.uri));
    this.folders = [...(this.folders ?? []).filter((folder) => !gone.has(folder.uri)), ...added];
    await this.ready;
    await this.loadFolders(added);
  }

  private async loadFolders(folders: readonly WorkspaceFolder[]): Promise<void> {
    const files: URI[] = [];
    for (const folder of folders) files.push(...(await this.searchFolder(this.getRootFolder(folder))));
    const unknown = files.filter((uri) => !this.langiumDocuments.hasDocument(uri));
    await this.mutex.write((token) => this.documentBuilder.update(unknown, [], token));
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
