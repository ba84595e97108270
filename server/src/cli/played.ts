import type { Analysis } from '@wattwright/language';
import type { Progress } from './output/progress.js';

/** An analysis with what waits to be played: all of it, or the scenarios that are asked for. Tells how far it is. */
export function played(
  analysis: Analysis,
  progress: Progress,
  isAsked?: (design: string, scenario: string) => boolean,
): Analysis {
  if (!analysis.unplayed) return analysis;
  const plays = analysis.unplayed.play(isAsked);
  for (;;) {
    const step = plays.next();
    if (step.done) return step.value;
    progress.show(step.value);
  }
}
