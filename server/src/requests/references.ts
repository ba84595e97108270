import type { LangiumDocument } from 'langium';
import { DefaultDocumentHighlightProvider, DefaultReferencesProvider, type LangiumServices } from 'langium/lsp';
import type {
  CancellationToken,
  DocumentHighlight,
  DocumentHighlightParams,
  Location,
  ReferenceParams,
} from 'vscode-languageserver';
import type { ReferenceIndex } from '../workspace/reference-index.js';

export const referenceIndexOf = (services: LangiumServices): ReferenceIndex =>
  services.shared.workspace.IndexManager as ReferenceIndex;

/** Every use of a name, over all files. */
export class NameReferences extends DefaultReferencesProvider {
  constructor(private readonly services: LangiumServices) {
    super(services);
  }

  override async findReferences(
    document: LangiumDocument,
    params: ReferenceParams,
    cancelToken?: CancellationToken,
  ): Promise<Location[]> {
    await referenceIndexOf(this.services).complete(undefined, cancelToken);
    return super.findReferences(document, params, cancelToken);
  }
}

/** Every use of a name in one file. */
export class NameHighlights extends DefaultDocumentHighlightProvider {
  constructor(private readonly services: LangiumServices) {
    super(services);
  }

  override async getDocumentHighlight(
    document: LangiumDocument,
    params: DocumentHighlightParams,
    cancelToken?: CancellationToken,
  ): Promise<DocumentHighlight[] | undefined> {
    await referenceIndexOf(this.services).complete(document.uri, cancelToken);
    return super.getDocumentHighlight(document, params, cancelToken);
  }
}
