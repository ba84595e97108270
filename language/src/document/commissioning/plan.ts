import type { DesignContext } from '../../model/context.js';
import { isProtected } from '../../quantities/storage/bank.js';
import type { Node } from '../../model/graph.js';
import type { SourceState } from '../../model/network.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Control, Instance, Link, Rule, Run } from '../../model/types.js';
import {
  alternatingOutputOf,
  chargesAt,
  chargingOf,
  givesInverted,
  isArray,
  isBank,
  isInverter,
  isLoad,
  isRegulating,
  isStarted,
  isTransferGear,
  passingOf,
  residualOf,
  sourceOf,
  takesToInvert,
} from '../../model/roles.js';
import { neutralRegions } from '../../checks/conductors/neutral.js';
import { said } from '../cells.js';
import { StepBook } from './book.js';
import { LoadMeasures, leadsToLoad, loadsOf } from './loads.js';
import { OTHERWISE } from './otherwise.js';
import { type Action, type CommissioningStep, type Expectation, EFFECT, stopsFirst } from './steps.js';
import { SourceSteps } from './sources.js';
import { canOpen, endsOf, gearOf, isPartedAtFirst, runsAt } from './wiring-state.js';
import { LIMITS, RESIDUAL_LIMITS, named } from './words.js';

/** The safe order in which a design is brought into service, worked out of its wiring. */
export function commissioningSteps(context: DesignContext): readonly CommissioningStep[] {
  return new Commissioning(context).steps();
}

class Commissioning {
  private readonly book: StepBook;
  private readonly loads: LoadMeasures;

  constructor(private readonly context: DesignContext) {
    this.book = new StepBook(context);
    this.loads = new LoadMeasures(context.system.runs, this.book);
  }

  steps(): readonly CommissioningStep[] {
    for (const phase of [
      () => this.dead(),
      () => this.banks(),
      () => this.directSides(),
      () => this.links(),
      () => this.settings(),
      () => this.inverters(),
      () => this.loadsOneByOne(),
      () => new SourceSteps(this.context, this.book, this.loads).add(),
      () => this.bonds(),
      () => this.rules(),
      () => this.handOver(),
    ])
      if (this.book.barred.size === 0) phase();
    if (this.book.barred.size > 0) this.standStill();
    return this.book.steps;
  }

  private dead(): void {
    const { system } = this.context;
    const phase = 'Dead, everything open';
    const gear = system.instances.filter(canOpen);
    const parted = system.runs.filter(isPartedAtFirst);
    const sources = system.instances.filter((each) => sourceOf(each));
    const covered = sources.filter(isArray);
    const turned = system.instances.filter(isTransferGear);
    this.book.add(
      phase,
      `Stop and lock out ${named(sources.filter((each) => !isArray(each))) || 'whatever else may feed it'}${covered.length > 0 ? `; cover ${named(covered)}` : ''}. Open and lock ${named(gear) || 'every device'}. Leave off or unplugged, cover and tag the source ends of ${named(parted) || 'no run'}.${turned.map((each) => ` Set ${each.name} to ${passingOf(each)!.from[0]!}.`).join('')}`,
      {
        actions: [
          ...sources.map((source): Action => ({ do: 'stop', source })),
          ...gear.map((each): Action => ({ do: 'open', gear: each })),
          ...parted.map((run): Action => ({ do: 'part', run })),
          ...turned.map((each): Action => ({ do: 'select', gear: each, terminal: passingOf(each)!.from[0]! })),
        ],
        caution:
          'Banks and modules in daylight cannot be switched off. A generator with remote start can start at any time until its control is locked out.',
      },
    );
    this.book.add(
      phase,
      'Prove the tester on a known source, test every pair of conductors and each to earth, both AC and DC, and prove the tester again.',
      {
        expects: [{ what: 'voltage anywhere', limit: 'none; the tester reads right before and after' }],
        otherwise: OTHERWISE.dead(system.instances.filter(isBank), sources),
      },
    );
    this.book.add(
      phase,
      'For every run that follows: tools calibrated for torque, a low-resistance meter of at least 200 mA, insulation at 500 V (250 V for extra-low voltage) with electronics disconnected.',
    );
    for (const run of system.runs)
      this.book.add(
        phase,
        `${run.name}: compare with the wire schedule, tighten and mark its terminals, test polarity, continuity and insulation.`,
        {
          actions: [{ do: 'work', run }],
          expects: [
            { what: 'torque', reading: { of: run, what: 'torque' }, limit: LIMITS.torque },
            { what: 'resistance of one conductor', reading: { of: run, what: 'resistance' } },
            { what: 'insulation', limit: LIMITS.insulation },
          ],
          otherwise: OTHERWISE.work(run),
        },
      );
  }

