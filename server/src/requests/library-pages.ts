import { LIBRARY_SCHEME, libraryFiles } from '@wattwright/language';
import { URI } from 'langium';
import type { TextDocumentContentProvider } from 'langium/lsp';
import type { TextDocumentContentParams, TextDocumentContentResult } from 'vscode-languageserver';

/** Shows the files of the standard library in the editor, where "go to definition" leads. */
export class LibraryPages implements TextDocumentContentProvider {
  readonly schemes = [LIBRARY_SCHEME];

  async provideTextDocumentContent({ uri }: TextDocumentContentParams): Promise<TextDocumentContentResult | undefined> {
    const name = URI.parse(uri).path.replace(/^\//, '');
    const file = libraryFiles.find((candidate) => candidate.name === name);
    return file && { text: file.text };
  }
}
