import { ast } from '@wattwright/language';
import { type AstNode, type AstNodeDescription, GrammarUtils, type LangiumDocument } from 'langium';
import {
  DefaultWorkspaceSymbolProvider,
  type DocumentSymbolProvider,
  type LangiumSharedServices,
  type NodeKindProvider,
} from 'langium/lsp';
import { CompletionItemKind, type DocumentSymbol, SymbolKind, type WorkspaceSymbol } from 'vscode-languageserver';
import { isLibrary } from '../workspace/boundaries.js';
import { kindOfNode } from './locate.js';

const SYMBOL_KINDS: Readonly<Record<string, SymbolKind>> = {
  Part: SymbolKind.Class,
  Design: SymbolKind.Module,
  Variant: SymbolKind.Module,
  Instance: SymbolKind.Object,
  Run: SymbolKind.Interface,
  Link: SymbolKind.Interface,
  Control: SymbolKind.Event,
  Scenario: SymbolKind.Event,
  Let: SymbolKind.Constant,
  ProfileDeclaration: SymbolKind.Array,
};

/** Which symbol stands for which kind of declaration. */
export class ThingKinds implements NodeKindProvider {
  getSymbolKind(node: AstNode | AstNodeDescription): SymbolKind {
    return SYMBOL_KINDS['$type' in node ? node.$type : node.type] ?? SymbolKind.Variable;
  }

  getCompletionItemKind(): CompletionItemKind {
    return CompletionItemKind.Reference;
  }
}

const kinds = new ThingKinds();

/** The outline of a file: declarations, and the things of each design. */
export class DesignSymbols implements DocumentSymbolProvider {
  getSymbols(document: LangiumDocument): DocumentSymbol[] {
    const file = document.parseResult.value;
    return ast.isFile(file) ? file.declarations.flatMap(symbolOf) : [];
  }
}

function symbolOf(node: AstNode): DocumentSymbol[] {
  const { name, label } = node as { name?: string; label?: string };
  const nameNode = GrammarUtils.findNodeForProperty(node.$cstNode, 'name');
  // A property has a name too, and is no symbol.
  if (!name || !nameNode || !node.$cstNode || ast.isProperty(node)) return [];
  const within = ast.isDesign(node)
    ? node.members
    : ast.isVariant(node)
      ? node.changes.flatMap((change) => ('thing' in change && change.thing ? [change.thing] : []))
      : [];
  const members = within.flatMap(symbolOf);
  const detail = [kindOfNode(node) ?? '', label ?? ''].filter(Boolean).join(' · ');
  return [
    {
      name,
      ...(detail ? { detail } : {}),
      kind: kinds.getSymbolKind(node),
      range: node.$cstNode.range,
      selectionRange: nameNode.range,
      ...(members.length > 0 ? { children: members } : {}),
    },
  ];
}

/** Declarations of every design file; those of the standard library are left out. */
export class DesignWorkspaceSymbols extends DefaultWorkspaceSymbolProvider {
  constructor(services: LangiumSharedServices) {
    super(services);
  }

  protected override getWorkspaceSymbol(description: AstNodeDescription): WorkspaceSymbol | undefined {
    return isLibrary(description.documentUri) ? undefined : super.getWorkspaceSymbol(description);
  }
}
