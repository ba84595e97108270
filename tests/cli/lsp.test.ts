import { spawn } from 'node:child_process';
import { expect, test } from 'vitest';
import { programFile, temporaryFolder } from './helpers/program.js';

const message = (content: object): string => {
  const text = JSON.stringify({ jsonrpc: '2.0', ...content });
  return `Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`;
};

test('the bundled program serves an editor over standard input and output', async () => {
  const child = spawn(process.execPath, [await programFile(), 'lsp', '--stdio'], { cwd: temporaryFolder() });
  let [stdout, stderr] = ['', ''];
  const waiting: { readonly part: string; readonly found: () => void }[] = [];
  child.stderr.setEncoding('utf8').on('data', (text: string) => (stderr += text));
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
    for (const { part, found } of waiting) if (stdout.includes(part)) found();
  });
  const until = (part: string): Promise<void> =>
    new Promise((resolve) => {
      if (stdout.includes(part)) resolve();
      else waiting.push({ part, found: resolve });
    });
  const ended = new Promise((resolve) => child.on('close', resolve));

  child.stdin.write(
    message({ id: 1, method: 'initialize', params: { processId: null, rootUri: null, capabilities: {} } }),
  );
  await until('"id":1,"result":{"capabilities":{');
  child.stdin.write(message({ method: 'initialized', params: {} }));
  const textDocument = {
    uri: 'file:///nowhere/hut.watt',
    languageId: 'wattwright',
    version: 1,
    text: 'design Hut { battery Bank { capasity: 100 Ah } }\n',
  };
  child.stdin.write(message({ method: 'textDocument/didOpen', params: { textDocument } }));
  await until('"code":"unknown-name"');
  child.stdin.write(message({ id: 2, method: 'shutdown' }));
  await until('"id":2,"result":null');
  child.stdin.end(message({ method: 'exit' }));
  expect(await ended).toBe(0);
  expect(stdout).toContain('"hoverProvider"');
  expect(stderr).toBe('');
});
