import { termOf } from '../../quantities/worst.js';
import { governedBy } from '../../glossary/reason-text.js';
import { type PartArgument, callFunction } from '../../calculate/index.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { partArgument } from '../../model/lower/property-facts.js';
import type { Instance, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { ruleValue } from '../../reference/index.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, pairText } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { type PropertyName } from '../../equipment/index.js';
import { isBreaker, isConnection, ownDeviceOf, ownDeviceTitle, takesToCharge } from '../../model/roles.js';
import { loadsBehind } from '../../quantities/supply/passed-loads.js';
import { calculation } from '../../quantities/calculation.js';

interface Limit {
  readonly current: Derivation;
  readonly title: string;
  /** Whether the limit is of a plug made to North American standards, which the 80 % is a rule for. */
  readonly isNorthAmerican: boolean;
}

function plugOf(owner: Instance, property: string): PartArgument | undefined {
  const value = owner.properties.get(property)?.value;
  return value?.type === 'part' ? partArgument(value.part) : undefined;
}

const isNorthAmerican = (owner: Instance, property: string): boolean => {
  const value = owner.properties.get(property)?.value;
  const practices = value?.type === 'part' ? value.part.properties.get('basis')?.value : undefined;
  return practices?.type === 'words' && practices.words.includes('nec');
};

/** The property that states the breaker built into a source, where it states one. */
function ownBreaker(instance: Instance): PropertyName | undefined {
  const device = ownDeviceOf(instance);
  return device?.as === 'breaker' && instance.properties.has(device.rating) ? device.rating : undefined;
}

/** Whether a run meets a plug, a receptacle, or the outlet or breaker of a source. Breakers in other runs are judged by `protection-continuous`. */
export const meetsPlug = (run: Run): boolean =>
  [run.from, ...run.through, ...run.to].some(
    ({ instance }) =>
      isConnection(instance) ||
      instance.properties.has('plug') ||
      instance.properties.has('outlet') ||
      ownBreaker(instance) !== undefined,
  );

/** What a run's breakers, receptacles, plugs and the outlet of its source carry continuously. */
function limitsOf(run: Run, context: DesignContext): Limit[] {
  const limits: Limit[] = [];
  const share = ruleValue('nec', 'plugContinuousShare');
  const eighty = (rating: Derivation, title: string): void => {
    limits.push({
      current: derive('continuous current', numberIn(rating, 'A') * numberIn(share, ''), 'A', {
        formula: '0.8·rating',
        inputs: [share, rating],
      }),
      title,
      isNorthAmerican: false,
    });
  };
  const plug = (owner: Instance, property: string, title: string): void => {
    const part = plugOf(owner, property);
    const result = part && callFunction(calculation('plugContinuous'), { plug: part });
    if (result?.kind === 'known')
      limits.push({
        current: result.derivation,
        title: `${title} ${part!.name}`,
        isNorthAmerican: isNorthAmerican(owner, property),
      });
  };
  const stops = [run.from, ...run.through, ...run.to];
  for (const { instance } of stops) {
    const rating = context.maybe(instance, 'rating');
    if (isBreaker(instance) && rating && context.maybe(instance, 'fullRating')?.value !== true)
      eighty(rating, `breaker ${instance.name}`);
    if (isConnection(instance)) {
      plug(instance, 'plug', `receptacle ${instance.name},`);
      plug(instance, 'outlet', `the outlet of ${instance.name},`);
      if (!instance.properties.has('plug') && rating) eighty(rating, `receptacle ${instance.name}`);
      continue;
    }
    plug(instance, 'plug', `the plug of ${instance.name},`);
    plug(instance, 'outlet', `the outlet of ${instance.name},`);
    const breaker = ownBreaker(instance);
    const held = breaker && context.maybe(instance, breaker);
    if (held && context.maybe(instance, 'fullRating')?.value !== true) eighty(held, ownDeviceTitle(instance));
  }
  return limits.sort((a, b) => numberIn(a.current, 'A') - numberIn(b.current, 'A'));
}

/** Input limits at which the continuous current of a run comes down to `most` A. */
function fixesFor(run: Run, continuous: Derivation, most: number, context: DesignContext): Fix[] {
  const chargers = new Set<Instance>();
  for (const { circuit } of context.circuitStates) {
    for (const node of acFlow(run, circuit, context)?.nodes.values() ?? [])
      if (takesToCharge(node)) chargers.add(node.instance);
  }
  const partOf = (each: Instance): number => {
    const part = termOf(continuous, each);
    return part ? numberIn(part, 'A') : 0;
  };
  return [...chargers].flatMap((charger) => {
    // The input limit of an inverter that passes its supply on holds what it charges with and the loads behind it together.
    const behind = [...loadsBehind(charger, context)].reduce((sum, load) => sum + partOf(load), 0);
    const others = numberIn(continuous, 'A') - partOf(charger) - behind;
    const amperes = Math.floor((most - others) * 10 + 1e-6) / 10;
    return partOf(charger) === 0 || amperes < Math.max(1, behind)
      ? []
      : [
          propose(
            `Limit the input of ${charger.name} to ${amperes} A`,
            [setProperty(charger, 'inputLimit', `${amperes} A`)],
            true,
          ),
        ];
  });
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const [smallest] = limitsOf(run, context);
  if (!smallest) return;
  const continuous = context.quantity(run, 'continuousCurrent');
  if (continuous.kind !== 'known') return yield notChecked(run, continuous);
  const numbers = { current: continuous.derivation, limit: smallest.current };
  const excess = numberIn(continuous.derivation, 'A') - numberIn(smallest.current, 'A');
  if (excess <= 1e-9 * numberIn(smallest.current, 'A')) return yield passed(run, numbers);
  const [carried, allowed] = pairText(continuous.derivation, smallest.current);
  const fixes = fixesFor(run, continuous.derivation, numberIn(smallest.current, 'A'), context);
  const { basis } = context.system;
  // Afloat the rule is kept for plugs and breakers it was not made for: careful, but no error.
  const isKept = basis.practice === 'craft' && !smallest.isNorthAmerican;
  const rule =
    basis.practice === 'craft'
      ? `NEC 210.20(A), 210.21(B)${isKept ? ', kept afloat by common practice' : ''}`
      : `${basisText(basis)} 210.20(A), 210.21(B)`;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: run.place,
    ...(isKept ? { severity: 'warning' as const } : {}),
    message: `${run.name} carries ${carried} for hours on end${governedBy(continuous.derivation)}; ${smallest.title} carries ${allowed} continuously (80 % of ${displayValue(smallest.current.inputs.at(-1) ?? smallest.current)}; ${rule}). Turn the load down or shorten it, or use a larger plug and circuit.`,
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
    how: 'The continuous part of the design current of each AC run that meets a plug, a receptacle, or the outlet or breaker of its source is held against 80 % of the smallest of its breakers, receptacles, plugs and the outlet and breaker of its source (100 % for a breaker listed for that, or the share a plug states). Chargers count as continuous. The fix is the input limit to set; that of an inverter that passes its supply on holds its loads as well. Breakers in other runs are judged by `protection-continuous`. For craft the rule is kept for plugs that were not made for it and for breakers, as a warning. Under iec there is no 80 % rule and this check is silent.',
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
