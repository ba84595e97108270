import { type Derivation, derive, missing, numberIn } from '../../derivation/index.js';
import { type DesignContext, query, type Query } from '../../model/context.js';
import type { Graph, Node, Segment } from '../../model/graph.js';
import { canFeed } from '../../model/network.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { mostOf } from '../../quantities/supply/rated-output.js';
import { sumOf } from '../../quantities/worst.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';
import { madeOnce } from '../../model/watch.js';
import { faultSourcesOf, isDevice, ownDeviceOf, ownDeviceTitle, passingOf } from '../../model/roles.js';

export type End = 'near' | 'far';

/** How much is driven into a run, and by what it is held. */
export interface Amount {
  readonly current: Derivation;
  readonly by: readonly string[];
  /** Whether no device holds it but the source itself: then no next standard rating above the ampacity is meant (NEC 240.4(B), 445.13). */
  readonly isOutput?: boolean;
}

/**
 * What can be driven into a run at one of its ends before anything opens.
 * `self-limited`: only sources whose own electronics or cells give no more than the design current that `run-ampacity` judges. What feeds
 * branches smaller than its own conductors, as an inverter does, tells how much it gives.
 * `limited`: devices, services or the sets themselves hold it to `current`. `unlimited`: a bank without a device before the run.
 */
export type Feed =
  | { readonly kind: 'none' }
  | { readonly kind: 'self-limited'; readonly most?: Amount }
  | ({ readonly kind: 'limited' } & Amount)
  | { readonly kind: 'unlimited'; readonly sources: readonly Instance[] }
  | { readonly kind: 'open'; readonly missing: readonly string[]; readonly sources: readonly Instance[] };

const NONE: Feed = { kind: 'none' };
const SELF_LIMITED: Feed = { kind: 'self-limited' };

/** What a source by itself drives into its node. */
function ownFeed(node: Node, context: DesignContext): Feed {
  if (!canFeed(node)) return NONE;
  const { instance, terminal } = node;
  const heldTo = (current: Derivation, by: string): Feed => ({ kind: 'limited', current, by: [by] });
  const drives = faultSourcesOf(instance).find(({ at }) => at === terminal.name)!;
  if (drives.as === 'bank') return { kind: 'unlimited', sources: [instance] };
  const limitsItself = (): Feed => {
    const most = terminal.carries === 'ac' ? mostOf(instance, context) : undefined;
    return most
      ? { kind: 'self-limited', most: { current: most, by: [`${instance.name} itself`], isOutput: true } }
      : SELF_LIMITED;
  };
  if (drives.as === 'electronics') return limitsItself();
  const device = ownDeviceOf(instance);
  const rating = device && context.maybe(instance, device.rating);
  if (rating) return heldTo(rating, ownDeviceTitle(instance));
  if (drives.as === 'service')
    return { kind: 'open', missing: [`${device?.rating ?? 'rating'} of ${instance.name}`], sources: [instance] };
  if (flagIn(instance.properties, 'integralProtection') || wordIn(instance.properties, 'waveform') === 'inverter')
    return limitsItself();
  return generatorFeed(instance, context);
}

/** A set without a breaker: its conductors must be good for 115 % of its rated current up to the first device (NEC 445.13). */
function generatorFeed(set: Instance, context: DesignContext): Feed {
  const rated = context.quantity(set, 'ratedCurrent');
  if (rated.kind !== 'known') {
    const facts = rated.kind === 'missing' ? rated.missing : [`breaker of ${set.name}`];
    return { kind: 'open', missing: facts, sources: [set] };
  }
  const factor = derive('factor for generator conductors', 1.15, '', {
    origin: 'table',
    source: { standard: 'NEC', edition: '2017-2023', table: '445.13', provenance: 'published' },
  });
  const current = derive(`most that ${set.name} drives`, 1.15 * numberIn(rated.derivation, 'A'), 'A', {
    formula: 'factor·I_r',
    inputs: [factor, rated.derivation],
  });
  return { kind: 'limited', current, by: [`${set.name} itself`], isOutput: true };
}

/** What is held by a device with a rating, if by no less before it. */
const held = ({ current, by }: Amount, device: Instance, rating: Derivation): Amount =>
  numberIn(current, 'A') <= numberIn(rating, 'A') ? { current, by } : { current: rating, by: [device.name] };

