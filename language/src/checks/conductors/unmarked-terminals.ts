import type { DesignContext } from '../../model/context.js';
import { query } from '../../model/context.js';
import type { Property, Run } from '../../model/types.js';
import { createContext } from '../../quantities/context.js';
import { areUnmarked } from '../../quantities/conductors/terminals.js';
import { quantity } from '../../quantity/index.js';
import { numberIn } from '../../derivation/index.js';
import { ruleValue } from '../../reference/index.js';
import type { Verdict } from '../define.js';
import { notChecked } from '../verdicts.js';
import type { RunInDesign } from './run-as-if.js';

/** A design in which all terminals that nothing is said about are marked for 75 °C, with what its runs have become. */
interface MarkedDesign {
  readonly runs: ReadonlyMap<Run, Run>;
  readonly context: DesignContext;
}

const MARKED = query<DesignContext, MarkedDesign>('a design as if its terminals were marked for 75 °C');

function markedDesign(context: DesignContext): MarkedDesign {
  return context.kept(MARKED, context, () => {
    const mark: Property = {
      name: 'terminals',
      value: { type: 'quantity', quantity: quantity(numberIn(ruleValue('nec', 'terminalDefault'), 'degC'), 'degC') },
      origin: 'stated',
      text: '',
    };
    const runs = new Map(
      context.system.runs.map((run) => {
        const size = context.maybe(run, 'size');
        const isOpen = size !== undefined && areUnmarked(run, size, context);
        return [run, isOpen ? { ...run, properties: new Map(run.properties).set('terminals', mark) } : run] as const;
      }),
    );
    const system = { ...context.system, runs: context.system.runs.map((run) => runs.get(run)!) };
    return { runs, context: createContext(system, context.today, context.parts, context.watch) };
  });
}

/** A run in the design in which its terminals, where nothing is said about them, are marked for 75 °C. */
export function asMarked(run: Run, context: DesignContext): RunInDesign {
  const { runs, context: design } = markedDesign(context);
  return { run: runs.get(run)!, context: design };
}

/**
 * The verdicts of a check on a run, whose terminals count as 60 °C where the code asks that of unmarked ones. Where only that breaks it, the
 * marking decides, which is asked for: a warning on gear that is marked 75 °C, as most is, would be a false one.
 */
export function* askingForMarks(
  run: Run,
  context: DesignContext,
  judge: (run: Run, context: DesignContext) => Iterable<Verdict>,
): Generator<Verdict> {
  const verdicts = [...judge(run, context)];
  const size = context.maybe(run, 'size');
  const failed = verdicts.find(({ verdict }) => verdict === 'failed');
  if (!failed || !size || !areUnmarked(run, size, context)) return yield* verdicts;
  const marked = asMarked(run, context);
  if ([...judge(marked.run, marked.context)].some(({ verdict }) => verdict === 'failed')) return yield* verdicts;
  yield* verdicts.filter(({ verdict }) => verdict !== 'failed');
  yield {
    ...notChecked(run, {
      kind: 'missing',
      missing: [`terminals of ${run.name} (60 degC unless the gear at its ends is marked 75 degC)`],
    }),
    isOfMarking: true,
  };
}
