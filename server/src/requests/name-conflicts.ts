import { type Names, VisibleDocuments, WORDS_WITH_MEANING, ast, isPlainWord } from '@wattwright/language';
import { type AstNode, AstUtils, CstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { kindOfNode } from './locate.js';

export type Declaration = AstNode & { readonly name: string };

const nameOfFile = (document: LangiumDocument): string => document.uri.path.replace(/^.*\//, '');

/** What a declaration is, in a word: `battery`, `profile`, `variant`. */
export const sortOf = (node: AstNode): string => {
  if (ast.isPart(node)) return 'part';
  return kindOfNode(node) ?? node.$type.replace('Declaration', '').toLowerCase();
};

/**
 * Says why a declaration cannot take a name: two names would merge, one would hide the other, or words that mean something else today
 * would come to mean this.
 */
export class NameConflicts {
  private readonly visible: VisibleDocuments;

  constructor(private readonly services: WattwrightServices) {
    this.visible = new VisibleDocuments(services.shared);
  }

  /** The reason against the name; undefined when there is none. */
  reason(target: Declaration, name: string): string | undefined {
    if (WORDS_WITH_MEANING.has(name)) return `\`${name}\` is a word of the language with a meaning of its own`;
    const seeing = this.documentsSeeing(target);
    for (const document of seeing) {
      const taken = this.declared(target, document, name);
      if (taken) return `\`${name}\` is taken: ${this.placeOf(taken)} declares ${article(sortOf(taken))} of this name`;
    }
    for (const document of seeing) {
      const captured = this.captured(target, document, name);
      if (captured)
        return `\`${name}\` is spoken of in ${lineOf(captured, document)}, and would come to mean this ${sortOf(target)}`;
    }
    return undefined;
  }

  /** Where a file may speak of a declaration in a part that could not be read; undefined when there is none. */
  unread(target: Declaration): string | undefined {
    for (const document of this.documentsSeeing(target)) {
      const { lexerErrors, parserErrors, value } = document.parseResult;
      if (lexerErrors.length + parserErrors.length === 0 || !value.$cstNode) continue;
      const { tokens } = this.services.parser.Lexer.tokenize(document.textDocument.getText());
      for (const { image, startOffset } of tokens) {
        if (image !== target.name) continue;
        const leaf = CstUtils.findLeafNodeAtOffset(value.$cstNode, startOffset);
        if (leaf?.offset === startOffset && leaf.length === image.length) continue;
        const line = document.textDocument.positionAt(startOffset).line + 1;
        return `line ${line} of ${nameOfFile(document)} may speak of \`${image}\` and cannot be read: fix its syntax errors first`;
      }
    }
    return undefined;
  }

  /** The file of a declaration and those that see it by `use`. A thing of a design is seen through variants of the design. */
  private documentsSeeing(target: AstNode): LangiumDocument[] {
    const own = AstUtils.getDocument(target);
    const others = this.services.shared.workspace.LangiumDocuments.all.filter(
      (document) => document !== own && !isLibrary(document.uri) && this.visible.used(document).includes(own),
    );
    return [own, ...others];
  }

  /** Another declaration of the name, in any table that holds the declaration, is searched with it, or lies inside its reach. */
  private declared(target: Declaration, document: LangiumDocument, name: string): AstNode | undefined {
    const file = document.parseResult.value;
    if (!ast.isFile(file)) return undefined;
    const isChange = ast.isAddition(target.$container!) || ast.isReplacement(target.$container!);
    const isMember = ast.isDesign(target.$container) || isChange;
    const added = this.addedBeside(target, document, name);
    if (added) return added;
    if (isMember && document !== AstUtils.getDocument(target)) return undefined;
    const twins: readonly AstNode[] = this.twins(target);
    const tables: Names[] = [
      ...this.visible.tables(isMember ? target : file),
      ...(isMember ? [] : file.declarations.filter(ast.isDesign).flatMap((design) => this.visible.tables(design)[0]!)),
    ];
    for (const table of tables) {
      const found = table.get(name)?.find((node) => node !== target && !twins.includes(node));
      if (found) return found;
    }
    return undefined;
  }

  /** What a variant of its design adds under the name. */
  private addedBeside(target: Declaration, document: LangiumDocument, name: string): AstNode | undefined {
    const design = ast.isDesign(target.$container) ? target.$container : undefined;
    return variantsIn(document)
      .filter((variant) => design !== undefined && variant.base?.ref === design)
      .flatMap(({ changes }) => changes)
      .flatMap((change) => (ast.isAddition(change) && change.thing ? [change.thing] : []))
      .find((thing) => (thing as { name?: string }).name === name);
  }

  /** A thing with those that stand in its place in variants: they have one name, and keep it together. */
  twins(target: Declaration): readonly Declaration[] {
    const { $container } = target;
    const variant = $container && ast.isReplacement($container) ? $container.$container : undefined;
    const design = ast.isDesign($container)
      ? $container
      : variant && ast.isVariant(variant)
        ? variant.base?.ref
        : undefined;
    if (!design) return [target];
    const members: readonly AstNode[] = design.members;
    const isTwin = (node: AstNode): node is Declaration =>
      node.$type === target.$type && (node as Declaration).name === target.name;
    const replacing = this.documentsSeeing(design)
      .flatMap(variantsIn)
      .filter((each) => each.base?.ref === design)
      .flatMap(({ changes }) => changes)
      .flatMap((change): AstNode[] => (ast.isReplacement(change) && change.thing ? [change.thing] : []));
    return [...new Set([target, ...members.filter(isTwin), ...replacing.filter(isTwin)])];
  }

  /** A word that stands for nothing, or for something else, and would stand for the declaration. */
  private captured(target: Declaration, document: LangiumDocument, name: string): AstNode | undefined {
    for (const node of AstUtils.streamAst(document.parseResult.value)) {
      for (const { reference } of AstUtils.streamReferences(node)) {
        if (reference.$refText !== name || (ast.isPath(node) && isPlainWord(node))) continue;
        const sees = this.visible.tables(node).some((table) => table.get(target.name)?.some((each) => each === target));
        if (sees) return node;
      }
    }
    return undefined;
  }

  private placeOf(node: AstNode): string {
    const document = AstUtils.getDocument(node);
    return isLibrary(document.uri) ? 'the standard library' : lineOf(node, document);
  }
}

function variantsIn({ parseResult: { value } }: LangiumDocument): ast.Variant[] {
  return ast.isFile(value) ? value.declarations.filter(ast.isVariant) : [];
}

const article = (sort: string): string => `${/^[aeiou]/.test(sort) ? 'an' : 'a'} ${sort}`;

function lineOf(node: AstNode, document: LangiumDocument): string {
  const at = GrammarUtils.findNodeForProperty(node.$cstNode, 'name') ?? node.$cstNode;
  return `line ${(at?.range.start.line ?? 0) + 1} of ${nameOfFile(document)}`;
}
