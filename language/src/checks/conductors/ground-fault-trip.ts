import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, whyOf } from '../verdicts.js';
import { type NeutralFact, asStated, bonding, joinedInside } from './neutral.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { flagIn } from '../../model/stated-facts.js';
import { isJoint, isSet, isTransferGear, residualOf } from '../../model/roles.js';

/** What lies on one side of an earth-fault device along the neutral. */
interface Side {
  readonly bonds: readonly Instance[];
  /** Facts that would say whether there are more bonds. */
  readonly unsaid: readonly string[];
  readonly transfers: readonly Instance[];
}

/** Follows the neutral from a node without coming back through the device. */
function sideFrom(
  start: readonly Node[],
  device: Node,
  circuit: CircuitState,
  context: DesignContext,
  fact: NeutralFact,
): { readonly side: Side; readonly nodes: ReadonlySet<Node> } {
  const nodes = new Set<Node>();
  const queue = [...start];
  for (let node = queue.pop(); node; node = queue.pop()) {
    if (node === device || nodes.has(node)) continue;
    nodes.add(node);
    for (const { from, to } of circuit.graph.segmentsAt(node)) queue.push(from === node ? to : from);
    queue.push(...joinedInside(node, circuit, context, fact));
  }
  const of = (answer: 'yes' | 'unsaid'): Instance[] => [
    ...new Set([...nodes].filter((node) => bonding(node, circuit, fact) === answer).map(({ instance }) => instance)),
  ];
  const transfers = [...new Set([...nodes].map(({ instance }) => instance))].filter(isTransferGear);
  return {
    nodes,
    side: {
      bonds: of('yes'),
      unsaid: [
        ...of('unsaid').map(({ name }) => `neutralBond of ${name}`),
        ...transfers.flatMap((each) => (fact(each, 'switches') ? [] : [`switches of ${each.name}`])),
      ],
      transfers,
    },
  };
}

/** The sides of a device; those of a set are its own bond and everything behind its receptacle. */
function sidesOf(device: Node, circuit: CircuitState, context: DesignContext, fact: NeutralFact): Side[] {
  const starts = circuit.graph.segmentsAt(device).map(({ from, to }) => (from === device ? to : from));
  if (isSet(device.instance)) {
    const own = bonding(device, circuit, fact);
    const inside: Side = {
      bonds: own === 'yes' ? [device.instance] : [],
      unsaid: own === 'unsaid' ? [`neutralBond of ${device.instance.name}`] : [],
      transfers: [],
    };
    return [inside, sideFrom(starts, device, circuit, context, fact).side];
  }
  const sides: Side[] = [];
  const seen = new Set<Node>();
  for (const start of starts) {
    if (seen.has(start)) continue;
    const { side, nodes } = sideFrom([start], device, circuit, context, fact);
    for (const node of nodes) seen.add(node);
    sides.push(side);
  }
  return sides;
}

/** A device that opens on residual current, with its node where it stands in alternating current. */
function residualDevices(context: DesignContext): Node[] {
  return context.system.instances
    .filter((each) => {
      const opens = residualOf(each);
      return opens !== undefined && flagIn(each.properties, opens.says) === true;
    })
    .flatMap((each) => context.graph.nodesOf(each).slice(0, 1))
    .filter((node) => context.graph.segmentsAt(node).some(({ run }) => run.carries === 'ac'));
}

const trips = (sides: readonly Side[]): boolean => sides.filter(({ bonds }) => bonds.length > 0).length > 1;

