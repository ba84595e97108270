import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { sumOf } from '../../quantities/worst.js';
import { defineCheck, type Failed, type Fix, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { feedInto, firstDevice } from './feeding.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { isLoad } from '../../model/roles.js';
import { loadCurrentOn } from '../../quantities/demand/loads.js';

/** Supplies of 100 to 130 V line to neutral are the ones that houses with two legs are jumpered to, which the NEC forbids by itself. */
const ONE_LEG = { from: 100, to: 130 } as const;

const legsOf = (thing: Instance | Run): readonly string[] => {
  const value = thing.properties.get('legs')?.value;
  return value?.type === 'words' ? value.words : [];
};

/** The lines of a run that have one neutral between them: its own, or those of the loads at its ends. What stands between two lines needs none. */
function linesOf(run: Run): readonly string[] {
  const ends = run.to.map(({ instance }) => legsOf(instance));
  const isBetweenLines = ends.length > 0 && ends.every((legs) => legs.length > 1);
  return isBetweenLines ? [] : [...new Set([...legsOf(run), ...ends.flatMap((legs) => (legs.length > 1 ? [] : legs))])];
}

/** The loads behind a run that stand between a line and the neutral, on a source that has one line only. */
interface Shared {
  readonly loads: number;
  readonly parts: readonly Derivation[];
  /** Facts of loads whose current is not known. */
  readonly missing: readonly string[];
}

function behind(run: Run, source: Instance, circuit: CircuitState, context: DesignContext): Shared | undefined {
  const flow = acFlow(run, circuit, context);
  if (!flow) return undefined;
  const parts: Derivation[] = [];
  const facts: string[] = [];
  const loads = new Set(
    [...flow.nodes.values()]
      .map(({ instance }) => instance)
      .filter((instance) => isLoad(instance) && legsOf(instance).length < 2),
  );
  for (const load of loads) {
    const { result } = loadCurrentOn(load, source, context);
    if (result.kind === 'known') parts.push(result.derivation);
    if (result.kind === 'missing') facts.push(...result.missing);
  }
  return { loads: loads.size, parts, missing: facts };
}

/** What the devices before a neutral and those in its lines let through: each line sees its own part, the neutral all of them. */
function letThrough(run: Run, lines: number, context: DesignContext): Derivation | readonly string[] | undefined {
  const feed = feedInto(run, 'near', context);
  if (feed.kind === 'none') return undefined;
  const device = firstDevice(run, 'near', context)?.stop.instance;
  const rating = device && context.maybe(device, 'rating');
  const inLines = rating && linesTogether(rating, lines);
  const before = feed.kind === 'limited' ? feed.current : feed.kind === 'self-limited' ? feed.most?.current : undefined;
  if (before) return inLines && numberIn(inLines, 'A') < numberIn(before, 'A') ? inLines : before;
  if (inLines) return inLines;
  if (device) return [`rating of ${device.name}`];
  return feed.kind === 'open' ? feed.missing : undefined;
}

const linesTogether = (rating: Derivation, lines: number): Derivation =>
  derive('current that the devices in the lines pass together', lines * numberIn(rating, 'A'), 'A', {
    symbol: 'I_N',
    formula: 'lines·I_n',
    inputs: [derive('lines', lines, ''), rating],
  });

/** A neutral as it is judged in one state. */
interface Judged {
  readonly run: Run;
  readonly source: Instance;
  readonly state: SourceState;
  readonly context: DesignContext;
}

function judgeIn(judged: Judged, circuit: CircuitState, lines: number): Verdict | undefined {
  const { run, source, context } = judged;
  const system = systemOf(source);
  if (system?.phases !== 'single') return undefined;
  const shared = behind(run, source, circuit, context);
  if (!shared) return undefined;
  const isForbidden =
    context.system.basis.practice === 'nec' &&
    system.lineToNeutral >= ONE_LEG.from &&
    system.lineToNeutral <= ONE_LEG.to;
  // One load takes its current from one line, whatever the run is said to carry.
  if (!isForbidden && shared.loads < 2) return undefined;
  const neutral =
    shared.missing.length === 0
      ? sumOf('neutral current', 'I_N', 'A', shared.parts, { kind: 'legsInPhase' })
      : undefined;
  const ampacity = context.quantity(run, 'ampacity');
  const limit = ampacity.kind === 'known' ? ampacity.derivation : undefined;
  const isOver = (current: Derivation | undefined): current is Derivation =>
    current !== undefined && limit !== undefined && numberIn(current, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  const numbers: Record<string, Derivation> = { ...(neutral ? { neutral } : {}), ...(limit ? { limit } : {}) };
  if (isOver(neutral))
    return failure(judged, {
      headline: overText(`The neutral of ${run.name} carries`, 'it may carry', neutral, limit!),
      use: atMost(neutral, limit!),
      numbers,
    });
  if (isForbidden) {
    const much = neutral ? `, ${displayValue(neutral, 3)}` : '';
    return failure(judged, { headline: `The neutral of ${run.name} carries both legs${much}`, use: NO_LIMIT, numbers });
  }
  if (!neutral) return notChecked(run, { kind: 'missing', missing: shared.missing });
  if (!limit) return notChecked(run, ampacity);
  const passing = letThrough(run, lines, context);
  if (passing && !('name' in passing)) return notChecked(run, { kind: 'missing', missing: passing });
  if (isOver(passing))
    return failure(judged, {
      headline: overText(`The devices of ${run.name} let`, 'into its neutral, which may carry', passing, limit),
      use: atMost(passing, limit),
      numbers: { ...numbers, passing },
    });
  return passed(run, atMost(neutral, limit), passing ? { ...numbers, passing } : numbers);
}

/** `<before> <current> <between> <limit>`, the two numbers told so that they differ. */
function overText(before: string, between: string, current: Derivation, limit: Derivation): string {
  const [is, may] = pairText(current, limit);
  return between.startsWith('into') ? `${before} ${is} ${between} ${may}` : `${before} ${is}; ${between} ${may}`;
}

function failure(
  { run, source, state, context }: Judged,
  { headline, use, numbers }: Pick<Failed, 'headline' | 'use'> & { numbers: Readonly<Record<string, Derivation>> },
): Failed {
  const volts = systemOf(source)!.lineToNeutral;
  const isLow = volts >= ONE_LEG.from && volts <= ONE_LEG.to;
  const fixes: Fix[] = isLow
    ? [
        propose(
          `Use a split-phase supply for ${source.name} (voltage: ${volts}/${2 * volts} V)`,
          [setProperty(source, 'voltage', `${volts}/${2 * volts} V`)],
          true,
        ),
      ]
    : [];
  const { practice } = context.system.basis;
  const rules = {
    nec: isLow ? `710.15(C): no multiwire circuits on a single ${volts} V supply` : '240.4',
    iec: '60364-4-43 431.2, 433.1',
    craft: '',
  };
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'legs'),
    headline,
    ...whyOf(
      `${source.name} feeds ${linesOf(run).join(' and ')} from one line: in phase, undetected by devices in the legs`,
      `with ${state.title}`,
    ),
    rule: practice === 'iec' ? `IEC ${rules.iec}` : [basisText(context.system.basis), rules[practice]].join(' ').trim(),
    consequence: 'a neutral that no device sees burns in the wall',
    advice: isLow
      ? `Use a split-phase supply (${volts}/${2 * volts} V), or give each leg a neutral of its own.`
      : 'Give each line a neutral of its own, or smaller devices whose ratings the neutral carries together.',
    use,
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
    how: 'For each source state, a run that carries two lines or three (by its own `legs`, or those of the loads at its ends) is looked at where a single-phase source feeds it. The neutral current is the sum of all loads behind the run. Under nec any such circuit on 100 to 130 V is a finding (710.15(C)). Else it is one where the sum is above the ampacity of the run, or where what the devices let into the neutral is: that of the device before the run, or those in its lines together. A source whose electronics hold its current by themselves lets in no more than the loads.',
    fix: 'Feed one leg only, use a supply of both legs, or a neutral for the sum of both.',
    sources: [PUBLISHED('NEC', '710.15(C)', '2017-2023'), MEMORY('IEC 60364-4-43', '431.2, 433.1')],
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
      const lines = linesOf(run).length;
      if (run.carries !== 'ac' || lines < 2) continue;
      // The worst state speaks for all.
      const verdicts = context.circuitStates.flatMap(({ state, circuit }) =>
        [...(circuit.supply.get(context.graph.nodeOf(run.from).key) ?? [])].flatMap(
          (source) => judgeIn({ run, source, state, context }, circuit, lines) ?? [],
        ),
      );
      const neutral = (verdict: Verdict): number => {
        const current = verdict.verdict === 'not-checked' ? undefined : verdict.numbers?.['neutral'];
        return current ? numberIn(current, 'A') : -1;
      };
      const [first, ...rest] =
        ['failed', 'not-checked', 'passed']
          .map((kind) => verdicts.filter(({ verdict }) => verdict === kind))
          .find(({ length }) => length > 0) ?? [];
      if (first) yield rest.reduce((so, next) => (neutral(next) > neutral(so) ? next : so), first);
    }
  },
});
