import { URI } from 'langium';
import type { FileOperationHandler, LangiumSharedServices } from 'langium/lsp';
import type {
  DeleteFilesParams,
  FileOperationOptions,
  FileOperationRegistrationOptions,
  RenameFilesParams,
  WorkspaceEdit,
} from 'vscode-languageserver';
import { isAddress } from '../requests/guard.js';
import { usesAfterMove } from '../requests/renamed-files.js';
import { DESIGN_FILE } from './boundaries.js';
import type { DesignUpdateHandler } from './update-handler.js';

const DESIGNS_AND_FOLDERS: FileOperationRegistrationOptions = {
  filters: [
    { pattern: { glob: `**/*${DESIGN_FILE}`, matches: 'file' } },
    { pattern: { glob: '**', matches: 'folder' } },
  ],
};

/** Follows files and whole folders that are moved or deleted in the editor: watchers of files tell nothing of what lies in a folder. */
export class MovedFiles implements FileOperationHandler {
  readonly fileOperationOptions: FileOperationOptions = {
    willRename: DESIGNS_AND_FOLDERS,
    didRename: DESIGNS_AND_FOLDERS,
    didDelete: DESIGNS_AND_FOLDERS,
  };

  constructor(private readonly services: LangiumSharedServices) {}

  /** What is moved goes on being found: every `use` of it is written anew before. */
  async willRenameFiles(parameters: RenameFilesParams): Promise<WorkspaceEdit | null> {
    await this.services.workspace.WorkspaceManager.ready;
    return usesAfterMove(this.services, parameters);
  }

  didRenameFiles({ files }: RenameFilesParams): void {
    this.moved(
      files.map(({ newUri }) => newUri),
      files.map(({ oldUri }) => oldUri),
    );
  }

  didDeleteFiles({ files }: DeleteFilesParams): void {
    this.moved(
      [],
      files.map(({ uri }) => uri),
    );
  }

  private moved(come: readonly string[], gone: readonly string[]): void {
    const addresses = (uris: readonly string[]): URI[] => uris.filter(isAddress).map((uri) => URI.parse(uri));
    (this.services.lsp.DocumentUpdateHandler as DesignUpdateHandler).filesMoved(addresses(come), addresses(gone));
  }
}
