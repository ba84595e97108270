import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run, Stop } from '../../model/types.js';
import { defineCheck, type Verdict, atMost, atLeast, type Failed } from '../define.js';
import { notChecked, pairText, passed } from '../verdicts.js';

const START = derive('start of the run', 0, 'm');

/** Two places that a cutting tolerance and rounding make the same. */
const isBefore = (left: Derivation, right: Derivation): boolean =>
  numberIn(left, 'm') < numberIn(right, 'm') * (1 - 1e-9) - 1e-9;

interface Placed {
  readonly stop: Stop;
  readonly distance: Derivation;
}

type Told = Pick<Failed, 'headline' | 'why' | 'use'>;

const failedAt = (run: Run, { stop, distance }: Placed, told: Told, limit: Derivation): Verdict => ({
  verdict: 'failed',
  subject: run.path,
  place: distance.place ?? stop.place,
  ...told,
  advice: 'Correct the distance, the order or the length.',
  numbers: { distance, limit },
});

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const placed = [run.from, ...run.through, ...run.to].flatMap((stop): Placed[] =>
    stop.distance ? [{ stop, distance: stop.distance }] : [],
  );
  if (placed.length === 0) return;
  let before: Placed | undefined;
  for (const each of placed) {
    const name = each.stop.instance.name;
    if (before && isBefore(each.distance, before.distance)) {
      const [here, there] = pairText(each.distance, before.distance);
      yield failedAt(
        run,
        each,
        {
          headline: `${name} is ${here} along ${run.name}, after ${before.stop.instance.name} at ${there}`,
          why: `distances count from ${run.from.instance.name}, in the order of the run`,
          use: atLeast(each.distance, before.distance),
        },
        before.distance,
      );
    } else if (isBefore(each.distance, START))
      yield failedAt(
        run,
        each,
        {
          headline: `${name} is before the start of ${run.name}`,
          why: `a distance counts from ${run.from.instance.name} and is not negative`,
          use: atLeast(each.distance, START),
        },
        START,
      );
    before = each;
  }
  const length = context.fact(run, 'length');
  if (length.kind !== 'known') return yield notChecked(run, length);
  const beyond = placed.filter(({ distance }) => isBefore(length.derivation, distance));
  for (const each of beyond) {
    const [here, end] = pairText(each.distance, length.derivation);
    yield failedAt(
      run,
      each,
      {
        headline: `${each.stop.instance.name} is ${here} along ${run.name}, which is ${end} long`,
        use: atMost(each.distance, length.derivation),
      },
      length.derivation,
    );
  }
  const furthest = placed.reduce((so, next) => (isBefore(so.distance, next.distance) ? next : so));
  if (beyond.length === 0)
    yield passed(run, atMost(furthest.distance, length.derivation), { length: length.derivation });
}

export const placeAlongRun = defineCheck({
  id: 'place-along-run',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A device is placed beyond the end of its run, before its start, or nearer than what comes before it.',
    guards:
      'What is unprotected, and what a fault draws, is worked out from where a device stands: a wrong distance makes both wrong without a word.',
    how: 'The distances after `@` count from the first thing of a run. They must rise in the order of the run and end within its length.',
    fix: 'Write the distance from the end of the run that is named first, in the order of the stops.',
    sources: [{ standard: 'arithmetic of lengths', provenance: 'own derivation' }],
    failing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 3 m -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