  private banks(): void {
    const phase = 'Bank alone';
    for (const bank of this.context.system.instances.filter(isBank)) {
      this.book.add(
        phase,
        `${bank.name}: read voltage and polarity at its own terminals. Its units must agree before they are connected.`,
        {
          expects: [{ what: 'voltage of the bank', reading: { of: bank, what: 'voltage' } }],
          otherwise: OTHERWISE.bank(isProtected(bank, this.context)),
          caution:
            'Stored energy: insulated tools, eye protection, no metal on hands. A short at these terminals burns.',
        },
      );
      for (const run of runsAt(bank, this.context))
        this.book.closeRun(phase, run, () => {
          const reading = this.farReading(run, bank);
          return {
            expects:
              reading && this.book.state.isLive(reading.of as Instance) ? [{ what: 'voltage behind it', reading }] : [],
            otherwise: OTHERWISE.behind(run),
          };
        });
    }
    // From bus to bus; what ends at a converter, a load or a source waits for its own step.
    for (const run of this.context.system.runs)
      if (run.carries === 'dc' && endsOf(run).every((each) => !isOwnStep(each))) this.book.closeRun(phase, run);
  }

  private links(): void {
    const phase = 'Links';
    for (const link of this.context.system.links)
      this.book.add(
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
          otherwise: OTHERWISE.link(link.from, link.to),
        },
      );
  }

  private settings(): void {
    const phase = 'Settings';
    const { instances, controls } = this.context.system;
    for (const each of instances.filter((device) => isInverter(device) || this.isSet(device)))
      this.book.add(
        phase,
        `${each.name}: set every value by the settings sheet, from the highest to the lowest, and read each back.`,
        { otherwise: OTHERWISE.set },
      );
    const enter = (control: Control, rules: readonly Rule[], without?: Link): void => {
      const actions = stopsFirst(rules).map((rule): Action => ({
        do: 'enter',
        control: control.name,
        rule,
        ...(without ? { without } : {}),
      }));
      if (actions.length > 0)
        this.book.add(
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

  /** Whether it has set points to be set; a source that states none of them, such as a socket, has nothing to set. */
  private isSet(device: Instance): boolean {
    const points = chargingOf(device)?.setPoints ?? [];
    return points.length > 0 && (!sourceOf(device) || isRegulating(device));
  }

  /** What a bank feeds or is charged by, joined to it, so that it wakes and can be set: nothing charges yet and no output is on. */
  private directSides(): void {
    const phase = 'Direct-current sides, outputs off';
    const { instances } = this.context.system;
    for (const inverter of instances.filter(isInverter))
      for (const run of this.directRuns(inverter))
        this.book.closeRun(phase, run, () => ({
          expects: this.book.state.isFed(inverter)
            ? [
                {
                  what: 'direct voltage at the inverter',
                  reading: { of: inverter, terminal: this.directTerminal(inverter), what: 'voltage' },
                },
              ]
            : [],
          otherwise: OTHERWISE.directSide(run, inverter),
        }));
    // A charger or controller takes its voltage from the bank: that side first, before its source.
    for (const charger of instances.filter((each) => chargingOf(each) && !sourceOf(each) && !isInverter(each)))
      for (const run of runsAt(charger, this.context, (terminal) => chargesAt({ instance: charger, terminal })))
        if (!endsOf(run).some(isLoad)) this.book.closeRun(phase, run);
  }

  private inverters(): void {
    const phase = 'Inverters, without load';
    for (const inverter of this.context.system.instances.filter(isInverter)) {
      const output = alternatingOutputOf(inverter);
      if (!this.book.state.isFed(inverter)) {
        this.book.add(
          phase,
          `${inverter.name}: no bank reaches its direct-current side. It cannot be switched on by this design.`,
        );
        continue;
      }
      const runs = runsAt(inverter, this.context, ({ name }) => name === output);
      const how = runs.every((run) => gearOf(run).length > 0) ? 'its output open' : 'all that it feeds switched off';
      this.book.add(phase, `${inverter.name}: switch on with ${how}; read voltage and frequency at its output.`, {
        actions: [{ do: 'switchOn', inverter }],
        expects: output
          ? [{ what: 'voltage at its output', reading: { of: inverter, terminal: output, what: 'voltage' } }]
          : [],
        otherwise: OTHERWISE.inverter(inverter, this.directRuns(inverter)),
      });
      for (const run of runs) if (!leadsToLoad(run)) this.book.closeRun(phase, run);
    }
    // Before anybody touches a load: without its bond no device opens on a fault to earth.
    for (const state of this.bondStates()) if (isBankAlone(state)) this.bond(phase, state);
  }

  private loadsOneByOne(): void {
    const phase = 'Loads, one by one';
    const { runs, instances } = this.context.system;
    for (const run of runs)
      if (!leadsToLoad(run) && endsOf(run).every((each) => !isOwnStep(each))) this.book.closeRun(phase, run);
    for (const inverter of instances.filter(isInverter))
      if (this.book.state.isFed(inverter)) this.book.turnTowards(phase, this.outputNodes(inverter));
    for (const run of runs)
      if (leadsToLoad(run))
        this.book.closeRun(phase, run, () =>
          this.loads.isLive(run)
            ? { ...this.loads.measured(run), doing: `switch on ${named(loadsOf(run))}` }
            : { expects: [], doing: `leave ${named(loadsOf(run))} off until its source is there` },
        );
  }

  /** Source states in which a neutral is bonded, each once by what alternating current feeds: direct current moves no bond. */
  private bondStates(): readonly BondState[] {
    const { circuitStates } = this.context;
    const states = circuitStates.flatMap(({ state, circuit }): BondState[] => {
      const bonds = neutralRegions(circuit, this.context).map((region) => named(region.bonds));
      return bonds.length > 0 ? [{ state, bonds }] : [];
    });
    const key = ({ state, bonds }: BondState): string =>
      JSON.stringify([named(state.acSources), state.plugged.map(({ run }) => run.name), bonds]);
    return states.filter((each, index) => states.findIndex((other) => key(other) === key(each)) === index);
  }

  private bond(phase: string, { state, bonds }: BondState): void {
    this.book.add(
      phase,
      `Set up the state "${state.title}", measure neutral to earth, and find which bond is closed.`,
      {
        expects: [
          {
            what: 'neutral bonded to earth at',
            limit: bonds.map((bond) => bond || 'one place, which the design does not state').join('; '),
          },
        ],
        otherwise: OTHERWISE.bond(bonds),
        caution: 'Backfeed: a generator or inverter must never meet a dead supply.',
      },
    );
  }

  private bonds(): void {
    const phase = 'Transfer and bonds';
    const { instances, basis } = this.context.system;
    for (const state of this.bondStates()) if (!isBankAlone(state)) this.bond(phase, state);
    for (const device of instances.filter(opensOnResidual))
      this.book.add(
        phase,
        `${device.name}: with its circuit live, press its test button, then test it with a tester.`,
        {
          expects: [{ what: 'trip on residual current', limit: RESIDUAL_LIMITS[basis.practice]! }],
          otherwise: OTHERWISE.residual(device),
        },
      );
    for (const gear of instances.filter((each) => isTransferGear(each) || passingOf(each)?.how === 'relay'))
      this.book.add(phase, `${gear.name}: transfer each way with and without load; try to join both supplies.`, {
        expects: [{ what: 'both supplies at once', limit: 'cannot be joined' }],
        otherwise: OTHERWISE.transfer(gear),
      });
  }

  private rules(): void {
    const phase = 'Thresholds and fallbacks, each once';
    const { controls, instances } = this.context.system;
    const force = (control: Control, rules: readonly Rule[], without?: Link): void => {
      for (const rule of inUse(control, rules))
        this.book.add(
          phase,
          `${control.name}${without ? `, without ${without.name}` : ''}: make "${rule.text}" come true by moving the setting or changing the load, then set it back.`,
          {
            actions: [{ do: 'force', control: control.name, rule, ...(without ? { without } : {}) }],
            expects: [{ what: control.target.name, limit: EFFECT[rule.verb] }],
            otherwise: OTHERWISE.rule(control.name, control.target),
          },
        );
    };
    const started = instances.filter((each) => isStarted(each) && controls.some(({ target }) => target === each));
    if (started.length > 0)
      this.book.add(phase, `Switch on the automatic start of ${named(started)}: from now on it starts by itself.`, {
        caution: 'Hot and moving parts that start without warning. Carbon monoxide.',
      });
    for (const control of controls) {
      force(control, control.rules);
      for (const { link, rules } of control.fallbacks) {
        const timeOut = this.context.maybe(link, 'timeOut');
        this.book.add(
          phase,
          `Disconnect ${link.name} and wait until it counts as lost${timeOut ? ` (${said(timeOut)})` : ''}.`,
          { actions: [{ do: 'disconnect', link }] },
        );
        force(control, rules, link);
        this.book.add(phase, `Connect ${link.name} again.`, { actions: [{ do: 'connect', link }] });
      }
    }
  }

  /** What must not be connected keeps the rest from being handed over. */
  private standStill(): void {
    const barred = named([...this.book.barred]);
    this.book.add(
      'Not handed over',
      `Stop every source, switch off the inverters, open and lock what was closed, and tag it: ${barred} must not be connected as the design has it. Have the design changed, and begin with its new sheet at step 1.`,
    );
  }

  private handOver(): void {
    const phase = 'Under load, and hand-over';
    const { instances } = this.context.system;
    this.book.add(
      phase,
      'After an hour at the largest load: look at every joint with a thermal camera or thermometer.',
      {
        expects: [{ what: 'joints', limit: LIMITS.joint }],
        otherwise: OTHERWISE.joint,
      },
    );
    const turned = instances
      .filter(isTransferGear)
      .map((each) => ({ gear: each, terminal: passingOf(each)!.from[0]! }));
    const sources = instances.filter((each) => sourceOf(each));
    this.book.add(
      phase,
      `Take off all locks and tags. ${turned.map(({ gear, terminal }) => `Set ${gear.name} to ${terminal}. `).join('')}${sources.length > 0 ? `Leave ${named(sources)} as the owner’s pages say.` : ''}`.trim(),
      { actions: turned.map(({ gear, terminal }): Action => ({ do: 'select', gear, terminal })) },
    );
    this.book.add(
      phase,
      'Fix labels and diagrams, hand over the owner’s pages, and show start, shutdown and emergency.',
    );
  }

  private directRuns(inverter: Instance): Run[] {
    return runsAt(inverter, this.context, (terminal) => takesToInvert({ instance: inverter, terminal }));
  }

  private outputNodes(inverter: Instance): readonly Node[] {
    return this.context.graph.nodesOf(inverter).filter(givesInverted);
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
}

interface BondState {
  readonly state: SourceState;
  /** Where neutral is bonded to earth, a text for each region; empty where nothing is said to bond it. */
  readonly bonds: readonly string[];
}

const isBankAlone = ({ state }: BondState): boolean => state.acSources.length === 0;

/** Things whose runs are closed in a step that is about them. */
const isOwnStep = (each: Instance): boolean =>
  isLoad(each) || isBank(each) || isInverter(each) || sourceOf(each) !== undefined || chargingOf(each) !== undefined;

/** Whether it says itself that it opens on residual current. */
const opensOnResidual = (each: Instance): boolean => {
  const says = residualOf(each)?.says;
  return says !== undefined && flagIn(each.properties, says) === true;
};

/** What is started is started first and stopped then; what is switched off to spare the bank is switched off first. */
const inUse = ({ target }: Control, rules: readonly Rule[]): readonly Rule[] =>
  isStarted(target) ? [...stopsFirst(rules)].reverse() : stopsFirst(rules);
