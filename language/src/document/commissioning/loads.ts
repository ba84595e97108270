import type { Run } from '../../model/types.js';
import { isLoad } from '../../model/roles.js';
import type { Behind, StepBook } from './book.js';
import { OTHERWISE } from './otherwise.js';
import { endsOf } from './wiring-state.js';

export const leadsToLoad = (run: Run): boolean => endsOf(run).some(isLoad);

export const loadsOf = (run: Run) => endsOf(run).filter(isLoad);

/** Which loads have been measured: each is as soon as something feeds it. */
export class LoadMeasures {
  private readonly unmeasured: Set<Run>;

  constructor(
    runs: readonly Run[],
    private readonly book: StepBook,
  ) {
    this.unmeasured = new Set(runs.filter(leadsToLoad));
  }

  /** Runs to loads that are live now and were not measured. */
  get waiting(): readonly Run[] {
    return [...this.unmeasured].filter((run) => this.isLive(run));
  }

  isLive(run: Run): boolean {
    return loadsOf(run).some((each) => this.book.state.isLive(each));
  }

  measured(run: Run): Behind {
    this.unmeasured.delete(run);
    return {
      expects: [{ what: 'current with the load on', reading: { of: run, what: 'current' } }],
      otherwise: OTHERWISE.load(run, loadsOf(run)),
    };
  }
}
