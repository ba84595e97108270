import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance } from '../../model/types.js';
import { wayTo } from '../../quantities/network/ways.js';
import { defineCheck, type Verdict, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, whyOf } from '../verdicts.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { craftGroundFaultPlaces, necGroundFaultPlaces } from '../../reference/index.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';
import { alternatingOutputOf, isBreaker, isConnection, residualOf } from '../../model/roles.js';

/** Sockets up to this rating are used by ordinary persons, A (IEC 60364-4-41 411.3.3, from memory). */
const LARGEST = 32;

/** Whether a thing says that it opens on residual current; undefined where it says nothing. */
const opensOnResidual = (device: Instance): boolean | undefined => flagIn(device.properties, residualOf(device)!.says);

/** The nodes of sockets that people plug things into: alternating current ends there. */
function sockets(context: DesignContext): Node[] {
  return context.system.instances.filter(isConnection).flatMap((socket) => {
    const [node] = context.graph.nodesOf(socket);
    const segments = node ? context.graph.segmentsAt(node) : [];
    const isEnd = segments.length > 0 && segments.every(({ run }) => run.to.some((stop) => stop.instance === socket));
    return node && isEnd && segments.some(({ run }) => run.carries === 'ac') ? [node] : [];
  });
}

/** Rating of a socket: its own, else that of its configuration. */
function ratingOf(socket: Instance, context: DesignContext): Derivation | undefined {
  const own = context.maybe(socket, 'rating');
  const plug = socket.properties.get('plug')?.value;
  const rated = plug?.type === 'part' ? plug.part.properties.get('rating')?.value : undefined;
  if (own || rated?.type !== 'quantity') return own;
  return derive('rating of the plug', rated.quantity.value, 'A', { symbol: 'I_n' });
}

/** Why a socket needs residual-current protection. */
interface Rule {
  readonly text: string;
  /** The largest rating it counts for, A. */
  readonly upTo: number;
  /** The largest voltage to ground it counts for, V. */
  readonly toGround: number;
  readonly severity: 'error' | 'warning';
}

const ANYWHERE: Rule = {
  text: '30 mA protection for sockets up to 32 A: IEC 60364-4-41 411.3.3, from memory',
  upTo: LARGEST,
  toGround: Infinity,
  severity: 'warning',
};

/** The rule of the NEC, or of small craft and vehicles, for the place that a socket states, in the edition of the design. */
function ruleOfPlace(socket: Instance, context: DesignContext): Rule | undefined {
  const place = wordIn(socket.properties, 'place');
  const table = context.system.basis.practice === 'craft' ? craftGroundFaultPlaces : necGroundFaultPlaces;
  const row = table.rows.find((candidate) => candidate.place === place);
  const { edition } = context.system.basis;
  if (!row || (row.from && edition && edition < row.from)) return undefined;
  const isPublished = (row.provenance ?? table.provenance) === 'published';
  return {
    text: `receptacles ${row.text}: ${basisText(context.system.basis)} ${row.section}${isPublished ? '' : ', from memory'}`,
    upTo: row.upTo ?? Infinity,
    toGround: TO_GROUND,
    severity: isPublished ? 'error' : 'warning',
  };
}

/** Largest voltage to ground of the receptacles that 210.8(A) is about, V. */
const TO_GROUND = 150;

function* judgeSocket(node: Node, rule: Rule, context: DesignContext): Generator<Verdict> {
  const socket = node.instance;
  const rating = ratingOf(socket, context);
  if (rating && numberIn(rating, 'A') > rule.upTo) return;
  const unsaid = new Set<Instance>();
  for (const { state, circuit } of context.circuitStates)
    for (const source of circuit.supply.get(node.key) ?? []) {
      const system = systemOf(source);
      if (system && system.lineToNeutral > rule.toGround) continue;
      const start = context.graph.nodes.get(`${source.name}.${alternatingOutputOf(source)}`);
      const way = start && wayTo(start, node, circuit, context);
      if (!way) continue;
      const devices = [...new Set(way.nodes.map(({ instance }) => instance))].filter(residualOf);
      if (devices.some((device) => opensOnResidual(device) === true)) continue;
      // Sockets and sets have such protection only where it is said.
      const open = devices.filter(
        (device) => residualOf(device)!.unsaid === 'open' && opensOnResidual(device) === undefined,
      );
      if (open.length > 0) {
        for (const each of open) unsaid.add(each);
        continue;
      }
      const nearest = devices.filter(isBreaker).at(-1);
      yield {
        verdict: 'failed',
        subject: socket.path,
        place: socket.place,
        severity: rule.severity,
        headline: `Nothing between ${source.name} and ${socket.name}${rating ? ` (${displayValue(rating)})` : ''} opens on residual current`,
        ...whyOf(context.states.length > 1 && `with ${state.title}`),
        rule: rule.text,
        consequence: 'whoever touches a live frame or a damaged cable plugged in there stays on the current',
        use: NO_LIMIT,
        ...(rating ? { numbers: { rating } } : {}),
        related: nearest ? [{ place: nearest.place, text: `${nearest.name} protects the socket` }] : [],
        fixes: nearest
          ? [
              propose(
                `Use ${nearest.name} with residual-current protection`,
                [setProperty(nearest, 'groundFault', 'yes')],
                true,
              ),
            ]
          : [],
      };
      return;
    }
  if (unsaid.size > 0)
    yield notChecked(socket, { kind: 'missing', missing: [...unsaid].map(({ name }) => `groundFault of ${name}`) });
  else yield passed(socket, NO_LIMIT);
}

export const socketResidualCurrent = defineCheck({
  id: 'socket-residual-current',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A socket has no residual-current protection in a source state in which it is live.',
    guards: 'A shock from a damaged cable or appliance that no fuse or breaker ends, since too little current flows.',
    how: points(
      'For every source state the way from each source to a socket outlet up to 32 A (a receptacle at which a run of alternating current ends) is followed.',
      'A breaker on it, the receptacle itself or the generator must state `groundFault: yes` (IEC 60364-4-41 411.3.3, from memory). For breakers that state nothing it is a question.',
      'nec: receptacles that state one of the places of 210.8(A), 555.35, 590.6 or 551.71(F) (`place: outdoors`), up to 150 V to ground, in the edition of the design. Receptacles that state no place are not judged.',
      'craft: the places of ABYC E-11 and NEC 551.41(C), from memory.',
      'What is read in a published list is an error. Sockets for one stated piece of equipment may be exempt: waive the finding with `accept`.',
    ),
    fix: 'Fit a residual-current device that stays in the circuit in every source state.',
    sources: [
      MEMORY('IEC 60364-4-41', '411.3.3'),
      PUBLISHED('NEC', '210.8(A), 555.35', '2023'),
      MEMORY('NEC', '590.6, 551.71(F), 551.41(C)'),
      MEMORY('ABYC E-11'),
    ],
    failing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker B1 { rating: 16 A   groundFault: no }
  receptacle Socket { rating: 16 A }
  run Line: Mains -> B1 -> Socket { size: 2.5 mm2   length: 10 m }
}
`,
    passing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker B1 { rating: 16 A   groundFault: yes }
  receptacle Socket { rating: 16 A }
  run Line: Mains -> B1 -> Socket { size: 2.5 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    const { practice } = context.system.basis;
    for (const node of sockets(context)) {
      const rule = practice === 'iec' ? ANYWHERE : ruleOfPlace(node.instance, context);
      if (rule) yield* judgeSocket(node, rule, context);
    }
  },
});
