import { build } from 'esbuild';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import type { Answer, Question } from './examiner.js';
import { bundleAliases } from '../../server/build/bundle-aliases.mjs';
import { sharedFolder } from '../helpers/temporary-folders.js';

const ROOT = path.resolve(import.meta.dirname, '../..');

/** A text that takes longer counts as one that never ends. Far above what any text needs on a busy machine, in ms. */
const PATIENCE = 300_000;

/** How often random texts are tried, as a multiple of the usual number: `WATTWRIGHT_FUZZ=50 npx vitest run tests/fuzz`. */
export const EFFORT = Number(process.env.WATTWRIGHT_FUZZ ?? '1');
/** Another seed tries other texts: `WATTWRIGHT_FUZZ_SEED=7`. */
export const SEED = Number(process.env.WATTWRIGHT_FUZZ_SEED ?? '20270101');

/** What fast-check needs to try `runs` texts, again and again the same. */
export const trials = (runs: number): { numRuns: number; seed: number; endOnFailure: boolean } => ({
  numRuns: Math.max(1, Math.round(runs * EFFORT)),
  seed: SEED,
  // Shrinking a failed text of some hundred lines takes minutes; only long runs do it.
  endOnFailure: EFFORT <= 1,
});

let bundle: Promise<string> | undefined;

async function bundleExaminer(): Promise<string> {
  const outfile = path.join(sharedFolder(), 'examiner.mjs');
  await build({
    bundle: true,
    platform: 'node',
    format: 'esm',
    logLevel: 'error',
    sourcemap: 'inline',
    entryPoints: [path.join(import.meta.dirname, 'examiner.ts')],
    alias: bundleAliases(ROOT),
    banner: {
      js: "import { createRequire as createRequireForBundle } from 'node:module'; const require = createRequireForBundle(import.meta.url);",
    },
    outfile,
  });
  return outfile;
}

/** Puts texts before the examiner, one at a time; a text that does not end costs its thread, and the next one gets a new one. */
export class Examination {
  private worker: Worker | undefined;
  private count = 0;

  constructor(private readonly patience = PATIENCE) {}

  async ask(files: string | Readonly<Record<string, string>>, fixes = true): Promise<Omit<Answer, 'id'>> {
    const script = await (bundle ??= bundleExaminer());
    const worker = (this.worker ??= new Worker(script, { stderr: false }));
    const id = (this.count += 1);
    const question: Question = { id, files: typeof files === 'string' ? { 'design.watt': files } : files, fixes };
    return new Promise((resolve) => {
      const giveUp = (fault: string): void => {
        this.worker = undefined;
        void worker.terminate();
        settle({ faults: [fault], findings: [], milliseconds: this.patience });
      };
      const timer = setTimeout(() => giveUp(`no end within ${this.patience / 1000} s`), this.patience);
      const failed = (error: Error): void => giveUp(`the thread ended: ${error.message}`);
      const answered = (answer: Answer): void => {
        if (answer.id === id) settle(answer);
      };
      const settle = (answer: Omit<Answer, 'id'>): void => {
        clearTimeout(timer);
        worker.off('message', answered).off('error', failed);
        resolve(answer);
      };
      worker.on('message', answered).on('error', failed);
      worker.postMessage(question);
    });
  }

  async end(): Promise<void> {
    await this.worker?.terminate();
    this.worker = undefined;
  }
}
