import { firstFew } from '../text/wording.js';
import type { DesignContext } from '../../model/context.js';
import { inletsAmong } from '../../model/cords.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed } from '../verdicts.js';
import { flagIn } from '../../model/stated-facts.js';
import {
  isAcSource,
  alternatingOutputOf,
  isConnection,
  isInverter,
  isJoint,
  isTransferGear,
} from '../../model/roles.js';

interface Meeting {
  readonly at: Instance;
  readonly feeders: readonly Instance[];
  readonly title: string;
}

/** Node by node: which two sources drive one conductor at the same time, in the first state in which they do. */
function meetings(context: DesignContext): Meeting[] {
  const found = new Map<string, Meeting>();
  for (const { state, circuit } of context.circuitStates) {
    for (const [key, feeders] of circuit.supply) {
      if (feeders.size < 2) continue;
      const node = context.graph.nodes.get(key);
      if (!node) continue;
      const names = [...feeders].map(({ name }) => name).sort();
      const before = found.get(names.join());
      // A busbar, or gear without interlock, says best where they meet.
      const rank = (at: Instance): number => (isTransferGear(at) ? 2 : isJoint(at) ? 1 : 0);
      if (before && rank(before.at) >= rank(node.instance)) continue;
      found.set(names.join(), { at: node.instance, feeders: [...feeders], title: before?.title ?? state.title });
    }
  }
  return [...found.values()];
}

/** Sources that are off in a state but whose terminals another source makes live. */
function backfeeds(context: DesignContext): { dead: Instance; feeder: Instance; title: string }[] {
  const found = new Map<string, { dead: Instance; feeder: Instance; title: string }>();
  for (const { state, circuit } of context.circuitStates) {
    for (const source of context.system.instances) {
      if (!isAcSource(source) || state.acSources.includes(source)) continue;
      const at = `${source.name}.${alternatingOutputOf(source)}`;
      for (const feeder of [...(circuit.supply.get(at) ?? []), ...(circuit.backfed.get(at) ?? [])]) {
        const key = `${source.name} ${feeder.name}`;
        if (!found.has(key)) found.set(key, { dead: source, feeder, title: state.title });
      }
    }
  }
  return [...found.values()];
}

const RULES: Readonly<Record<string, string>> = {
  nec: 'NEC 702.5',
  iec: 'IEC 60364-5-55 551.6',
  craft: 'small-craft practice (ISO 13297, ABYC E-11)',
};

/** Inverters on the legs of one split-phase or three-phase panel, each on its own, do not meet. */
function areOnOwnLegs(inverters: readonly Instance[]): boolean {
  const legs = inverters.map((inverter) => {
    const value = inverter.properties.get('legs')?.value;
    return value?.type === 'words' ? value.words : [];
  });
  const all = legs.flat();
  return legs.every((own) => own.length > 0) && new Set(all).size === all.length;
}

/** Whether a link, direct or over things between, joins inverters, so that they can keep in step. */
function areLinked(inverters: readonly Instance[], context: DesignContext): boolean {
  const [first, ...rest] = inverters;
  const reached = new Set([first]);
  for (let before = 0; before !== reached.size;) {
    before = reached.size;
    for (const { from, to } of context.system.links) {
      if (reached.has(from)) reached.add(to);
      if (reached.has(to)) reached.add(from);
    }
  }
  return rest.every((each) => reached.has(each));
}

