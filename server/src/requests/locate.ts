import { type AnalysedDesign, type Analysis, type Thing, ast } from '@wattwright/language';
import { type AstNode, AstUtils, type CstNode, CstUtils, GrammarUtils, type LangiumDocument, URI } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import { isAddress } from './guard.js';

/** The token at a position and what it is of: the node it belongs to and the feature of the node it fills. */
export interface Spot {
  readonly leaf: CstNode;
  readonly node: AstNode;
  readonly feature: string | undefined;
}

/** What stands at an offset. At the end of a word the word counts, so that a cursor behind a name means the name. */
export function spotAt(document: LangiumDocument, offset: number): Spot | undefined {
  const root = document.parseResult.value.$cstNode;
  if (!root) return undefined;
  const leaf = CstUtils.findDeclarationNodeAtOffset(root, offset, /[\w\u00C0-\u017F-]/u);
  const any = leaf ?? CstUtils.findLeafNodeAtOffset(root, offset);
  return any && { leaf: any, node: any.astNode, feature: GrammarUtils.findAssignment(any)?.feature };
}

/** A document by an address that came from an editor; undefined for what is none, or is not known. */
export function documentNamed(shared: LangiumSharedServices, uri: unknown): LangiumDocument | undefined {
  return typeof uri === 'string' && isAddress(uri)
    ? shared.workspace.LangiumDocuments.getDocument(URI.parse(uri))
    : undefined;
}

export { kindAround, kindOfNode } from '@wattwright/language';

export type ThingNode = ast.Instance | ast.Run | ast.Link | ast.Control;

export const isThingNode = (node: AstNode): node is ThingNode =>
  ast.isInstance(node) || ast.isRun(node) || ast.isLink(node) || ast.isControl(node);

/** The analysed design a node lies in; variants of it come after it. */
export function designOf(analysis: Analysis | undefined, node: AstNode): AnalysedDesign | undefined {
  const design = AstUtils.getContainerOfType(node, ast.isDesign);
  const variant = AstUtils.getContainerOfType(node, ast.isVariant);
  if (variant) {
    return analysis?.designs.find(({ system }) => system.variant === variant.name);
  }
  return design && analysis?.designs.find(({ system }) => system.name === design.name && !system.variant);
}

/** The thing a declaration stands for in an analysed design. */
export function thingOf({ system }: AnalysedDesign, node: ThingNode): Thing | undefined {
  const among: readonly Thing[] = ast.isInstance(node)
    ? system.instances
    : ast.isRun(node)
      ? system.runs
      : ast.isLink(node)
        ? system.links
        : system.controls;
  return among.find((thing) => thing.name === node.name);
}
