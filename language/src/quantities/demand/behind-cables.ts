/** The voltage that is left for something of constant power behind its direct-current cables, while the bus is at its lowest. */
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { wiredAmperes } from '../../solve/conductor-losses.js';
import { impedanceOf } from '../network/stretches.js';
import { type Step, gathered, stepFrom, stepsInOrder } from '../network/ways.js';
import { lowEnd } from '../ends.js';
import { drawnBeforeCables } from './lowest-voltages.js';

/** So many cables are named. */
const FEW = 3;

const BEYOND = query<Instance, ReadonlyMap<Step, number>>('A drawn beyond each step of the ways from a source');

/** A that is drawn beyond each step of the ways from a source. */
function beyondSteps(source: Instance, context: DesignContext): ReadonlyMap<Step, number> {
  return context.kept(BEYOND, source, () => {
    const steps = [...stepsInOrder(source, context)];
    const beyond = new Map(steps.map((step) => [step, drawnBeforeCables(step.node, context)]));
    // Each stands behind the step before it, so that from the end on every sum is whole when it is passed on.
    for (const step of steps.reverse())
      if (step.before) beyond.set(step.before, beyond.get(step.before)! + beyond.get(step)!);
    return beyond;
  });
}

/** Cables: ohm out and back, and V that they lose for what others draw over them at the voltage before all cables. */
interface Cables {
  readonly ohms: number;
  readonly volts: number;
  readonly names: readonly string[];
}

/** A run on a way, with its ohm out and back and what is drawn beyond it (A); one is counted at its full length, and once. */
type Passed = ReadonlyMap<Run, { readonly ohms: number; readonly beyond: number }>;

/** What is gathered along a way from a source: ohm out and back, and V over them for all that is drawn beyond. */
interface Along {
  readonly ohms: number;
  readonly volts: number;
  readonly run: Run | undefined;
}

const ALONG = query<Step, Map<Step, Along>>('ohm and V along a way from a source');

/** Ohm out and back of a run that states size and length; 0 of others, which lose nothing. */
function ohmsOf(run: Run, context: DesignContext): number {
  const found = impedanceOf(run, context);
  return found.ok ? 2 * found.impedance.resistance : 0;
}

/** The cables from the only source: sums that each way has in common with those that it is a part of. */
function cablesFrom(source: Instance, end: Step, own: number, context: DesignContext): Cables | undefined {
  const beyond = beyondSteps(source, context);
  // On the way to the source more and more is drawn, so that of nothing on it less than `own` is.
  if (beyond.get(end)! < own) return undefined;
  const further = (so: Along, step: Step): Along => {
    const { run = so.run } = step;
    const ohms = run && run !== so.run ? ohmsOf(run, context) : 0;
    return { ohms: so.ohms + ohms, volts: so.volts + ohms * beyond.get(step)!, run };
  };
  const { ohms, volts } = gathered(ALONG, end, { ohms: 0, volts: 0, run: undefined }, further, context);
  const names = new Set<string>();
  for (let step: Step | undefined = end; step && names.size <= FEW; step = step.before)
    if (step.run && ohmsOf(step.run, context) > 0) names.add(step.run.name);
  return { ohms, volts: volts - ohms * own, names: [...names] };
}

/** The runs between a source and a node that state size and length; others lose nothing. */
function passedTo(source: Instance, end: Step, context: DesignContext): Passed {
  const beyond = beyondSteps(source, context);
  const passed = new Map<Run, { ohms: number; beyond: number }>();
  for (let step: Step | undefined = end; step; step = step.before) {
    const ohms = step.run ? ohmsOf(step.run, context) : 0;
    // Seen from its end, what is drawn beyond the step nearest to the source is most.
    if (ohms > 0) passed.set(step.run!, { ohms, beyond: beyond.get(step)! });
  }
  return passed;
}

/**
 * The cables to a node that draws `own` A at the voltage before them: those on the ways from every source, and between those and the sources
 * what remains of theirs side by side once the one with the shortest is out.
 */
