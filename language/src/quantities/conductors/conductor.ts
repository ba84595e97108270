import { arraysJoinedTo, mostTogether } from '../supply/joined.js';
import type { Quantity } from '../../quantity/index.js';
import { type GivenArgument, callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  known,
  missing,
  numberIn,
  refused,
  becauseOf,
} from '../../derivation/index.js';
import type { Instance, Run } from '../../model/types.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { sideBySide } from './side-by-side.js';
import { largestDrop, lowestPowerFactor } from './power-factor.js';
import { terminalsOf } from './terminals.js';
import { conductorFacts, conductorType, parallelOf, racewayOf } from './conductor-facts.js';
import { highEnd } from '../ends.js';
import { type QuantityContext, defineQuantity } from '../define.js';
import { acFlow } from '../flow/flow.js';
import { ratedOutput } from '../supply/rated-output.js';
import { systemOf } from '../supply/supply.js';
import { collect, sumOf, whenKnown } from '../worst.js';
import {
  givesInverted,
  isAcCharger,
  isArray,
  isBank,
  isDcSource,
  isDevice,
  isInverter,
  isJoint,
  isSwitch,
  isVehicle,
} from '../../model/roles.js';
import { query } from '../../model/context.js';
import { calculation } from '../calculation.js';

export { conductorType } from './conductor-facts.js';
export { terminalsOf } from './terminals.js';

/** Properties of a run that the conductor functions take under the same name. */
const SHARED = ['metal', 'insulation', 'conductors', 'circuits', 'method'] as const;

/** The surrounding temperature of a run: its own, else the highest of the site. */
export function ambientOf(run: Run, context: QuantityContext): Derivation | undefined {
  const own = context.maybe(run, 'ambient') ?? context.siteFact('ambient');
  return own && highEnd(own);
}

/** The arguments of `ampacity` that follow from the design, for conductors of a size. */
function ampacityArguments(
  run: Run,
  size: Derivation,
  context: QuantityContext,
): Record<string, GivenArgument | undefined> {
  const stated = Object.fromEntries(
    SHARED.flatMap((name) => {
      const fact = context.maybe(run, name);
      return fact ? [[name, fact] as const] : [];
    }),
  );
  const { practice } = context.system.basis;
  const ambient = ambientOf(run, context);
  const terminals = terminalsOf(run, size, context);
  const engineSpace = practice === 'craft' ? context.maybe(run, 'engineSpace') : undefined;
  // Small craft do not limit bundles below 50 V, so the voltage decides there.
  const voltage = practice === 'craft' ? context.quantity(run, 'nominalVoltage') : undefined;
  const cordConductors = cordCount(run, context);
  const together = sideBySide(run, dropSystem(run, context) === 'three' ? 3 : 2, context);
  const loaded = practice === 'iec' && dropSystem(run, context) === 'three' ? 3 : undefined;
  return {
    ...stated,
    ...(cordConductors ? { conductors: cordConductors } : {}),
    ...(together ? { [practice === 'iec' ? 'circuits' : 'conductors']: together } : {}),
    ...(terminals ? { terminals } : {}),
    ...(voltage?.kind === 'known' ? { voltage: voltage.derivation } : {}),
    ...(loaded === undefined ? {} : { loaded: derive('loaded', loaded, '', { notes: ['three phases'] }) }),
    ...(ambient ? { ambient } : {}),
    ...(engineSpace ? { engineSpace } : {}),
    ...conductorType(run),
    basis: deriveFact('basis', context.system.basis.practice, { origin: 'stated' }),
  };
}

/**
 * Conductors of a cord that carry current together, where the run does not say: three on three phases, else two, since the neutral of a
 * split-phase cord carries the unbalance only and is not counted (NEC 400.5(A)).
 */
function cordCount(run: Run, context: QuantityContext): Derivation | undefined {
  if (!conductorType(run).cord || context.maybe(run, 'conductors')) return undefined;
  const three = dropSystem(run, context) === 'three';
  return derive('current-carrying conductors', three ? 3 : 2, '', {
    fact: 'currentCarrying',
    origin: 'default',
    source: { standard: 'NEC', edition: '2017-2023', table: '400.5(A)', provenance: 'from memory' },
    notes: [three ? 'three phases' : 'two; a neutral that carries the unbalance only is not counted'],
  });
}