/** What a device lets through of what lies behind it. */
function through(device: Instance, behind: Feed, context: DesignContext): Feed {
  if (behind.kind === 'none') return behind;
  const rating = context.maybe(device, 'rating');
  if (behind.kind === 'self-limited')
    return rating && behind.most ? { ...behind, most: held(behind.most, device, rating) } : behind;
  if (!rating)
    return {
      kind: 'open',
      missing: [`rating of ${device.name}`],
      sources: behind.kind === 'limited' ? [] : behind.sources,
    };
  return behind.kind === 'limited'
    ? { kind: 'limited', ...held(behind, device, rating) }
    : { kind: 'limited', current: rating, by: [device.name] };
}

/** What meets at a node: the sum of what its branches let through. */
function together(feeds: readonly Feed[]): Feed {
  const unlimited = feeds.flatMap((feed) => (feed.kind === 'unlimited' ? feed.sources : []));
  if (unlimited.length > 0) return { kind: 'unlimited', sources: [...new Set(unlimited)] };
  const open = feeds.filter((feed) => feed.kind === 'open');
  if (open.length > 0)
    return {
      kind: 'open',
      missing: [...new Set(open.flatMap((feed) => feed.missing))],
      sources: open.flatMap((feed) => feed.sources),
    };
  const limited = feeds.filter((feed) => feed.kind === 'limited');
  if (limited.length > 0) {
    // What sources give by themselves comes on top of what the devices before the others pass.
    const amounts = [...limited, ...feeds.flatMap((feed) => (feed.kind === 'self-limited' ? (feed.most ?? []) : []))];
    if (amounts.length === 1) return limited[0]!;
    return {
      kind: 'limited',
      current: sumOf(
        'most that the devices before it pass',
        'I',
        'A',
        amounts.map(({ current }) => current),
      ),
      by: amounts.flatMap(({ by }) => by),
      isOutput: amounts.some(({ isOutput }) => isOutput === true),
    };
  }
  const limiting = feeds.filter((feed) => feed.kind === 'self-limited');
  const most = limiting.flatMap((feed) => feed.most ?? []);
  if (most.length === 0) return limiting[0] ?? NONE;
  const current =
    most.length === 1
      ? most[0]!.current
      : sumOf(
          'most that its sources give',
          'I',
          'A',
          most.map((each) => each.current),
        );
  return {
    kind: 'self-limited',
    most: { current, by: most.flatMap(({ by }) => by), isOutput: most.some(({ isOutput }) => isOutput === true) },
  };
}

/** How much a feed is, where it is known. */
function amountOf(feed: Feed): Amount | undefined {
  if (feed.kind === 'limited') return feed;
  return feed.kind === 'self-limited' ? feed.most : undefined;
}

/** The larger of two feeds that never come together, as on either side of transfer gear. */
function larger(left: Feed, right: Feed): Feed {
  const [of, other] = [amountOf(left), amountOf(right)];
  if (of && other) {
    const more = numberIn(of.current, 'A') >= numberIn(other.current, 'A') ? of : other;
    // Where devices hold one side, a device has to stand before what the other gives as well.
    return left.kind === 'self-limited' && right.kind === 'self-limited'
      ? { kind: 'self-limited', most: more }
      : { ...more, kind: 'limited' };
  }
  const rank = { none: 0, 'self-limited': 1, limited: 2, open: 3, unlimited: 4 } as const;
  return rank[left.kind] >= rank[right.kind] ? left : right;
}

/** The terminal nodes of the same thing that feed a node from inside: both supplies of transfer gear, the input of a pass-through inverter. */
function insideOf({ instance, terminal }: Node, context: DesignContext): Node[] {
  const passes = passingOf(instance);
  const names = passes?.to === terminal.name ? passes.from : [];
  return names.flatMap((name) => context.graph.nodes.get(`${instance.name}.${name}`) ?? []);
}

/** What comes over a segment. */
interface Coming {
  readonly segment: Segment;
  readonly feed: Feed;
}

const CORD_ENDS = query<DesignContext, ReadonlyMap<Segment, readonly Node[]>>(
  'ends of cords of which one is plugged in at a time',
);

/** Whether a segment is at a node the end of a cord whose inlet takes one at a time: what comes over such cords never comes together. */
const isCordEnd = (segment: Segment, node: Node, context: DesignContext): boolean =>
  context
    .kept(
      CORD_ENDS,
      context,
      () =>
        new Map(
          context.graph.inlets.flatMap(({ cords, interlock }) =>
            // Behind interlocked breakers the way ends where it meets the others, whichever way its run is written.
            cords.map(
              ({ segment: each }) => [each, interlock === undefined ? [each.to] : [each.from, each.to]] as const,
            ),
          ),
        ),
    )
    .get(segment)
    ?.includes(node) ?? false;

