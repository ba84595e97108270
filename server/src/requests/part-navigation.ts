import { ast } from '@wattwright/language';
import { type AstNode, AstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import type { ImplementationProvider, TypeDefinitionProvider } from 'langium/lsp';
import type { ImplementationParams, LocationLink, TypeDefinitionParams } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { spotAt } from './locate.js';

/** What a word at a position stands for; on a declaration itself the declaration. */
function declared(services: WattwrightServices, document: LangiumDocument, params: TypeDefinitionParams): AstNode[] {
  const spot = spotAt(document, document.textDocument.offsetAt(params.position));
  if (!spot) return [];
  const found = services.references.References.findDeclarations(spot.leaf);
  return found.length > 0 ? found : [spot.node];
}

function linkTo(node: AstNode): LocationLink[] {
  const name = GrammarUtils.findNodeForProperty(node.$cstNode, 'name');
  if (!node.$cstNode || !name) return [];
  return [
    {
      targetUri: AstUtils.getDocument(node).uri.toString(),
      targetRange: node.$cstNode.range,
      targetSelectionRange: name.range,
    },
  ];
}

/** From a thing to the part it is one of, from a part to the one it extends. */
export class PartOfThing implements TypeDefinitionProvider {
  constructor(private readonly services: WattwrightServices) {}

  getTypeDefinition(document: LangiumDocument, params: TypeDefinitionParams): LocationLink[] {
    return declared(this.services, document, params).flatMap((node) => {
      const part = ast.isInstance(node) ? node.part?.ref : ast.isPart(node) ? node.base?.ref : undefined;
      return part ? linkTo(part) : [];
    });
  }
}

/** From a part to the parts that extend it and the things that are one of it; from a design to its variants. */
export class WhatExtends implements ImplementationProvider {
  constructor(private readonly services: WattwrightServices) {}

  getImplementation(document: LangiumDocument, params: ImplementationParams): LocationLink[] {
    const targets = new Set(declared(this.services, document, params));
    const rests = (node: AstNode): AstNode | undefined => {
      if (ast.isPart(node)) return node.base?.ref;
      if (ast.isInstance(node)) return node.part?.ref;
      return ast.isVariant(node) ? node.base?.ref : undefined;
    };
    const { LangiumDocuments } = this.services.shared.workspace;
    return LangiumDocuments.all
      .flatMap(({ parseResult: { value } }) => AstUtils.streamContents(value))
      .flatMap((node) => (ast.isDesign(node) ? [node, ...node.members.filter(ast.isInstance)] : [node]))
      .filter((node) => {
        const target = rests(node);
        return target !== undefined && targets.has(target);
      })
      .flatMap(linkTo)
      .toArray();
  }
}
