import { DocumentState, URI, isOperationCancelled } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import {
  type CancellationToken,
  type Connection,
  ErrorCodes,
  LSPErrorCodes,
  type Position,
  ResponseError,
} from 'vscode-languageserver';
import { type FaultLog, messageOf } from '../workspace/fault-log.js';

/** Requests by how a connection takes their handlers. */
const METHODS: ReadonlyMap<string, string> = new Map([
  ['onInitialize', 'initialize'],
  ['onHover', 'textDocument/hover'],
  ['onCodeAction', 'textDocument/codeAction'],
  ['onCompletion', 'textDocument/completion'],
  ['onCompletionResolve', 'completionItem/resolve'],
  ['onSignatureHelp', 'textDocument/signatureHelp'],
  ['onDefinition', 'textDocument/definition'],
  ['onReferences', 'textDocument/references'],
  ['onDocumentHighlight', 'textDocument/documentHighlight'],
  ['onRenameRequest', 'textDocument/rename'],
  ['onPrepareRename', 'textDocument/prepareRename'],
  ['onDocumentSymbol', 'textDocument/documentSymbol'],
  ['onWorkspaceSymbol', 'workspace/symbol'],
  ['onWorkspaceSymbolResolve', 'workspaceSymbol/resolve'],
  ['onDocumentFormatting', 'textDocument/formatting'],
  ['onDocumentRangeFormatting', 'textDocument/rangeFormatting'],
  ['onDocumentOnTypeFormatting', 'textDocument/onTypeFormatting'],
  ['onFoldingRanges', 'textDocument/foldingRange'],
  ['onDocumentLinks', 'textDocument/documentLink'],
  ['onCodeLens', 'textDocument/codeLens'],
  ['onCodeLensResolve', 'codeLens/resolve'],
  ['onCodeActionResolve', 'codeAction/resolve'],
  ['onSelectionRanges', 'textDocument/selectionRange'],
  ['onTypeDefinition', 'textDocument/typeDefinition'],
  ['onImplementation', 'textDocument/implementation'],
  ['languages.onLinkedEditingRange', 'textDocument/linkedEditingRange'],
  ['languages.diagnostics.on', 'textDocument/diagnostic'],
  ['languages.callHierarchy.onPrepare', 'textDocument/prepareCallHierarchy'],
  ['languages.callHierarchy.onIncomingCalls', 'callHierarchy/incomingCalls'],
  ['languages.callHierarchy.onOutgoingCalls', 'callHierarchy/outgoingCalls'],
  ['languages.inlayHint.resolve', 'inlayHint/resolve'],
  ['workspace.onWillRenameFiles', 'workspace/willRenameFiles'],
  ['onExecuteCommand', 'workspace/executeCommand'],
  ['languages.inlayHint.on', 'textDocument/inlayHint'],
  ['languages.semanticTokens.on', 'textDocument/semanticTokens/full'],
  ['languages.semanticTokens.onDelta', 'textDocument/semanticTokens/full/delta'],
  ['languages.semanticTokens.onRange', 'textDocument/semanticTokens/range'],
  ['workspace.textDocumentContent.on', 'workspace/textDocumentContent'],
]);

/** Requests that are about one document. */
const OF_A_DOCUMENT = /^(textDocument\/|wattwright\/(drawing|plots)$)/;

/** Requests that are about one position. */
const AT_POSITION: ReadonlySet<string> = new Set(
  [
    'hover',
    'completion',
    'signatureHelp',
    'definition',
    'references',
    'documentHighlight',
    'rename',
    'prepareRename',
    'typeDefinition',
    'implementation',
    'linkedEditingRange',
    'prepareCallHierarchy',
  ].map((name) => `textDocument/${name}`),
);

/** Requests that wait for the whole workspace, and are about one document of it all the same. */
const OVER_FILES: ReadonlySet<string> = new Set(
  ['references', 'rename', 'prepareRename', 'implementation'].map((name) => `textDocument/${name}`),
);

interface Parameters {
  readonly textDocument?: { readonly uri?: unknown };
  readonly position?: { readonly line?: unknown; readonly character?: unknown };
}

type Handler = (...given: readonly unknown[]) => unknown;

