import type { Instance, Run } from '../../model/types.js';
import { isArray, isService, isStarted } from '../../model/roles.js';
import { gearOf } from './wiring-state.js';
import { named, toStop } from './words.js';

/** What opens a run, in words; a run without a device of its own is opened where it is fed. */
const openerOf = (run: Run): string => {
  const gear = gearOf(run);
  return gear.length > 0 ? named(gear) : `what feeds ${run.name}`;
};

const joinsOf = (run: Run): string => {
  const gear = gearOf(run);
  return `${gear.length > 0 ? `${named(gear)}, then ` : ''}the joints of ${run.name}`;
};

/** Where to look if a run is off that was tested dead: the same for all of them. */
export const WORK_CAUSES =
  'Resistance too high: a joint, or a smaller or longer conductor than scheduled; too low: another conductor than scheduled. Insulation too low: water, a crushed cable, or electronics still connected.';

/**
 * What to do, and where to look, if a measured value is outside its limits: worked out of the wiring. The causes are those that a
 * practitioner looks for first (common practice, no source).
 */
export const OTHERWISE = {
  dead: (banks: readonly Instance[], sources: readonly Instance[]): string =>
    `Touch nothing. Something still feeds it: check ${named([...banks, ...sources]) || 'every source'} and capacitors that hold a charge; open it, wait, and test all again.`,

  work: (run: Run): string => `Redo ${run.name} before anything is closed. ${WORK_CAUSES}`,

  bank: (hasProtection: boolean): string =>
    `Reversed: never close; swap its connections. Too low: charge it alone. Too high: let it rest, and check its number of cells in series. None: ${hasProtection ? 'its BMS has disconnected' : 'a joint between its units is open'}.`,

  banks: (bank: Instance, others: readonly Instance[]): string =>
    `Do not connect them: the higher drives a large current into the lower. Charge the lower of ${named([bank, ...others])} alone until they agree.`,

  behind: (run: Run): string =>
    `None: check ${joinsOf(run)}. Less than before it: a bad joint. Reversed: open ${openerOf(run)} at once and reconnect ${run.name} the right way round.`,

  directSide: (run: Run, inverter: Instance): string =>
    `None: check ${joinsOf(run)}. It falls again: ${inverter.name} was not precharged; open ${openerOf(run)} and start this step again. Reversed: open at once; ${inverter.name} may be damaged.`,

  link: (from: Instance, to: Instance): string =>
    `Do not go on: the next steps rely on these limits. Silent: check pairs, terminators, rate and address, then the cable. Other limits than those of ${from.name}: protocol or kind of bank set at ${to.name}.`,

  set: 'A value that is not kept: restart the device and set it again; do not go on until it keeps it. A device that has no power yet is set as soon as it has, before it charges or feeds anything.',

  inverter: (inverter: Instance, runs: readonly Run[]): string =>
    `None: check its own switch and display, then ${runs.length > 0 ? runs.map(joinsOf).join('; ') : 'its direct-current side'}. Other voltage or frequency: switch ${inverter.name} off and set its output before any load is connected.`,

  load: (run: Run, loads: readonly Instance[]): string =>
    `None: check ${joinsOf(run)} and the switch of ${named(loads)}. More: open ${openerOf(run)}; ${named(loads)} is larger than stated or has a fault. Measure its insulation before you close again.`,

  sourceVoltage(source: Instance, runs: readonly Run[]): string {
    const command = toStop(source, runs);
    if (isArray(source))
      return `Do not connect it: ${command}. Reversed: swap its two conductors. Too high: too many in series, or a colder day than stated. Too low: a covered, reversed or missing module.`;
    if (isService(source))
      return `Do not connect it: ${command}. None or reversed: use another outlet where there is one, else call its supplier. Out of range for long: call its supplier; no setting here corrects it.`;
    if (isStarted(source))
      return `Do not connect it: ${command}. Wrong frequency: check its governor. Wrong voltage: its regulator. None: its own breaker or its excitation.`;
    return `Do not connect it: ${command}. Check its own fuse, its switch and its polarity.`;
  },

  sourceCurrent(source: Instance, runs: readonly Run[], chargers: readonly Instance[]): string {
    const fed = chargers.length > 0 ? `the current limit of ${named(chargers)}` : 'what it feeds';
    const what = isArray(source) ? 'little sun' : 'a bank that is nearly full';
    return `More: ${toStop(source, runs)}; check ${fed}, then the loads that are on. Less is normal with ${what}; none: check ${runs.map(joinsOf).join('; ')}.`;
  },

  bond: (bonds: readonly string[]): string =>
    `Stop, and correct the bonding before anybody uses it. None: the bond ${bonds.some((bond) => bond) ? `at ${bonds.filter((bond) => bond).join(' or ')} ` : ''}is missing or has not closed. More than one: a bond screw or strap left in a panel or machine that must float.`,

  residual: (device: Instance): string =>
    `Leave ${device.name} off: what it feeds is not protected. Trips by its button only: check the earth conductor and the tester. Does not trip at all: replace it. Trips as soon as it is closed: neutral and earth of its circuit are connected somewhere.`,

  transfer: (gear: Instance): string =>
    `Both at once, or none: open both supplies of ${gear.name} and lock them; its interlock or its wiring is wrong. Do not use it before that is fixed.`,

  rule: (control: string, target: Instance): string =>
    `Nothing happens: check the setting in ${control}, the signal it watches, and the wire of the command to ${target.name}. It does the opposite: the contact is wired the wrong way round. Then repeat the step.`,

  joint: 'Shut down, redo the joint with its torque, and look again after an hour.',
} as const;
