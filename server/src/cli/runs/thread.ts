import { workerData } from 'node:worker_threads';
import { filesOfMachine } from '../../files/file-source.js';
import { projectsOfCall } from '../projects.js';
import { Session } from '../session.js';
import { type RunsJob, SHARED, takeRun } from './between.js';

/** Plays the runs of a scenario that nobody has begun, until there are none. */
export async function playRuns(): Promise<void> {
  const job = workerData as RunsJob;
  const { shared, port } = job;
  const count = (at: number): void => {
    Atomics.add(shared, at, 1);
    Atomics.notify(shared, SHARED.sent);
  };
  try {
    const session = await Session.open([job.file], filesOfMachine([...job.folders], projectsOfCall()));
    const analysis = session.analyse(session.documents[0]!, job.today, 'leave');
    const runs = analysis.unplayed?.runsOf(job.design, job.scenario, () => void count(SHARED.alive));
    if (runs?.content !== job.content) return;
    for (let run = takeRun(shared, job.runs); run !== undefined; run = takeRun(shared, job.runs)) {
      let record;
      try {
        record = runs.play(run);
      } catch {
        // Who asked plays it again to learn why.
      }
      port.postMessage({ run, ...(record ? { record } : {}) });
      count(SHARED.sent);
    }
  } finally {
    count(SHARED.ended);
  }
}