/** What meets at a node: its own source, what comes over its other segments, and what comes from inside. */
function meeting(node: Node, over: readonly Coming[], inside: readonly Feed[], context: DesignContext): Feed {
  const oneOf = over.filter(({ segment }) => isCordEnd(segment, node, context));
  const met = together([
    // What inverts gives by itself or passes a supply on.
    inside.reduce(larger, ownFeed(node, context)),
    ...over.filter((each) => !oneOf.includes(each)).map(({ feed }) => feed),
    oneOf.map(({ feed }) => feed).reduce(larger, NONE),
  ]);
  return isDevice(node.instance) ? through(node.instance, met, context) : met;
}

/** What comes over a run whose fuse or breaker nobody has found out yet: perhaps held by it, perhaps not. */
function overRun(run: Run, feed: Feed): Feed {
  const isUnknown = wordIn(run.properties, 'protection') === 'unknown';
  if (
    !isUnknown ||
    !needsDevice(feed) ||
    [run.from, ...run.through, ...run.to].some(({ instance }) => isDevice(instance))
  )
    return feed;
  const sources = feed.kind === 'unlimited' || feed.kind === 'open' ? feed.sources : [];
  return { kind: 'open', missing: [unknownProtection(run)], sources };
}

/** The fact that `protection: unknown` leaves open. */
export const unknownProtection = (run: Run): string => `fuse or breaker of ${run.name} (said to be unknown)`;

const otherEnd = ({ from, to }: Segment, node: Node): Node => (from === node ? to : from);

/** What is found out of a node while the wiring is followed: what it still waits for, and what has come so far. */
interface Asked {
  readonly node: Node;
  /** Over which segment it is asked, by which node; undefined from inside, and for the first. */
  readonly by: { readonly asked: Asked; readonly over: Segment | undefined } | undefined;
  readonly waits: { readonly node: Node; readonly over: Segment | undefined }[];
  readonly over: Coming[];
  readonly inside: Feed[];
}

/** Follows the wiring from a node, each node once; right for every wiring, but walks all of it. Wiring can be longer than a stack is deep. */
function feedOf(start: Node, without: Run, seen: Set<Node>, graph: Graph, context: DesignContext): Feed {
  const ask = (node: Node, by: Asked['by']): Asked => {
    seen.add(node);
    const over = graph
      .segmentsAt(node)
      .flatMap((segment) => (segment.run === without ? [] : [{ node: otherEnd(segment, node), over: segment }]));
    const inside = insideOf(node, context).map((each) => ({ node: each, over: undefined }));
    return { node, by, waits: [...over, ...inside].reverse(), over: [], inside: [] };
  };
  const open = [ask(start, undefined)];
  for (;;) {
    const asked = open.at(-1)!;
    const next = asked.waits.pop();
    if (next) {
      if (!seen.has(next.node)) open.push(ask(next.node, { asked, over: next.over }));
      continue;
    }
    const feed = meeting(asked.node, asked.over, asked.inside, context);
    open.pop();
    if (!asked.by) return feed;
    const { asked: asking, over } = asked.by;
    if (over) asking.over.push({ segment: over, feed: overRun(over.run, feed) });
    else asking.inside.push(feed);
  }
}

/** What leaves a node over a segment. */
interface Leaving {
  readonly node: Node;
  readonly over: Segment;
}

/** What comes to a node, as far as anybody has asked: nearly everybody asks about all segments but one. */
interface Comings {
  /** Segments that were left out whenever somebody asked, each with its place among those of the node. */
  left: readonly { readonly at: number; readonly segment: Segment }[];
  /** All other segments over which something comes, in order. */
  readonly bringing: (Coming & { readonly at: number })[];
  /** What meets at the node when so many of them count. */
  met?: { readonly of: number; readonly feed: Feed };
}

/** What comes over each segment in each direction, for a wiring without loops, where it does not depend on who asks. */
class Feeds {
  private readonly over = new Map<Segment, Map<Node, Feed>>();
  private readonly comings = new Map<Node, Comings>();

  constructor(private readonly context: DesignContext) {}

  /** What comes to `node` over the segments that `counts`, and from inside. */
  at(node: Node, counts: (segment: Segment) => boolean): Feed {
    // What a feed rests on is made before it, for wiring can be longer than a stack is deep.
    const open = this.lacking(node, counts);
    for (let next = open.at(-1); next; next = open.at(-1)) {
      const { node: from, over } = next;
      const before = this.isMade(next) ? [] : this.lacking(from, (each) => each !== over);
      if (before.length > 0) open.push(...before);
      else {
        this.from(next);
        open.pop();
      }
    }
    return this.meetingAt(node, counts);
  }

