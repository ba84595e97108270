import { createRequire } from 'node:module';
import { parentPort, workerData } from 'node:worker_threads';

/*
 * The thread beside the editor's extension in which drawings are laid out, so that nothing waits for it. It runs the very script that
 * browsers run, which therefore ships once: the port of the thread stands in the place of a browser's.
 */
const scope = globalThis as unknown as {
  self: unknown;
  onmessage?: (event: { readonly data: unknown }) => void;
  postMessage: (message: unknown) => void;
};
scope.self = scope;
scope.postMessage = (message) => parentPort?.postMessage(message);
const { script } = workerData as { readonly script: string };
createRequire(script)(script);
parentPort?.on('message', (data: unknown) => scope.onmessage?.({ data }));
