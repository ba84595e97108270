import { ast, findFunction, isPlainWord, kindOf } from '@wattwright/language';
import { type AstNode, type CstNode, GrammarUtils } from 'langium';
import { AbstractSemanticTokenProvider, type SemanticTokenAcceptor } from 'langium/lsp';
import { SemanticTokenModifiers, SemanticTokenTypes, type SemanticTokensOptions } from 'vscode-languageserver';
import { kindAround, isThingNode } from './locate.js';
import { BUILT_IN_FUNCTIONS } from './words.js';

const DECLARATION = SemanticTokenModifiers.declaration;

/** Colours by meaning what the plain highlighting cannot tell apart: kinds, parts, things, properties, functions, check ids, units. */
export class DesignSemanticTokens extends AbstractSemanticTokenProvider {
  /** Differences to the last answer are sent: a keystroke changes few tokens. */
  override get semanticTokensOptions(): SemanticTokensOptions {
    return { ...super.semanticTokensOptions, full: { delta: true } };
  }

  protected override highlightElement(node: AstNode, acceptor: SemanticTokenAcceptor): void {
    const mark = (feature: string, type: string, modifier?: string, index?: number): void => {
      const found = GrammarUtils.findNodeForProperty(node.$cstNode, feature, index);
      if (found) acceptor({ cst: found, type, ...(modifier ? { modifier } : {}) });
    };
    if (ast.isPart(node)) {
      mark('kind', kindType(node.kind));
      mark('name', SemanticTokenTypes.class, DECLARATION);
      mark('base', SemanticTokenTypes.class);
    } else if (ast.isInstance(node)) {
      mark('kind', kindType(node.kind));
      mark('name', SemanticTokenTypes.variable, DECLARATION);
      mark('part', SemanticTokenTypes.class);
    } else if (isThingNode(node) || ast.isScenario(node) || ast.isLet(node) || ast.isProfileDeclaration(node)) {
      mark('name', SemanticTokenTypes.variable, DECLARATION);
      if (ast.isControl(node)) mark('target', SemanticTokenTypes.variable);
    } else if (ast.isDesign(node) || ast.isVariant(node)) {
      mark('name', SemanticTokenTypes.namespace, DECLARATION);
      if (ast.isVariant(node)) mark('base', SemanticTokenTypes.namespace);
    } else if (ast.isProperty(node)) mark('name', SemanticTokenTypes.property);
    else if (ast.isRunStop(node)) {
      mark('element', SemanticTokenTypes.variable);
      mark('terminal', SemanticTokenTypes.property);
    } else if (ast.isRemoved(node)) mark('thing', SemanticTokenTypes.variable);
    else if (ast.isFallback(node)) mark('link', SemanticTokenTypes.variable);
    else if (ast.isRule(node)) mark('verb', SemanticTokenTypes.keyword);
    else if (ast.isAccept(node)) mark('check', SemanticTokenTypes.decorator);
    else if (ast.isArgument(node)) mark('name', SemanticTokenTypes.parameter);
    else if (ast.isCall(node)) mark('function', SemanticTokenTypes.function, libraryModifier(node.function));
    else if (ast.isPath(node)) {
      mark('root', pathType(node));
      node.steps.forEach((_, index) => mark('steps', SemanticTokenTypes.property, undefined, index));
    } else if (ast.isQuantityLiteral(node) || ast.isSizeLiteral(node) || ast.isSystemLiteral(node))
      this.quantity(node.$cstNode, acceptor);
    else if (ast.isNumberLiteral(node) || ast.isDateLiteral(node) || ast.isTimeLiteral(node))
      mark('text', SemanticTokenTypes.number);
  }

  /** The number and its unit apart. */
  private quantity(cst: CstNode | undefined, acceptor: SemanticTokenAcceptor): void {
    if (!cst) return;
    const number = /^(?:three[ \t]+)?\d[\d./]*(?:[eE][+-]?\d+)?(?=[ \t]*\D)/.exec(cst.text)?.[0] ?? cst.text;
    const gap = /^[ \t]*/.exec(cst.text.slice(number.length))![0].length;
    const { line, character } = cst.range.start;
    acceptor({ line, char: character, length: number.length, type: SemanticTokenTypes.number });
    const unit = cst.text.length - number.length - gap;
    if (unit > 0)
      acceptor({ line, char: character + number.length + gap, length: unit, type: SemanticTokenTypes.typeParameter });
  }
}

const kindType = (kind: string | undefined): string =>
  kind !== undefined && kindOf(kind) ? SemanticTokenTypes.type : SemanticTokenTypes.variable;

const libraryModifier = (name: string | undefined): string | undefined =>
  name !== undefined && (findFunction(name) || BUILT_IN_FUNCTIONS.has(name))
    ? SemanticTokenModifiers.defaultLibrary
    : undefined;

function pathType(node: ast.Path): string {
  const target = isPlainWord(node) ? undefined : node.root?.ref;
  if (!target) return kindAround(node) ? SemanticTokenTypes.enumMember : SemanticTokenTypes.variable;
  if (ast.isPart(target)) return SemanticTokenTypes.class;
  return ast.isDesign(target) ? SemanticTokenTypes.namespace : SemanticTokenTypes.variable;
}
