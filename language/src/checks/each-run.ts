import { type DesignContext, query } from '../model/context.js';
import type { Run } from '../model/types.js';
import type { Verdict } from './define.js';

/**
 * Judges the runs of a design one after the other. Where values of the design are going to change, what was said of a run stands until
 * something that it rests on has changed.
 */
export function ofEachRun(
  judge: (run: Run, context: DesignContext) => Iterable<Verdict>,
): (context: DesignContext) => Iterable<Verdict> {
  const verdicts = query<Run, readonly Verdict[]>('verdicts on a run');
  return function* (context) {
    for (const run of context.system.runs)
      yield* context.watch ? context.kept(verdicts, run, () => [...judge(run, context)]) : judge(run, context);
  };
}
