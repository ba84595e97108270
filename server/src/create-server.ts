import {
  SyntaxModule,
  WattwrightGeneratedModule,
  WattwrightGeneratedSharedModule,
  type Stamp,
  type UnreadText,
  isInside,
  projectModule,
  resolveBeside,
} from '@wattwright/language';
import { type FileSystemProvider, type LangiumDocument, type Module, type URI, DocumentState, inject } from 'langium';
import {
  type DefaultSharedModuleContext,
  type LangiumSharedServices,
  type PartialLangiumServices,
  type PartialLangiumSharedServices,
  addCallHierarchyHandler,
  addCodeActionHandler,
  addCodeLensHandler,
  addConfigurationChangeHandler,
  addDocumentHighlightHandler,
  addDocumentLinkHandler,
  addDocumentSymbolHandler,
  addDocumentUpdateHandler,
  addExecuteCommandHandler,
  addFileOperationHandler,
  addFindReferencesHandler,
  addFoldingRangeHandler,
  addFormattingHandler,
  addGoToImplementationHandler,
  addGoToTypeDefinitionHandler,
  addGotoDefinitionHandler,
  addHoverHandler,
  addInlayHintHandler,
  addRenameHandler,
  addSemanticTokenHandler,
  addSignatureHelpHandler,
  addTextDocumentContentRequestHandler,
  addWorkspaceSymbolHandler,
  createDefaultModule,
  createDefaultSharedModule,
  WorkspaceState,
} from 'langium/lsp';
import type { Connection, Diagnostic } from 'vscode-languageserver';
import { DesignCodeActions } from './requests/code-actions.js';
import { ServerCommands, addExplainRequest } from './requests/explain.js';
import { DesignCompletion } from './requests/completion.js';
import { addCompletion } from './requests/completion-handler.js';
import { addDiagnosticsPublisher, publishDiagnostics } from './requests/diagnostics.js';
import { UseLinks } from './requests/document-links.js';
import { DesignSymbols, DesignWorkspaceSymbols, ThingKinds } from './requests/symbols.js';
import { addFurtherRequests } from './requests/further-requests.js';
import { DesignFolding } from './requests/folding.js';
import { DesignFormatter } from './requests/formatting.js';
import { guarded } from './requests/guard.js';
import { addDrawingRequest } from './requests/drawing.js';
import { CompletionWithHoles, HintsWithHoles, HoverWithHoles } from './requests/holes.js';
import { DesignHover } from './requests/hover.js';
import { RunHints } from './requests/inlay-hints.js';
import { DesignLenses } from './requests/lenses.js';
import { LibraryPages } from './requests/library-pages.js';
import { addPlotRequest } from './requests/plots.js';
import { PartOfThing, WhatExtends } from './requests/part-navigation.js';
import { PowerFlow } from './requests/power-flow.js';
import { addProving } from './requests/proving.js';
import { addPulledDiagnostics } from './requests/pulled-diagnostics.js';
import { NameHighlights, NameReferences } from './requests/references.js';
import { NameRename } from './requests/rename.js';
import { DesignSemanticTokens } from './requests/semantic-tokens.js';
import { FunctionSignatures } from './requests/signature-help.js';
import { Analyses, type ServerServices, type WattwrightServices, today } from './workspace/analyses.js';
import { Choices } from './workspace/choices.js';
import { type BuilderContext, DesignBuilder, VersionedDocumentFactory, isParsed } from './workspace/builder.js';
import { MovedFiles } from './workspace/file-operations.js';
import { FaultLog } from './workspace/fault-log.js';
import { MeantDescriptions, MeantReferences } from './workspace/meant-references.js';
import { ReferenceIndex } from './workspace/reference-index.js';
import { DesignUpdateHandler } from './workspace/update-handler.js';
import { NO_PROJECTS, type ServerProjects } from './workspace/server-projects.js';
import { QuickStartServer } from './workspace/quick-start.js';
import { Proposals } from './workspace/proposals.js';
import { AnalysisValidator, type ValidatorContext } from './workspace/validator.js';
import { LibraryFirstWorkspace } from './workspace/workspace-manager.js';

