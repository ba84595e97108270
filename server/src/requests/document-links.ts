import { ast, useTarget } from '@wattwright/language';
import { GrammarUtils, type LangiumDocument, type LangiumSharedCoreServices } from 'langium';
import type { DocumentLinkProvider } from 'langium/lsp';
import type { DocumentLink } from 'vscode-languageserver';

/** Makes the path of a `use` lead to its file. */
export class UseLinks implements DocumentLinkProvider {
  constructor(private readonly services: { readonly shared: LangiumSharedCoreServices }) {}

  getDocumentLinks(document: LangiumDocument): DocumentLink[] {
    const file = document.parseResult.value;
    if (!ast.isFile(file)) return [];
    return file.uses.flatMap((use) => {
      const path = GrammarUtils.findNodeForProperty(use.$cstNode, 'path');
      const target = typeof use.path === 'string' ? useTarget(this.services.shared, document.uri, use.path) : undefined;
      return path && target ? [{ range: path.range, target: target.toString() }] : [];
    });
  }
}
