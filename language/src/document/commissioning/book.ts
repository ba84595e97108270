import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance, Run } from '../../model/types.js';
import { isBank } from '../../model/roles.js';
import { OTHERWISE } from './otherwise.js';
import { type Action, type CommissioningStep, type Expectation, STOP } from './steps.js';
import { WiringState, gearOf, joinsUnlike } from './wiring-state.js';
import { ENDS, LIMITS, isPlugged, named } from './words.js';

type More = Partial<Omit<CommissioningStep, 'phase' | 'text'>>;

/** What is measured after a run was closed: asked for then, since it may be live by it. */
export interface Behind extends Pick<More, 'otherwise'> {
  readonly expects: readonly Expectation[];
  /** What is done besides, in words. */
  readonly doing?: string;
}

/** The steps so far, and how far the system is put together by them. */
export class StepBook {
  readonly state: WiringState;
  readonly steps: CommissioningStep[] = [];
  private readonly closed = new Set<Run>();
  /** What must not be connected before the design is changed: runs, and sources that would meet others. */
  readonly barred = new Set<Run | Instance>();

  constructor(private readonly context: DesignContext) {
    this.state = new WiringState(context);
  }

  add(phase: string, text: string, { actions = [], expects = [], otherwise = STOP, caution }: More = {}): void {
    for (const action of actions) this.state.take(action);
    this.steps.push({ phase, text, actions, expects, otherwise, ...(caution ? { caution } : {}) });
  }

  /** A run that no reading makes right stays apart. */
  private bar(phase: string, run: Run): void {
    this.barred.add(run);
    this.add(phase, `Do not connect ${run.name}: it joins direct and alternating current.`, {
      otherwise: ENDS,
      caution: 'Direct current on terminals of alternating current destroys what is behind them, and may burn.',
    });
  }

  /** Lands a run whose gear stays open. */
  landOnly(phase: string, run: Run): void {
    const actions = this.state.landing(run);
    if (actions.length > 0)
      this.steps.push({
        phase,
        text: `${run.name}: ${landText(run)}.`,
        actions,
        expects: [],
        otherwise: STOP,
        caution: FAR_SIDE,
      });
  }

  /** Closes a run once, stretch by stretch, with inverters precharged before, and banks compared that it joins. */
  closeRun(phase: string, run: Run, behind: () => Behind = () => ({ expects: [] })): void {
    if (this.closed.has(run) || this.barred.size > 0) return;
    this.closed.add(run);
    if (joinsUnlike(run, this.context)) return this.bar(phase, run);
    const banks = this.context.system.instances.filter(isBank);
    const before = new Map(banks.map((bank) => [bank, this.state.joinedBanks(bank)]));
    const actions = this.state.closing(run);
    const { expects, otherwise = STOP, doing: besides } = behind();
    if (actions.length === 0 && expects.length === 0) return;
    const joined = banks.flatMap((bank) => {
      const others = this.state.joinedBanks(bank).filter((each) => !before.get(bank)!.includes(each));
      return others.length > 0 ? [{ bank, others }] : [];
    });
    // One step for what is joined, told of the bank that the fewest were joined to.
    const [first] = joined.sort((a, b) => b.others.length - a.others.length);
    if (first)
      this.add(
        phase,
        `${run.name}: before it is closed, compare the voltage of ${first.bank.name} with that of ${named(first.others)}.`,
        {
          actions: [{ do: 'compare', banks: [first.bank, ...first.others] }],
          expects: [{ what: 'difference between the banks', limit: LIMITS.banks }],
          otherwise: OTHERWISE.banks(first.bank, first.others),
        },
      );
    const precharged = actions.flatMap((action) => (action.do === 'precharge' ? [action.inverter] : []));
    const isLanded = actions.some((action) => action.do === 'land');
    const gear = actions.flatMap((action) => (action.do === 'close' ? [action.gear] : []));
    const doing = [
      ...(precharged.length > 0
        ? [`precharge ${named(precharged)} through a resistor or its own circuit until its voltage has come up`]
        : []),
      ...(isLanded ? [landText(run)] : []),
      ...(gear.length > 0 ? [`put in or close ${named(gear)}`] : []),
      ...(besides ? [besides] : []),
    ];
    this.steps.push({
      phase,
      text: `${run.name}: ${doing.join('; then ') || 'joined already, without a device of its own; it came alive with what feeds it'}.`,
      actions,
      expects,
      otherwise,
      ...(isLanded || precharged.length > 0 ? { caution: FAR_SIDE } : {}),
    });
  }

  /** Sets transfer gear that these nodes reach to their supply, one after the other. */
  turnTowards(phase: string, nodes: readonly Node[]): void {
    const turned = new Set<Instance>();
    for (
      let found = this.state.turnedAway(nodes);
      found && !turned.has(found.gear);
      found = this.state.turnedAway(nodes)
    ) {
      const { gear, terminal } = found;
      turned.add(gear);
      const action: Action = { do: 'select', gear, terminal };
      this.add(phase, `${gear.name}: ${turnText(gear, terminal)}.`, { actions: [action] });
    }
  }
}

const FAR_SIDE = 'The far side may be live: check polarity at the open terminals first, cover what is not worked on.';

const landText = (run: Run): string =>
  `${isPlugged(run) ? 'plug it in or land' : 'land'} the end that was left off${gearOf(run).length > 0 ? ', all of its devices open' : ''}`;

/** How transfer gear comes to stand on a supply. */
export function turnText(gear: Instance, terminal: string): string {
  return wordIn(gear.properties, 'operation') === 'automatic'
    ? `see that it goes to ${terminal} by itself when that is live, or set it so`
    : `set it to ${terminal}`;
}