function cablesTo(at: Node, own: number, sources: readonly Instance[], context: DesignContext): Cables {
  const [only, second] = sources;
  const last = only && !second && stepFrom(only, at, context);
  const alone = last && cablesFrom(only, last, own, context);
  if (alone) return alone;
  const ways = sources.flatMap((source) => {
    const end = stepFrom(source, at, context);
    return end ? [passedTo(source, end, context)] : [];
  });
  const [first, ...others] = ways;
  const shared = [...(first ?? [])].filter(([run]) => others.every((way) => way.has(run)));
  const common = new Set(shared.map(([run]) => run));
  const apart = ways.map((way) => [...way].filter(([run]) => !common.has(run)));
  const sumOf = (way: (typeof apart)[number]): number => way.reduce((sum, [, { ohms }]) => sum + ohms, 0);
  const left = [...apart].sort((a, b) => sumOf(a) - sumOf(b)).slice(apart.length > 1 ? 1 : 0);
  const together = left.length > 0 ? 1 / left.reduce((sum, way) => sum + 1 / sumOf(way), 0) : 0;
  const most = Math.max(0, ...left.flat().map(([, { beyond }]) => beyond));
  const othersOf = (beyond: number): number => Math.max(0, beyond - own);
  return {
    ohms: shared.reduce((sum, [, { ohms }]) => sum + ohms, together),
    volts: shared.reduce((sum, [, { ohms, beyond }]) => sum + ohms * othersOf(beyond), together * othersOf(most)),
    names: [...(together > 0 ? left.flat() : []), ...shared].map(([run]) => run.name),
  };
}

/** What is left behind cables: the voltage, and whether they carry the power there at all. */
export interface Behind {
  readonly voltage: Derivation;
  readonly isCarried: boolean;
}

/**
 * The voltage at something that takes `watts` whatever the voltage, `low` being that of its bus: the larger solution of P = (U − I·R)·I, with
 * what others draw over the same cables taken at `low`. Of several sources that with the shortest cables is out. It is no
 * lower than `least`, below which it does not run, and no lower than half of `low`: less power than that of a quarter of U²/R has a
 * solution above it, more has none, and then the cables do not carry it.
 */
export function behindCables(
  at: Node,
  watts: number,
  low: Derivation,
  sources: readonly Instance[],
  context: DesignContext,
  least?: Derivation,
): Behind {
  const volts = numberIn(low, 'V');
  const none = { voltage: low, isCarried: true };
  if (!(volts > 0) || !(watts > 0)) return none;
  const cables = cablesTo(at, watts / volts, sources, context);
  if (cables.names.length === 0) return none;
  const before = volts - cables.volts;
  const isAny = before > 0 && before * before >= 4 * cables.ohms * watts;
  const left = isAny ? before - cables.ohms * wiredAmperes(cables.ohms, watts, before) : 0;
  const floor = Math.max(volts / 2, least ? Math.min(volts, numberIn(lowEnd(least), 'V')) : 0);
  if (floor >= volts) return none;
  const isHeld = left < floor;
  const lost = derive(
    `drop in ${cables.names.length > FEW ? 'the cables' : cables.names.join(', ')}`,
    volts - Math.max(left, floor),
    'V',
    {
      symbol: 'U_R',
      formula: 'Σ R·I',
      inputs: [derive('cables out and back', cables.ohms, 'ohm', { symbol: 'R' })],
      notes: [
        isHeld
          ? least && floor > volts / 2
            ? 'no more than down to the voltage below which it does not run'
            : 'the cables do not carry its power; half of the voltage is the least at which they would carry any'
          : 'what it draws at the voltage behind them, what others draw over them at the lowest voltage',
      ],
    },
  );
  return {
    isCarried: !isHeld || floor > volts / 2,
    voltage: derive(`lowest voltage at ${at.instance.name}`, volts - numberIn(lost, 'V'), 'V', {
      symbol: 'U',
      formula: 'U_min − U_R',
      inputs: [{ ...low, symbol: 'U_min' }, lost],
    }),
  };
}
