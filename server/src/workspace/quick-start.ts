import { eagerLoad } from 'langium';
import { DefaultLanguageServer } from 'langium/lsp';
import {
  CodeActionKind,
  type InitializeParams,
  type InitializeResult,
  PositionEncodingKind,
} from 'vscode-languageserver';
import type { WattwrightServices } from './analyses.js';

/** What an editor can do, by what it says at the start. */
export interface EditorAbilities {
  /** Asks for findings instead of waiting for them. */
  readonly pullsDiagnostics: boolean;
  /** Asks for the edit of an action once it is chosen. */
  readonly resolvesEdits: boolean;
  /** Has a command that asks for the reason of an accepted finding. */
  readonly asksReasons: boolean;
}

const NONE: EditorAbilities = { pullsDiagnostics: false, resolvesEdits: false, asksReasons: false };

/** What an editor may say of itself among its options for the start. */
interface StartOptions {
  /** `push`: it wants what is known early, and what scenarios show later, and asks for nothing. */
  readonly diagnostics?: unknown;
  /** Whether it has the command that asks for reasons. */
  readonly asksReasons?: unknown;
}

/** Answers `initialize` at once: only services that wait for it are made before, the parser after. */
export class QuickStartServer extends DefaultLanguageServer {
  editor = NONE;

  protected override eagerLoadServices(): void {
    // Invariant: what is made here is everything that subscribes to `onInitialize`.
    eagerLoad(this.services.lsp);
    for (const language of this.services.ServiceRegistry.all)
      void (language as WattwrightServices).lsp.SemanticTokenProvider;
  }

  /** Langium knows some of the abilities of this server; the others are added here. */
  protected override buildInitializeResult(parameters: InitializeParams): InitializeResult {
    this.editor = abilitiesOf(parameters);
    const { capabilities, ...rest } = super.buildInitializeResult(parameters);
    return {
      ...rest,
      capabilities: {
        ...capabilities,
        // Positions count UTF-16 units, as texts do here. Every editor has to know them; those that offer others are told.
        positionEncoding: PositionEncodingKind.UTF16,
        completionProvider: { ...capabilities.completionProvider, resolveProvider: true },
        codeActionProvider: {
          codeActionKinds: [
            CodeActionKind.QuickFix,
            CodeActionKind.Refactor,
            CodeActionKind.SourceFixAll,
            CodeActionKind.SourceOrganizeImports,
          ],
          resolveProvider: true,
        },
        codeLensProvider: { resolveProvider: true },
        inlayHintProvider: { resolveProvider: true },
        selectionRangeProvider: true,
        linkedEditingRangeProvider: true,
        ...(this.editor.pullsDiagnostics
          ? {
              diagnosticProvider: {
                identifier: 'wattwright',
                interFileDependencies: true,
                workspaceDiagnostics: false,
              },
            }
          : {}),
      },
    };
  }
}

function abilitiesOf({ capabilities, initializationOptions }: InitializeParams): EditorAbilities {
  const { textDocument } = capabilities;
  const { diagnostics, asksReasons } = (initializationOptions ?? {}) as StartOptions;
  return {
    pullsDiagnostics: textDocument?.diagnostic !== undefined && diagnostics !== 'push',
    resolvesEdits: textDocument?.codeAction?.resolveSupport?.properties.includes('edit') ?? false,
    asksReasons: asksReasons === true,
  };
}
