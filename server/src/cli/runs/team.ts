import type { AskForRuns, RunElsewhere, RunsBeside } from '@wattwright/language';
import { availableParallelism } from 'node:os';
import { performance } from 'node:perf_hooks';
import { MessageChannel, type MessagePort, Worker, receiveMessageOnPort } from 'node:worker_threads';
import type { SourceFile } from '../files.js';
import { type RunsJob, SHARED, takeRun } from './between.js';

/** ms of work for which another thread pays: it reads the design once more before it plays. */
const WORTH_A_THREAD = 1500;
/** More threads than this gain little and take memory. */
const MOST_THREADS = 7;
/** ms for which an answer is waited for at a time, so that progress is told in between. */
const MOMENT = 100;
/** ms without a sign of life after which a thread counts as gone. */
const GONE_AFTER = 20_000;

export interface Team {
  /** The file that starts a thread; without it all runs are played here. */
  readonly script: URL | undefined;
  readonly folders: readonly string[];
  readonly today: string;
  /** Threads beside this one; as many as there are further processors unless said. */
  readonly threads?: number;
  /** ms without a sign of life after which threads count as gone; 20 s unless said. */
  readonly patience?: number;
}

/** Has runs of the scenarios of a file played on further processors, where there are enough of them to be worth it. */
export const runsBeside =
  (team: Team, file: SourceFile): AskForRuns =>
  ({ design, scenario, runs, content }) =>
    team.script && new RunsOfThreads(team.script, team, { file, design, scenario, runs, content });

/**
 * Runs of one scenario on threads. Who plays waits for them without giving up its own thread, so that nothing of the language has to know of
 * threads: they answer through ports that are read at once, and count in memory that all share.
 */
class RunsOfThreads implements RunsBeside {
  private readonly began = performance.now();
  private readonly shared = new Int32Array(new SharedArrayBuffer(4 * Object.keys(SHARED).length));
  private readonly workers: Worker[] = [];
  private readonly ports: MessagePort[] = [];
  private hasBegun = false;
  private seen = { alive: 0, at: 0 };

  constructor(
    private readonly script: URL,
    private readonly team: Team,
    private readonly asked: Pick<RunsJob, 'file' | 'design' | 'scenario' | 'runs' | 'content'>,
  ) {
    // The first is always played here: its course over time is looked at.
    this.shared[SHARED.next] = 1;
  }

  take(): number | undefined {
    if (!this.hasBegun) this.begin();
    return takeRun(this.shared, this.asked.runs);
  }

  /** Threads for as much work as the first run lets expect. */
  private begin(): void {
    this.hasBegun = true;
    const work = (performance.now() - this.began) * (this.asked.runs - 1);
    const worth = Math.floor(work / WORTH_A_THREAD);
    const threads = this.team.threads ?? Math.min(availableParallelism() - 1, MOST_THREADS, worth);
    const { folders, today } = this.team;
    for (let count = 0; count < threads; count += 1) {
      const { port1, port2 } = new MessageChannel();
      const job: RunsJob = { ...this.asked, folders, today, shared: this.shared, port: port2 };
      const worker = new Worker(this.script, { workerData: job, transferList: [port2] });
      // Whatever it could not play is played here.
      worker.on('error', () => undefined);
      worker.unref();
      port1.unref();
      this.workers.push(worker);
      this.ports.push(port1);
    }
    this.seen = { alive: 0, at: performance.now() };
  }

  arrived(waits: boolean): readonly RunElsewhere[] | undefined {
    const sent = Atomics.load(this.shared, SHARED.sent);
    const isOver = Atomics.load(this.shared, SHARED.ended) >= this.workers.length;
    const found = this.received();
    if (found.length > 0 || !waits) return found;
    if (isOver || this.areGone()) return undefined;
    Atomics.wait(this.shared, SHARED.sent, sent, MOMENT);
    return this.received();
  }

  private received(): readonly RunElsewhere[] {
    const found: RunElsewhere[] = [];
    for (const port of this.ports)
      for (let next = receiveMessageOnPort(port); next; next = receiveMessageOnPort(port))
        found.push(next.message as RunElsewhere);
    return found;
  }

  private areGone(): boolean {
    const now = performance.now();
    const alive = Atomics.load(this.shared, SHARED.alive);
    if (alive !== this.seen.alive) this.seen = { alive, at: now };
    return now - this.seen.at > (this.team.patience ?? GONE_AFTER);
  }

  end(): void {
    for (const port of this.ports) port.close();
    for (const worker of this.workers) void worker.terminate();
  }
}
