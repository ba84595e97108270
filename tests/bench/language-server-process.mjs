// A language server in a process of its own, spoken to over standard input and output as an editor would.
import { spawn } from 'node:child_process';

export class LanguageServerProcess {
  /** @type {Map<number, (result: unknown) => void>} */
  #waiting = new Map();
  /** @type {{ uri: string, version: number, resolve: (findings: unknown[]) => void }[]} */
  #expected = [];
  #identifier = 0;
  #buffer = Buffer.alloc(0);

  /** @param {string} script */
  constructor(script) {
    this.process = spawn(process.execPath, [script, '--stdio'], { stdio: ['pipe', 'pipe', 'inherit'] });
    this.process.stdout.on('data', (data) => this.#read(data));
  }

  /** @param {string | null} folder */
  async initialize(folder = null) {
    const result = await this.request('initialize', {
      processId: process.pid,
      rootUri: folder,
      workspaceFolders: folder === null ? null : [{ uri: folder, name: 'bench' }],
      capabilities: { textDocument: { publishDiagnostics: { versionSupport: true } } },
    });
    this.notify('initialized', {});
    return result;
  }

  /** @param {string} method @param {unknown} params */
  request(method, params) {
    const id = ++this.#identifier;
    return new Promise((resolve) => {
      this.#waiting.set(id, resolve);
      this.#send({ id, method, params });
    });
  }

  /** @param {string} method @param {unknown} params */
  notify(method, params) {
    this.#send({ method, params });
  }

  /** The first findings published for this version of a document. @param {string} uri @param {number} version */
  findingsOf(uri, version) {
    return new Promise((resolve) => this.#expected.push({ uri, version, resolve }));
  }

  /**
   * The findings of a long text, which come twice: what reading it finds, then the whole.
   * @param {string} uri @param {number} version
   */
  bothFindingsOf(uri, version) {
    const early = this.findingsOf(uri, version);
    return { early, whole: early.then(() => this.findingsOf(uri, version)) };
  }

  async stop() {
    await this.request('shutdown', null);
    this.notify('exit', undefined);
    await new Promise((resolve) => this.process.on('exit', resolve));
  }

  /** @param {object} message */
  #send(message) {
    const body = Buffer.from(JSON.stringify({ jsonrpc: '2.0', ...message }));
    this.process.stdin.write(`Content-Length: ${body.length}\r\n\r\n`);
    this.process.stdin.write(body);
  }

  /** @param {Buffer} data */
  #read(data) {
    this.#buffer = Buffer.concat([this.#buffer, data]);
    for (;;) {
      const end = this.#buffer.indexOf('\r\n\r\n');
      if (end < 0) return;
      const length = Number(/Content-Length: (\d+)/i.exec(this.#buffer.toString('latin1', 0, end))?.[1]);
      if (this.#buffer.length < end + 4 + length) return;
      const message = JSON.parse(this.#buffer.toString('utf8', end + 4, end + 4 + length));
      this.#buffer = this.#buffer.subarray(end + 4 + length);
      this.#take(message);
    }
  }

  /** @param {any} message any: protocol messages of several shapes */
  #take(message) {
    if (message.method === 'textDocument/publishDiagnostics') {
      const { uri, version, diagnostics } = message.params;
      this.#expected = this.#expected.filter((expected) => {
        // A server may leave the version out; the findings then belong to the newest text.
        const met = expected.uri === uri && (version === undefined || version === expected.version);
        if (met) expected.resolve(diagnostics);
        return !met;
      });
    } else if (message.method && message.id !== undefined) {
      const items = message.method === 'workspace/configuration' ? message.params.items.map(() => null) : null;
      this.#send({ id: message.id, result: items });
    } else if (message.id !== undefined) {
      this.#waiting.get(message.id)?.(message.result);
      this.#waiting.delete(message.id);
    }
  }
}
