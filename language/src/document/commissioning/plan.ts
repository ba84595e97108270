import type { DesignContext } from '../../model/context.js';
import type { Control, Instance, Link, Rule, Run } from '../../model/types.js';
import {
  alternatingOutputOf,
  chargesAt,
  chargingOf,
  isAcSource,
  isArray,
  isBank,
  isDcSource,
  isInverter,
  isLoad,
  isStarted,
  isTransferGear,
  passingOf,
  sourceOf,
  takesToInvert,
} from '../../model/roles.js';
import { neutralRegions } from '../../checks/conductors/neutral.js';
import { type Action, type CommissioningStep, type Expectation, EFFECT, STOP, stopsFirst } from './steps.js';
import { WiringState, canOpen, endsOf, isPartedAtFirst } from './wiring-state.js';

const LIMITS = {
  // IEC 60364-6:2016 table 6A, from memory.
  insulation: 'at least 1 MΩ; extra-low voltage at least 0.5 MΩ (IEC 60364-6, from memory)',
  torque: 'as the device or its sheet says',
  joint: 'no joint more than 10 K above a like joint (common practice, no source)',
} as const;

/** The safe order in which a design is brought into service, worked out of its wiring. */
export function commissioningSteps(context: DesignContext): readonly CommissioningStep[] {
  return new Commissioning(context).steps();
}

class Commissioning {
  private readonly state: WiringState;
  private readonly made: CommissioningStep[] = [];
  private readonly closed = new Set<Run>();

  constructor(private readonly context: DesignContext) {
    this.state = new WiringState(context);
  }

  steps(): readonly CommissioningStep[] {
    this.dead();
    this.banks();
    this.directSides();
    this.links();
    this.settings();
    this.inverters();
    this.loads();
    this.sources();
    this.bonds();
    this.rules();
    this.handOver();
    return this.made;
  }

  private add(phase: string, text: string, more: Partial<Omit<CommissioningStep, 'phase' | 'text'>> = {}): void {
    const { actions = [], expects = [], otherwise = STOP, caution } = more;
    for (const action of actions) this.state.take(action);
    this.made.push({ phase, text, actions, expects, otherwise, ...(caution ? { caution } : {}) });
  }

  private dead(): void {
    const { system } = this.context;
    const phase = 'Dead, everything open';
    const gear = system.instances.filter(canOpen);
    const parted = system.runs.filter(isPartedAtFirst);
    const sources = system.instances.filter((each) => sourceOf(each));
    this.add(
      phase,
      `Open and lock ${named(gear) || 'every device'}. Leave off, cover and tag the source ends of ${named(parted) || 'no run'}. Stop and lock out ${named(sources) || 'every source'}; cover modules.`,
      {
        actions: [
          ...gear.map((each): Action => ({ do: 'open', gear: each })),
          ...parted.map((run): Action => ({ do: 'part', run })),
          ...sources.map((source): Action => ({ do: 'stop', source })),
        ],
        caution:
          'Banks and modules in daylight cannot be switched off. A generator with remote start can start at any time until its control is locked out.',
      },
    );
    this.add(
      phase,
      'Prove the tester on a known source, test every pair of conductors and each to earth, both AC and DC, and prove the tester again.',
      {
        expects: [{ what: 'voltage anywhere', limit: 'none; the tester reads right before and after' }],
      },
    );
    this.add(
      phase,
      'For every run that follows: tools calibrated for torque, a low-resistance meter of at least 200 mA, insulation at 500 V (250 V for extra-low voltage) with electronics disconnected.',
    );
    for (const run of system.runs)
      this.add(
        phase,
        `${run.name}: compare with the wire schedule, tighten and mark its terminals, test polarity, continuity and insulation.`,
        {
          actions: [{ do: 'work', run }],
          expects: [
            { what: 'torque', reading: { of: run, what: 'torque' }, limit: LIMITS.torque },
            { what: 'resistance of one conductor', reading: { of: run, what: 'resistance' } },
            { what: 'insulation', limit: LIMITS.insulation },
          ],
          otherwise: 'Make the joint or the run anew before anything is closed.',
        },
      );
  }

