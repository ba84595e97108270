import { ast } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { DefaultRenameProvider } from 'langium/lsp';
import {
  LSPErrorCodes,
  type Position,
  type Range,
  type RenameParams,
  ResponseError,
  type TextDocumentPositionParams,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import { AstUtils } from 'langium';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { spotAt } from './locate.js';
import { referenceIndexOf } from './references.js';

const NAME = /^[A-Za-z_\u00C0-\u00D6\u00D8-\u00F6\u00F8-\u017F][\w\u00C0-\u017F]*(-[\w\u00C0-\u017F]+)*$/;

/** Renames things and declarations wherever they are spoken of, over all files. Names of properties belong to the language and stay. */
export class NameRename extends DefaultRenameProvider {
  constructor(private readonly services: WattwrightServices) {
    super(services);
  }

  override async rename(document: LangiumDocument, params: RenameParams): Promise<WorkspaceEdit | undefined> {
    if (!this.mayRename(document, params.position)) return undefined;
    if (!NAME.test(params.newName) || this.isReserved(params.newName))
      throw new ResponseError(
        LSPErrorCodes.RequestFailed,
        `\`${params.newName}\` cannot be a name: letters, digits, _ and inner hyphens, beginning with a letter, and no word of the language`,
      );
    await referenceIndexOf(this.services).complete();
    return super.rename(document, params);
  }

  override prepareRename(document: LangiumDocument, params: TextDocumentPositionParams): Range | undefined {
    if (!this.mayRename(document, params.position)) return undefined;
    return super.prepareRename(document, params) as Range | undefined;
  }

  private isReserved(name: string): boolean {
    const [token, ...rest] = this.services.parser.Lexer.tokenize(name).tokens;
    return rest.length > 0 || token?.tokenType.name !== 'WORD';
  }

  private mayRename(document: LangiumDocument, position: Position): boolean {
    const spot = spotAt(document, document.textDocument.offsetAt(position));
    if (!spot || (ast.isProperty(spot.node) && spot.feature === 'name')) return false;
    if (ast.isArgument(spot.node) && spot.feature === 'name') return false;
    const [target] = this.references.findDeclarations(spot.leaf);
    return target !== undefined && !isLibrary(AstUtils.getDocument(target).uri);
  }
}