  private isMade({ node, over }: Leaving): boolean {
    return this.over.get(over)?.has(node) === true;
  }

  /** What has to be made before what comes to a node is known. */
  private lacking(node: Node, counts: (segment: Segment) => boolean): Leaving[] {
    const { watch, graph } = this.context;
    const segments = watch ? graph.segmentsAt(node) : this.comingsAt(node).left.map(({ segment }) => segment);
    return [
      ...segments
        .filter(counts)
        .map((segment): Leaving => ({ node: otherEnd(segment, node), over: segment }))
        .filter((each) => !this.isMade(each)),
      ...insideOf(node, this.context).flatMap((each) => this.lacking(each, () => true)),
    ];
  }

  private meetingAt(node: Node, counts: (segment: Segment) => boolean): Feed {
    const { watch, graph } = this.context;
    const coming = (segment: Segment): Coming => ({
      segment,
      feed: overRun(segment.run, this.from({ node: otherEnd(segment, node), over: segment })),
    });
    const inside = insideOf(node, this.context).map((each) => this.meetingAt(each, () => true));
    // Where values are going to change, each is asked for anew, so that what rests on it is noted.
    if (watch) return meeting(node, graph.segmentsAt(node).filter(counts).map(coming), inside, this.context);
    const comings = this.comingsAt(node);
    const { bringing } = comings;
    const asked = comings.left.filter(({ segment }) => counts(segment));
    for (const { at, segment } of asked) {
      const come = coming(segment);
      if (come.feed.kind === 'none') continue;
      const after = bringing.findIndex((each) => each.at > at);
      bringing.splice(after < 0 ? bringing.length : after, 0, { ...come, at });
    }
    if (asked.length > 0) comings.left = comings.left.filter(({ segment }) => !counts(segment));
    const counting = bringing.filter(({ segment }) => counts(segment));
    if (counting.length < bringing.length) return meeting(node, counting, inside, this.context);
    if (comings.met?.of !== bringing.length)
      comings.met = { of: bringing.length, feed: meeting(node, bringing, inside, this.context) };
    return comings.met.feed;
  }

  private comingsAt(node: Node): Comings {
    return madeOnce(this.comings, node, () => ({
      left: this.context.graph.segmentsAt(node).map((segment, at) => ({ at, segment })),
      bringing: [],
    }));
  }

  /** What leaves a node over a segment. */
  private from({ node, over }: Leaving): Feed {
    const ends = madeOnce(this.over, over, () => new Map<Node, Feed>());
    return madeOnce(ends, node, () => this.meetingAt(node, (each) => each !== over), this.context.watch);
  }
}

/** The feeds of a design, worked out once; undefined where its wiring has loops. */
const FEEDS = query<DesignContext, Feeds | undefined>('feeds of a design without loops');

function feedsWithoutLoops(context: DesignContext): Feeds | undefined {
  return context.kept(FEEDS, context, () => (hasLoops(context) ? undefined : new Feeds(context)));
}

/** Whether any two nodes are joined in two ways, the ways through transfer gear and inverters included. */
function hasLoops(context: DesignContext): boolean {
  const { graph } = context;
  const joins = [
    ...graph.segments.map(({ from, to }) => [from, to] as const),
    ...[...graph.nodes.values()].flatMap((node) => insideOf(node, context).map((each) => [node, each] as const)),
  ];
  const parent = new Map<Node, Node>();
  const root = (node: Node): Node => {
    let at = node;
    for (let next = parent.get(at); next; next = parent.get(at)) {
      const beyond = parent.get(next);
      if (beyond) parent.set(at, beyond);
      at = next;
    }
    return at;
  };
  for (const [left, right] of joins) {
    const [one, other] = [root(left), root(right)];
    if (one === other) return true;
    parent.set(one, other);
  }
  return false;
}

const FEEDS_INTO: Readonly<Record<End, Query<Run, Feed>>> = {
  near: query('what can be driven into the near end of a run'),
  far: query('what can be driven into the far end of a run'),
};

/** What can be driven into a run at one end, in any source state; worked out once. */
export function feedInto(run: Run, end: End, context: DesignContext): Feed {
  return context.kept(FEEDS_INTO[end], run, () => findFeed(run, end, context));
}