export const ampacity = defineQuantity({
  name: 'ampacity',
  kinds: ['run'],
  doc: 'Current the conductors may carry after ambient, bundling and terminal limit.',
  unit: 'A',
  compute: (thing, context) => {
    const run = thing as Run;
    return whenKnown(context.fact(run, 'size'), (size) => ampacityAt(run, size, context));
  },
});

/**
 * Ampacities of a run by the size they were asked for; a size stated in a design is one object, which several checks ask about. Sizes that
 * are tried out are not held on to.
 */
const AMPACITIES = query<readonly [Run, Derivation], Result>('ampacities of a run');

/** Ampacity of a run as if its conductors were of another size. */
export function ampacityAt(run: Run, size: Derivation, context: QuantityContext): Result {
  return context.keptFor(AMPACITIES, run, size, () => findAmpacity(run, size, context));
}

function findAmpacity(run: Run, size: Derivation, context: QuantityContext): Result {
  const one = callFunction(calculation('ampacity'), {
    size,
    ...acceptedArguments('ampacity', ampacityArguments(run, size, context)),
  });
  const count = parallelOf(run, context);
  if (count === 1) return one;
  return whenKnown(one, (each) => {
    const number = context.maybe(run, 'parallel')!;
    const scaledParts = Object.fromEntries(
      Object.entries(each.parts).map(([name, part]) => [name, isCurrent(part) ? timesParallel(part, number) : part]),
    );
    return known(
      derive('ampacity', numberIn(each, 'A') * count, 'A', {
        symbol: 'I_z',
        formula: 'I_z1·n',
        inputs: [{ ...each, symbol: 'I_z1' }, number],
        parts: scaledParts,
        ...becauseOf(each),
      }),
    );
  });
}

const isCurrent = ({ value }: Derivation): boolean =>
  typeof value === 'object' && value.dimension === DIMENSIONS.current;

/** What all conductors in parallel carry together, from what one carries. */
const timesParallel = (one: Derivation, count: Derivation): Derivation =>
  derive(one.name, numberIn(one, 'A') * numberIn(count, ''), 'A', {
    symbol: 'I',
    formula: 'I_1·n',
    inputs: [
      { ...one, symbol: 'I_1' },
      { ...count, symbol: 'n' },
    ],
    notes: one.notes,
    ...(one.source ? { source: one.source } : {}),
  });

/** Leaves out arguments the function does not take. */
function acceptedArguments(
  name: string,
  given: Record<string, GivenArgument | undefined>,
): Record<string, GivenArgument | undefined> {
  const { parameters } = calculation(name);
  return Object.fromEntries(Object.entries(given).filter(([argument]) => argument in parameters));
}

/** `dc`, `single` or `three`, as the drop of a run is worked out. */
export function dropSystem(run: Run, context: QuantityContext): 'dc' | 'single' | 'three' {
  if (run.carries !== 'ac') return 'dc';
  for (const { circuit } of context.circuitStates) {
    for (const source of acFlow(run, circuit, context)?.sources ?? [])
      if (systemOf(source)?.phases === 'three') return 'three';
  }
  return 'single';
}

export const resistance = defineQuantity({
  name: 'resistance',
  kinds: ['run'],
  doc: 'Resistance of one pole one way at 75 °C, conductors in parallel counted.',
  unit: 'ohm',
  compute: (thing, context) => {
    const run = thing as Run;
    const all = collect([context.fact(run, 'size'), context.fact(run, 'length')]);
    if (!all.ok) return all.result;
    const [size, length] = all.derivations as [Derivation, Derivation];
    return resistanceAt(run, size, length, undefined, context);
  },
});

/** Resistance one way of a stretch of a run, of conductors of `size`, at a temperature (75 °C when none is given). */
export function resistanceAt(
  run: Run,
  size: Derivation,
  length: Derivation,
  temperature: Derivation | undefined,
  context: QuantityContext,
): Result {
  const one = callFunction(calculation('resistance'), {
    size,
    length,
    ...(temperature ? { temperature } : {}),
    ...conductorFacts(run, context),
  });
  const count = parallelOf(run, context);
  if (count === 1) return one;
  return whenKnown(one, (each) =>
    known(
      derive('resistance', numberIn(each, 'ohm') / count, 'ohm', {
        symbol: 'R',
        formula: 'R_1/n',
        inputs: [{ ...each, symbol: 'R_1' }, context.maybe(run, 'parallel')!],
      }),
    ),
  );
}

