import { DefaultIndexManager, type LangiumDocuments, type LangiumSharedCoreServices, type URI } from 'langium';
import { CancellationToken } from 'vscode-languageserver';

/**
 * Notes who refers to what only when somebody asks: linking and listing every reference of a long design would hold up the findings of
 * each keystroke.
 */
export class ReferenceIndex extends DefaultIndexManager {
  private readonly all: () => LangiumDocuments;

  constructor(services: LangiumSharedCoreServices) {
    super(services);
    this.all = () => services.workspace.LangiumDocuments;
  }

  /** Lists the references of every document, or of one, that has changed since the last time. Needed before references are looked up. */
  async complete(only?: URI, cancelToken: CancellationToken = CancellationToken.None): Promise<void> {
    const documents = only ? [this.all().getDocument(only)] : this.all().all.toArray();
    for (const document of documents) {
      if (document && !this.referenceIndex.has(document.uri.toString()))
        await this.updateReferences(document, cancelToken);
    }
  }
}
