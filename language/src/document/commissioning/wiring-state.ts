import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import {
  givesInverted,
  isBank,
  isDevice,
  isInverter,
  isSwitchgear,
  isTransferGear,
  passingOf,
  sourceOf,
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
    return this.reachedFrom(
      system.instances.filter(isBank).flatMap((bank) => graph.nodesOf(bank)),
      (run) => this.parted.has(run),
      (gear) => this.open.has(gear),
    );
  }

  /** What voltage reaches along runs and closed gear; transfer gear leads from its supplies to its outgoing side and never back. */
  private reachedFrom(
    nodes: readonly Node[],
    isParted: (run: Run) => boolean,
    isOpen: (gear: Instance) => boolean,
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
      if (passes?.from.includes(terminal.name))
        for (const out of graph.nodesOf(instance)) if (out.terminal.name === passes.to) reach(out);
    }
    return seen;
  }
}
