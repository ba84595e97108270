import {
  type Derivation,
  type Result,
  derive,
  known,
  missing,
  numberIn,
  otherReasons,
} from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { AcSystem, Instance, Run } from '../../model/types.js';
import { resistanceAt } from '../conductors/conductor.js';
import type { QuantityContext } from '../define.js';
import { highEnd } from '../ends.js';
import { LARGEST, coldConductor, entryOf, isElectronic, stopOf, stretchTo } from './fault-ways.js';
import { reactanceOf } from '../network/stretches.js';
import { type Step, stepTo, wayOf } from '../network/ways.js';
import { systemOf } from '../supply/supply.js';
import { worstOfStates } from '../worst.js';
import { alternatingOutputOf, faultSourcesOf } from '../../model/roles.js';
import { query } from '../../model/context.js';

/** Impedance in ohm. */
interface Ohms {
  readonly resistance: number;
  readonly reactance: number;
}

/** What an alternating-current source drives into a fault: volts behind ohms, which are a reactance where `isReactive`. */
interface Source {
  readonly volts: Derivation;
  readonly ohms: Derivation;
  readonly isReactive: boolean;
  readonly inputs: readonly Derivation[];
}

/** Subtransient reactance of small sets where none is stated: the low end, which gives the largest current. From memory. */
const LEAST_REACTANCE = derive('subtransient reactance', 0.1, '', {
  symbol: 'x″',
  fact: 'reactance',
  origin: 'default',
  notes: ['not stated: 0.1 per unit, the low end of small generators (from memory), which gives the largest current'],
});

/** The largest current of a source at its terminals, between lines on split phase, else of all its phases. */
function largestOf(source: Instance, system: AcSystem, context: QuantityContext): Source | Result {
  const volts = derive(
    `voltage of ${source.name}`,
    system.phases === 'three' ? system.lineToNeutral : system.lineToLine,
    'V',
    { symbol: 'U', notes: [system.text] },
  );
  const behind = (amperes: number, formula: string, inputs: readonly Derivation[], isReactive: boolean): Source => ({
    volts,
    isReactive,
    inputs,
    ohms: derive(`impedance of ${source.name}`, numberIn(volts, 'V') / amperes, 'ohm', {
      symbol: 'Z_s',
      formula,
      inputs: [volts, ...inputs],
    }),
  });
  const drives = faultSourcesOf(source).find(({ at }) => at === alternatingOutputOf(source));
  if (drives?.as === 'service') {
    const stated = context.fact(source, drives.current);
    if (stated.kind !== 'known') return stated;
    const fault = highEnd(stated.derivation);
    return behind(numberIn(fault, 'A'), 'U/I_sc', [fault], false);
  }
  if (drives?.as === 'set') {
    const rated = context.quantity(source, 'ratedCurrent');
    if (rated.kind !== 'known') return rated;
    // The first cycle is driven behind the subtransient reactance; where only the transient one is stated it counts.
    const stated = [context.maybe(source, 'subtransientReactance'), context.maybe(source, 'reactance')];
    const reactance =
      stated.flatMap((each) => each ?? []).sort((a, b) => numberIn(a, '') - numberIn(b, ''))[0] ?? LEAST_REACTANCE;
    const amperes = numberIn(rated.derivation, 'A') / numberIn(reactance, '');
    return behind(amperes, 'x·U/I_r', [reactance, rated.derivation], true);
  }
  return missing(`fault current of ${source.name}`);
}

const isSource = (outcome: Source | Result): outcome is Source => 'volts' in outcome;

/** Ohms of one conductor of a run one way, cold, up to a thing that stands in it; nothing where facts lack, or in a loop. */
function coldOhms(run: Run, thing: Instance | undefined, end: Step, context: QuantityContext): Ohms {
  const none = { resistance: 0, reactance: 0 };
  const size = context.maybe(run, 'size');
  const stop = thing && stopOf(thing, run);
  // Devices in panels stand at the source end of their circuits: without a distance none of the cable lies before them.
  const length =
    stop && run.through.includes(stop)
      ? stop.distance && stretchTo(thing, run, entryOf(run, end), context)
      : context.maybe(run, 'length');
  if (!size || !length || context.graph.sides(run).loop) return none;
  const one = resistanceAt(run, size, length, coldConductor(context), context);
  return one.kind === 'known'
    ? { resistance: numberIn(one.derivation, 'ohm'), reactance: reactanceOf(run, size, length, context) }
    : none;
}