function findFeed(run: Run, end: End, context: DesignContext): Feed {
  const nodes = (end === 'near' ? [run.from] : run.to).map((stop) => context.graph.nodeOf(stop));
  const graph = context.graph.around(run);
  // What other cords bring to its inlet is not there while this one is plugged in.
  const feeds = graph === context.graph ? feedsWithoutLoops(context) : undefined;
  if (feeds) return together(nodes.map((node) => feeds.at(node, (segment) => segment.run !== run)));
  const seen = new Set<Node>();
  return together(nodes.flatMap((node) => (seen.has(node) ? [] : [feedOf(node, run, seen, graph, context)])));
}

/** Whether what comes in at an end must meet a device: a bank, or a supply behind devices that may be too large. */
export const needsDevice = (feed: Feed): boolean =>
  feed.kind === 'limited' || feed.kind === 'unlimited' || feed.kind === 'open';

/** A device in a run with how far it stands from one of its ends. */
export interface PlacedDevice {
  readonly stop: Stop;
  /** Known, or the facts it lacks. */
  readonly distance: { readonly known: Derivation } | { readonly missing: readonly string[] };
}

const AT_THE_END = derive('distance of the device from the end', 0, 'm');
/** Alternating-current circuits start at their device in a panel, where the design does not place it elsewhere. */
const IN_THE_PANEL = derive('distance of the device from the end', 0, 'm', {
  fact: 'distance',
  origin: 'default',
  notes: ['not stated: circuits of alternating current start at their device in a panel'],
});

/** The first device that a current meets in a run from one of its ends. A device at one of several far ends protects none of the others. */
export function firstDevice(run: Run, end: End, context: DesignContext): PlacedDevice | undefined {
  const far = run.to.length === 1 ? run.to : [];
  const inOrder = [run.from, ...run.through, ...far];
  if (end === 'far') inOrder.reverse();
  const index = inOrder.findIndex(({ instance }) => isDevice(instance));
  const stop = inOrder[index];
  if (!stop) return undefined;
  if (index === 0) return { stop, distance: { known: AT_THE_END } };
  const length = context.fact(run, 'length');
  const isFar = far.includes(stop);
  if (
    run.carries === 'ac' &&
    !isFar &&
    !stop.distance &&
    !needsDevice(feedInto(run, end === 'near' ? 'far' : 'near', context))
  )
    return { stop, distance: { known: IN_THE_PANEL } };
  const fromStart = stop === run.from ? AT_THE_END : stop.distance;
  const lacking = missing(
    ...(!isFar && !fromStart
      ? [`distance of ${stop.instance.name} in ${run.name} (\`${stop.instance.name} @ 150 mm\`)`]
      : []),
    ...((isFar || end === 'far') && length.kind !== 'known' ? [`length of ${run.name}`] : []),
  );
  if (lacking.kind === 'missing' && lacking.missing.length > 0) return { stop, distance: { missing: lacking.missing } };
  if (end === 'near') {
    const distance = isFar && length.kind === 'known' ? length.derivation : fromStart;
    return distance && { stop, distance: { known: distance } };
  }
  if (length.kind !== 'known' || !fromStart) return undefined;
  const left = Math.max(0, numberIn(length.derivation, 'm') - numberIn(fromStart, 'm'));
  const distance = derive(`distance of ${stop.instance.name} from the far end of ${run.name}`, left, 'm', {
    formula: 'L − distance',
    inputs: [length.derivation, fromStart],
  });
  return { stop, distance: { known: distance } };
}

/** The devices that must suit the conductors of a run: the first one from each end at which it is fed, else the smallest in it. */
export function judgedDevices(run: Run, context: DesignContext): Instance[] {
  const ends = (['near', 'far'] as const).filter((end) => needsDevice(feedInto(run, end, context)));
  const first = ends.flatMap((end) => firstDevice(run, end, context)?.stop.instance ?? []);
  if (first.length > 0 && (context.system.basis.practice !== 'iec' || ends.length > 1)) return [...new Set(first)];
  // IEC 60364-4-43 433.2.2 lets the device against overload stand anywhere along the run.
  const all = [run.from, ...run.through, ...run.to].map(({ instance }) => instance).filter(isDevice);
  const rated = all.filter((device) => context.maybe(device, 'rating'));
  if (rated.length < all.length) return all;
  const rating = (device: Instance): number => numberIn(context.maybe(device, 'rating')!, 'A');
  return rated.length === 0 ? [] : [rated.reduce((so, next) => (rating(next) < rating(so) ? next : so))];
}

/** A feed that something can be said of: what it is. */
export type Fed = Extract<Feed, { kind: 'limited' | 'unlimited' | 'open' }>;

/** Who feeds, by name. */
export const sourcesText = (feed: Fed): string =>
  (feed.kind === 'limited' ? feed.by : feed.sources.map(({ name }) => name)).join(' and ');
