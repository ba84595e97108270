import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  deriveQuantity,
  known,
  numberIn,
} from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { type ConductorSize, METRIC_SERIES, quantity, sameSize } from '../../quantity/index.js';
import {
  ampacityAt,
  conductorType,
  devicesOf,
  standAloneWith,
  voltageDropAt,
} from '../../quantities/conductors/conductor.js';
import { orOfMotors } from '../../quantities/conductors/motor-circuit.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { motorAmpacity } from '../../quantities/flow/motor-loads.js';
import { iecVoltageDrop, ruleValue, sourceOf, standardSizes } from '../../reference/index.js';
import { craftDropLimit } from './drop-limits.js';
import { ofDwelling } from './dwelling.js';
import { asRatings, heatOf } from './fault-heat.js';
import { judgedDevices } from './feeding.js';
import { coordinationOf, leastRating } from './protection-need.js';
import { plugOfCord } from './cord-plug.js';
import { asIf } from './run-as-if.js';
import { isTooMuch, wayDrops } from './way-drop.js';
import { flagIn } from '../../model/stated-facts.js';
import { isFuse, isLoad, isService } from '../../model/roles.js';
import { calculation } from '../../quantities/calculation.js';

/** A conductor area as a derivation. */
export const sizeOf = (area: number): Derivation =>
  deriveQuantity('size', quantity(area, 'mm2'), { origin: 'computed' });

/** Whether a run is in metric sizes; one without a size follows its practice. */
const isMetric = (run: Run, context: DesignContext): boolean => {
  const size = context.maybe(run, 'size');
  return size
    ? METRIC_SERIES.some(({ area }) => sameSize(area, numberIn(size, 'mm2')))
    : context.system.basis.practice === 'iec';
};

/** Smallest copper conductor of power wiring under the NEC, 14 AWG (310.5, formerly 310.106(A)); metric sizes start above it. */
const NEC_SMALLEST = 2.08;

/** The sizes a run could have, in the series its own size belongs to (metric or gauge), smallest first. */
export function candidates(
  run: Run,
  context: DesignContext,
  metric = isMetric(run, context),
): readonly ConductorSize[] {
  const { practice } = context.system.basis;
  if (practice === 'nec' && metric)
    return standardSizes('iec', metalOf(run)).filter(({ area }) => area >= NEC_SMALLEST);
  return standardSizes(practice, metalOf(run), metric ? 'metric' : 'gauge');
}

/** What a conductor may carry against what it has to, by the rules of the practice. */
export interface AmpacityJudgement {
  readonly ampacity: Derivation;
  /** The demand above what the terminals allow, whether or not the conductor itself is overloaded too. */
  readonly terminal?: { readonly demand: Derivation; readonly limit: Derivation };
  /** What the run has to carry, by which the limit of its terminals is used. */
  readonly demanded: Derivation;
  /** Broken limit, when one is. */
  readonly broken?: {
    readonly kind: 'corrected' | 'terminal' | 'uncorrected';
    readonly demand: Derivation;
    readonly limit: Derivation;
  };
}

const larger = (left: Derivation, right: Derivation | undefined): Derivation =>
  right && numberIn(right, 'A') > numberIn(left, 'A') * (1 + 1e-9) ? right : left;

/**
 * Judges a run as if its conductors were of a size: corrected ampacity, terminal limit, and 125 % of continuous current before correction
 * (nec). Conductors that leave a stand-alone inverter must be good for its rated output, whatever is connected (NEC 710.15(B)).
 */
