import { firstFew } from '../text/wording.js';
import type { DesignContext } from '../../model/context.js';
import type { SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, whyOf } from '../verdicts.js';
import { type NeutralFact, type NeutralRegion, asStated, neutralRegions } from './neutral.js';
import { isAcSource, isInverter, isJoint, isService, isTransferGear, passingOf } from '../../model/roles.js';

const RULES: Readonly<Record<string, string>> = {
  nec: 'NEC 250.24(A)(5), 250.30 and 250.34',
  iec: 'IEC 60364-1 and 60364-5-55 551',
  craft: 'small-craft practice (ISO 13297, ABYC E-11)',
};

/** A source that feeds only cord-connected equipment: no panel, no transfer gear. */
const isPortable = (region: NeutralRegion): boolean =>
  region.sources.some((source) => isAcSource(source) && !isService(source)) &&
  !region.nodes.some(({ instance }) => isJoint(instance) || isTransferGear(instance));

/** An inverter whose relay passes a supply on. */
const isRelay = (instance: Instance): boolean => passingOf(instance)?.how === 'relay';

/** What is assumed of inverters whose relay is not said to switch the neutral: a bond on its other side may be the one that is missed. */
function assumedRelays(region: NeutralRegion): { assumes?: string[] } {
  const silent = [...new Set(region.nodes.map(({ instance }) => instance))].filter(
    (each) => isRelay(each) && each.properties.get('switches')?.origin === 'default',
  );
  return silent.length === 0
    ? {}
    : { assumes: [`the relay of ${named(silent)} opens the neutral too (\`switches: phases\` if it does not)`] };
}

/** One change of the design: a property of things set to a word. */
interface Change {
  readonly instances: readonly Instance[];
  readonly name: 'neutralBond' | 'switches';
  readonly word: string;
  readonly title: string;
}

/** Whether a change leaves exactly one bond, or open facts, in every region of every state. */
function mends(change: Change, context: DesignContext): boolean {
  const fact: NeutralFact = (instance, name) =>
    name === change.name && change.instances.includes(instance) ? change.word : asStated(instance, name);
  return context.circuitStates.every(({ circuit }) =>
    neutralRegions(circuit, context, fact).every(
      ({ bonds, unsaid }) => bonds.length === 1 || (bonds.length === 0 && unsaid.length > 0),
    ),
  );
}

function fixesFrom(changes: readonly Change[], context: DesignContext): Fix[] {
  return changes
    .filter((change) => mends(change, context))
    .map(({ instances, name, word, title }, index) =>
      propose(
        title,
        instances.map((instance) => setProperty(instance, name, word)),
        index === 0,
      ),
    );
}

/** How many conductors and pieces of gear lie between the nearest service and each node of a region; none where no service feeds it. */
function distancesFromService(region: NeutralRegion, context: DesignContext): ReadonlyMap<Instance, number> {
  const distances = new Map<Instance, number>();
  let ring = region.sources.filter(isService);
  for (let distance = 0; ring.length > 0; distance += 1) {
    for (const instance of ring) distances.set(instance, distance);
    const next = ring.flatMap((instance) =>
      context.graph
        .nodesOf(instance)
        .flatMap((node) => context.graph.segmentsAt(node).flatMap(({ from, to }) => [from, to])),
    );
    ring = [...new Set(next.map(({ instance }) => instance))].filter((instance) => !distances.has(instance));
  }
  return distances;
}

/** Panels whose bond is one too many, the furthest from the service first: the bond belongs at the service (NEC 250.24(A), IEC 60364-1). */
function panelsTooMany(region: NeutralRegion, context: DesignContext): Instance[] {
  const distances = distancesFromService(region, context);
  const distance = (panel: Instance): number => distances.get(panel) ?? Infinity;
  const panels = region.bonds.filter(isJoint).sort((a, b) => distance(b) - distance(a));
  const isBondedElsewhere = panels.length < region.bonds.length;
  const nearest = panels.at(-1);
  // Without a service nothing says which panel is the first, so each may keep it.
  return isBondedElsewhere ||
    !nearest ||
    distance(nearest) === Infinity ||
    distance(panels.at(-2)!) === distance(nearest)
    ? panels
    : panels.slice(0, -1);
}

function changesForTwo(region: NeutralRegion, context: DesignContext): Change[] {
  const panels = panelsTooMany(region, context);
  const transfers = [...new Set(region.nodes.map(({ instance }) => instance))].filter(
    (each) => isTransferGear(each) || (isRelay(each) && asStated(each, 'switches') === 'phases'),
  );
  return [
    ...region.bonds.filter(isInverter).map((instance): Change => ({
      instances: [instance],
      name: 'neutralBond',
      word: 'switched',
      title: `Bond ${instance.name} only while it inverts`,
    })),
    ...transfers.map((instance): Change => ({
      instances: [instance],
      name: 'switches',
      word: 'phases-and-neutral',
      title: `Let ${instance.name} switch the neutral too`,
    })),
    ...panels.map((instance): Change => takeOut([instance])),
    ...(panels.length > 1 ? [takeOut(panels)] : []),
    ...region.bonds
      .filter((each) => !isJoint(each) && !isService(each))
      .map((instance): Change => ({
        instances: [instance],
        name: 'neutralBond',
        word: 'floating',
        title: `Float the neutral of ${instance.name} (only where its maker allows it)`,
      })),
  ];
}

const takeOut = (instances: readonly Instance[]): Change => ({
  instances,
  name: 'neutralBond',
  word: 'floating',
  title: `Take the bond out of ${named(instances)}`,
});

