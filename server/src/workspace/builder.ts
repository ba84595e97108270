import { type SafeParser, VisibleDocuments, loadUsed } from '@wattwright/language';
import { usedBy } from '../files/used-by.js';
import {
  type BuildOptions,
  type AstNode,
  DefaultDocumentBuilder,
  DefaultLangiumDocumentFactory,
  Deferred,
  DocumentState,
  Emitter,
  type LangiumDocument,
  type LangiumSharedCoreServices,
  type MaybePromise,
  OperationCancelled,
  type ParseResult,
  type TextDocumentProvider,
  URI,
  isOperationCancelled,
} from 'langium';
import { CancellationToken, LSPErrorCodes, ResponseError } from 'vscode-languageserver';
import { failureDiagnostic } from '../convert/to-lsp.js';
import { boundaryOf, isDesignFile, isLibrary, mayUse } from './boundaries.js';

/** Remembers which version of an open text a tree was made from. */
export class VersionedDocumentFactory extends DefaultLangiumDocumentFactory {
  private readonly parsed = new WeakMap<LangiumDocument, number>();
  /** What was read before of texts that are being read again, by address. */
  private readonly before = new Map<string, ParseResult>();

  override async update<T extends AstNode = AstNode>(
    document: LangiumDocument<T>,
    cancelToken: CancellationToken,
  ): Promise<LangiumDocument<T>> {
    // Invariant: read in the same turn as the text itself, which may change while the parser waits.
    const version = this.textDocuments?.get(document.uri)?.version;
    const key = document.uri.toString();
    this.before.set(key, document.parseResult);
    const updated = await super.update(document, cancelToken).finally(() => this.before.delete(key));
    if (version !== undefined) this.parsed.set(document, version);
    return updated;
  }

  /** Of a text that was edited only what the edit touches is read again. */
  protected override async parseAsync<T extends AstNode>(
    uri: URI,
    text: string,
    cancelToken: CancellationToken,
  ): Promise<ParseResult<T>> {
    const before = this.before.get(uri.toString());
    if (!before) return super.parseAsync(uri, text, cancelToken);
    const parser = this.serviceRegistry.getServices(uri).parser.LangiumParser as SafeParser;
    return parser.readAgain(before, text) as ParseResult<T>;
  }

  /** A file that can no longer be read counts as empty: it must not hold up the others. */
  protected override async getUpdatedText(
    ...parameters: Parameters<DefaultLangiumDocumentFactory['getUpdatedText']>
  ): Promise<string> {
    try {
      return await super.getUpdatedText(...parameters);
    } catch {
      return '';
    }
  }

  parsedVersion(document: LangiumDocument): number | undefined {
    return this.parsed.get(document);
  }
}

/** Whether the tree of a document was made from the text that is open now. */
export function isParsed({ workspace }: LangiumSharedCoreServices, document: LangiumDocument): boolean {
  const text = isLibrary(document.uri) ? undefined : workspace.TextDocuments?.get(document.uri);
  const factory = workspace.LangiumDocumentFactory as VersionedDocumentFactory;
  return !text || factory.parsedVersion(document) === text.version;
}

export interface BuilderContext {
  readonly workspaceFolders: () => readonly URI[];
  /** A further condition on files that `use` may read, such as that no symbolic link leads out of the folder. */
  readonly mayRead: (boundary: URI, uri: URI) => boolean;
  /** Whether the project of a file lets it draw in another from outside its folder. */
  readonly allowedByProject: (from: URI, to: URI) => boolean;
  /** Tells of a fault of the tool itself. */
  readonly failed: (during: string, fault: unknown, document?: LangiumDocument) => void;
}

/** A step of the work on a document that broke off. */
interface BrokenStep {
  readonly step: string;
  readonly fault: unknown;
  /** Of the open text it was about. */
  readonly version: number | undefined;
}

/**
 * Builds open documents and what they use before everything else, rebuilds exactly what an edit can reach through `use`, and lets
 * requests wait until the text they were asked about has been read.
 */
export class DesignBuilder extends DefaultDocumentBuilder {
  private readonly factory: VersionedDocumentFactory;
  private readonly texts: TextDocumentProvider | undefined;
  private unfinished: Deferred<void> | undefined = new Deferred();
  private readonly lastUses = new WeakMap<LangiumDocument, ReadonlySet<string>>();
  private readonly broken = new WeakMap<LangiumDocument, BrokenStep>();
  /** Why the last update broke off as a whole; requests that wait for it are refused. */
  private failure: { readonly fault: unknown } | undefined;
  private readonly onFailure = new Emitter<void>();
  private reached: { changed: Set<string>; uris: ReadonlySet<string> } | undefined;

