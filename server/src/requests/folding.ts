import { ast } from '@wattwright/language';
import type { AstNode } from 'langium';
import { DefaultFoldingRangeProvider } from 'langium/lsp';

/** Folds everything in braces, and comments. The line with the closing brace stays visible. */
export class DesignFolding extends DefaultFoldingRangeProvider {
  protected override shouldProcess(node: AstNode): boolean {
    // A body folds with its thing, not a second time by itself.
    return !ast.isBody(node) && !ast.isFile(node);
  }
}
