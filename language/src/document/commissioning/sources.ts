import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import {
  chargingOf,
  isAcSource,
  isArray,
  isBreaker,
  isDcSource,
  isStarted,
  isSwitch,
  sourceOf,
  takesOneCord,
} from '../../model/roles.js';
import { said } from '../cells.js';
import { supplySettings } from '../supply-settings.js';
import type { StepBook } from './book.js';
import { type LoadMeasures, loadsOf } from './loads.js';
import { OTHERWISE } from './otherwise.js';
import { endsOf, gearOf, runsAt } from './wiring-state.js';
import { ENDS, LIMITS, named, needsItsLoad, toStart, toStop } from './words.js';

/** The steps by which sources are tried and joined, one by one. */
export class SourceSteps {
  constructor(
    private readonly context: DesignContext,
    private readonly book: StepBook,
    private readonly loads: LoadMeasures,
  ) {}

  /** Every source in turn, those of direct current first. */
  add(): void {
    const phase = 'Sources, one by one';
    const { instances, runs } = this.context.system;
    const isSources = (run: Run): boolean => endsOf(run).some((each) => sourceOf(each));
    for (const run of runs) if (!isSources(run)) this.book.closeRun(phase, run);
    const all = instances.filter((each) => sourceOf(each));
    const inTurn = [...all.filter(isDcSource), ...all.filter(isAcSource)];
    for (const source of inTurn) if (this.book.barred.size === 0) this.source(phase, source, source === inTurn.at(-1));
  }

  private source(phase: string, source: Instance, isLast: boolean): void {
    const { book } = this;
    const runs = runsAt(source, this.context);
    if (runs.length === 0) {
      book.add(phase, `${source.name}: nothing is connected to it. It stays locked out, and is not tried.`);
      return;
    }
    const met = isAcSource(source) ? book.state.meeting(source, runs) : [];
    if (met.length > 0) {
      book.barred.add(source);
      book.add(
        phase,
        `Do not connect ${named(runs)}: ${source.name} would meet ${named(met)}, and nothing keeps them apart.`,
        {
          otherwise: ENDS,
          caution: 'Two sources that meet destroy each other, and one of them may kill who works on the other.',
        },
      );
      return;
    }
    for (const run of runs) this.unplugOthers(phase, run);
    if (needsItsLoad(source)) {
      book.add(
        phase,
        `${source.name}: leave it still. It is joined while it stands, and never turns with its conductors open.`,
        { caution: RACES },
      );
    } else if (runs.every(isOpenedByContacts)) this.tryAhead(phase, source, runs);
    else this.tryOpen(phase, source, runs);
    for (const { thing, setting } of supplySettings(this.context).filter((each) => each.supply === source))
      book.add(phase, `${thing.name}: set its input limit to ${said(setting)} before ${source.name} is connected.`);
    for (const run of runs) book.closeRun(phase, run);
    book.turnTowards(phase, this.context.graph.nodesOf(source));
    book.add(
      phase,
      `${source.name}: ${book.state.isRunning(source) ? '' : `${toStart(source, runs)} and `}let what it feeds draw ${isArray(source) ? '' : 'first half, then '}its full current.`,
      {
        actions: book.state.isRunning(source) ? [] : [{ do: 'start', source }],
        expects: runs.map((run) => ({
          what: `current of ${run.name}`,
          reading: { of: run, what: 'current' },
        })),
        otherwise: OTHERWISE.sourceCurrent(source, runs, this.chargersOf(source)),
        ...(needsItsLoad(source) ? { caution: RACES } : {}),
      },
    );
    for (const run of this.loads.waiting)
      book.add(phase, `${named(loadsOf(run))}: switch on what only ${source.name} feeds.`, this.loads.measured(run));
    const until = needsItsLoad(source) || isLast ? '' : ' before the next source is tried';
    book.add(phase, `${source.name}: ${toStop(source, runs)}${until}.`, { actions: [{ do: 'stop', source }] });
  }

  /** An inlet that takes one cord at a time: the cord of the source before is unplugged first. */
  private unplugOthers(phase: string, run: Run): void {
    const inlets = inletsOf(run);
    const cords = this.context.system.runs.filter((each) => endsOf(each).some((end) => sourceOf(end)));
    for (const other of cords) {
      const inlet = inletsOf(other).find((each) => inlets.includes(each));
      if (other !== run && inlet && this.book.state.isLanded(other))
        this.book.add(phase, `${other.name}: unplug it; ${inlet.name} accepts one cord at a time.`, {
          actions: [{ do: 'part', run: other }],
        });
    }
  }

  /** A source whose runs have contacts is joined up to them, and looked at ahead of them: what is behind stays dead until they close. */
  private tryAhead(phase: string, source: Instance, runs: readonly Run[]): void {
    for (const run of runs) this.book.landOnly(phase, run);
    const gear = named(runs.flatMap((run) => gearOf(run)));
    this.lookAt(phase, source, runs, `and read ahead of ${gear}, still open,`);
  }

  /** Any other is looked at alone before anything is joined to it. */
  private tryOpen(phase: string, source: Instance, runs: readonly Run[]): void {
    this.lookAt(phase, source, runs, 'with its conductors open, and read');
    this.book.add(phase, `${source.name}: ${toStop(source, runs)} again before its conductors are connected.`, {
      actions: [{ do: 'stop', source }],
    });
  }

  private lookAt(phase: string, source: Instance, runs: readonly Run[], how: string): void {
    this.book.add(
      phase,
      `${source.name}: ${this.isControlled(source) ? 'take its lock off, keep its automatic start off, ' : ''}${isStarted(source) ? 'check oil, fuel, exhaust and ventilation, then ' : ''}${toStart(source, runs)} ${how} its voltage and polarity${isAcSource(source) ? ', frequency and, of three phases, their order' : ''}.`,
      {
        actions: [{ do: 'start', source }],
        expects: [
          {
            what: 'voltage at its terminals',
            reading: { of: source, terminal: sourceOf(source)!.at, what: 'voltage' },
            limit: LIMITS.plate,
          },
        ],
        otherwise: OTHERWISE.sourceVoltage(source, runs),
        ...(isStarted(source)
          ? { caution: 'Carbon monoxide: outdoors, away from openings. Hot and moving parts.' }
          : {}),
      },
    );
  }

  /** Whether a rule starts it: its rules are set by now, and it must not start while it is worked on. */
  private isControlled(source: Instance): boolean {
    return isStarted(source) && this.context.system.controls.some(({ target }) => target === source);
  }

  /** What charges while a source runs: its limit is what holds the current. */
  private chargersOf(source: Instance): readonly Instance[] {
    const { graph, system } = this.context;
    const joined = graph.nodesOf(source).flatMap((node) => graph.joinedTo(node));
    return system.instances.filter((each) => joined.includes(each) && chargingOf(each) && !sourceOf(each));
  }
}

const RACES =
  'A turbine without load races and gives far more than its voltage; an alternator that loses its bank destroys itself.';

const inletsOf = ({ from, through, to }: Run): readonly Instance[] =>
  [from, ...through, ...to].map(({ instance }) => instance).filter(takesOneCord);

/** Whether everything that opens a run is contacts: a fuse is not put in while its source runs. */
const isOpenedByContacts = (run: Run): boolean => {
  const gear = gearOf(run);
  return gear.length > 0 && gear.every((each) => isBreaker(each) || isSwitch(each));
};
