import { pathToFileURL } from 'node:url';
import path from 'node:path';
import { ResponseError } from 'vscode-languageserver-protocol/node';
import { LanguageClient } from '../../helpers/language-client.js';
import { temporaryFolder } from '../../helpers/temporary-folders.js';
import type { Step } from './trial.js';

/** An answer that takes longer counts as one that never comes. Far above what any needs on a busy machine, in ms. */
const PATIENCE = 120_000;
/** The server's own fault. Source: JSON-RPC 2.0, section 5.1. */
const INTERNAL_ERROR = -32603;

/** Talks to the real server over its standard input and output, and says which promises it breaks. */
export async function tryProtocol(steps: readonly Step[]): Promise<string[]> {
  const folder = temporaryFolder();
  const uri = (file: number): string => pathToFileURL(path.join(folder, `f${file}.watt`)).href;
  const client = await LanguageClient.start(folder);
  const server = client.process!;
  const faults: string[] = [];
  let ended: number | null | undefined;
  server.once('exit', (code) => (ended = code ?? -1));
  client.connection.onUnhandledNotification(() => undefined);
  client.connection.onRequest('workspace/configuration', () => []);
  const open = new Set<number>();
  const answers: Promise<void>[] = [];
  const ask = (method: string, params: unknown, isSound: () => boolean): void => {
    const answer = client.request(method, params).then(
      () => undefined,
      (error: unknown) => {
        if (isSound() && error instanceof ResponseError && error.code === INTERNAL_ERROR)
          faults.push(`${method}: ${error.message}`);
      },
    );
    answers.push(answer);
  };
  const send = async (step: Step): Promise<void> => {
    switch (step.step) {
      case 'open':
        if (open.has(step.file)) return client.change(uri(step.file), step.text);
        open.add(step.file);
        return client.open(uri(step.file), step.text);
      case 'change':
        return open.has(step.file) ? client.change(uri(step.file), step.text) : undefined;
      case 'edit': {
        if (!open.has(step.file)) return;
        const [start, end] = [step.from, step.to].map(([line, character]) => ({ line, character }));
        return client.edit(uri(step.file), { start: start!, end: end! }, step.text);
      }
      case 'close':
        return open.delete(step.file) ? client.close(uri(step.file)) : undefined;
      case 'touch':
        return client.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: uri(step.file), type: 2 }] });
      case 'ask':
        // Of a file that nobody has open, or that is closed before the answer, there may be nothing to say.
        return ask(step.method, paramsOf(step, uri(step.file)), () => open.has(step.file));
      case 'nonsense':
        return ask(step.method, step.params, () => false);
    }
  };
  for (const step of steps) {
    if (ended !== undefined) break;
    await send(step);
  }
  const all = Promise.all(answers).then(() => true);
  const gone = new Promise<false>((resolve) => server.once('exit', () => resolve(false)));
  const isAnswered = await Promise.race([all, gone, late()]);
  if (ended !== undefined) faults.push(`the server ended with ${ended}: ${client.errors.join('').slice(0, 1000)}`);
  else if (isAnswered === 'late') faults.push('a request is not answered');
  const said = client.errors.join('');
  if (/\bfailed\b|Error:|\n {4}at /.test(said)) faults.push(`on standard error: ${said.slice(0, 1000)}`);
  if (ended === undefined) {
    const code = await Promise.race([client.stop(), late()]);
    if (code !== 0) faults.push(`asked to end, it says ${code}`);
    server.kill('SIGKILL');
  }
  return faults;
}

const late = (): Promise<'late'> => new Promise((resolve) => setTimeout(() => resolve('late'), PATIENCE).unref());

function paramsOf({ method, at: [line, character], word }: Extract<Step, { step: 'ask' }>, uri: string): unknown {
  const textDocument = { uri };
  const position = { line, character };
  const range = { start: { line: 0, character: 0 }, end: position };
  switch (method) {
    case 'textDocument/rename':
      return { textDocument, position, newName: word };
    case 'textDocument/references':
      return { textDocument, position, context: { includeDeclaration: true } };
    case 'textDocument/codeAction':
      return { textDocument, range, context: { diagnostics: [] } };
    case 'textDocument/formatting':
    case 'textDocument/rangeFormatting':
      return { textDocument, range, options: { tabSize: 2, insertSpaces: true } };
    case 'textDocument/inlayHint':
      return { textDocument, range };
    case 'workspace/symbol':
      return { query: word };
    default:
      return { textDocument, position };
  }
}