/** The stamp of what is made of some files: the tool, and the commit they stand in. */
export type StampOf = (files: readonly string[]) => Promise<Stamp>;

/** What differs between a process with files and a worker without. */
export interface ServerContext {
  readonly connection?: Connection;
  readonly fileSystemProvider: () => FileSystemProvider;
  /** Whether `fileSystemProvider` reads real files; a worker knows only what the editor has opened. */
  readonly readsFiles: boolean;
  /** Whether `uri`, which lies in the folder `boundary` by its name, may be read for `use`. */
  readonly mayRead?: (boundary: URI, uri: URI) => boolean;
  /** Text of a file that a design names beside itself, such as its weather; undefined when it cannot be read. */
  readonly readText?: (uri: URI) => string | UnreadText | undefined;
  /** Why a file of a workspace folder that is there cannot be read, in words that follow on its name. */
  readonly whyUnread?: (folder: URI, uri: URI) => string | undefined;
  /** The projects of files, for a server that works in some folders; none where no files are read. */
  readonly projects?: (folders: () => readonly URI[]) => ServerProjects;
  /** Today as `YYYY-MM-DD`; the local date when not given. */
  readonly today?: () => string;
  /** Where there is a repository to ask; without it only the tool is named. */
  readonly stampOf?: StampOf;
}

export interface Server {
  readonly shared: LangiumSharedServices;
  readonly wattwright: WattwrightServices;
  /** Where faults of the tool itself are told. */
  readonly faults: FaultLog;
}

const foldersOf = (shared: LangiumSharedServices): readonly URI[] =>
  (shared.workspace.WorkspaceManager as LibraryFirstWorkspace).folderUris;

const sharedModule = (
  context: ServerContext,
  projects: ServerProjects,
  failed: BuilderContext['failed'],
): Module<LangiumSharedServices, PartialLangiumSharedServices> => ({
  lsp: {
    DocumentUpdateHandler: (services) =>
      new DesignUpdateHandler(services, context.readsFiles, projects, () => foldersOf(services), failed),
    ExecuteCommandHandler: (services) => new ServerCommands(services),
    FileOperationHandler: (services) => new MovedFiles(services),
    LanguageServer: (services) => new QuickStartServer(services),
    NodeKindProvider: () => new ThingKinds(),
    TextDocumentContentProvider: () => new LibraryPages(),
    WorkspaceSymbolProvider: (services) => new DesignWorkspaceSymbols(services),
  },
  workspace: {
    DocumentBuilder: (services) =>
      new DesignBuilder(services, {
        workspaceFolders: () => foldersOf(services),
        mayRead: context.mayRead ?? (() => true),
        allowedByProject: projects.allows,
        failed,
      }),
    IndexManager: (services) => new ReferenceIndex(services),
    LangiumDocumentFactory: (services) => new VersionedDocumentFactory(services),
    WorkspaceManager: (services) => new LibraryFirstWorkspace(services, failed),
  },
});

/** What the validator needs of the connection: showing findings outside of a build. */
function publishers(
  { connection }: ServerContext,
  shared: LangiumSharedServices,
): Pick<ValidatorContext, 'publishEarly' | 'publishLate'> {
  if (!connection) return {};
  const publish = (document: LangiumDocument, diagnostics: Diagnostic[]): void =>
    publishDiagnostics(connection, shared, document, diagnostics);
  const refresh = (document: LangiumDocument, diagnostics: Diagnostic[]): void => {
    publish(document, diagnostics);
    // An editor that asks for findings does not know that there are others now; one that knows no asking anew is left at that.
    const { pullsDiagnostics } = (shared.lsp.LanguageServer as QuickStartServer).editor;
    if (pullsDiagnostics) void connection.languages.diagnostics.refresh().catch(() => undefined);
  };
  return { publishEarly: publish, publishLate: refresh };
}