  private banks(): void {
    const phase = 'Bank alone';
    for (const bank of this.context.system.instances.filter(isBank)) {
      this.add(
        phase,
        `${bank.name}: read voltage and polarity at its own terminals. Its units must agree before they are joined.`,
        {
          expects: [{ what: 'voltage of the bank', reading: { of: bank, what: 'voltage' } }],
          otherwise: 'Never close on a reversed bank. Charge or balance a bank that is off before it is joined.',
          caution:
            'Stored energy: insulated tools, eye protection, no metal on hands. A short at these terminals burns.',
        },
      );
      for (const run of this.runsAt(bank))
        this.closeRun(phase, run, [{ what: 'voltage behind it', reading: this.farReading(run, bank) }]);
    }
    // From bus to bus; what ends at a converter, a load or a source waits for its own step.
    for (const run of this.context.system.runs)
      if (run.carries === 'dc' && endsOf(run).every((each) => !this.isOwnStep(each))) this.closeRun(phase, run, []);
  }

  private links(): void {
    const phase = 'Links';
    for (const link of this.context.system.links)
      this.add(
        phase,
        `${link.name}: check pairs, terminators and addresses by the links sheet, connect it, and read what ${link.to.name} shows of ${link.from.name}.`,
        {
          actions: [{ do: 'connect', link }],
          expects: [
            {
              what: `limits of ${link.from.name} as ${link.to.name} shows them`,
              limit: 'those that its own display or sheet gives',
            },
          ],
          otherwise: 'Do not go on with a link that is silent: what follows rests on its limits.',
        },
      );
  }

  private settings(): void {
    const phase = 'Settings';
    const { instances, controls } = this.context.system;
    for (const each of instances.filter(
      (device) => (chargingOf(device)?.setPoints.length ?? 0) > 0 || isInverter(device),
    ))
      this.add(
        phase,
        `${each.name}: set every value by the settings sheet, from the highest to the lowest, and read each back.`,
        {
          otherwise:
            'A value that is not kept: restart the device and set it again; do not go on before it holds. A device that has no power yet is set as soon as it has, before it charges or feeds anything.',
        },
      );
    const enter = (control: Control, rules: readonly Rule[], without?: Link): void => {
      const actions = stopsFirst(rules).map((rule): Action => ({
        do: 'enter',
        control: control.name,
        rule,
        ...(without ? { without } : {}),
      }));
      if (actions.length > 0)
        this.add(
          phase,
          `${control.name}${without ? `, without ${without.name}` : ''}: enter the rules in this order: ${stopsFirst(
            rules,
          )
            .map(({ text }) => text)
            .join('; ')}.`,
          { actions },
        );
    };
    for (const control of controls) {
      enter(control, control.rules);
      for (const { link, rules } of control.fallbacks) enter(control, rules, link);
    }
  }

  /** What a bank feeds or is charged by, joined to it, so that it wakes and can be set: nothing charges yet and no output is on. */
  private directSides(): void {
    const phase = 'Direct-current sides, outputs off';
    const { instances } = this.context.system;
    for (const inverter of instances.filter(isInverter))
      for (const run of this.runsAt(inverter, (terminal) => takesToInvert({ instance: inverter, terminal })))
        this.closeRun(phase, run, [
          {
            what: 'direct voltage at the inverter',
            reading: { of: inverter, terminal: this.directTerminal(inverter), what: 'voltage' },
          },
        ]);
    // A charger or controller takes its voltage from the bank: that side first, before its source.
    for (const charger of instances.filter((each) => chargingOf(each) && !sourceOf(each) && !isInverter(each)))
      for (const run of this.runsAt(charger, (terminal) => chargesAt({ instance: charger, terminal })))
        if (!endsOf(run).some(isLoad)) this.closeRun(phase, run, []);
  }

  private inverters(): void {
    const phase = 'Inverters, without load';
    for (const inverter of this.context.system.instances.filter(isInverter)) {
      const output = alternatingOutputOf(inverter);
      if (!this.state.isFed(inverter)) {
        this.add(
          phase,
          `${inverter.name}: no bank reaches its direct-current side. It cannot be switched on by this design.`,
        );
        continue;
      }
      this.add(phase, `${inverter.name}: switch on with its output open; read voltage and frequency at its output.`, {
        actions: [{ do: 'switchOn', inverter }],
        expects: output
          ? [{ what: 'voltage at its output', reading: { of: inverter, terminal: output, what: 'voltage' } }]
          : [],
      });
      for (const run of this.runsAt(inverter, ({ name }) => name === output))
        if (!this.leadsToLoad(run)) this.closeRun(phase, run, []);
    }
  }