function* judge(context: DesignContext): Generator<Verdict> {
  const { system } = context;
  const rule = `${RULES[system.basis.practice] ?? ''} (${basisText(system.basis)})`;
  // Three sources on one bus are three pairs and one mistake: the largest meeting is told.
  const met = meetings(context).sort((a, b) => b.feeders.length - a.feeders.length);
  const told: (readonly Instance[])[] = [];
  let isOpen = false;
  for (const { at, feeders, title } of met) {
    if (told.some((before) => feeders.every((feeder) => before.includes(feeder)))) continue;
    told.push(feeders);
    const names = feeders.map(({ name }) => name);
    if (feeders.every(isInverter)) {
      if (areOnOwnLegs(feeders) || areLinked(feeders, context)) continue;
      isOpen = true;
      yield notChecked(at, {
        kind: 'missing',
        missing: [`a link that keeps ${names.join(' and ')} in step, or the legs of each`],
      });
      continue;
    }
    const inlet = inletBetween(feeders, context);
    yield {
      verdict: 'failed',
      subject: at.path,
      place: at.place,
      headline: `${firstFew(names)} can feed ${at.name} at the same time`,
      why: `with ${title}: they are out of step and nothing keeps them apart`,
      rule,
      advice: `${inlet ? `Where one cord at a time is plugged into ${inlet.name}, say so (\`oneCord: yes\`); else put` : 'Put'} interlocked transfer gear between them, or feed one through a charger.`,
      use: NO_LIMIT,
      related: feeders.map((feeder) => ({ place: feeder.place, text: `${feeder.name} feeds ${at.name}` })),
      fixes: [
        ...(inlet
          ? [propose(`Say that ${inlet.name} accepts one cord at a time`, [setProperty(inlet, 'oneCord', 'yes')], true)]
          : []),
        ...(isTransferGear(at) ? interlockFix(at) : []),
      ],
    };
  }
  for (const { dead, feeder, title } of backfeeds(context)) {
    if (told.some((before) => before.includes(dead) && before.includes(feeder))) continue;
    told.push([dead, feeder]);
    yield {
      verdict: 'failed',
      subject: dead.path,
      place: dead.place,
      headline: `${feeder.name} feeds back into ${dead.name} while it is off`,
      why: `with ${title}`,
      rule,
      consequence: 'its plug pins or lines are live, which can kill someone at work on them',
      advice: 'Put interlocked transfer gear between them.',
      use: NO_LIMIT,
      related: [{ place: feeder.place, text: `${feeder.name} makes the terminals of ${dead.name} live` }],
    };
  }
  const feeders = system.instances.filter((instance) => isAcSource(instance) || isInverter(instance));
  if (told.length === 0 && !isOpen && feeders.length > 1) yield passed({ path: system.name }, NO_LIMIT);
}

/** The inlet at which the cords of all these feeders end, each a cord of its own. */
const inletBetween = (feeders: readonly Instance[], context: DesignContext): Instance | undefined =>
  inletsAmong(context.system.instances.filter(isConnection), context.graph).find(({ cords }) => {
    const by = feeders.map((feeder) => cords.filter(({ sources }) => sources.includes(feeder)));
    return by.every((own) => own.length === 1) && new Set(by.flat()).size === feeders.length;
  })?.at;

/** Transfer gear that says it has no interlock. */
const interlockFix = (transfer: Instance): Fix[] =>
  flagIn(transfer.properties, 'interlock') === false
    ? [propose(`Give ${transfer.name} an interlock`, [setProperty(transfer, 'interlock', 'yes')], true)]
    : [];

export const twoSourcesOneBus = defineCheck({
  id: 'two-sources-one-bus',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Two AC sources can feed the same conductor at once, or one feeds back into another that is off.',
    guards: 'Sources out of step destroy each other; a dead supply made live from behind kills people who work on it.',
    how: points(
      'In every source state it is followed what feeds each AC node, through busbars, transfer gear and inverters that pass a supply.',
      'An error: a node with two feeders, or the terminals of a source that is off and live all the same.',
      'Transfer gear without interlock can stand on both sides; gear fed from its load side while its supplies are off stays on one of them and makes it live.',
      'Supplies whose cords end at an inlet or plug that accepts one cord at a time (`oneCord`) never feed together; a cord is what a run brings that ends there. Nor do sources behind breakers or switches with one mechanical `interlock`.',
      'Whether inverters keep in step is a question, not a guess: they do on legs of their own, or joined by a link.',
    ),
    fix: 'Put a transfer switch or an interlock between the sources, or let only one of them reach the bus.',
    sources: [
      { standard: 'NEC', edition: '2017-2023', table: '702.5, 705.12', provenance: 'from memory' },
      { standard: 'IEC 60364-5-55', table: '551.6', provenance: 'from memory' },
    ],
    failing: `design Cabin {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: floating }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run FromSet: Genset -> Panel { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Panel { size: 6 mm2   length: 2 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
`,
    passing: `design Cabin {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 40 A }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run FromSet: Genset -> Ats.normal { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Ats.standby { size: 6 mm2   length: 2 m }
  run ToPanel: Ats.out -> Panel { size: 6 mm2   length: 2 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
`,
  },
  judge,
});
