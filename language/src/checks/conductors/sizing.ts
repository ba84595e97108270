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
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { type ConductorSize, METRIC_SERIES, quantity, sameSize } from '../../quantity/index.js';
import { calculation } from '../../quantities/bank.js';
import { ampacityAt, conductorType, voltageDropAt } from '../../quantities/conductor.js';
import { judgedDevices } from './feeding.js';
import { isTooMuch, wayDrops } from './way-drop.js';
import { iecVoltageDrop, ruleValue, sourceOf, standardSizes } from '../../reference/index.js';

/** A conductor area as a derivation. */
export const sizeOf = (area: number): Derivation =>
  deriveQuantity('size', quantity(area, 'mm2'), { origin: 'computed' });

/** The sizes a run could have, in the series its own size belongs to (metric or gauge), smallest first. */
export function candidates(run: Run, context: DesignContext): readonly ConductorSize[] {
  const size = context.maybe(run, 'size');
  const isMetric = size
    ? METRIC_SERIES.some(({ area }) => sameSize(area, numberIn(size, 'mm2')))
    : context.system.basis.practice === 'iec';
  return standardSizes(context.system.basis.practice, metalOf(run), isMetric ? 'metric' : 'gauge');
}

/** What a conductor may carry against what it has to, by the rules of the practice. */
export interface AmpacityJudgement {
  readonly ampacity: Derivation;
  /** The demand above what the terminals allow, whether or not the conductor itself is overloaded too. */
  readonly terminal?: { readonly demand: Derivation; readonly limit: Derivation };
  /** Broken limit, when one is. */
  readonly broken?: {
    readonly kind: 'corrected' | 'terminal' | 'uncorrected';
    readonly demand: Derivation;
    readonly limit: Derivation;
  };
}

/** Judges a run as if its conductors were of a size: corrected ampacity, terminal limit, and 125 % of continuous current before correction (nec). */
export function judgeAmpacity(run: Run, size: Derivation, context: DesignContext): Result | AmpacityJudgement {
  const current = context.quantity(run, 'current');
  const required = context.quantity(run, 'requiredAmpacity');
  const ampacity = ampacityAt(run, size, context);
  if (current.kind !== 'known') return current;
  if (required.kind !== 'known') return required;
  if (ampacity.kind !== 'known') return ampacity;
  const { corrected, terminalLimit, uncorrected } = ampacity.derivation.parts;
  const exceeds = (demand: Derivation, limit: Derivation | undefined): limit is Derivation =>
    limit !== undefined && numberIn(demand, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  // The parts of an ampacity count all conductors in parallel, as the ampacity itself does.
  const afterCorrection = corrected ?? ampacity.derivation;
  const terminal =
    exceeds(required.derivation, terminalLimit) &&
    !(uncorrected && numberIn(terminalLimit, 'A') >= numberIn(uncorrected, 'A'))
      ? { demand: required.derivation, limit: terminalLimit }
      : undefined;
  const judged = { ampacity: ampacity.derivation, ...(terminal ? { terminal } : {}) };
  if (exceeds(current.derivation, afterCorrection))
    return { ...judged, broken: { kind: 'corrected', demand: current.derivation, limit: ampacity.derivation } };
  if (terminal) return { ...judged, broken: { kind: 'terminal', ...terminal } };
  if (exceeds(required.derivation, uncorrected))
    return { ...judged, broken: { kind: 'uncorrected', demand: required.derivation, limit: uncorrected } };
  return judged;
}

export const isJudgement = (outcome: Result | AmpacityJudgement): outcome is AmpacityJudgement => 'ampacity' in outcome;

/** Largest devices by the ampacity they were asked for, which is one object for each run and size. */
const largestDevices = new WeakMap<
  Derivation,
  { readonly run: Run; readonly size: Derivation; readonly result: Result }
>();

/** Largest device a conductor of this ampacity may have, small-conductor limits included, on this run. */
export function largestDevice(run: Run, ampacity: Derivation, size: Derivation, context: DesignContext): Result {
  const kept = largestDevices.get(ampacity);
  if (kept && kept.run === run && kept.size === size) return kept.result;
  const result = findLargestDevice(run, ampacity, size, context);
  largestDevices.set(ampacity, { run, size, result });
  return result;
}

function findLargestDevice(run: Run, ampacity: Derivation, size: Derivation, context: DesignContext): Result {
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
  if (largest.kind !== 'known' || practice !== 'nec' || isCord) return largest;
  const metal = metalOf(run);
  const small = callFunction(calculation('smallConductorLimit'), {
    size,
    metal: deriveFact('metal', metal, { origin: 'stated' }),
  });
  if (small.kind === 'known' && numberIn(small.derivation, 'A') < numberIn(largest.derivation, 'A'))
    return known({ ...small.derivation, governing: 'NEC 240.4(D), small conductors' });
  return largest;
}

const fuseInRun = (run: Run): boolean =>
  [run.from, ...run.through, ...run.to].some(({ instance }) => instance.kind === 'fuse');

function metalOf(run: Run): 'copper' | 'aluminium' {
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
    case 'craft': {
      // Panel feeders and the like are critical; a run that ends in a load is an ordinary circuit unless it says otherwise.
      const ends = run.to.some(({ instance }) => instance.kind === 'load');
      return { ...ruleValue('craft', ends ? 'otherDrop' : 'criticalDrop'), origin: 'default' };
    }
    case 'iec': {
      const row = iecVoltageDrop.rows.find((each) => (each as { supply?: string }).supply === 'public') as
        { other: number } | undefined;
      return derive('voltage drop advised', (row?.other ?? 5) / 100, '', {
        origin: 'default',
        source: sourceOf(iecVoltageDrop),
      });
    }
  }
}

/**
 * Why a size does not do; undefined when it passes ampacity, terminals, devices and voltage drop together. Facts that lack do not count
 * against it. `rating` is that of a device still to be added.
 */
function fault(
  run: Run,
  size: Derivation,
  context: DesignContext,
  rating: number,
): 'ampacity' | 'protection' | 'drop' | undefined {
  const judged = judgeAmpacity(run, size, context);
  if (isJudgement(judged)) {
    if (judged.broken) return 'ampacity';
    const largest = largestDevice(run, judged.ampacity, size, context);
    if (largest.kind === 'known' && rating > numberIn(largest.derivation, 'A') * (1 + 1e-9)) return 'protection';
    if (largest.kind === 'refused') return 'protection';
  } else if (judged.kind === 'refused') return 'ampacity';
  const drop = voltageDropAt(run, size, context);
  if (drop.kind === 'known') {
    const share = drop.derivation.parts['ratio'];
    if (share && numberIn(share, '') > numberIn(dropLimit(run, context), '') * (1 + 1e-9)) return 'drop';
  }
  if (wayDrops(run, size, context).some(isTooMuch)) return 'drop';
  return undefined;
}

/** The smallest standard size of a run's series that passes everything together, with a device of `added` amperes if one is to be added. */
export function smallestSound(run: Run, context: DesignContext, added = 0): ConductorSize | undefined {
  const ratings = judgedDevices(run, context).map((device) => context.maybe(device, 'rating'));
  const largest = Math.max(added, ...ratings.map((rating) => (rating ? numberIn(rating, 'A') : 0)));
  return candidates(run, context).find(({ area }) => fault(run, sizeOf(area), context, largest) === undefined);
}
