import { VisibleDocuments, ast, meantBy } from '@wattwright/language';
import {
  type AstNode,
  AstUtils,
  type CstNode,
  DefaultReferenceDescriptionProvider,
  DefaultReferences,
  GrammarUtils,
  type LangiumCoreServices,
  type ReferenceDescription,
  type ReferenceInfo,
  CstUtils,
  UriUtils,
  isReference,
} from 'langium';

/** What a reference stands for: of the first name of a path, what the model takes it for. */
export function targetOf(
  { container, property, reference }: ReferenceInfo,
  visible: VisibleDocuments,
): AstNode | undefined {
  if (!isReference(reference)) return undefined;
  return ast.isPath(container) && property === 'root' ? meantBy(container, visible) : reference.ref;
}

/** Lists what every name of a file stands for, whether the model has asked for it yet or not. */
export class MeantDescriptions extends DefaultReferenceDescriptionProvider {
  private readonly visible: VisibleDocuments;

  constructor(services: LangiumCoreServices) {
    super(services);
    this.visible = new VisibleDocuments(services.shared);
  }

  protected override createInfoDescriptions(info: ReferenceInfo): ReferenceDescription[] {
    const target = targetOf(info, this.visible);
    const { $refNode } = info.reference;
    if (!target || !$refNode) return [];
    const [sourceUri, targetUri] = [AstUtils.getDocument(info.container).uri, AstUtils.getDocument(target).uri];
    return [
      {
        sourceUri,
        sourcePath: this.nodeLocator.getAstNodePath(info.container),
        targetUri,
        targetPath: this.nodeLocator.getAstNodePath(target),
        segment: CstUtils.toDocumentSegment($refNode),
        local: UriUtils.equals(sourceUri, targetUri),
      },
    ];
  }
}

/** Leads from a name to its declaration; plain words (`fuel: petrol`) lead nowhere, whatever is declared by the same name. */
export class MeantReferences extends DefaultReferences {
  private readonly visible: VisibleDocuments;

  constructor(services: LangiumCoreServices) {
    super(services);
    this.visible = new VisibleDocuments(services.shared);
  }

  override findDeclarations(leaf: CstNode): AstNode[] {
    const node = leaf.astNode;
    if (!ast.isPath(node) || GrammarUtils.findAssignment(leaf)?.feature !== 'root') return super.findDeclarations(leaf);
    const target = meantBy(node, this.visible);
    return target ? [target] : [];
  }
}