export const voltageDrop = defineQuantity({
  name: 'voltageDrop',
  kinds: ['run'],
  doc: 'Voltage drop out and back at the design current (arrays: at maximum power); `.ratio` of the nominal voltage.',
  unit: 'V',
  bound: 'most',
  compute: (thing, context) => {
    const run = thing as Run;
    return whenKnown(context.fact(run, 'size'), (size) => voltageDropAt(run, size, context));
  },
});

/** Voltage drop of a run as if its conductors were of another size, and lay in another raceway where one is given. */
export function voltageDropAt(run: Run, size: Derivation, context: QuantityContext, inRaceway?: Derivation): Result {
  const all = collect([
    dropCurrent(run, context),
    context.fact(run, 'length'),
    context.quantity(run, 'nominalVoltage'),
  ]);
  if (!all.ok) return all.result;
  const [current, length, voltage] = all.derivations as [Derivation, Derivation, Derivation];
  const count = parallelOf(run, context);
  const each =
    count === 1
      ? current
      : derive('current of one conductor', numberIn(current, 'A') / count, 'A', {
          symbol: 'I_1',
          formula: 'I_b/n',
          inputs: [current, context.maybe(run, 'parallel')!],
        });
  const raceway = inRaceway ?? racewayOf(run, context);
  const system = dropSystem(run, context);
  const dropAt = (powerFactor?: Derivation): Result =>
    callFunction(calculation('voltageDrop'), {
      current: each,
      length,
      size,
      voltage,
      system: deriveFact('system', system, { origin: 'stated' }),
      ...(raceway && system !== 'dc' ? { raceway } : {}),
      ...(powerFactor ? { powerFactor } : {}),
      ...conductorFacts(run, context),
    });
  const lowest = system === 'dc' ? undefined : lowestPowerFactor(run, context);
  return lowest ? largestDrop(dropAt, lowest) : dropAt();
}

/**
 * The current by which the drop of a run is worked out: that of the array at its operating point on the array side of a controller, since
 * the drop costs energy there and the short-circuit current with its 125 % never meets the operating voltage; the design current else.
 */
export function dropCurrent(run: Run, context: QuantityContext): Result {
  const design = context.quantity(run, 'current');
  if (run.carries !== 'dc') return design;
  const start = context.graph.nodeOf(run.from);
  const arrays = mostTogether(arraysJoinedTo(start, context), context);
  if (arrays.length === 0) return design;
  // What holds a voltage of its own beside the array: then the array does not work alone.
  const isHolding = (each: Instance): boolean =>
    isBank(each) || isInverter(each) || isAcCharger(each) || isVehicle(each) || (isDcSource(each) && !isArray(each));
  const { near, far, loop } = context.graph.sides(run);
  if (loop || context.graph.joinedTo(start).some(isHolding)) return design;
  const [left, right] = [near, far].map((side) =>
    collect(
      arrays
        .filter((array) => side.some(({ instance }) => instance === array))
        .map((array) => operatingCurrent(array, context)),
    ),
  );
  // Without the current at maximum power the design current stands in, which is larger.
  if (!left?.ok || !right?.ok) return design;
  const name = 'operating current';
  const sums = [left, right].map(({ derivations }) => sumOf(name, 'I_mp', 'A', derivations, { kind: 'maximumPower' }));
  return known(sums.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so)));
}

/** Current of an array at maximum power, all its strings together. */
function operatingCurrent(array: Instance, context: QuantityContext): Result {
  const all = collect([context.fact(array, 'maximumPowerCurrent'), context.fact(array, 'parallel')]);
  if (!all.ok) return all.result;
  const [current, parallel] = all.derivations as [Derivation, Derivation];
  return known(
    derive(`operating current of ${array.name}`, numberIn(current, 'A') * numberIn(parallel, ''), 'A', {
      symbol: `I_${array.name}`,
      formula: 'I_mp·n_p',
      inputs: [current, parallel],
    }),
  );
}

/** The overcurrent devices in a run with their ratings, in order from its `from` end. */
export function devicesOf(run: Run): Run['through'] {
  return [run.from, ...run.through, ...run.to].filter(({ instance }) => isDevice(instance));
}

