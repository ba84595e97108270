import { type FileSystemProvider, type TextDocumentProvider, URI } from 'langium';
import { DefaultDocumentUpdateHandler, type LangiumSharedServices } from 'langium/lsp';
import type { DidChangeWatchedFilesParams, FileSystemWatcher, TextDocumentChangeEvent } from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import { DESIGN_FILE, isLibrary } from './boundaries.js';

/** Brings edits, closed editors and changed files to the builder. */
export class DesignUpdateHandler extends DefaultDocumentUpdateHandler {
  private readonly files: FileSystemProvider;
  private readonly texts: TextDocumentProvider | undefined;

  constructor(
    services: LangiumSharedServices,
    private readonly readsFiles: boolean,
  ) {
    super(services);
    this.files = services.workspace.FileSystemProvider;
    this.texts = services.workspace.TextDocuments;
  }

  protected override getWatchers(): FileSystemWatcher[] {
    return [{ globPattern: `**/*${DESIGN_FILE}` }];
  }

  override didChangeContent(change: TextDocumentChangeEvent<TextDocument>): void {
    // A library page shown in the editor has the text that is loaded already.
    if (!isLibrary(URI.parse(change.document.uri))) super.didChangeContent(change);
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
    // A file that is open in an editor has the text of the editor, whatever happens on the disk.
    const changes = params.changes.filter(({ uri }) => !this.texts?.get(URI.parse(uri)));
    if (changes.length > 0 && this.readsFiles) super.didChangeWatchedFiles({ changes });
  }
}