/** One change of the design that ends it in every state. */
function fixesFor(device: Node, sides: readonly Side[], context: DesignContext): Fix[] {
  const changes = [
    ...sides.flatMap(({ transfers }) =>
      transfers.map((instance) => ({
        instance,
        name: 'switches' as const,
        word: 'phases-and-neutral',
        title: `Let ${instance.name} switch the neutral too`,
      })),
    ),
    ...sides
      .flatMap(({ bonds }) => bonds)
      .filter((each) => isJoint(each) || isSet(each))
      .map((instance) => ({
        instance,
        name: 'neutralBond' as const,
        word: 'floating',
        title: isJoint(instance)
          ? `Take the bond out of ${instance.name}`
          : `Float the neutral of ${instance.name} (only where its maker allows it)`,
      })),
  ];
  return changes
    .filter((change) => {
      const fact: NeutralFact = (instance, name) =>
        instance === change.instance && name === change.name ? change.word : asStated(instance, name);
      return context.circuitStates.every(
        ({ circuit }) =>
          !circuit.supply.has(device.key) ||
          // One bond must be left, or an earth fault trips nothing.
          sidesOf(device, circuit, context, fact).flatMap(({ bonds }) => bonds).length === 1,
      );
    })
    .map(({ instance, name, word, title }, index) => propose(title, [setProperty(instance, name, word)], index === 0));
}

const named = (things: readonly Instance[]): string => things.map(({ name }) => name).join(' and ');

function judgeIn(device: Node, state: SourceState, circuit: CircuitState, context: DesignContext): Verdict | undefined {
  if ((circuit.supply.get(device.key)?.size ?? 0) === 0) return undefined;
  const sides = sidesOf(device, circuit, context, asStated);
  const { instance } = device;
  if (!trips(sides)) {
    const unsaid = [...new Set(sides.flatMap((side) => side.unsaid))];
    // A bond that nobody speaks of could stand on the other side.
    return unsaid.length > 0 ? notChecked(instance, { kind: 'missing', missing: unsaid }) : passed(instance, NO_LIMIT);
  }
  const bonded = sides.filter(({ bonds }) => bonds.length > 0);
  const fixes = fixesFor(device, sides, context);
  return {
    verdict: 'failed',
    subject: instance.path,
    place: placeOf(instance, 'groundFault'),
    headline: `Neutral is bonded to earth on both sides of ${instance.name}`,
    ...whyOf(
      `at ${bonded.map(({ bonds }) => named(bonds)).join(' and at ')}`,
      context.states.length > 1 && `with ${state.title}`,
      'return current flows over earth past its sensor',
    ),
    consequence: 'it trips without a fault as soon as a load runs',
    advice: 'Leave the bond on one side only, so that one bond is left in every source state.',
    use: NO_LIMIT,
    related: bonded
      .flatMap(({ bonds }) => bonds)
      .map((bond) => ({ place: placeOf(bond, 'neutralBond'), text: `${bond.name} bonds neutral to earth` })),
    fixes,
  };
}

export const groundFaultTrip = defineCheck({
  id: 'ground-fault-trip',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Neutral is bonded to earth on both sides of a device that opens on earth-fault current.',
    guards:
      'A receptacle or breaker that opens as soon as a load runs: the generator cannot feed the house, and people defeat the device.',
    how: 'For every source state in which a breaker, receptacle or generator with `groundFault: yes` is live, the neutral is followed to either side of it, through busbars, transfer gear (all sides when it switches phases only) and inverters that pass a supply; bonds on both sides are a finding. A generator’s receptacle stands between the bond in the generator and everything behind it: a bonded generator with such receptacles, fed through gear that leaves the neutral joined to a bonded service, is the usual case. The double bond itself is an error of `neutral-bond`.',
    fix: 'Remove the bond behind the device.',
    sources: [PUBLISHED('NEC', '445.20', '2017'), MEMORY('NEC', '250.30, 702.11'), MEMORY('IEC 60364-5-53', '531.3')],
    failing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded   groundFault: yes }
  transfer Ats { switches: phases   rating: 100 A }
  load Stove { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run Line: Ats.out -> Stove { size: 10 AWG   length: 10 m }
}
`,
    passing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded   groundFault: yes }
  transfer Ats { switches: phases-and-neutral   rating: 100 A }
  load Stove { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run Line: Ats.out -> Stove { size: 10 AWG   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const device of residualDevices(context)) {
      const verdicts = context.circuitStates.flatMap(
        ({ state, circuit }) => judgeIn(device, state, circuit, context) ?? [],
      );
      const worst =
        verdicts.find(({ verdict }) => verdict === 'failed') ??
        verdicts.find(({ verdict }) => verdict === 'not-checked') ??
        verdicts[0];
      if (worst) yield worst;
    }
  },
});
