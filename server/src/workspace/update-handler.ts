import { PROJECT_FILE } from '@wattwright/language';
import { type FileSystemProvider, type LangiumDocuments, type TextDocumentProvider, URI, delayNextTick } from 'langium';
import { DefaultDocumentUpdateHandler, type LangiumSharedServices } from 'langium/lsp';
import {
  DidChangeWatchedFilesNotification,
  type DidChangeWatchedFilesParams,
  type Disposable,
  FileChangeType,
  type FileSystemWatcher,
  type TextDocumentChangeEvent,
  WatchKind,
} from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import { isAddress } from '../requests/guard.js';
import { DESIGN_FILE, isLibrary } from './boundaries.js';
import type { DesignBuilder } from './builder.js';
import type { ServerProjects } from './server-projects.js';

/**
 * How long a text waits before it is read again, in ms: an editor asks for a list of what may be written within 10 ms of a keystroke, and
 * reading cannot be broken off for it. On a busy machine even a short text takes long to read.
 */
const A_MOMENT = 15;
/** Turns of the event loop in which a message is read, queued and answered. */
const TURNS = 3;

/** Lets what an editor asks come in and be answered; on a busy machine it may have been sent in time and not been read yet. */
async function aMoment(): Promise<void> {
  await new Promise((resolve) => setTimeout(resolve, A_MOMENT));
  for (let turn = 0; turn < TURNS; turn += 1) await delayNextTick();
}

/** Brings edits, closed editors and changed files to the builder. */
export class DesignUpdateHandler extends DefaultDocumentUpdateHandler {
  private readonly files: FileSystemProvider;
  private readonly texts: TextDocumentProvider | undefined;
  private readonly documents: LangiumDocuments;
  /** Whether the editor can watch folders outside of its own. */
  private watchesElsewhere = false;
  private watching: Promise<Disposable> | undefined;

  constructor(
    private readonly services: LangiumSharedServices,
    private readonly readsFiles: boolean,
    private readonly projects: ServerProjects,
    private readonly folders: () => readonly URI[],
    private readonly failed: (during: string, fault: unknown) => void,
  ) {
    super(services);
    this.documents = services.workspace.LangiumDocuments;
    this.files = services.workspace.FileSystemProvider;
    this.texts = services.workspace.TextDocuments;
    services.lsp.LanguageServer.onInitialize(({ capabilities }) => {
      const watched = capabilities.workspace?.didChangeWatchedFiles;
      this.watchesElsewhere = (watched?.dynamicRegistration && watched.relativePatternSupport) ?? false;
    });
  }

  protected override registerFileWatcher({ lsp }: LangiumSharedServices): void {
    const options = { watchers: this.getWatchers() };
    const earlier = this.watching;
    this.watching = lsp.Connection?.client.register(DidChangeWatchedFilesNotification.type, options);
    this.watching?.catch((fault: unknown) => this.failed('watching files', fault));
    // The new watch stands before the old one goes, so that no change is missed.
    void this.watching?.then(async () => (await earlier)?.dispose()).catch(() => undefined);
  }

  /** Folders of the workspace have changed, and with them the folders above. */
  foldersChanged(): void {
    if (this.watchesElsewhere) this.registerFileWatcher(this.services);
  }

  protected override getWatchers(): FileSystemWatcher[] {
    // A folder that goes is told of by its own name alone.
    return [
      { globPattern: `**/*${DESIGN_FILE}` },
      { globPattern: `**/${PROJECT_FILE}` },
      { globPattern: '**/*', kind: WatchKind.Delete },
      ...this.watchersAbove(),
    ];
  }

  /** A project file may lie above the folders of the workspace, where the editor does not look of itself. */
  private watchersAbove(): FileSystemWatcher[] {
    if (!this.watchesElsewhere) return [];
    const above = this.folders().flatMap((folder) => this.projects.above(folder));
    return [...new Set(above.map((folder) => folder.toString()))].map((baseUri) => ({
      globPattern: { baseUri, pattern: PROJECT_FILE },
    }));
  }

  /** Whatever a text does to the builder, the process goes on. */
  protected override fireDocumentUpdate(changed: URI[], deleted: URI[]): void {
    this.workspaceManager.ready
      .then(() => this.workspaceLock.write((token) => this.documentBuilder.update(changed, deleted, token)))
      .catch((fault: unknown) => this.failed('an update', fault));
  }

  override didChangeContent(change: TextDocumentChangeEvent<TextDocument>): void {
    // A library page shown in the editor has the text that is loaded already.
    const uri = URI.parse(change.document.uri);
    if (isLibrary(uri)) return;
    if (!this.documents.hasDocument(uri)) {
      super.didChangeContent(change);
      return;
    }
    const { version } = change.document;
    (this.documentBuilder as DesignBuilder).expectUpdate();
    void aMoment().then(() => {
      const now = this.texts?.get(uri)?.version;
      if (now === version) super.didChangeContent(change);
      // What was typed in the meantime brings itself to the builder; of a text that was closed nobody else may tell it.
      else if (now === undefined) this.fireDocumentUpdate([], []);
    });
  }

  /** What was not saved is forgotten: the file counts again, or the document goes when there is no file. */
  didCloseDocument({ document }: TextDocumentChangeEvent<TextDocument>): void {
    const uri = URI.parse(document.uri);
    if (isLibrary(uri)) return;
    // Without files to read, a text the editor has closed is the best that is known of it.
    if (!this.readsFiles && uri.scheme !== 'untitled') return;
    void this.exists(uri).then((exists) => {
      if (this.texts?.get(uri)) return;
      this.fireDocumentUpdate(exists ? [uri] : [], exists ? [] : [uri]);
    });
  }

  private async exists(uri: URI): Promise<boolean> {
    try {
      return uri.scheme === 'file' && (await this.files.exists(uri));
    } catch {
      return false;
    }
  }

  override didChangeWatchedFiles(params: DidChangeWatchedFilesParams): void {
    if (this.readsFiles && params.changes.some(({ uri }) => isAddress(uri) && this.projects.concerns(URI.parse(uri))))
      this.projectsChanged();
    // A file that is open in an editor has the text of the editor, whatever happens on the disk.
    const changes = params.changes.filter(
      ({ uri, type }) => isAddress(uri) && !this.texts?.get(URI.parse(uri)) && this.concerns(URI.parse(uri), type),
    );
    if (changes.length > 0 && this.readsFiles) super.didChangeWatchedFiles({ changes });
  }

  /** What a project says may count for each of its files, so that all are read again. */
  projectsChanged(): void {
    this.projects.forget();
    const all = this.documents.all.map(({ uri }) => uri).filter((uri) => !isLibrary(uri));
    this.fireDocumentUpdate(all.toArray(), []);
  }

  /** Files or whole folders are elsewhere now, or nowhere. What is open keeps the text of the editor until that closes it. */
  filesMoved(come: readonly URI[], gone: readonly URI[]): void {
    if (!this.readsFiles) return;
    const isOpen = (uri: URI): boolean => this.texts?.get(uri) !== undefined;
    this.fireDocumentUpdate(
      come.filter((uri) => !isOpen(uri)),
      gone.filter((uri) => !isOpen(uri)),
    );
  }

  /** Whether a file is a design, or a folder that held one. */
  private concerns(uri: URI, type: FileChangeType): boolean {
    if (type !== FileChangeType.Deleted) return uri.path.endsWith(DESIGN_FILE);
    return this.documents.getDocuments(uri).length > 0;
  }
}