  private loads(): void {
    const phase = 'Loads, one by one';
    const { runs } = this.context.system;
    for (const run of runs)
      if (!this.leadsToLoad(run) && endsOf(run).every((each) => !this.isOwnStep(each))) this.closeRun(phase, run, []);
    for (const run of runs)
      if (this.leadsToLoad(run))
        this.closeRun(phase, run, [{ what: 'current with the load on', reading: { of: run, what: 'current' } }]);
  }

  private sources(): void {
    const phase = 'Sources, one by one';
    const { instances, runs } = this.context.system;
    const isSources = (run: Run): boolean => endsOf(run).some((each) => sourceOf(each));
    for (const run of runs) if (!isSources(run)) this.closeRun(phase, run, []);
    const all = instances.filter((each) => sourceOf(each));
    for (const source of [...all.filter(isDcSource), ...all.filter(isAcSource)]) {
      const at = sourceOf(source)!.at;
      const runs = this.runsAt(source);
      const met = isAcSource(source) ? this.state.meeting(source, runs) : [];
      if (met.length > 0) {
        this.add(
          phase,
          `Do not join ${named(runs)}: ${source.name} would meet ${named(met)}, and nothing keeps them apart.`,
          {
            otherwise: 'Commissioning ends here until the design is changed.',
            caution: 'Two sources that meet destroy each other, and one of them may kill who works on the other.',
          },
        );
        continue;
      }
      this.add(
        phase,
        `${source.name}: ${isStarted(source) ? 'check oil, fuel, exhaust and ventilation, then ' : ''}${TO_START(source)} with its conductors open, and read its voltage and polarity${isAcSource(source) ? ', frequency and phase order' : ''}.`,
        {
          actions: [{ do: 'start', source }],
          expects: [{ what: 'voltage at its terminals', reading: { of: source, terminal: at, what: 'voltage' } }],
          ...(isStarted(source)
            ? { caution: 'Carbon monoxide: outdoors, away from openings. Hot and moving parts.' }
            : {}),
        },
      );
      this.add(phase, `${source.name}: ${TO_STOP(source)} again before its conductors are joined.`, {
        actions: [{ do: 'stop', source }],
      });
      for (const run of runs) this.closeRun(phase, run, []);
      this.add(
        phase,
        `${source.name}: ${TO_START(source)} and let what it feeds come to its full current, first at half.`,
        {
          actions: [{ do: 'start', source }],
          expects: runs.map((run) => ({
            what: `current of ${run.name}`,
            reading: { of: run, what: 'current' },
          })),
        },
      );
      this.add(phase, `${source.name}: ${TO_STOP(source)} before the next source is tried.`, {
        actions: [{ do: 'stop', source }],
      });
    }
  }

  private bonds(): void {
    const phase = 'Transfer and bonds';
    for (const { state, circuit } of this.context.circuitStates) {
      const regions = neutralRegions(circuit, this.context);
      if (regions.length === 0) continue;
      const bonds = regions.map((region) => named(region.bonds) || 'none stated');
      this.add(phase, `In the state "${state.title}": measure neutral to earth, and find the bond in force.`, {
        expects: [{ what: 'neutral bonded to earth at', limit: bonds.join('; ') }],
        otherwise: 'More or fewer than one bond in a region: stop, and correct the bonding before anybody uses it.',
        caution: 'Backfeed: a generator or inverter must never meet a dead supply.',
      });
    }
    for (const gear of this.context.system.instances.filter(
      (each) => isTransferGear(each) || passingOf(each)?.how === 'relay',
    ))
      this.add(phase, `${gear.name}: transfer each way with and without load; try to join both supplies.`, {
        expects: [{ what: 'both supplies at once', limit: 'cannot be joined' }],
      });
  }

  private rules(): void {
    const phase = 'Thresholds and fallbacks, each once';
    const force = (control: Control, rules: readonly Rule[], without?: Link): void => {
      for (const rule of inUse(control, rules))
        this.add(
          phase,
          `${control.name}${without ? `, without ${without.name}` : ''}: bring about "${rule.text}" by shifting the setting or the load, and put it back.`,
          {
            actions: [{ do: 'force', control: control.name, rule, ...(without ? { without } : {}) }],
            expects: [{ what: control.target.name, limit: EFFECT[rule.verb] }],
            otherwise: 'Check the setting, the signal and the wire of the command, then force it again.',
          },
        );
    };
    const started = this.context.system.instances.filter(
      (each) => isStarted(each) && this.context.system.controls.some(({ target }) => target === each),
    );
    if (started.length > 0)
      this.add(phase, `Take off the locks of ${named(started)}: from now on it starts by itself.`, {
        caution: 'Hot and moving parts that start without warning. Carbon monoxide.',
      });
    for (const control of this.context.system.controls) {
      force(control, control.rules);
      for (const { link, rules } of control.fallbacks) {
        this.add(phase, `Disconnect ${link.name} and wait until it counts as lost.`, {
          actions: [{ do: 'disconnect', link }],
        });
        force(control, rules, link);
        this.add(phase, `Connect ${link.name} again.`, { actions: [{ do: 'connect', link }] });
      }
    }
  }

