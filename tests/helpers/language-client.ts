import { build } from 'esbuild';
import { type ChildProcess, spawn } from 'node:child_process';
import path from 'node:path';
import { PassThrough } from 'node:stream';
import { pathToFileURL } from 'node:url';
import {
  type ClientCapabilities,
  type Diagnostic,
  type DidChangeWatchedFilesRegistrationOptions,
  type FileSystemWatcher,
  type InitializeResult,
  type ProtocolConnection,
  type Range,
  type RegistrationParams,
  StreamMessageReader,
  StreamMessageWriter,
  createProtocolConnection,
} from 'vscode-languageserver-protocol/node';
import { type Connection, ProposedFeatures, createConnection } from 'vscode-languageserver/node';
import { bundleAliases } from '../../server/build/bundle-aliases.mjs';
import type { Server } from '../../server/src/create-server.js';
import { startServer } from '../../server/src/main-node.js';
import { sharedFolder, temporaryFolder } from './temporary-folders.js';

const ROOT = path.resolve(import.meta.dirname, '../..');
/** Ends the wait for what never comes; judges no time. In ms. */
const PATIENCE = 300_000;
let bundle: Promise<string> | undefined;

/** Bundles the server from source, once per test process, as the extension ships it. */
export function bundledServer(): Promise<string> {
  bundle ??= bundleServer();
  return bundle;
}

async function bundleServer(): Promise<string> {
  const outfile = path.join(sharedFolder(), 'server.cjs');
  await build({
    bundle: true,
    platform: 'node',
    target: 'node20',
    format: 'cjs',
    logLevel: 'error',
    entryPoints: [path.join(ROOT, 'server/src/server-process.ts')],
    alias: bundleAliases(ROOT),
    outfile,
  });
  return outfile;
}

export { temporaryFolder };

interface Published {
  readonly version: number | undefined;
  readonly diagnostics: readonly Diagnostic[];
}

/** A language client of the simplest kind, talking to the real server over its standard input and output. */
export class LanguageClient {
  private readonly published = new Map<string, Published[]>();
  private readonly waiting = new Set<() => void>();
  private readonly versions = new Map<string, number>();
  readonly errors: string[] = [];
  /** What the server wants to hear of, as it said last. */
  watched: readonly FileSystemWatcher[] = [];
  capabilities: InitializeResult['capabilities'] = {};

  /** What the server has written to the log of the editor. */
  readonly log: string[] = [];

  private constructor(
    readonly connection: ProtocolConnection,
    readonly process?: ChildProcess,
  ) {
    connection.onNotification('textDocument/publishDiagnostics', (params: unknown) => {
      const { uri, version, diagnostics } = params as { uri: string; version?: number; diagnostics: Diagnostic[] };
      const list = this.published.get(uri) ?? [];
      list.push({ version, diagnostics });
      this.published.set(uri, list);
      for (const wake of [...this.waiting]) wake();
    });
    connection.onRequest('client/registerCapability', ({ registrations }: RegistrationParams) => {
      for (const each of registrations)
        if (each.method === 'workspace/didChangeWatchedFiles')
          this.watched = (each.registerOptions as DidChangeWatchedFilesRegistrationOptions).watchers;
      for (const wake of [...this.waiting]) wake();
      return null;
    });
    connection.onNotification('window/logMessage', ({ message }: { message: string }) => {
      this.log.push(message);
    });
    process?.stderr?.on('data', (data: Buffer) => this.errors.push(data.toString()));
  }

  static async start(
    folder?: string,
    environment: Readonly<Record<string, string>> = {},
    capabilities: ClientCapabilities = {},
    initializationOptions?: object,
  ): Promise<LanguageClient> {
    const server = spawn(process.execPath, [await bundledServer(), '--stdio'], {
      env: { ...process.env, ...environment },
      stdio: ['pipe', 'pipe', 'pipe'],
    });
    const connection = createProtocolConnection(
      new StreamMessageReader(server.stdout),
      new StreamMessageWriter(server.stdin),
    );
    const client = new LanguageClient(connection, server);
    await client.initialize(folder, capabilities, initializationOptions);
    await client.notify('initialized', {});
    return client;
  }

