import { type Derivation, displayValue, numberIn, derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { type StudRow, lugFits, studOf } from '../../reference/index.js';
import {
  defineCheck,
  type Fix,
  type TextEdit,
  type Verdict,
  atMost,
  atLeast,
  NO_LIMIT,
  type UseOfLimit,
} from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { MEMORY } from './shared.js';
import { type Termination, lugHoleAt, terminalKindOf, studsOf } from './terminations.js';

/** `8 mm (M8 or 5/16 in)`. */
const threadText = (thread: Derivation): string => {
  const row = studOf(numberIn(thread, 'mm'));
  return `${displayValue(thread)}${row ? ` (${row.stud})` : ''}`;
};

/** The text that states a thread as the design states it elsewhere. */
const writtenThread = (instance: Instance, stud: Derivation): string =>
  instance.properties.get('stud')?.text ?? `${formatNumber(numberIn(stud, 'mm'))} mm`;

/** The edits that make the lugs of a run fit one stud: of the run where they fit nothing else, else of the thing. */
function lugEdit({ run, instance }: Termination, stud: Derivation, context: DesignContext): TextEdit {
  const text = writtenThread(instance, stud);
  const others = studsOf(run).filter((each) => each.instance !== instance);
  const own = context.maybe(run, 'lugHole');
  const isNeeded =
    own !== undefined &&
    others.some((each) => {
      const thread = context.maybe(each.instance, 'stud');
      return thread && !each.instance.properties.has('lugHole') && lugFits(numberIn(own, 'mm'), numberIn(thread, 'mm'));
    });
  return isNeeded || instance.properties.has('lugHole')
    ? setProperty(instance, 'lugHole', text)
    : setProperty(run, 'lugHole', text);
}

/** What is wrong between a run and the stud it is bolted to. */
interface Fault {
  readonly headline: string;
  readonly why?: string;
  readonly consequence?: string;
  readonly advice: string;
  readonly use: UseOfLimit;
  readonly place: ReturnType<typeof placeOf>;
  readonly numbers: Readonly<Record<string, Derivation>>;
  readonly fixes: readonly Fix[];
}

function holeFault(at: Termination, stud: Derivation, hole: Derivation, context: DesignContext): Fault | undefined {
  const [thread, made] = [numberIn(stud, 'mm'), numberIn(hole, 'mm')];
  if (lugFits(made, thread)) return undefined;
  const { run, instance } = at;
  return {
    place: instance.properties.has('lugHole') ? placeOf(instance, 'lugHole') : placeOf(run, 'lugHole'),
    headline: `Lugs of ${run.name} are made for ${threadText(hole)}; ${instance.name} has ${threadText(stud)}`,
    consequence: made < thread ? 'they do not go on' : 'a washer bridges the hole and the joint runs hot',
    advice: `Use lugs for ${threadText(stud)}.`,
    use: NO_LIMIT,
    numbers: { stud, hole },
    fixes: [
      propose(`Use lugs for ${writtenThread(instance, stud)} on ${instance.name}`, [lugEdit(at, stud, context)], true),
    ],
  };
}

/** Cables and currents that studs of a thread are not made for. Typical figures, from memory. */
function loadFault(
  { run, instance }: Termination,
  row: StudRow,
  stud: Derivation,
  context: DesignContext,
): Fault | undefined {
  const size = context.maybe(run, 'size');
  const area = size && numberIn(size, 'mm2');
  if (size && area !== undefined && (area < row.smallest * 0.999 || area > row.largest * 1.001))
    return {
      place: placeOf(instance, 'stud'),
      headline: `Lugs for ${displayValue(size)} of ${run.name} are not usual for the stud of ${instance.name}, ${threadText(stud)}`,
      why: `${formatNumber(row.smallest)}–${formatNumber(row.largest)} mm² are (typical, from memory: look it up)`,
      advice: `Use gear with a ${area > row.largest ? 'larger' : 'smaller'} stud, or another size.`,
      use:
        area > row.largest
          ? atMost(size, derive('largest conductor for the stud', row.largest, 'mm2'))
          : atLeast(size, derive('smallest conductor for the stud', row.smallest, 'mm2')),
      numbers: { stud, size },
      fixes: [],
    };
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known' || numberIn(current.derivation, 'A') <= row.current) return undefined;
  return {
    place: placeOf(instance, 'stud'),
    headline: `${run.name} carries ${displayValue(current.derivation, 3)} over the stud of ${instance.name}; usual are up to ${row.current} A`,
    why: `${threadText(stud)}; from memory, the data sheet decides`,
    advice: 'Use gear with a larger stud, or share the current between two.',
    use: atMost(current.derivation, derive('usual current of the stud', row.current, 'A')),
    numbers: { stud, current: current.derivation },
    fixes: [],
  };
}

function* judgeAt(at: Termination, context: DesignContext): Generator<Verdict> {
  const { run, instance } = at;
  const stud = context.maybe(instance, 'stud');
  const hole = lugHoleAt(at, context);
  if (!stud) {
    // Whether it has a stud at all is another's question where nothing says so.
    if (hole && terminalKindOf(instance) === 'stud')
      yield notChecked(run, { kind: 'missing', missing: [`stud of ${instance.name}`] });
    return;
  }
  const row = studOf(numberIn(stud, 'mm'));
  const fault = (hole && holeFault(at, stud, hole, context)) ?? (row && loadFault(at, row, stud, context));
  if (fault)
    yield {
      verdict: 'failed',
      subject: run.path,
      ...fault,
      related: [{ place: placeOf(instance, 'stud'), text: `stud of ${instance.name}` }],
    };
  else if (hole) {
    const current = context.quantity(run, 'current');
    const most = row && derive('usual current of the stud', row.current, 'A');
    yield passed(run, most && current.kind === 'known' ? atMost(current.derivation, most) : NO_LIMIT, { stud, hole });
  } else yield notChecked(run, { kind: 'missing', missing: [`lugHole of ${run.name}`] });
}

/** Lugs are bolted to something: a run that says their hole, none of whose ends says a stud, is asked for one that may have it. */
function* askForStud(run: Run, ends: readonly Termination[], context: DesignContext): Generator<Verdict> {
  if (!run.properties.has('lugHole') || ends.some(({ instance }) => context.maybe(instance, 'stud'))) return;
  const open = ends.find(({ instance }) => terminalKindOf(instance) === undefined);
  if (open) yield notChecked(run, { kind: 'missing', missing: [`stud of ${open.instance.name}`] });
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const seen = new Set<Instance>();
  const ends = studsOf(run);
  yield* askForStud(run, ends, context);
  for (const at of ends) {
    if (seen.has(at.instance)) continue;
    seen.add(at.instance);
    yield* judgeAt(at, context);
  }
}

export const lugStud = defineCheck({
  id: 'lug-stud',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Lugs that do not fit the stud they are bolted to, or a stud too small for the cable or its current.',
    guards:
      'Lugs that are drilled out or bridged with a washer have a fraction of their contact; joints on studs too small run hot.',
    how: 'The `stud` of each thing a run is bolted to against the `lugHole` of the run (or of the thing, where its lugs differ). A metric thread and its inch neighbour take each other’s lugs (M6 and 1/4 in, M8 and 5/16 in, M10 and 3/8 in, M12 and 1/2 in; from memory). Cable size and design current are held against what studs of that thread usually take: a rule of thumb from memory, the data sheet decides. Not checked without `lugHole`.',
    fix: 'Use lugs with the hole of the stud, or a busbar with larger studs.',
    sources: [MEMORY('trade practice', 'studs and lugs')],
    failing: `design Shed {
  battery Bank : Lfp12V100Ah { stud: 8 mm }
  load Winch { power: 500 W   supply: dc }
  run Feed: Bank -> Winch { size: 6 AWG   length: 2 m   lugHole: 10 mm }
}
`,
    passing: `design Shed {
  battery Bank : Lfp12V100Ah { stud: 8 mm }
  load Winch { power: 500 W   supply: dc }
  run Feed: Bank -> Winch { size: 6 AWG   length: 2 m   lugHole: 8 mm }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