/**
 * Least impedance of a source and a cable together. The angle of a set is that of its reactance; of a service only the size is known, so
 * the angle is taken that gives the least.
 */
function leastOhms(source: Source, { resistance, reactance }: Ohms): number {
  const own = numberIn(source.ohms, 'ohm');
  return source.isReactive
    ? Math.hypot(resistance, own + reactance)
    : Math.sqrt(own ** 2 + resistance ** 2 + reactance ** 2 + 2 * own * Math.min(resistance, reactance));
}

/** What one source drives into a fault at a node in one state. */
function sourceFaultAt(
  source: Instance,
  thing: Instance,
  node: Node,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  if (isElectronic(source)) return undefined;
  const system = systemOf(source);
  if (!system) return missing(`voltage of ${source.name}`);
  const drive = largestOf(source, system, context);
  if (!isSource(drive)) return drive;
  const start = context.graph.nodes.get(`${source.name}.${alternatingOutputOf(source)}`);
  const end = start && stepTo(start, node, circuit, context);
  const runs = end ? wayOf(end).runs : [];
  // A fault of all three phases flows out only; any other out and back.
  const times = (run: Run): number => {
    const legs = run.properties.get('legs')?.value;
    return system.phases === 'three' && !(legs?.type === 'words' && legs.words.length < 3) ? 1 : 2;
  };
  const loops = runs.map((run, index) => {
    const ohms = coldOhms(run, index === runs.length - 1 ? thing : undefined, end!, context);
    return { run, resistance: times(run) * ohms.resistance, reactance: times(run) * ohms.reactance };
  });
  const cable = {
    resistance: loops.reduce((sum, loop) => sum + loop.resistance, 0),
    reactance: loops.reduce((sum, loop) => sum + loop.reactance, 0),
  };
  const volts = numberIn(drive.volts, 'V');
  const counted = loops.filter(({ resistance }) => resistance > 0);
  return known(
    derive(LARGEST, volts / leastOhms(drive, cable), 'A', {
      symbol: 'I_sc',
      formula: counted.length === 0 ? 'U/Z_s' : 'U/|Z_s + Z_cable|',
      inputs: [
        drive.volts,
        drive.ohms,
        ...counted.map(({ run, resistance, reactance }) =>
          derive(`impedance of ${run.name}`, Math.hypot(resistance, reactance), 'ohm', {
            symbol: `Z_${run.name}`,
            notes: ['cold; reactance by NEC Chapter 9 Table 9 or IEC 60364-5-52'],
          }),
        ),
      ],
      governing: [{ kind: 'faultSource', source: source.name }],
    }),
  );
}

const ALTERNATING_FAULTS = query<Instance, Result | undefined>('largest fault current of the AC sources at a thing');

/** Largest prospective short-circuit current of the AC sources at a thing, with the cables before it; undefined where only electronics feed it. */
export function alternatingFaultAt(thing: Instance, context: QuantityContext): Result | undefined {
  return context.kept(ALTERNATING_FAULTS, thing, () => findAlternatingFault(thing, context));
}

function findAlternatingFault(thing: Instance, context: QuantityContext): Result | undefined {
  const results = context.graph.nodesOf(thing).flatMap((node) =>
    context.circuitStates.flatMap(({ state, circuit }) =>
      [...(circuit.supply.get(node.key) ?? [])].flatMap((source) => {
        const result = sourceFaultAt(source, thing, node, circuit, context);
        return result ? [{ state, result }] : [];
      }),
    ),
  );
  if (results.length === 0) return undefined;
  const worst = worstOfStates(LARGEST, 'I_sc', 'A', results);
  // Which of several states gives it says nothing that the source does not.
  return worst.kind === 'known'
    ? known({ ...worst.derivation, governing: otherReasons(worst.derivation, 'state') })
    : worst;
}
