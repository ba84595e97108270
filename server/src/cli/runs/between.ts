import type { MessagePort } from 'node:worker_threads';
import type { SourceFile } from '../files.js';

/** What the threads that play runs of one scenario share, by position: all are whole numbers that only grow. */
export const SHARED = {
  /** The next run that nobody has begun. */
  next: 0,
  /** Messages that were sent. */
  sent: 1,
  /** Threads that send nothing more. */
  ended: 2,
  /** Signs of life. */
  alive: 3,
} as const;

/** What a thread is given to play runs of: the text as it was read, and where it may look beside it. */
export interface RunsJob {
  readonly file: SourceFile;
  /** Folders that were named in the call. */
  readonly folders: readonly string[];
  readonly today: string;
  readonly design: string;
  readonly scenario: string;
  readonly runs: number;
  /** A thread that reads another content, since a file was written meanwhile, plays nothing. */
  readonly content: string;
  readonly shared: Int32Array<SharedArrayBuffer>;
  readonly port: MessagePort;
}

/** The next run that nobody has begun; undefined when all are. */
export function takeRun(shared: Int32Array<SharedArrayBuffer>, runs: number): number | undefined {
  const run = Atomics.add(shared, SHARED.next, 1);
  return run < runs ? run : undefined;
}