  private handOver(): void {
    const phase = 'Under load, and hand-over';
    this.add(phase, 'After an hour at the largest load: look at every joint with a thermal camera or thermometer.', {
      expects: [{ what: 'joints', limit: LIMITS.joint }],
      otherwise: 'Shut down, redo the joint, and look again.',
    });
    this.add(
      phase,
      'Fix labels and diagrams, hand over the owner’s pages, and show start, shutdown and emergency.',
      {},
    );
  }

  /** Closes a run once, stretch by stretch, with inverters precharged before. */
  private closeRun(
    phase: string,
    run: Run,
    expects: readonly (Expectation | { readonly what: string; readonly reading: undefined })[],
  ): void {
    if (this.closed.has(run)) return;
    this.closed.add(run);
    const actions = this.state.closing(run);
    if (actions.length === 0 && expects.length === 0) return;
    const precharged = actions.flatMap((action) => (action.do === 'precharge' ? [action.inverter] : []));
    const landed = actions.some((action) => action.do === 'land');
    const gear = actions.flatMap((action) => (action.do === 'close' ? [action.gear] : []));
    const doing = [
      ...(precharged.length > 0
        ? [`precharge ${named(precharged)} through a resistor or its own circuit until its voltage has come up`]
        : []),
      ...(landed ? [`land the end that was left off, all of its devices open`] : []),
      ...(gear.length > 0 ? [`put in or close ${named(gear)}`] : []),
    ];
    this.made.push({
      phase,
      text: `${run.name}: ${doing.join('; then ') || 'joined already, without a device of its own; it came alive with what feeds it'}.`,
      actions,
      expects: expects.filter((each): each is Expectation => !('reading' in each) || each.reading !== undefined),
      otherwise: STOP,
      ...(landed || precharged.length > 0
        ? {
            caution:
              'The far side may be live: check polarity at the open terminals first, cover what is not worked on.',
          }
        : {}),
    });
  }

  private runsAt(instance: Instance, isAt: (terminal: Instance['terminals'][number]) => boolean = () => true): Run[] {
    return this.context.system.runs.filter((run) =>
      [run.from, ...run.to].some(
        (stop) => stop.instance === instance && isAt(this.context.graph.nodeOf(stop).terminal),
      ),
    );
  }

  private farReading(run: Run, near: Instance): Expectation['reading'] {
    const far = [run.from, ...run.to].find(({ instance }) => instance !== near && !canOpen(instance));
    return far && run.carries === 'dc'
      ? { of: far.instance, terminal: this.context.graph.nodeOf(far).terminal.name, what: 'voltage' }
      : undefined;
  }

  private directTerminal(inverter: Instance): string {
    return inverter.terminals.find((terminal) => takesToInvert({ instance: inverter, terminal }))!.name;
  }

  /** Things whose runs are closed in a step that is about them. */
  private isOwnStep(each: Instance): boolean {
    return (
      isLoad(each) || isBank(each) || isInverter(each) || sourceOf(each) !== undefined || chargingOf(each) !== undefined
    );
  }

  private leadsToLoad(run: Run): boolean {
    return endsOf(run).some(isLoad);
  }
}

const TO_START = (source: Instance): string =>
  isStarted(source) ? 'start it' : isArray(source) ? 'uncover it' : 'switch it on';
const TO_STOP = (source: Instance): string =>
  isStarted(source) ? 'stop it' : isArray(source) ? 'cover it' : 'switch it off';

/** What is started is started first and stopped then; what is switched off to spare the bank is switched off first. */
const inUse = ({ target }: Control, rules: readonly Rule[]): readonly Rule[] =>
  isStarted(target) ? [...stopsFirst(rules)].reverse() : stopsFirst(rules);

const named = (things: readonly { readonly name: string }[]): string => things.map(({ name }) => name).join(', ');
