import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import {
  chargingOf,
  givesInverted,
  isBank,
  isDevice,
  isInverter,
  isSwitchgear,
  isTransferGear,
  passingOf,
  sourceOf,
  takesArray,
  takesToCharge,
  takesToConvert,
  takesToInvert,
} from '../../model/roles.js';
import type { Action } from './steps.js';

/** Gear that a person can open, or whose fuse can be taken out. Transfer gear chooses and does not isolate. */
export const canOpen = (instance: Instance): boolean =>
  (isDevice(instance) || isSwitchgear(instance)) && !isTransferGear(instance);

const stopsOf = ({ from, through, to }: Run): readonly Instance[] =>
  [from, ...through, ...to].map(({ instance }) => instance);

/** Gear of a run, in order from its `from` end. */
export const gearOf = (run: Run): readonly Instance[] => stopsOf(run).filter(canOpen);

export const endsOf = ({ from, to }: Run): readonly Instance[] => [from, ...to].map(({ instance }) => instance);

/** The runs that end at a thing, at any of its terminals or at those asked for. */
/** Whether a run joins terminals of direct to those of alternating current: no reading makes that right. */
export function joinsUnlike({ from, to }: Run, { graph }: DesignContext): boolean {
  const kinds = new Set([from, ...to].map((stop) => graph.nodeOf(stop).terminal.carries));
  return kinds.has('ac') && kinds.has('dc');
}

export const runsAt = (
  instance: Instance,
  { system, graph }: DesignContext,
  isAt: (terminal: Instance['terminals'][number]) => boolean = () => true,
): Run[] =>
  system.runs.filter((run) =>
    [run.from, ...run.to].some((stop) => stop.instance === instance && isAt(graph.nodeOf(stop).terminal)),
  );

/**
 * Runs whose end is left off at first: those at a bank or a source, which may be live whatever is opened. Others without gear of their own
 * are joined while all is dead, and come alive with what feeds them: landed later, they would be landed on live terminals.
 */
export const isPartedAtFirst = (run: Run): boolean =>
  endsOf(run).some((each) => isBank(each) || sourceOf(each) !== undefined);

/** How far the system is put together while it is commissioned. */
export class WiringState {
  private readonly open: Set<Instance>;
  private readonly parted: Set<Run>;
  private readonly running = new Set<Instance>();
  private readonly charged = new Set<Instance>();
  private readonly on = new Set<Instance>();
  /** The supply on which transfer gear was set; at first the one that it names first. */
  private readonly selected = new Map<Instance, string>();

  constructor(private readonly context: DesignContext) {
    this.open = new Set(context.system.instances.filter(canOpen));
    this.parted = new Set(context.system.runs.filter(isPartedAtFirst));
  }

  /** What has to be done to close a run, in order, with inverters precharged before a bank reaches them. Empty where it is closed already. */
  closing(run: Run): Action[] {
    const actions: Action[] = [];
    const wanted: Action[] = [
      ...(this.parted.has(run) ? [{ do: 'land', run } as const] : []),
      ...gearOf(run)
        .filter((gear) => this.open.has(gear))
        .map((gear) => ({ do: 'close', gear }) as const),
    ];
    for (const action of wanted) {
      this.take(action);
      const reached = this.unchargedInverters();
      for (const inverter of reached) {
        this.charged.add(inverter);
        actions.push({ do: 'precharge', inverter });
      }
      actions.push(action);
    }
    return actions;
  }

  take(action: Action): void {
    switch (action.do) {
      case 'open':
        this.open.add(action.gear);
        break;
      case 'close':
        this.open.delete(action.gear);
        break;
      case 'part':
        this.parted.add(action.run);
        break;
      case 'land':
        this.parted.delete(action.run);
        break;
      case 'start':
        this.running.add(action.source);
        break;
      case 'stop':
        this.running.delete(action.source);
        break;
      case 'switchOn':
        this.on.add(action.inverter);
        break;
      case 'select':
        this.selected.set(action.gear, action.terminal);
        break;
      default:
        break;
    }
  }

  /** Whether a bank reaches the direct-current side of an inverter, so that it can be switched on. */
  isFed(inverter: Instance): boolean {
    const live = this.reachedFromBanks();
    return this.context.graph.nodesOf(inverter).some((node) => takesToInvert(node) && live.has(node.key));
  }

  /** Inverters whose output would meet a source at its own terminals once these runs of it were closed: nothing keeps the two apart. */
  meeting(source: Instance, runs: readonly Run[]): Instance[] {
    const { graph } = this.context;
    const closed = new Set(runs.flatMap(gearOf));
    const own = new Set(graph.nodesOf(source).map(({ key }) => key));
    return [...this.on].filter((inverter) => {
      const outputs = graph.nodesOf(inverter).filter(givesInverted);
      const reached = this.reachedFrom(
        outputs,
        (run) => this.parted.has(run) && !runs.includes(run),
        (gear) => this.open.has(gear) && !closed.has(gear),
      );
      return [...own].some((key) => reached.has(key));
    });
  }

  /** Inverters that a bank reaches at their direct side and that nobody has charged. */
  private unchargedInverters(): Instance[] {
    const live = this.reachedFromBanks();
    return this.context.system.instances.filter(
      (each) =>
        isInverter(each) &&
        !this.charged.has(each) &&
        this.context.graph.nodesOf(each).some((node) => takesToInvert(node) && live.has(node.key)),
    );
  }