const isSettled = (shared: LangiumSharedServices, document: LangiumDocument): boolean =>
  document.state >= DocumentState.Validated &&
  shared.workspace.LangiumDocuments.getDocument(document.uri) === document &&
  isParsed(shared, document);

/** Files beside a design are read under the same conditions as those it draws in. */
const textBeside =
  ({ mayRead, readText }: ServerContext): NonNullable<ValidatorContext['textBeside']> =>
  (design, boundary, file) => {
    const uri = resolveBeside(design, file);
    return uri && isInside(boundary, uri) && (mayRead?.(boundary, uri) ?? true) ? readText?.(uri) : undefined;
  };

const serverModule = (
  context: ServerContext,
  projects: ServerProjects,
  failed: BuilderContext['failed'],
): Module<WattwrightServices, PartialLangiumServices & ServerServices> => ({
  analysis: {
    Analyses: () => new Analyses(),
    Choices: (services) => new Choices(services),
    Proposals: (services) => new Proposals(services),
  },
  references: { References: (services) => new MeantReferences(services) },
  workspace: { ReferenceDescriptionProvider: (services) => new MeantDescriptions(services) },
  validation: {
    DocumentValidator: (services) =>
      new AnalysisValidator(services, {
        today: context.today ?? (() => today()),
        workspaceFolders: () => foldersOf(services.shared),
        isOpen: (document) => services.shared.workspace.TextDocuments.get(document.uri) !== undefined,
        isSettled: (document) => isSettled(services.shared, document),
        textBeside: textBeside(context),
        projects,
        failed,
        connection: services.shared.lsp.Connection,
        ...(context.whyUnread ? { whyUnread: context.whyUnread } : {}),
        ...publishers(context, services.shared),
      }),
  },
  lsp: {
    CallHierarchyProvider: (services) => new PowerFlow(services),
    CodeActionProvider: (services) => new DesignCodeActions(services),
    CodeLensProvider: (services) => new DesignLenses(services),
    CompletionProvider: (services) => new CompletionWithHoles(services, new DesignCompletion(services)),
    DocumentHighlightProvider: (services) => new NameHighlights(services),
    DocumentLinkProvider: (services) => new UseLinks(services),
    DocumentSymbolProvider: () => new DesignSymbols(),
    FoldingRangeProvider: (services) => new DesignFolding(services),
    Formatter: (services) => new DesignFormatter(services),
    HoverProvider: (services) => new HoverWithHoles(services, new DesignHover(services)),
    ImplementationProvider: (services) => new WhatExtends(services),
    InlayHintProvider: (services) => new HintsWithHoles(services, new RunHints(services)),
    ReferencesProvider: (services) => new NameReferences(services),
    RenameProvider: (services) => new NameRename(services),
    SemanticTokenProvider: (services) => new DesignSemanticTokens(services),
    SignatureHelp: (services) => new FunctionSignatures(services),
    TypeProvider: (services) => new PartOfThing(services),
  },
});

/** What is wrong with a project file is shown in it; no editor brings such files to the server, which reads them itself. */
function tellOfProjects(connection: Connection, projects: ServerProjects): void {
  projects.onRead((file, diagnostics) => {
    // An editor that has gone no longer wants to know.
    connection.sendDiagnostics({ uri: file.toString(), diagnostics }).catch(() => undefined);
  });
}

