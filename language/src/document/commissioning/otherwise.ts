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
    `Touch nothing. Something still feeds it: look at ${named([...banks, ...sources]) || 'every source'} and at capacitors that hold a charge; open it, wait, and test all again.`,

  work: (run: Run): string => `Redo ${run.name} before anything is closed. ${WORK_CAUSES}`,

  bank: (bank: Instance): string =>
    `Reversed: never close; turn ${bank.name} round. Too low: charge it alone. Too high: let it rest, and look at its count of cells in series. None: its own protection has opened.`,

  banks: (bank: Instance, others: readonly Instance[]): string =>
    `Do not join them: the higher drives a large current into the lower. Charge the lower of ${named([bank, ...others])} alone until they agree.`,

  behind: (run: Run): string =>
    `None: look at ${joinsOf(run)}. Less than before it: a bad joint. Reversed: open ${openerOf(run)} at once and land ${run.name} again.`,

  directSide: (run: Run, inverter: Instance): string =>
    `None: look at ${joinsOf(run)}. It falls again: ${inverter.name} was not precharged; open ${openerOf(run)} and start again. Reversed: open at once; ${inverter.name} may be damaged.`,

  link: (from: Instance, to: Instance): string =>
    `Do not go on: what follows rests on these limits. Silent: look at pairs, terminators, rate and address, then at the cable. Other limits than those of ${from.name}: protocol or kind of bank set at ${to.name}.`,

  set: 'A value that is not kept: restart the device and set it again; do not go on before it holds. A device that has no power yet is set as soon as it has, before it charges or feeds anything.',

  inverter: (inverter: Instance, runs: readonly Run[]): string =>
    `None: look at its own switch and display, then at ${runs.length > 0 ? runs.map(joinsOf).join('; ') : 'its direct-current side'}. Other voltage or frequency: switch ${inverter.name} off and set its output before any load is joined.`,

  load: (run: Run, loads: readonly Instance[]): string =>
    `None: look at ${joinsOf(run)} and at the switch of ${named(loads)}. More: open ${openerOf(run)}; ${named(loads)} is larger than stated or has a fault. Measure its insulation before you close again.`,

  sourceVoltage(source: Instance, runs: readonly Run[]): string {
    const command = toStop(source, runs);
    if (isArray(source))
      return `Do not join it. Reversed: turn the string round. Too high: too many in series, or a colder day than stated. Too low: a covered, reversed or missing module. ${capital(command)}.`;
    if (isService(source))
      return `Do not join it: ${command}. None or reversed: another outlet, or its supplier. Off for long: its supplier fixes that, not the settings here.`;
    if (isStarted(source))
      return `Do not join it: ${command}. Frequency off: its governor. Voltage off: its regulator. None: its own breaker or its excitation.`;
    return `Do not join it: ${command}. Look at its own fuse, its switch and its polarity.`;
  },

  sourceCurrent(source: Instance, runs: readonly Run[], chargers: readonly Instance[]): string {
    const fed = chargers.length > 0 ? `the current limit of ${named(chargers)}` : 'what it feeds';
    const what = isArray(source) ? 'little sun' : 'a bank that is nearly full';
    return `More: ${toStop(source, runs)}; look at ${fed}, then at loads that are on. Less is no fault with ${what}; none: look at ${runs.map(joinsOf).join('; ')}.`;
  },

  bond: (bonds: readonly string[]): string =>
    `Stop, and correct the bonding before anybody uses it. None: the bond ${bonds.some((bond) => bond) ? `at ${bonds.filter((bond) => bond).join(' or ')} ` : ''}is missing or not closed. More than one: a bond screw or strap left in a panel or machine that must float.`,

  residual: (device: Instance): string =>
    `Leave ${device.name} off: what it feeds is not protected. By its button alone: earth conductor or tester. Not at all: replace it. At once after closing: neutral and earth of its circuit are joined.`,

  transfer: (gear: Instance): string =>
    `Both at once, or none: open both supplies of ${gear.name} and lock them; its interlock or its wiring is wrong. Do not use it before that is fixed.`,

  rule: (control: string, target: Instance): string =>
    `Nothing happens: look at the setting in ${control}, the signal it watches, and the wire of the command to ${target.name}. The wrong way round: the contact. Then force it again.`,

  joint: 'Shut down, redo the joint with its torque, and look again after an hour.',
} as const;

const capital = (text: string): string => `${text[0]!.toUpperCase()}${text.slice(1)}`;