  private reachedFromBanks(): ReadonlySet<string> {
    const { graph, system } = this.context;
    return this.reachedNow(system.instances.filter(isBank).flatMap((bank) => graph.nodesOf(bank)));
  }

  private reachedNow(
    nodes: readonly Node[],
    isPassing?: (gear: Instance, terminal: string) => boolean,
  ): ReadonlySet<string> {
    return this.reachedFrom(
      nodes,
      (run) => this.parted.has(run),
      (gear) => this.open.has(gear),
      isPassing,
    );
  }

  /** The banks that are joined to a bank by what is landed and closed, without itself. */
  joinedBanks(bank: Instance): readonly Instance[] {
    const { graph, system } = this.context;
    const reached = this.reachedNow(graph.nodesOf(bank));
    return system.instances.filter(
      (each) => isBank(each) && each !== bank && graph.nodesOf(each).some(({ key }) => reached.has(key)),
    );
  }

  /** What is live now: by banks, by sources that run, and by what converts their power. Transfer gear passes the supply that it is set to. */
  live(): ReadonlySet<string> {
    const { graph, system } = this.context;
    const seeds = new Map<string, Node>();
    for (const each of system.instances)
      if (isBank(each) || this.running.has(each)) for (const node of graph.nodesOf(each)) seeds.set(node.key, node);
    for (;;) {
      const reached = this.reachedNow([...seeds.values()], (gear, terminal) => this.selectedSide(gear) === terminal);
      const before = seeds.size;
      for (const each of system.instances)
        for (const node of this.convertedNodes(each, reached)) seeds.set(node.key, node);
      if (seeds.size === before) return reached;
    }
  }

  isLanded(run: Run): boolean {
    return !this.parted.has(run);
  }

  isRunning(source: Instance): boolean {
    return this.running.has(source);
  }

  /** What has to be done to land a run with all of its gear open. Empty where it is landed already. */
  landing(run: Run): Action[] {
    if (!this.parted.has(run)) return [];
    const action: Action = { do: 'land', run };
    this.take(action);
    return [action];
  }

  isLive(instance: Instance): boolean {
    const live = this.live();
    return this.context.graph.nodesOf(instance).some(({ key }) => live.has(key));
  }

  selectedSide(gear: Instance): string | undefined {
    return this.selected.get(gear) ?? passingOf(gear)?.from[0];
  }

  /** Transfer gear that one of these nodes reaches at a supply on which it is not set, with that supply. */
  turnedAway(nodes: readonly Node[]): { readonly gear: Instance; readonly terminal: string } | undefined {
    const reached = this.reachedNow(nodes, (gear, terminal) => this.selectedSide(gear) === terminal);
    for (const gear of this.context.system.instances.filter(isTransferGear)) {
      const fed = this.context.graph
        .nodesOf(gear)
        .filter(({ key, terminal }) => reached.has(key) && passingOf(gear)!.from.includes(terminal.name));
      if (fed.length > 0 && !fed.some(({ terminal }) => terminal.name === this.selectedSide(gear)))
        return { gear, terminal: fed[0]!.terminal.name };
    }
    return undefined;
  }

  /** Where something gives on what it takes from live nodes. */
  private convertedNodes(each: Instance, live: ReadonlySet<string>): readonly Node[] {
    const nodes = this.context.graph.nodesOf(each);
    const isLiveAt = (is: (node: Node) => boolean): boolean => nodes.some((node) => is(node) && live.has(node.key));
    const at = (name: string | undefined): readonly Node[] => nodes.filter(({ terminal }) => terminal.name === name);
    const passes = passingOf(each);
    return [
      ...(this.on.has(each) && isLiveAt(takesToInvert) ? nodes.filter(givesInverted) : []),
      ...(passes?.how === 'relay' && isLiveAt(({ terminal }) => passes.from.includes(terminal.name))
        ? at(passes.to)
        : []),
      ...(isLiveAt((node) => takesToCharge(node) || takesToConvert(node) || takesArray(node))
        ? at(chargingOf(each)?.at)
        : []),
    ];
  }

  /**
   * What voltage reaches along runs and closed gear; transfer gear leads from its supplies to its outgoing side and never back, and from
   * which of them is asked where that counts.
   */
  private reachedFrom(
    nodes: readonly Node[],
    isParted: (run: Run) => boolean,
    isOpen: (gear: Instance) => boolean,
    isPassing: (gear: Instance, terminal: string) => boolean = () => true,
  ): ReadonlySet<string> {
    const { graph } = this.context;
    const queue = [...nodes];
    const seen = new Set(queue.map(({ key }) => key));
    const reach = (other: Node): void => {
      if (seen.has(other.key)) return;
      seen.add(other.key);
      queue.push(other);
    };
    for (let node = queue.pop(); node; node = queue.pop()) {
      const { instance, terminal } = node;
      if (isOpen(instance)) continue;
      for (const { run, from, to } of graph.segmentsAt(node)) if (!isParted(run)) reach(from === node ? to : from);
      const passes = isTransferGear(instance) ? passingOf(instance) : undefined;
      if (passes?.from.includes(terminal.name) && isPassing(instance, terminal.name))
        for (const out of graph.nodesOf(instance)) if (out.terminal.name === passes.to) reach(out);
    }
    return seen;
  }
}
