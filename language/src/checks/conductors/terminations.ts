import type { Derivation } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { kindOf } from '../../equipment/index.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { classOf } from './device-ratings.js';
import { wordIn } from '../../model/stated-facts.js';
import { isConnection } from '../../model/roles.js';

/** Terminals that hold conductors of a run: gear, banks and converters; not what is connected by a plug. */
export interface Termination {
  readonly run: Run;
  readonly stop: Stop;
  readonly instance: Instance;
}

/** Whether a thing can say how its conductors are fastened. */
const saysTerminals = ({ kind }: Instance): boolean =>
  kindOf(kind)?.properties.some(({ name }) => name === 'terminalKind') === true;

/** A cord with a plug ends in the plug, not on terminals. */
const isPlugged = ({ instance, terminal }: Stop): boolean =>
  isConnection(instance) || (instance.properties.has('plug') && (terminal === undefined || terminal.carries === 'ac'));

/** Whether a run ends on a side of a converter that its studs are not on: those of an inverter are for its bank cables. */
const isOtherSide = ({ instance, terminal }: Stop): boolean =>
  terminal?.carries === 'ac' && instance.terminals.some(({ carries }) => carries === 'dc');

/** Where a run is fastened, in order from its `from` end. */
export const terminationsOf = (run: Run): Termination[] =>
  [run.from, ...run.through, ...run.to].flatMap((stop) =>
    saysTerminals(stop.instance) && !isPlugged(stop) ? [{ run, stop, instance: stop.instance }] : [],
  );

/** Where lugs of a run may sit on studs. */
export const studsOf = (run: Run): Termination[] => terminationsOf(run).filter(({ stop }) => !isOtherSide(stop));

/** How conductors are fastened to a thing: its own statement, that of its class, or a stud where it states one. */
export function terminalKindOf(instance: Instance): string | undefined {
  const own = wordIn(instance.properties, 'terminalKind');
  if (own) return own;
  if (instance.properties.has('stud')) return 'stud';
  const part = classOf(instance);
  return part && wordIn(part.properties, 'terminalKind');
}

/** The stud that the lugs of a run on a thing are made for: what the thing says of them, else the run. */
export const lugHoleAt = ({ run, instance }: Termination, context: DesignContext): Derivation | undefined =>
  context.maybe(instance, 'lugHole') ?? context.maybe(run, 'lugHole');