  /** A server within this process, so that a test can lay hands on it. `initialized` is left to the test. */
  static async startWithin(
    folder?: string,
    start: (connection: Connection) => Server = startServer,
    capabilities: ClientCapabilities = {},
  ): Promise<{ client: LanguageClient; server: Server }> {
    const [up, down] = [new PassThrough(), new PassThrough()];
    const server = start(
      createConnection(ProposedFeatures.all, new StreamMessageReader(up), new StreamMessageWriter(down)),
    );
    const client = new LanguageClient(
      createProtocolConnection(new StreamMessageReader(down), new StreamMessageWriter(up)),
    );
    await client.initialize(folder, capabilities);
    return { client, server };
  }

  private async initialize(
    folder: string | undefined,
    capabilities: ClientCapabilities = {},
    initializationOptions?: object,
  ): Promise<void> {
    this.connection.listen();
    const uri = folder && pathToFileURL(folder).href;
    const result: InitializeResult = await this.connection.sendRequest('initialize', {
      processId: process.pid,
      rootUri: uri ?? null,
      workspaceFolders: uri ? [{ uri, name: 'workspace' }] : null,
      capabilities: { ...capabilities, workspace: { workspaceFolders: true, ...capabilities.workspace } },
      ...(initializationOptions ? { initializationOptions } : {}),
    });
    this.capabilities = result.capabilities;
  }

  request<T = unknown>(method: string, params: unknown): Promise<T> {
    return this.connection.sendRequest(method, params) as Promise<T>;
  }

  notify(method: string, params: unknown): Promise<void> {
    return this.connection.sendNotification(method, params);
  }

  open(uri: string, text: string): Promise<void> {
    this.versions.set(uri, 1);
    // What was told of an earlier text of this file is no answer to this one.
    this.published.delete(uri);
    return this.notify('textDocument/didOpen', {
      textDocument: { uri, languageId: 'wattwright', version: 1, text },
    });
  }

  /** Replaces the whole text. */
  change(uri: string, text: string): Promise<void> {
    const version = (this.versions.get(uri) ?? 1) + 1;
    this.versions.set(uri, version);
    return this.notify('textDocument/didChange', { textDocument: { uri, version }, contentChanges: [{ text }] });
  }

  /** Replaces a stretch of the text. */
  edit(uri: string, range: Range, text: string): Promise<void> {
    const version = (this.versions.get(uri) ?? 1) + 1;
    this.versions.set(uri, version);
    const contentChanges = [{ range, text }];
    return this.notify('textDocument/didChange', { textDocument: { uri, version }, contentChanges });
  }

  close(uri: string): Promise<void> {
    this.versions.delete(uri);
    return this.notify('textDocument/didClose', { textDocument: { uri } });
  }

  /** The findings of the text as it is now. */
  async diagnostics(uri: string, milliseconds = PATIENCE): Promise<readonly Diagnostic[]> {
    const version = this.versions.get(uri);
    const found = await this.until(
      () => this.published.get(uri)?.findLast((each) => version === undefined || each.version === version),
      `findings of ${uri}`,
      milliseconds,
    );
    return found.diagnostics;
  }

  /** Waits until the last findings of a file are as wanted. */
  async diagnosticsWhen(
    uri: string,
    wanted: (diagnostics: readonly Diagnostic[]) => boolean,
  ): Promise<readonly Diagnostic[]> {
    const last = (): readonly Diagnostic[] | undefined => this.published.get(uri)?.at(-1)?.diagnostics;
    return this.until(
      () => (last() && wanted(last()!) ? last() : undefined),
      `the wanted findings of ${uri}`,
      PATIENCE,
    );
  }

  /** Waits until something is found. */
  until<T>(find: () => T | undefined, what: string, milliseconds = PATIENCE): Promise<T> {
    return new Promise((resolve, reject) => {
      const timer = setTimeout(() => {
        this.waiting.delete(look);
        reject(new Error(`${what} did not come within ${milliseconds} ms; standard error: ${this.errors.join('')}`));
      }, milliseconds);
      const look = (): void => {
        const found = find();
        if (found === undefined) return;
        clearTimeout(timer);
        this.waiting.delete(look);
        resolve(found);
      };
      this.waiting.add(look);
      look();
    });
  }

  /** Waits until every file of the workspace has been read: requests about the whole of it do. */
  async workspaceRead(): Promise<void> {
    await this.request('workspace/symbol', { query: 'nothing has this name' });
  }

  /** Ends the server, and gives its exit code; one within this process is only told to shut down. */
  async stop(): Promise<number | null> {
    if (!this.process) {
      await this.request('shutdown', undefined);
      return 0;
    }
    const ended = new Promise<number | null>((resolve) => this.process!.once('exit', resolve));
    await this.request('shutdown', undefined);
    await this.notify('exit', undefined);
    return ended;
  }
}