  constructor(
    private readonly shared: LangiumSharedCoreServices,
    private readonly context: BuilderContext,
  ) {
    super(shared);
    this.factory = shared.workspace.LangiumDocumentFactory as VersionedDocumentFactory;
    this.texts = shared.workspace.TextDocuments;
  }

  override async update(changed: URI[], deleted: URI[], cancelToken?: CancellationToken): Promise<void> {
    // What is open in an editor lives on there when its folder goes from the disk.
    const open = deleted.flatMap((uri) =>
      this.langiumDocuments.getDocuments(uri).flatMap((each) => (this.texts?.get(each.uri) ? [each.uri] : [])),
    );
    await this.tracked(() => super.update([...changed, ...open], deleted, cancelToken));
  }

  /** An update is about to come: requests about the whole workspace wait for it. */
  expectUpdate(): void {
    this.unfinished ??= new Deferred();
  }

  override async build(...parameters: Parameters<DefaultDocumentBuilder['build']>): Promise<void> {
    await this.tracked(() => super.build(...parameters));
  }

  /** Until this has ended without being cancelled, some documents are unfinished. A cancelled build is always followed by another. */
  private async tracked(work: () => Promise<void>): Promise<void> {
    this.unfinished ??= new Deferred();
    this.failure = undefined;
    try {
      await work();
    } catch (fault) {
      if (isOperationCancelled(fault)) throw fault;
      this.failure = { fault };
      this.onFailure.fire();
      this.finished();
      throw fault;
    }
    this.finished();
  }

  /** A document that fails, at whatever step, does not hold up the others, and says so among its findings. */
  protected override runCancelable(
    documents: LangiumDocument[],
    targetState: DocumentState,
    cancelToken: CancellationToken,
    callback: (document: LangiumDocument) => MaybePromise<unknown>,
  ): Promise<void> {
    const step = DocumentState[targetState];
    return super.runCancelable(documents, targetState, cancelToken, (document) =>
      this.guarded(document, step, () => callback(document)),
    );
  }

  private async guarded(document: LangiumDocument, step: string, work: () => MaybePromise<unknown>): Promise<void> {
    if (this.broken.get(document)?.step === step) this.broken.delete(document);
    try {
      await work();
    } catch (fault) {
      if (isOperationCancelled(fault)) throw fault;
      this.broken.set(document, { step, fault, version: this.texts?.get(document.uri)?.version });
      this.context.failed(`the step "${step}"`, fault, document);
    }
    const broken = this.broken.get(document);
    if (broken && step === DocumentState[DocumentState.Validated])
      document.diagnostics = [failureDiagnostic(broken.fault)];
  }

  /** What is finished is told, also when its build is cancelled at that moment: nothing would build it again and tell it later. */
  protected override notifyDocumentPhase(
    document: LangiumDocument,
    targetState: DocumentState,
    cancelToken: CancellationToken,
  ): Promise<void> {
    const isLast = targetState === DocumentState.Validated;
    return super.notifyDocumentPhase(document, targetState, isLast ? CancellationToken.None : cancelToken);
  }

  private finished(): void {
    this.unfinished?.resolve();
    this.unfinished = undefined;
  }

  /** References are resolved where they are read. Resolving each of them beforehand would hold up the findings. */
  protected override shouldLink(): boolean {
    return false;
  }

  /** Names are found through `use` alone, so a document is affected exactly when it reaches a changed one. */
  protected override shouldRelink(document: LangiumDocument, changedUris: Set<string>): boolean {
    if (this.reached?.changed !== changedUris)
      this.reached = { changed: changedUris, uris: this.documentsReaching(changedUris) };
    return this.reached.uris.has(document.uri.toString());
  }

  private documentsReaching(changed: ReadonlySet<string>): ReadonlySet<string> {
    const users = new Map<string, string[]>();
    for (const document of this.langiumDocuments.all) {
      for (const target of usedBy(document, this.shared)) {
        const known = users.get(target);
        if (known) known.push(document.uri.toString());
        else users.set(target, [document.uri.toString()]);
      }
    }
    const reaching = new Set<string>();
    const queue = [...changed];
    for (let uri = queue.pop(); uri !== undefined; uri = queue.pop()) {
      for (const user of users.get(uri) ?? []) {
        if (reaching.has(user)) continue;
        reaching.add(user);
        queue.push(user);
      }
    }
    return reaching;
  }

  protected override async buildDocuments(
    documents: LangiumDocument[],
    options: BuildOptions,
    cancelToken: CancellationToken,
  ): Promise<void> {
    const library = documents.filter((document) => isLibrary(document.uri));
    const open = documents.filter((document) => !isLibrary(document.uri) && this.texts?.get(document.uri));
    const done = new Set<LangiumDocument>();
    for (const group of [library, open, documents]) {
      const own = group.filter((document) => !done.has(document));
      if (own.length === 0) continue;
      const complete = await this.withUsed(own, options, cancelToken);
      await super.buildDocuments(complete, options, cancelToken);
      for (const document of complete) done.add(document);
    }
  }

