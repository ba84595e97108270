import { type DesignContext, query } from '../../model/context.js';
import type { Property, Run } from '../../model/types.js';
import { createContext } from '../../quantities/context.js';
import { quantity } from '../../quantity/index.js';
import { craftAmpacity, iecAmbientAir, necAmpacity } from '../../reference/index.js';
import type { Verdict } from '../define.js';
import { notChecked } from '../verdicts.js';
import type { RunInDesign } from './run-as-if.js';

/** Whether a run says what its insulation stands: by itself, by its type, or by a table of its own that its type states. */
function isTyped(run: Run): boolean {
  if (run.properties.has('insulation')) return true;
  const type = run.properties.get('type')?.value;
  return type?.type === 'part' && (type.part.properties.has('insulation') || type.part.properties.has('ampacities'));
}

/** The lowest insulation that the tables of the practice of a design know, °C. */
function weakest(context: DesignContext): number {
  const { columns } = { nec: necAmpacity, iec: iecAmbientAir, craft: craftAmpacity }[context.system.basis.practice];
  return Math.min(...columns);
}

interface WeakDesign {
  readonly runs: ReadonlyMap<Run, Run>;
  readonly context: DesignContext;
}

const WEAK = query<DesignContext, WeakDesign>(
  'a design as if its conductors without a type had the weakest insulation',
);

function asWeakest(run: Run, context: DesignContext): RunInDesign {
  const { runs, context: design } = context.kept(WEAK, context, () => {
    const insulation: Property = {
      name: 'insulation',
      value: { type: 'quantity', quantity: quantity(weakest(context), 'degC') },
      origin: 'stated',
      text: '',
    };
    const changed = new Map(
      context.system.runs.map((each): [Run, Run] => [
        each,
        isTyped(each) ? each : { ...each, properties: new Map(each.properties).set('insulation', insulation) },
      ]),
    );
    const system = { ...context.system, runs: context.system.runs.map((each) => changed.get(each)!) };
    return { runs: changed, context: createContext(system, context.today, context.parts, context.watch) };
  });
  return { run: runs.get(run)!, context: design };
}

/**
 * The verdicts of a check on a run that is taken for insulation of 90 °C where nothing says what it is. Where the weakest that is made would
 * not do, the type decides, which is asked for: nothing passes because nobody has said what cable it is.
 */
export function* askingForType(
  run: Run,
  context: DesignContext,
  judge: (run: Run, context: DesignContext) => Iterable<Verdict>,
): Generator<Verdict> {
  const verdicts = [...judge(run, context)];
  if (isTyped(run) || verdicts.length === 0 || verdicts.some(({ verdict }) => verdict !== 'passed'))
    return yield* verdicts;
  const weak = asWeakest(run, context);
  if (![...judge(weak.run, weak.context)].some(({ verdict }) => verdict === 'failed')) return yield* verdicts;
  yield notChecked(run, {
    kind: 'missing',
    missing: [`type of ${run.name} (with insulation for ${weakest(context)} degC it would not do)`],
  });
}
