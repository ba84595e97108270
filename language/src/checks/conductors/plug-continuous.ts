import { termOf } from '../../quantities/worst.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { continuousLimits, ownBreaker } from '../../quantities/conductors/continuous-limits.js';
import { defineCheck, type Fix, type Verdict, atMost, points } from '../define.js';
import { limitInput, limitInputs } from '../input-limit.js';
import { basisText, notChecked, passed, pairText, whyOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { isConnection, takesToCharge } from '../../model/roles.js';
import { loadsBehind } from '../../quantities/supply/passed-loads.js';

/** Whether a run meets a plug, a receptacle, or the outlet or breaker of a source. Breakers in other runs are judged by `protection-continuous`. */
export const meetsPlug = (run: Run): boolean =>
  [run.from, ...run.through, ...run.to].some(
    ({ instance }) =>
      isConnection(instance) ||
      instance.properties.has('plug') ||
      instance.properties.has('outlet') ||
      ownBreaker(instance) !== undefined,
  );

/** The source that feeds a run in the state that governs a current of it. */
function governingSource(run: Run, current: Derivation, context: DesignContext): Instance | undefined {
  const id = reasonOf(current, 'state')?.id;
  return context.circuitStates
    .filter(({ state }) => id === undefined || state.id === id)
    .flatMap(({ circuit }) => acFlow(run, circuit, context)?.sources ?? [])[0];
}

/** Input limits at which the continuous current of a run comes down to `most` A. */
function fixesFor(run: Run, continuous: Derivation, most: number, context: DesignContext): Fix[] {
  const chargers = new Set<Instance>();
  for (const { circuit } of context.circuitStates) {
    for (const node of acFlow(run, circuit, context)?.nodes.values() ?? [])
      if (takesToCharge(node)) chargers.add(node.instance);
  }
  const source = governingSource(run, continuous, context);
  const partOf = (each: Instance): number => {
    const part = termOf(continuous, each);
    return part ? numberIn(part, 'A') : 0;
  };
  // The input limit of an inverter that passes its supply on holds what it charges with and the loads behind it together.
  const behindOf = (charger: Instance): number =>
    [...loadsBehind(charger, context)].reduce((sum, load) => sum + partOf(load), 0);
  const taking = [...chargers].filter((charger) => partOf(charger) > 0);
  const roundedDown = (amperes: number): number => Math.floor(amperes * 10 + 1e-6) / 10;
  const alone = taking.flatMap((charger) => {
    const behind = behindOf(charger);
    const others = numberIn(continuous, 'A') - partOf(charger) - behind;
    const amperes = roundedDown(most - others);
    return amperes < Math.max(LEAST_LIMIT, behind) ? [] : [limitInput(charger, source, amperes, true, context)];
  });
  if (alone.length > 0) return alone;
  // Where none alone is enough, those that pass nothing on are limited together, each by as much.
  const plain = taking.filter((charger) => behindOf(charger) === 0);
  const together = plain.reduce((sum, charger) => sum + partOf(charger), 0);
  const share = (most - numberIn(continuous, 'A') + together) / together;
  const limits = plain.map((charger) => [charger, roundedDown(partOf(charger) * share)] as const);
  if (limits.length < 2 || limits.some(([, amperes]) => amperes < LEAST_LIMIT)) return [];
  return [limitInputs(limits, source, context)];
}

/** No input is limited to less, A. */
const LEAST_LIMIT = 1;

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const [smallest] = continuousLimits(run, context);
  if (!smallest) return;
  const continuous = context.quantity(run, 'continuousCurrent');
  if (continuous.kind !== 'known') return yield notChecked(run, continuous);
  const numbers = { current: continuous.derivation, limit: smallest.current };
  const excess = numberIn(continuous.derivation, 'A') - numberIn(smallest.current, 'A');
  const use = atMost(continuous.derivation, smallest.current);
  if (excess <= 1e-9 * numberIn(smallest.current, 'A')) return yield passed(run, use, numbers);
  const [carried, allowed] = pairText(continuous.derivation, smallest.current);
  const fixes = fixesFor(run, continuous.derivation, numberIn(smallest.current, 'A'), context);
  const { basis } = context.system;
  // Afloat the rule is kept for plugs and breakers it was not made for: careful, but no error.
  const isKept = basis.practice === 'craft' && !smallest.isNorthAmerican;
  const rule =
    basis.practice === 'craft'
      ? `NEC 210.20(A), 210.21(B)${isKept ? ', followed afloat by common practice' : ''}`
      : `${basisText(basis)} 210.20(A), 210.21(B)`;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: run.place,
    ...(isKept ? { severity: 'warning' as const } : {}),
    headline: `${run.name} carries ${carried} continuously (3 h or more); ${smallest.title} allows ${allowed}`,
    ...whyOf(
      `80 % of ${displayValue(smallest.current.inputs.at(-1) ?? smallest.current)}`,
      governingText(continuous.derivation),
    ),
    rule,
    advice: 'Lower the load or shorten its time, or use a larger plug and circuit.',
    use,
    numbers,
    fixes,
  };
}

export const plugContinuous = defineCheck({
  id: 'plug-continuous',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A plug, receptacle, inlet, or a breaker beside one, carries more than its continuous share for three hours or more.',
    guards: 'Contacts that run hot for hours soften, arc and melt; chargers are the longest loads there are.',
    how: points(
      'The continuous part of the design current of each AC run that meets a plug, a receptacle, or the outlet or breaker of its source, against 80 % of the smallest of these (100 % for a breaker listed for that, or the share a plug states).',
      'Chargers count as continuous. Breakers in other runs are judged by `protection-continuous`.',
      'The fix is the input limit to set; that of an inverter that passes its supply on holds its loads as well.',
      'For craft the rule is kept for plugs that were not made for it and for breakers, as a warning. Under iec there is no 80 % rule, and nothing is reported.',
    ),
    fix: 'Lower the input limit of the charger, run it for less than three hours, or use a larger plug.',
    sources: [PUBLISHED('NEC', '210.20(A), 210.21(B), 210.23', '2017-2023')],
    failing: `design Coach {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  charger Rect { input: 90..132 V   currentLimit: 90 A   absorb: 28.4 V   efficiency: 88 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Shore -> Rect.ac { size: 10 AWG   type: STW   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
    passing: `design Coach {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  charger Rect { input: 90..132 V   currentLimit: 70 A   absorb: 28.4 V   efficiency: 88 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  run Cord: Shore -> Rect.ac { size: 10 AWG   type: STW   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
  },
  judge: function* (context) {
    if (context.system.basis.practice === 'iec') return;
    for (const run of context.system.runs) if (run.carries === 'ac' && meetsPlug(run)) yield* judgeRun(run, context);
  },
});