export function judgeAmpacity(
  run: Run,
  size: Derivation,
  context: DesignContext,
  setup: Pick<Setup, 'ratings' | 'added'> = { ratings: new Map(), added: 0 },
): Result | AmpacityJudgement {
  const current = context.quantity(run, 'current');
  const required = context.quantity(run, 'requiredAmpacity');
  const ampacity = ampacityAt(run, size, context);
  if (current.kind !== 'known') return current;
  if (required.kind !== 'known') return required;
  if (ampacity.kind !== 'known') return ampacity;
  // What the sources give may be held to less by a device, which may get another rating, or by one that is added.
  const { ratings, added } = setup;
  const output = ratings.size > 0 ? standAloneWith(run, context, ratings) : context.quantity(run, 'standAloneCurrent');
  const given = output.kind === 'known' ? output.derivation : undefined;
  const rated = given && added > 0 && added < numberIn(given, 'A') ? derive('device to be added', added, 'A') : given;
  const carried = larger(larger(current.derivation, rated), motorAmpacity(run, context));
  const demanded = larger(required.derivation, rated);
  const { corrected, terminalLimit, uncorrected } = ampacity.derivation.parts;
  const exceeds = (demand: Derivation, limit: Derivation | undefined): limit is Derivation =>
    limit !== undefined && numberIn(demand, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  // The parts of an ampacity count all conductors in parallel, as the ampacity itself does.
  const afterCorrection = corrected ?? ampacity.derivation;
  const terminal =
    exceeds(demanded, terminalLimit) && !(uncorrected && numberIn(terminalLimit, 'A') >= numberIn(uncorrected, 'A'))
      ? { demand: demanded, limit: terminalLimit }
      : undefined;
  const judged = { ampacity: ampacity.derivation, demanded, ...(terminal ? { terminal } : {}) };
  if (exceeds(carried, afterCorrection))
    return { ...judged, broken: { kind: 'corrected', demand: carried, limit: ampacity.derivation } };
  if (terminal) return { ...judged, broken: { kind: 'terminal', ...terminal } };
  if (exceeds(required.derivation, uncorrected))
    return { ...judged, broken: { kind: 'uncorrected', demand: required.derivation, limit: uncorrected } };
  return judged;
}

export const isJudgement = (outcome: Result | AmpacityJudgement): outcome is AmpacityJudgement => 'ampacity' in outcome;

/** Largest devices of a run by the ampacity they were asked for, which is one object for each size; sizes tried out are not held on to. */
const LARGEST_DEVICES = query<readonly [Run, Derivation], { readonly size: Derivation; readonly result: Result }>(
  'largest device on a run',
);

/** Largest device a conductor of this ampacity may have, small-conductor limits included, on this run. */
export function largestDevice(run: Run, ampacity: Derivation, size: Derivation, context: DesignContext): Result {
  const find = (): Result => orOfMotors(run, conductorDevice(run, ampacity, size, context), context);
  const kept = context.keptFor(LARGEST_DEVICES, run, ampacity, () => ({ size, result: find() }));
  return kept.size === size ? kept.result : find();
}

/** Largest device by what the conductors of a run allow alone, whatever its motors may have. */
export function conductorDevice(run: Run, ampacity: Derivation, size: Derivation, context: DesignContext): Result {
  const { practice } = context.system.basis;
  const basis = deriveFact('basis', practice, { origin: 'stated' });
  const isCord = conductorType(run).cord !== undefined;
  const largest = callFunction(calculation('largestProtection'), {
    ampacity,
    basis,
    // Cords have no next size up: the device may not be above their ampacity (NEC 240.5).
    ...(isCord ? { severalReceptacles: deriveFact('severalReceptacles', true, { origin: 'stated' }) } : {}),
    ...(practice === 'iec'
      ? { device: deriveFact('device', fuseInRun(run) ? 'fuse' : 'breaker', { origin: 'stated' }) }
      : {}),
  });
  if (practice !== 'nec') return largest;
  if (isCord) return cordDevice(largest, size);
  if (largest.kind !== 'known') return largest;
  const small = smallConductorDevice(run, size, context);
  if (small && numberIn(small, 'A') <= numberIn(largest.derivation, 'A')) return known(small);
  const dwelling = ofDwelling(run, ampacity, context);
  return dwelling && numberIn(dwelling, 'A') > numberIn(largest.derivation, 'A') ? known(dwelling) : largest;
}

/** Largest device that NEC 240.4(D) allows on small conductors of fixed wiring, whatever their ampacity; undefined for others. */
export function smallConductorDevice(run: Run, size: Derivation, context: DesignContext): Derivation | undefined {
  if (context.system.basis.practice !== 'nec' || conductorType(run).cord !== undefined) return undefined;
  const small = callFunction(calculation('smallConductorLimit'), {
    size,
    metal: deriveFact('metal', metalOf(run), { origin: 'stated' }),
  });
  return small.kind === 'known'
    ? { ...small.derivation, governing: [{ kind: 'clause', clause: 'smallConductors' }] }
    : undefined;
}

/** Cords from 16 AWG may stand on circuits of 20 A, whatever their ampacity: the load is what has to suit them (NEC 240.5(B)(4)). */
function cordDevice(largest: Result, size: Derivation): Result {
  const [circuit, smallest] = [ruleValue('nec', 'cordCircuit'), ruleValue('nec', 'cordCircuitSmallest')];
  const area = numberIn(size, 'mm2');
  const isLarge = area >= numberIn(smallest, 'mm2') || sameSize(area, numberIn(smallest, 'mm2'));
  if (!isLarge || (largest.kind === 'known' && numberIn(largest.derivation, 'A') >= numberIn(circuit, 'A')))
    return largest;
  return known({ ...circuit, governing: [{ kind: 'clause', clause: 'cordCircuit' }] });
}

/** The most that may be driven into conductors of a size: the largest device for them, or their ampacity where that is more. */
export function mostAt(run: Run, size: Derivation, context: DesignContext): Result | undefined {
  const ampacity = ampacityAt(run, size, context);
  if (ampacity.kind !== 'known') return undefined;
  const largest = largestDevice(run, ampacity.derivation, size, context);
  return largest.kind === 'known' && numberIn(largest.derivation, 'A') > numberIn(ampacity.derivation, 'A')
    ? largest
    : ampacity;
}

const fuseInRun = (run: Run): boolean => [run.from, ...run.through, ...run.to].some(({ instance }) => isFuse(instance));

export function metalOf(run: Run): 'copper' | 'aluminium' {
  const own = run.properties.get('metal')?.value;
  if (own?.type === 'word') return own.word as 'copper' | 'aluminium';
  const type = run.properties.get('type')?.value;
  const metal = type?.type === 'part' ? type.part.properties.get('metal')?.value : undefined;
  return metal?.type === 'word' && metal.word === 'aluminium' ? 'aluminium' : 'copper';
}

/** The voltage-drop limit of a run, as a ratio: its own, the design's, or what its practice advises. */
export function dropLimit(run: Run, context: DesignContext): Derivation {
  const own = context.maybe(run, 'dropLimit') ?? context.setting(run.carries === 'ac' ? 'acDropLimit' : 'dcDropLimit');
  if (own) return own;
  switch (context.system.basis.practice) {
    case 'nec':
      return { ...ruleValue('nec', 'branchDropAdvice'), origin: 'default' };
    case 'craft':
      return craftDropLimit(run);
    case 'iec':
      return iecDropLimit(run, context);
  }
}

/** IEC 60364-5-52 Table G.52.1: by whether the public network supplies the run in any state, and whether it feeds lighting. */
function iecDropLimit(run: Run, context: DesignContext): Derivation {
  const flows =
    run.carries === 'ac' ? context.circuitStates.flatMap(({ circuit }) => acFlow(run, circuit, context) ?? []) : [];
  const sources = new Set(flows.flatMap((flow) => flow.sources));
  const isPrivate = sources.size > 0 && ![...sources].some(isService);
  const feedsLighting = flows.some(({ nodes }) =>
    [...nodes.values()].some(({ instance }) => isLoad(instance) && flagIn(instance.properties, 'lighting')),
  );
  const supply = isPrivate ? 'private' : 'public';
  const row = iecVoltageDrop.rows.find((each) => each.supply === supply);
  const percent = (feedsLighting ? row?.lighting : row?.other) ?? 5;
  return derive('voltage drop advised', percent / 100, '', {
    origin: 'default',
    source: { ...sourceOf(iecVoltageDrop), table: 'Table G.52.1' },
    notes: [`${supply} supply, ${feedsLighting ? 'lighting' : 'other uses'}`],
  });
}

/** What a fix would make of a run: conductors of a size, devices of other ratings, and perhaps a new device. */
export interface Setup {
  readonly size: Derivation;
  /** Ratings (A) of the devices that get another one. */
  readonly ratings: ReadonlyMap<Instance, number>;
  /** Rating (A) of a device still to be added; 0 for none. */
  readonly added: number;
}

/** The checks on one run that size, ratings and earth conductor decide together. */
export type JointRule =
  | 'run-ampacity'
  | 'terminal-temperature'
  | 'run-protection'
  | 'protection-coordination'
  | 'protection-continuous'
  | 'cord-ampacity'
  | 'voltage-drop'
  | 'short-circuit-withstand';

/** The rating of a device in a setup: the new one, else its own. */
export function ratingIn(setup: Setup, device: Instance, context: DesignContext): Derivation | undefined {
  const changed = setup.ratings.get(device);
  return changed === undefined ? context.maybe(device, 'rating') : derive('rating', changed, 'A');
}

/** The rules that a setup breaks, cheapest first. Facts that lack break none: nothing is proved by them. */
export function* brokenBy(asBuilt: Run, setup: Setup, design: DesignContext): Generator<JointRule> {
  const { run, context } = asIf(asBuilt, setup.size, design);
  yield* brokenAmpacity(run, setup, context);
  yield* brokenDevices(run, setup, context);
  const plug = plugOfCord(run, context);
  const carries = ampacityAt(run, setup.size, context);
  if (plug && carries.kind === 'known' && !plug.carriedBy(carries.derivation, setup.size)) yield 'cord-ampacity';
  const drop = voltageDropAt(run, setup.size, context);
  const share = drop.kind === 'known' ? drop.derivation.parts['ratio'] : undefined;
  if (share && numberIn(share, '') > numberIn(dropLimit(run, context), '') * (1 + 1e-9)) yield 'voltage-drop';
  else if (wayDrops(run, setup.size, context).some(isTooMuch)) yield 'voltage-drop';
  // A device that is added opens instead of those before the run: its heat is judged once it stands there.
  if (setup.added > 0 && devicesOf(run).length === 0) return;
  if (heatOf(run, setup.size, context, asRatings(setup.ratings)).heated.length > 0) yield 'short-circuit-withstand';
}

function* brokenAmpacity(run: Run, setup: Setup, context: DesignContext): Generator<JointRule> {
  const judged = judgeAmpacity(run, setup.size, context, setup);
  if (isJudgement(judged)) {
    if (judged.broken) yield judged.broken.kind === 'terminal' ? 'terminal-temperature' : 'run-ampacity';
    if (judged.terminal && judged.broken?.kind !== 'terminal') yield 'terminal-temperature';
  } else if (judged.kind === 'refused') yield 'run-ampacity';
}

/**
 * Whether conductors of a size carry the load and suit the device, drop, plug and fault heat aside: the minimum against which an increase
 * counts (NEC 250.122(B)).
 */
export function carriesLoad(asBuilt: Run, setup: Setup, design: DesignContext): boolean {
  const { run, context } = asIf(asBuilt, setup.size, design);
  for (const _rule of brokenAmpacity(run, setup, context)) return false;
  for (const rule of brokenDevices(run, setup, context)) if (rule === 'run-protection') return false;
  return true;
}

function* brokenDevices(run: Run, setup: Setup, context: DesignContext): Generator<JointRule> {
  const { practice } = context.system.basis;
  const ampacity = ampacityAt(run, setup.size, context);
  if (ampacity.kind === 'known') {
    const judged = judgedDevices(run, context);
    const ratings = [...judged.flatMap((device) => ratingIn(setup, device, context) ?? [])];
    const most = Math.max(setup.added, ...ratings.map((rating) => numberIn(rating, 'A')));
    const largest = largestDevice(run, ampacity.derivation, setup.size, context);
    const allowed = largest.kind === 'known' ? numberIn(largest.derivation, 'A') : 0;
    const limit = practice === 'iec' ? numberIn(ampacity.derivation, 'A') : allowed;
    if (largest.kind !== 'missing' && most > limit * (1 + 1e-9)) yield 'run-protection';
    if (practice === 'iec')
      for (const device of judged) {
        const rating = ratingIn(setup, device, context);
        // A device above what the conductors carry is told by `run-protection` alone.
        if (
          rating &&
          numberIn(rating, 'A') <= limit * (1 + 1e-9) &&
          coordinationOf(device, rating, ampacity.derivation).isBroken
        )
          yield 'protection-coordination';
      }
  }
  for (const { instance: device } of devicesOf(run)) {
    const rating = ratingIn(setup, device, context);
    const least = leastRating(run, device, context);
    if (rating && least.kind === 'known' && numberIn(rating, 'A') < numberIn(least.derivation, 'A') * (1 - 1e-9))
      yield practice === 'iec' ? 'protection-coordination' : 'protection-continuous';
  }
}

/** Whether a setup breaks no rule but those that may stay broken. */
export function isSound(
  run: Run,
  setup: Setup,
  context: DesignContext,
  tolerated: ReadonlySet<JointRule> = new Set(),
): boolean {
  for (const rule of brokenBy(run, setup, context)) if (!tolerated.has(rule)) return false;
  return true;
}