  /** The documents and everything they use, read where it has not been yet. */
  private async withUsed(
    documents: LangiumDocument[],
    options: BuildOptions,
    cancelToken: CancellationToken,
  ): Promise<LangiumDocument[]> {
    const visible = new VisibleDocuments(this.shared);
    const complete = new Set(documents);
    for (let known = 0; known < complete.size;) {
      const found = [...complete].slice(known);
      known = complete.size;
      this.prepareBuild(found, options);
      await this.runCancelable(found, DocumentState.Parsed, cancelToken, (document) =>
        this.factory.update(document, cancelToken),
      );
      for (const document of found) {
        await this.guarded(document, 'reading what it uses', async () => {
          await this.loadUsed(document);
          for (const target of this.newlyUsed(document)) complete.add(target);
        });
        for (const used of visible.used(document)) if (used.state < DocumentState.Validated) complete.add(used);
      }
    }
    return [...complete];
  }

  /**
   * Documents that this one uses and did not before, or no longer uses. What is said of a part may depend on whether its file is used
   * at all, so these are judged again.
   */
  private newlyUsed(document: LangiumDocument): LangiumDocument[] {
    const now = new Set(usedBy(document, this.shared));
    const before = this.lastUses.get(document) ?? new Set<string>();
    this.lastUses.set(document, now);
    const changed = [...now, ...before].filter((uri) => now.has(uri) !== before.has(uri));
    const targets = changed.flatMap((uri) => this.langiumDocuments.getDocument(URI.parse(uri)) ?? []);
    for (const target of targets) this.resetToState(target, DocumentState.IndexedReferences);
    return targets;
  }

  private async loadUsed(document: LangiumDocument): Promise<void> {
    const boundary = boundaryOf(document.uri, this.context.workspaceFolders());
    const mayRead = (uri: URI, from: URI): boolean =>
      (mayUse(boundary, uri) && this.context.mayRead(boundary, uri)) ||
      (isDesignFile(uri) && this.context.allowedByProject(from, uri));
    await loadUsed(this.shared, [document], mayRead);
  }

  /** Waits until the text that is open now has been brought to `state`. */
  protected override async awaitDocumentState(
    state: DocumentState,
    uri: URI,
    cancelToken: CancellationToken,
  ): Promise<URI> {
    for (;;) {
      const document = this.langiumDocuments.getDocument(uri);
      if (!document && !this.texts?.get(uri))
        throw new ResponseError(LSPErrorCodes.RequestFailed, `${uri.toString()} is not known`);
      if (document && document.state >= state && this.isCurrent(document)) return uri;
      if (this.failure || (document && this.isUnreadable(document)))
        throw new ResponseError(LSPErrorCodes.RequestFailed, `${uri.toString()} could not be read: see the log`);
      await this.nextChange(state, cancelToken);
    }
  }

  /** Whether the text that is open now could not be made a tree of: waiting for it would never end. */
  private isUnreadable(document: LangiumDocument): boolean {
    const broken = this.broken.get(document);
    return (
      broken !== undefined && !this.isCurrent(document) && broken.version === this.texts?.get(document.uri)?.version
    );
  }

  private isCurrent(document: LangiumDocument): boolean {
    return isParsed(this.shared, document);
  }

  private nextChange(state: DocumentState, cancelToken: CancellationToken): Promise<void> {
    return new Promise((resolve, reject) => {
      const settle = (end: () => void): void => {
        for (const subscription of subscriptions) subscription.dispose();
        end();
      };
      const subscriptions = [
        this.onDocumentPhase(state, () => settle(resolve)),
        // Since references are resolved on demand, a document goes from its names straight to its findings.
        this.onDocumentPhase(DocumentState.Validated, () => settle(resolve)),
        this.onUpdate(() => settle(resolve)),
        this.onFailure.event(() => settle(resolve)),
        cancelToken.onCancellationRequested(() => settle(() => reject(OperationCancelled))),
      ];
    });
  }

  /** Requests about the whole workspace wait until every document of it is finished. */
  protected override async awaitBuilderState(_state: DocumentState, cancelToken: CancellationToken): Promise<void> {
    while (this.unfinished) {
      const cancelled = new Promise<never>((_, reject) => {
        cancelToken.onCancellationRequested(() => reject(OperationCancelled));
      });
      await Promise.race([this.unfinished.promise, cancelled]);
    }
  }
}
