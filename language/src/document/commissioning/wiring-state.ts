import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import {
  isBank,
  isDevice,
  isInverter,
  isSwitchgear,
  isTransferGear,
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

/** Runs whose end is left off at first: those at a bank or a source, which may be live whatever is opened, and those without gear. */
export const isPartedAtFirst = (run: Run): boolean =>
  gearOf(run).length === 0 || endsOf(run).some((each) => isBank(each) || sourceOf(each) !== undefined);

/** How far the system is put together while it is commissioned. */
export class WiringState {
  private readonly open: Set<Instance>;
  private readonly parted: Set<Run>;
  private readonly running = new Set<Instance>();
  private readonly charged = new Set<Instance>();

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
      default:
        break;
    }
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
    const queue = system.instances.filter(isBank).flatMap((bank) => graph.nodesOf(bank));
    const seen = new Set(queue.map(({ key }) => key));
    for (let node = queue.pop(); node; node = queue.pop()) {
      if (this.open.has(node.instance)) continue;
      for (const { run, from, to } of graph.segmentsAt(node)) {
        const other = from === node ? to : from;
        if (this.parted.has(run) || seen.has(other.key)) continue;
        seen.add(other.key);
        queue.push(other);
      }
    }
    return seen;
  }
}