/**
 * A connection whose request handlers may fail: the request is answered with an error, the fault is told once, and the server goes on.
 * Requests that lack what they are about are refused before a handler sees them.
 */
export function guarded(connection: Connection, faults: FaultLog, shared: () => LangiumSharedServices): Connection {
  const versionOf = (uri: string | undefined): number | undefined => {
    try {
      return uri === undefined ? undefined : shared().workspace.TextDocuments.get(uri)?.version;
    } catch {
      return undefined;
    }
  };

  const known = async (uri: string, token: CancellationToken | undefined): Promise<void> => {
    const { DocumentBuilder, WorkspaceManager } = shared().workspace;
    await WorkspaceManager.ready;
    await DocumentBuilder.waitUntil(DocumentState.Parsed, URI.parse(uri), token);
  };

  const guard =
    (method: string, handler: Handler): Handler =>
    async (...given) => {
      const parameters = (given[0] ?? {}) as Parameters;
      const refusal = refusalOf(method, parameters);
      if (refusal !== undefined) return new ResponseError(ErrorCodes.InvalidParams, `${method}: ${refusal}`);
      const uri = typeof parameters.textDocument?.uri === 'string' ? parameters.textDocument.uri : undefined;
      try {
        if (uri !== undefined && OVER_FILES.has(method)) await known(uri, given[1] as CancellationToken | undefined);
        return await handler(...given);
      } catch (fault) {
        if (isOperationCancelled(fault))
          return new ResponseError(LSPErrorCodes.RequestCancelled, 'The request has been cancelled.');
        if (fault instanceof ResponseError) return fault;
        if (uri !== undefined && !shared().workspace.LangiumDocuments.hasDocument(URI.parse(uri)))
          return new ResponseError(LSPErrorCodes.RequestFailed, `${uri} is not known any more`);
        const version = versionOf(uri);
        faults.tell(method, fault, {
          ...(uri === undefined ? {} : { uri }),
          ...(version === undefined ? {} : { version }),
          ...(parameters.position ? { position: parameters.position as Position } : {}),
        });
        return new ResponseError(
          ErrorCodes.InternalError,
          `${method} failed (${messageOf(fault)}). This is a fault of the tool, not of the design; its log says more.`,
        );
      }
    };

  const wrap = <T extends object>(target: T, path: string): T =>
    new Proxy(target, {
      get(of, key) {
        const member: unknown = Reflect.get(of, key, of);
        if (typeof key !== 'string') return member;
        if (typeof member === 'object' && member !== null && isOnTheWay(`${path}${key}.`))
          return wrap(member, `${path}${key}.`);
        if (typeof member !== 'function') return member;
        return (...given: readonly unknown[]): unknown => {
          const method = path === '' && key === 'onRequest' ? nameOf(given[0]) : METHODS.get(`${path}${key}`);
          const guardedOnes = given.map((each) =>
            method !== undefined && typeof each === 'function' ? guard(method, each as Handler) : each,
          );
          return Reflect.apply(member as Handler, of, guardedOnes);
        };
      },
    });
  return wrap(connection, '');
}

const isOnTheWay = (path: string): boolean => [...METHODS.keys()].some((key) => key.startsWith(path));

const nameOf = (type: unknown): string =>
  typeof type === 'string' ? type : String((type as { method?: unknown } | undefined)?.method ?? 'a request');

/** What a request lacks; undefined when it can be handled. */
function refusalOf(method: string, { textDocument, position }: Parameters): string | undefined {
  if (!OF_A_DOCUMENT.test(method)) return undefined;
  if (typeof textDocument?.uri !== 'string') return 'no document is named';
  if (!isAddress(textDocument.uri)) return 'the document is named by what is no address';
  if (!AT_POSITION.has(method)) return undefined;
  const isWhole = (part: unknown): boolean => Number.isInteger(part) && (part as number) >= 0;
  return isWhole(position?.line) && isWhole(position?.character) ? undefined : 'no position is given';
}

/** Whether a text is an address that can be read and written. */
export function isAddress(text: string): boolean {
  try {
    // Writing it fails where it holds half a character.
    return URI.parse(text).toString() !== '';
  } catch {
    return false;
  }
}
