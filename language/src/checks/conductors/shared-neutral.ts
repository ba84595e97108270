import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { sumOf } from '../../quantities/worst.js';
import { defineCheck, type Failed, type Fix, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { isLoad } from '../../model/roles.js';
import { loadCurrentOn } from '../../quantities/demand/loads.js';

/** Supplies of 100 to 130 V line to neutral are the ones that houses with two legs are jumpered to. */
const ONE_LEG = { from: 100, to: 130 } as const;

const legsOf = (thing: Instance | Run): readonly string[] => {
  const value = thing.properties.get('legs')?.value;
  return value?.type === 'words' ? value.words : [];
};

/** Whether a run has two legs with one neutral between them: by its own legs, or those of the loads at its ends. */
function isMultiwire(run: Run): boolean {
  const legs = new Set([...legsOf(run), ...run.to.flatMap(({ instance }) => legsOf(instance))]);
  return legs.has('L1') && legs.has('L2') && !run.to.some(({ instance }) => legsOf(instance).length > 1);
}

/** Currents of the loads behind a run, on a source that has one line only. */
interface Shared {
  readonly parts: readonly Derivation[];
  /** Loads whose current is not known. */
  readonly missing: readonly string[];
}

function behind(run: Run, source: Instance, circuit: CircuitState, context: DesignContext): Shared | undefined {
  const flow = acFlow(run, circuit, context);
  if (!flow) return undefined;
  const parts: Derivation[] = [];
  const facts: string[] = [];
  const loads = new Set([...flow.nodes.values()].map(({ instance }) => instance).filter(isLoad));
  for (const load of loads) {
    const { result } = loadCurrentOn(load, source, context);
    if (result.kind === 'known') parts.push(result.derivation);
    if (result.kind === 'missing') facts.push(...result.missing);
  }
  return { parts, missing: facts };
}

function judgeIn(
  run: Run,
  source: Instance,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
): Verdict | undefined {
  const system = systemOf(source);
  if (system?.phases !== 'single') return undefined;
  if (system.lineToNeutral < ONE_LEG.from || system.lineToNeutral > ONE_LEG.to) return undefined;
  const shared = behind(run, source, circuit, context);
  if (!shared) return undefined;
  if (shared.missing.length > 0) return notChecked(run, { kind: 'missing', missing: shared.missing });
  const neutral = sumOf('neutral current', 'I_N', 'A', shared.parts, { kind: 'legsInPhase' });
  const limit = neutralLimit(run, context);
  const isOver = limit && numberIn(neutral, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  const isForbidden = context.system.basis.practice === 'nec';
  const numbers = { neutral, ...(limit ? { limit } : {}) };
  if (!isOver && !isForbidden) return limit ? passed(run, atMost(neutral, limit), numbers) : undefined;
  return failure(run, source, state, context, neutral, isOver ? limit : undefined, numbers);
}

/** What the neutral may carry: it has the size of the legs. */
function neutralLimit(run: Run, context: DesignContext): Derivation | undefined {
  const ampacity = context.quantity(run, 'ampacity');
  return ampacity.kind === 'known' ? ampacity.derivation : undefined;
}

function failure(
  run: Run,
  source: Instance,
  state: SourceState,
  context: DesignContext,
  neutral: Derivation,
  over: Derivation | undefined,
  numbers: Readonly<Record<string, Derivation>>,
): Failed {
  const volts = systemOf(source)!.lineToNeutral;
  const fixes: Fix[] = [
    propose(
      `Take a split-phase supply for ${source.name} (voltage: ${volts}/${2 * volts} V)`,
      [setProperty(source, 'voltage', `${volts}/${2 * volts} V`)],
      true,
    ),
  ];
  const [is, may] = over ? pairText(neutral, over) : [displayValue(neutral, 3), ''];
  const rule =
    context.system.basis.practice === 'nec'
      ? { rule: `${basisText(context.system.basis)} 710.15(C): no multiwire circuits on a single ${volts} V supply` }
      : {};
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'legs'),
    headline: over
      ? `The neutral of ${run.name} carries ${is}; it may carry ${may}`
      : `The neutral of ${run.name} carries both legs, ${is}`,
    ...whyOf(
      `${source.name} feeds L1 and L2 from one line: in phase, undetected by devices in the legs`,
      `with ${state.title}`,
    ),
    ...rule,
    advice: `Use a split-phase supply (${volts}/${2 * volts} V), or give each leg a neutral of its own.`,
    use: over ? atMost(neutral, over) : NO_LIMIT,
    numbers,
    related: [{ place: placeOf(source, 'voltage'), text: `${source.name} has one line` }],
    fixes,
  };
}

export const sharedNeutral = defineCheck({
  id: 'shared-neutral',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'One supply of a single line feeds both legs of a run that has one neutral for two legs.',
    guards:
      'In a split-phase supply the neutral carries the difference of the legs; on one line it carries their sum, up to twice its rating, and no breaker opens: it burns in the wall.',
    how: 'For each source state, a run that carries L1 and L2 (by its own `legs`, or those of the loads at its ends) is looked at where a single-phase source of 100 to 130 V feeds it. The neutral current is the sum of all loads behind the run. Under nec any such circuit is a finding (710.15(C)); elsewhere where the sum is above the ampacity of the run.',
    sources: [PUBLISHED('NEC', '710.15(C)', '2017-2023')],
    failing: `design Cabin {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   voltage: 120 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: 20 A   poles: 2 }
  load Left { power: 1.8 kW   legs: L1 }
  load Right { power: 1.2 kW   legs: L2 }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 3 m }
  run Circuit: Panel -> B1 -> Left, Right { size: 12 AWG   type: THHN   length: 12 m   legs: L1, L2 }
}
`,
    passing: `design Cabin {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   voltage: 120/240 V   efficiency: 90 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  breaker B1 { rating: 20 A   poles: 2 }
  load Left { power: 1.8 kW   legs: L1 }
  load Right { power: 1.2 kW   legs: L2 }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
  run Out: Inv.ac -> Panel { size: 8 AWG   length: 3 m }
  run Circuit: Panel -> B1 -> Left, Right { size: 12 AWG   type: THHN   length: 12 m   legs: L1, L2 }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      if (run.carries !== 'ac' || !isMultiwire(run)) continue;
      // The worst state speaks for all.
      const verdicts = context.circuitStates.flatMap(({ state, circuit }) =>
        [...(circuit.supply.get(context.graph.nodeOf(run.from).key) ?? [])].flatMap(
          (source) => judgeIn(run, source, state, circuit, context) ?? [],
        ),
      );
      const neutral = (verdict: Verdict): number => {
        const current = verdict.verdict === 'not-checked' ? undefined : verdict.numbers?.['neutral'];
        return current ? numberIn(current, 'A') : -1;
      };
      const failed = verdicts.filter((verdict) => verdict.verdict === 'failed');
      const told = failed.length > 0 ? failed : verdicts;
      const [first, ...rest] = told;
      if (first) yield rest.reduce((so, next) => (neutral(next) > neutral(so) ? next : so), first);
    }
  },
});