function changesForNone(region: NeutralRegion): Change[] {
  return region.sources.map((instance): Change => ({
    instances: [instance],
    name: 'neutralBond',
    word: isInverter(instance) ? 'switched' : 'bonded',
    title: isInverter(instance) ? `Bond ${instance.name} while it inverts` : `Bond ${instance.name}`,
  }));
}

const named = (things: readonly Instance[]): string => things.map(({ name }) => name).join(' and ');

function judgeRegion(region: NeutralRegion, state: SourceState, context: DesignContext): Verdict {
  const [first] = region.sources;
  const subject = first ?? region.nodes[0]!.instance;
  // Two bonds are wrong whatever the silent ones do; one or none can still be right.
  if (region.unsaid.length > 0 && region.bonds.length < 2) {
    return notChecked(subject, { kind: 'missing', missing: region.unsaid });
  }
  if (region.bonds.length === 1) return passed(subject, NO_LIMIT);
  const rule = `${RULES[context.system.basis.practice]} (${basisText(context.system.basis)})`;
  const when = context.states.length > 1 && `with ${state.title}`;
  if (region.bonds.length === 0) {
    const portable = isPortable(region);
    return {
      verdict: 'failed',
      subject: subject.path,
      place: placeOf(subject, 'neutralBond'),
      ...(portable ? { severity: 'warning' as const } : {}),
      headline: `The neutral fed by ${named(region.sources)} is bonded to earth nowhere`,
      ...whyOf(when),
      rule,
      ...assumedRelays(region),
      consequence: 'an earth fault does not trip a breaker, and earth-fault protection may not work',
      advice: portable
        ? 'A generator that feeds only cord-connected equipment may float where its maker and the local rules allow it; anything fixed needs one bond.'
        : 'Exactly one bond is needed in every source state.',
      use: NO_LIMIT,
      fixes: fixesFrom(changesForNone(region), context),
    };
  }
  const fixes = fixesFrom(changesForTwo(region, context), context);
  return {
    verdict: 'failed',
    subject: subject.path,
    place: placeOf(region.bonds[1]!, 'neutralBond'),
    headline: `The neutral is bonded to earth ${region.bonds.length === 2 ? 'twice' : `${region.bonds.length} times`}: at ${firstFew(region.bonds.map(({ name }) => name))}`,
    ...whyOf(when),
    rule,
    consequence: 'neutral current flows over earth conductors, and earth-fault protection trips without a fault',
    advice: 'Keep one bond in every source state.',
    use: NO_LIMIT,
    related: region.bonds.map((bond) => ({
      place: placeOf(bond, 'neutralBond'),
      text: `${bond.name} bonds neutral to earth`,
    })),
    fixes,
  };
}

function* judge(context: DesignContext): Generator<Verdict> {
  const failed = new Set<string>();
  const open = new Set<string>();
  for (const { state, circuit } of context.circuitStates) {
    for (const region of neutralRegions(circuit, context)) {
      const verdict = judgeRegion(region, state, context);
      // The same bonds in another state are the same mistake.
      const joined = (things: readonly Instance[]): string =>
        things
          .map(({ name }) => name)
          .sort()
          .join();
      const key = region.bonds.length === 0 ? `none ${joined(region.sources)}` : joined(region.bonds);
      // So are the same bonds and one more.
      const isKnown = [...failed].some((before) => before.split(',').every((name) => key.split(',').includes(name)));
      if (verdict.verdict === 'failed' && isKnown) continue;
      if (verdict.verdict === 'failed') failed.add(key);
      if (verdict.verdict === 'not-checked') {
        const facts = verdict.missing.join();
        if (open.has(facts)) continue;
        open.add(facts);
      }
      yield verdict;
    }
  }
}

export const neutralBondCheck = defineCheck({
  id: 'neutral-bond',
  formerly: 'one-bond',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A neutral is not bonded to earth at exactly one point in some source state.',
    guards:
      'No bond: an earth fault leaves the frame live and trips nothing. Two bonds: neutral current on earth conductors and metalwork, and earth-fault protection that trips for no fault.',
    how: points(
      'For each source state the AC nodes whose neutrals are joined are followed, and every bond among sources, inverters (`switched` bonds only while inverting) and panels is counted.',
      'Neutrals are joined through busbars; through transfer gear (all sides when it switches phases only, the chosen side when it switches the neutral too; it must say which); and through inverters, while they pass a supply and, where their relay opens the phases only (`switches: phases`), while they do not.',
      'A source with an `outlet` counts as unplugged in states in which it does not feed.',
      'A generator or vehicle that feeds only cord-connected equipment may float: no bond is then a warning.',
    ),
    fix: 'Add or remove a bond, or let the transfer switch the neutral, until each source state has exactly one.',
    sources: [
      {
        standard: 'NEC',
        edition: '2017-2023',
        table: '250.24(A)(5), 250.30, 250.34, 445.20',
        provenance: 'from memory',
      },
      { standard: 'IEC 60364-5-55', table: '551.4', provenance: 'from memory' },
    ],
    failing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded }
  transfer Ats { switches: phases   rating: 100 A }
  bus Panel { rating: 100 A }
  load House { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run ToPanel: Ats.out -> Panel { size: 3 AWG   length: 3 m }
  run Line: Panel -> House { size: 10 AWG   length: 10 m }
}
`,
    passing: `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 100 A }
  bus Panel { rating: 100 A }
  load House { power: 3 kW   voltage: 240 V }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run ToPanel: Ats.out -> Panel { size: 3 AWG   length: 3 m }
  run Line: Panel -> House { size: 10 AWG   length: 10 m }
}
`,
  },
  judge,
});
