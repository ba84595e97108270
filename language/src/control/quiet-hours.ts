import type { Instance } from '../model/types.js';
import { type ControlState, PHASE } from './automaton.js';
import type { Span } from './cells.js';
import { DAY } from './clock.js';
import { type Space, WHOLE } from './space.js';

/** Longest dwell of the rules in force, s. */
const longestDwell = (space: Space): number =>
  Math.max(0, ...[...space.sets.values()].flatMap((set) => set.rules.map(({ dwell }) => dwell)));

/** A generator at rest: once with all dwells to come, and once kept at rest until they are over, as they are after a long time. */
function atRest(space: Space): ControlState[] {
  const long = space.rest();
  space.machine.hold(long, space.target.index, longestDwell(space) + 1);
  return [space.rest(), long];
}

/** Whether something comes to hold of the machine within some seconds while a world stays as it is. */
function happens(
  space: Space,
  from: ControlState,
  world: number,
  moment: number,
  until: (state: ControlState) => boolean,
  horizon: number,
): boolean {
  const state = from.slice();
  const { machine } = space;
  let inputs = space.inputs(world, moment);
  let seconds = 0;
  machine.settle(state, inputs);
  while (!until(state)) {
    const passing = machine.nextTimer(state, inputs);
    seconds += passing;
    if (!(seconds <= horizon)) return false;
    machine.step(state, inputs, passing);
    const time = inputs.timeOfDay + passing;
    inputs = { ...inputs, timeOfDay: time % DAY, day: inputs.day + Math.floor(time / DAY) };
  }
  return true;
}

const socIs =
  (bank: Instance, value: number) =>
  (other: Instance): Span =>
    other === bank ? { low: value, high: value } : WHOLE;

/** The limits on the charge of a bank, without its ends. */
const limitsOf = (space: Space, bank: Instance): number[] =>
  space.variables
    .filter(({ signal }) => signal?.kind === 'of' && signal.signal === 'soc' && signal.of === bank)
    .flatMap((variable) => variable.limits)
    .filter((limit) => limit > 0 && limit < 1);

/** The charge is looked at in steps of one percent, and between limits. */
const STEPS = 100;

/** Quiet hours are looked at for this long at a time: dwells of a minute or an hour may pass, the hours themselves do not. */
const WITHIN_QUIET = 3600;

/**
 * The lowest charge of a bank at which a generator may still be off when quiet hours begin, if nothing starts it within them before the
 * bank is empty; undefined when something does, or when it would not start outside of them either.
 */
export function quietFrom(space: Space, bank: Instance, within: number, outside: number): number | undefined {
  const { machine, target } = space;
  const runs = (state: ControlState): boolean => machine.phase(state, target.index) !== PHASE.off;
  const limits = limitsOf(space, bank);
  const steps = Array.from({ length: STEPS + 1 }, (_, step) => step / STEPS);
  const edges = [...new Set([...steps, ...limits])].sort((a, b) => a - b);
  const rests = atRest(space);
  const horizon = WITHIN_QUIET + longestDwell(space) + 1;
  const starts = (low: number, high: number, moment: number): boolean =>
    space
      .within(socIs(bank, (low + high) / 2), 'unloaded', 'absent', 'draining')
      .every((world) => rests.every((state) => happens(space, state, world, moment, runs, horizon)));
  for (let index = 0; index + 1 < edges.length; index += 1) {
    const [low, high] = [edges[index]!, edges[index + 1]!];
    if (starts(low, high, within)) return undefined;
    if (!starts(low, high, outside)) return index === 0 ? undefined : low;
  }
  return undefined;
}
