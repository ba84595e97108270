import { type Derivation, displayValue } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { conductorType } from '../../quantities/conductors/conductor.js';
import { sizeText } from '../../quantity/index.js';
import { numberIn } from '../../derivation/index.js';
import { defineCheck, type Verdict, atLeast, NO_LIMIT, points } from '../define.js';
import { basisText, notChecked, passed, placeOf } from '../verdicts.js';
import { earthNeeded, isEnough } from './run-earth.js';
import { MEMORY, PUBLISHED, tableOf } from './shared.js';
import { flagIn } from '../../model/stated-facts.js';

/** Why the practice asks for an earth conductor of this size, and under which table. */
function reasonOf(
  needed: Derivation,
  run: Run,
  context: DesignContext,
): { readonly why: string; readonly rule: string } {
  const size = displayValue(context.maybe(run, 'size')!);
  if (context.system.basis.practice === 'iec')
    return {
      why: `its line conductors are ${size}; a smaller one is allowed where proved by calculation`,
      rule: `IEC 60364-5-54 543.1.1, 543.1.2, ${tableOf(needed, context)}`,
    };
  const [listed, growth] = needed.inputs;
  const isRaised = needed.source?.table === '250.122(B)' && listed !== undefined && growth !== undefined;
  const row = isRaised ? listed : needed;
  const device = row.inputs.find(({ name }) => !['metal'].includes(name));
  const asked = `the device of ${device ? displayValue(device) : 'unknown rating'} needs ${displayValue(row)}`;
  const least = growth?.inputs.at(-1);
  const wouldDo = least ? sizeText(numberIn(least, 'mm2')) : 'a smaller size';
  // Lines of the smallest size that would do ask for nothing beyond the table.
  if (!isRaised || wouldDo === size) return { why: asked, rule: tableOf(row, context) };
  return {
    why: `${asked}; it grows with the line conductors, ${size} where ${wouldDo} would do`,
    rule: `${tableOf(row, context)}; ${basisText(context.system.basis)} 250.122(B)`,
  };
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const earth = context.maybe(run, 'earth');
  if (!earth) {
    // A cord has its earth core from its maker; direct-current runs have one only where they say so.
    if (run.carries !== 'ac' || conductorType(run).cord) return;
    if (flagIn(run.properties, 'metalRaceway')) return yield passed(run, NO_LIMIT);
    return yield notChecked(run, context.fact(run, 'earth'));
  }
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  // As large as the lines is always enough, and the usual case (NEC 250.122(A), IEC 60364-5-54 Table 54.2).
  if (isEnough(earth, size.derivation))
    return yield passed(run, atLeast(earth, size.derivation), { earth, needed: size.derivation });
  const setup = { size: size.derivation, ratings: new Map<never, never>(), added: 0 };
  const needed = earthNeeded(run, setup, context);
  if (!needed)
    return yield notChecked(run, {
      kind: 'refused',
      reason: 'no table of earth conductors for small craft is stored here',
    });
  if (needed.kind !== 'known') return yield notChecked(run, needed);
  const numbers = { earth, needed: needed.derivation };
  const use = atLeast(earth, needed.derivation);
  if (isEnough(earth, needed.derivation)) return yield passed(run, use, numbers);
  // Lines that carry the rating of their device by themselves are the usual choice, and no increase to everybody.
  const usual = earthNeeded(run, setup, context, 'fromWholeRating');
  const isUsual = usual?.kind === 'known' && isEnough(earth, usual.derivation);
  const reason = reasonOf(needed.derivation, run, context);
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'earth'),
    headline: `The earth conductor of ${run.name} is ${displayValue(earth)}; at least ${displayValue(needed.derivation)} needed`,
    ...reason,
    ...(isUsual
      ? {
          severity: 'warning' as const,
          why: `${reason.why}; no increase if its own ampacity is to reach the rating of the device`,
        }
      : {}),
    consequence: 'it burns before a fault to the frame opens the device',
    use,
    numbers,
    fixes: [{ way: 'earth', run }],
    ...(needed.derivation.source ? { sources: [needed.derivation.source] } : {}),
  };
}

export const earthConductor = defineCheck({
  id: 'earth-conductor',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The earth conductor of a run is smaller than the practice asks, or was not raised with its line conductors.',
    guards:
      'A fault to a frame that the device does not see in time: the undersized earth conductor burns, and the frame stays live.',
    how: points(
      'The earth conductor of the run against the smallest that the practice allows.',
      'nec: Table 250.122 by the device that protects the run. Where the line conductors are larger than the smallest size that would carry the load and suit the device, corrections counted (as for a long run), the earth conductor is raised in the same proportion (250.122(B)), never above the line conductors (250.122(A)). Areas compare within 0.1 %.',
      'nec: line conductors whose own ampacity only just reaches the rating of the device, not rounded up, may have been chosen for that: then it is a warning.',
      'iec: Table 54.2 by the line conductor, of the same metal. A smaller one may be proved by calculation: waive the finding with `accept`.',
      'craft: no table here.',
      'AC runs that state no `earth` are not checked, apart from cords, which have theirs inside, and runs in metal raceway that serves as earth conductor (`metalRaceway: yes`). Direct-current runs are judged where they state `earth`.',
    ),
    fix: 'Use the size that is named for the earth conductor.',
    sources: [
      PUBLISHED('NEC', 'Table 250.122, 250.122(A), (B)', '2017-2023'),
      PUBLISHED('IEC 60364-5-54', 'Table 54.2', '2011'),
      MEMORY('NEC', '250.118'),
    ],
    failing: `design Hut {
  grid Mains { voltage: 240 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 40 A }
  load Heater { power: 6 kW }
  run Line: Mains -> B1 -> Heater { size: 4 AWG   type: THHN   length: 60 m   earth: 10 AWG }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 240 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 40 A }
  load Heater { power: 6 kW }
  run Line: Mains -> B1 -> Heater { size: 4 AWG   type: THHN   length: 60 m   earth: 6 AWG }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) if (run.carries !== 'any') yield* judgeRun(run, context);
  },
});