export const protectionRating = defineQuantity({
  name: 'protection',
  kinds: ['run'],
  doc: 'Rating of the overcurrent device that protects the run: the smallest in its path.',
  unit: 'A',
  compute: (thing, context) => {
    const devices = devicesOf(thing as Run);
    if (devices.length === 0) return missing(`an overcurrent device in ${thing.name}`);
    const all = collect(devices.map(({ instance }) => context.fact(instance, 'rating')));
    if (!all.ok) return all.result;
    const smallest = all.derivations.reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so));
    const device = devices[all.derivations.indexOf(smallest)]!.instance.name;
    return known({
      ...smallest,
      name: `protection of ${thing.name}`,
      symbol: 'I_n',
      ...(devices.length > 1 ? { governing: [{ kind: 'smallestDevice', device }] as const } : {}),
    });
  },
});

/** The inverters whose output terminal is an end of a run. */
const invertersAt = (run: Run): Instance[] =>
  run.carries === 'ac' ? [run.from, ...run.to].flatMap((stop) => (givesInverted(stop) ? [stop.instance] : [])) : [];

/** What stands between inverters that are joined and the first conductors that carry all of them. */
const isJoining = (each: Instance): boolean => isInverter(each) || isJoint(each) || isDevice(each) || isSwitch(each);

/**
 * The stand-alone sources behind a run: the inverter at its end, else the inverters of a side on which nothing but them, what joins them and
 * the runs from them stands. NEC 710.15(B) counts the sum of their outputs.
 */
function sourcesBehind(run: Run, context: QuantityContext): readonly Instance[] {
  const direct = invertersAt(run);
  if (direct.length > 0 || run.carries !== 'ac') return direct;
  const { near, far, loop } = context.graph.sides(run);
  if (loop) return [];
  const side = [near, far].find(
    (nodes) =>
      nodes.every(({ instance }) => isJoining(instance)) &&
      nodes
        .flatMap((node) => context.graph.segmentsAt(node))
        .every((segment) => segment.run === run || invertersAt(segment.run).length > 0) &&
      nodes.filter(givesInverted).length > 1,
  );
  return [...new Set((side ?? []).map(({ instance }) => instance).filter(isInverter))];
}

export const standAloneCurrent = defineQuantity({
  name: 'standAloneCurrent',
  kinds: ['run'],
  doc: 'Current that the conductors at the output of a stand-alone inverter must be sized for, whatever is connected: its rated output, or the device that holds it to less (NEC 710.15(B)).',
  unit: 'A',
  bound: 'most',
  isListedFor: (thing) => invertersAt(thing as Run).length > 0,
  compute: (thing, context) => standAloneWith(thing as Run, context),
});

/** `standAloneCurrent` as if devices had other ratings (A). */
export function standAloneWith(
  run: Run,
  context: QuantityContext,
  ratings: ReadonlyMap<Instance, number> = new Map(),
): Result {
  const ratingWith = (device: Instance): Derivation | undefined => {
    const other = ratings.get(device);
    return other === undefined ? context.maybe(device, 'rating') : derive(`rating of ${device.name}`, other, 'A');
  };
  const inverters = sourcesBehind(run, context);
  if (inverters.length === 0) return missing(`an inverter at an end of ${run.name}`);
  if (context.system.basis.practice !== 'nec')
    return refused('sizing by the rated output is a rule of the NEC (710.15(B)) alone');
  const all = collect(inverters.map((inverter) => ratedOutput(inverter, context)));
  if (!all.ok) return all.result;
  const ratedOutputs = { kind: 'ratedOutput', inverters: inverters.map(({ name }) => name) } as const;
  const output: Derivation = {
    ...sumOf('rated output', 'I_out', 'A', all.derivations),
    source: { standard: 'NEC', edition: '2017-2023', table: '710.15(B)', provenance: 'published' },
    governing: [ratedOutputs],
  };
  const held = devicesOf(run)
    .flatMap(({ instance }) => ratingWith(instance) ?? [])
    .reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so), output);
  return known(
    held === output
      ? output
      : derive('current the conductors must be sized for', numberIn(held, 'A'), 'A', {
          symbol: 'I_out',
          formula: 'min(I_out, I_n)',
          inputs: [output, held],
          governing: [{ ...ratedOutputs, heldTo: held.value as Quantity }],
        }),
  );
}

export const conductorQuantities = [ampacity, resistance, voltageDrop, protectionRating, standAloneCurrent];