/** The services of a language server, wired and not yet listening. */
export function createServer(context: ServerContext): Server {
  const faults = new FaultLog((text) =>
    context.connection ? context.connection.console.error(text) : console.error(text),
  );
  const sharedContext: DefaultSharedModuleContext = {
    fileSystemProvider: context.fileSystemProvider,
    ...(context.connection ? { connection: context.connection } : {}),
  };
  const failed: BuilderContext['failed'] = (during, fault, document) => {
    const version = document && shared.workspace.TextDocuments.get(document.uri)?.version;
    faults.tell(during, fault, {
      ...(document ? { uri: document.uri.toString() } : {}),
      ...(version === undefined ? {} : { version }),
    });
  };
  const projects = context.projects?.(() => foldersOf(shared)) ?? NO_PROJECTS;
  const shared: LangiumSharedServices = inject(
    createDefaultSharedModule(sharedContext),
    WattwrightGeneratedSharedModule,
    sharedModule(context, projects, failed),
    projectModule(projects),
  );
  if (context.connection) tellOfProjects(context.connection, projects);
  const wattwright = inject(
    createDefaultModule({ shared }),
    WattwrightGeneratedModule,
    SyntaxModule,
    serverModule(context, projects, failed),
  );
  shared.ServiceRegistry.register(wattwright);
  return { shared, wattwright, faults };
}

/**
 * Connects a server to its editor and listens. Each request says how far the document must have been worked on before it is answered;
 * none starts work of its own.
 */
export function startServer(given: Connection, context: Omit<ServerContext, 'connection'>): Server {
  const server = createServer({ ...context, connection: given });
  const { shared } = server;
  const connection = guarded(given, server.faults, () => shared);
  addDocumentUpdateHandler(connection, shared);
  addFileOperationHandler(connection, shared);
  addDiagnosticsPublisher(connection, shared);
  addHoverHandler(connection, shared, DocumentState.Validated);
  addCodeActionHandler(connection, shared, DocumentState.Validated);
  addInlayHintHandler(connection, shared, DocumentState.Validated);
  addCompletion(connection, shared, server.wattwright);
  addSignatureHelpHandler(connection, shared, DocumentState.Parsed);
  addGotoDefinitionHandler(connection, shared, DocumentState.Linked);
  addGoToTypeDefinitionHandler(connection, shared, DocumentState.Linked);
  addGoToImplementationHandler(connection, shared, WorkspaceState.IndexedContent);
  addCallHierarchyHandler(connection, shared, DocumentState.Validated);
  addFurtherRequests(connection, shared, server.wattwright);
  addPulledDiagnostics(connection, shared);
  addProving(connection, shared, server.wattwright);
  addFindReferencesHandler(connection, shared, WorkspaceState.IndexedReferences);
  addDocumentHighlightHandler(connection, shared, DocumentState.IndexedReferences);
  addRenameHandler(connection, shared, WorkspaceState.IndexedReferences);
  addDocumentSymbolHandler(connection, shared, DocumentState.Parsed);
  addWorkspaceSymbolHandler(connection, shared, WorkspaceState.IndexedContent);
  addFormattingHandler(connection, shared, DocumentState.Parsed);
  addFoldingRangeHandler(connection, shared, DocumentState.Parsed);
  addSemanticTokenHandler(connection, shared, DocumentState.Linked);
  addDocumentLinkHandler(connection, shared, DocumentState.Parsed);
  addCodeLensHandler(connection, shared, DocumentState.Validated);
  addExecuteCommandHandler(connection, shared);
  addTextDocumentContentRequestHandler(connection, shared);
  addConfigurationChangeHandler(connection, shared);
  addExplainRequest(connection);
  addDrawingRequest(connection, server, context.stampOf);
  addPlotRequest(connection, server);
  connection.onInitialize((parameters) => shared.lsp.LanguageServer.initialize(parameters));
  connection.onInitialized((parameters) => {
    shared.lsp.LanguageServer.initialized(parameters);
    watchFolders(connection, server);
  });
  shared.workspace.TextDocuments.listen(connection);
  connection.listen();
  return server;
}

function watchFolders(connection: Connection, { shared, faults }: Server): void {
  connection.workspace.onDidChangeWorkspaceFolders(({ added, removed }) => {
    const workspace = shared.workspace.WorkspaceManager as LibraryFirstWorkspace;
    workspace
      .changeFolders(added, removed)
      .then(() => (shared.lsp.DocumentUpdateHandler as DesignUpdateHandler).foldersChanged())
      .catch((fault: unknown) => faults.tell('a change of folders', fault));
  });
}
