import { ast } from '@wattwright/language';
import { AstUtils, GrammarUtils, type LangiumDocument } from 'langium';
import { DefaultRenameProvider } from 'langium/lsp';
import {
  LSPErrorCodes,
  type Position,
  type Range,
  type RenameParams,
  ResponseError,
  type TextEdit,
  type TextDocumentPositionParams,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { spotAt } from './locate.js';
import { type Declaration, NameConflicts } from './name-conflicts.js';
import { referenceIndexOf } from './references.js';

const NAME = /^[A-Za-z_\u00C0-\u00D6\u00D8-\u00F6\u00F8-\u017F][\w\u00C0-\u017F]*(-[\w\u00C0-\u017F]+)*$/;

const refused = (message: string): ResponseError<void> => new ResponseError(LSPErrorCodes.RequestFailed, message);

/**
 * Renames things and declarations wherever they are spoken of, over all files, or says why not. Names of properties belong to the language
 * and stay.
 */
export class NameRename extends DefaultRenameProvider {
  private readonly conflicts: NameConflicts;

  constructor(private readonly services: WattwrightServices) {
    super(services);
    this.conflicts = new NameConflicts(services);
  }

  override async rename(document: LangiumDocument, params: RenameParams): Promise<WorkspaceEdit | undefined> {
    const { newName } = params;
    const target = this.targetAt(document, params.position);
    if (!target) return undefined;
    if (newName === target.name) return { changes: {} };
    if (!NAME.test(newName) || this.isReserved(newName))
      throw refused(
        `\`${newName}\` cannot be a name: letters, digits, _ and inner hyphens, beginning with a letter, and no word of the language`,
      );
    const reason = this.conflicts.reason(target, newName) ?? this.conflicts.unread(target);
    if (reason !== undefined) throw refused(reason);
    await referenceIndexOf(this.services).complete();
    const changes: Record<string, TextEdit[]> = {};
    for (const twin of this.conflicts.twins(target)) {
      const at = GrammarUtils.findNodeForProperty(twin.$cstNode, 'name')?.range.start;
      const edit = at && (await super.rename(AstUtils.getDocument(twin), { ...params, position: at }));
      for (const [uri, edits] of Object.entries(edit?.changes ?? {})) (changes[uri] ??= []).push(...edits);
    }
    return { changes };
  }

  override prepareRename(document: LangiumDocument, params: TextDocumentPositionParams): Range | undefined {
    if (!this.targetAt(document, params.position)) return undefined;
    return super.prepareRename(document, params) as Range | undefined;
  }

  private isReserved(name: string): boolean {
    const [token, ...rest] = this.services.parser.Lexer.tokenize(name).tokens;
    return rest.length > 0 || token?.tokenType.name !== 'WORD' || token.image !== name;
  }

  /** The declaration that a name at a position stands for, when it may be renamed. */
  private targetAt(document: LangiumDocument, position: Position): Declaration | undefined {
    const spot = spotAt(document, document.textDocument.offsetAt(position));
    if (!spot || (ast.isProperty(spot.node) && spot.feature === 'name')) return undefined;
    if (ast.isArgument(spot.node) && spot.feature === 'name') return undefined;
    const [target] = this.references.findDeclarations(spot.leaf);
    return target && !isLibrary(AstUtils.getDocument(target).uri) ? (target as Declaration) : undefined;
  }
}
