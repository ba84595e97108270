import type { GivenArgument } from '../../calculate/index.js';
import { type Derivation, deriveFact, numberIn } from '../../derivation/index.js';
import { partArgument } from '../../model/lower/property-facts.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';

/** The conductor or cord type of a run as an argument of the conductor functions; undefined when it states none. */
export function conductorType(run: Run): { type?: GivenArgument; cord?: GivenArgument } {
  const value = run.properties.get('type')?.value;
  if (value?.type !== 'part') return {};
  return value.part.kind === 'cord' ? { cord: partArgument(value.part) } : { type: partArgument(value.part) };
}

/** Conductors in parallel for each pole of a run. */
export const parallelOf = (run: Run, context: QuantityContext): number => {
  const count = context.maybe(run, 'parallel');
  return count ? numberIn(count, '') : 1;
};

/** Facts of `resistance` and `voltageDrop` that follow from the design: the type states metal and stranding where the run does not. */
export function conductorFacts(run: Run, context: QuantityContext): Record<string, GivenArgument> {
  const metal = context.maybe(run, 'metal');
  const { type, cord } = conductorType(run);
  const part = type ?? cord;
  return {
    ...(metal ? { metal } : {}),
    ...(part ? { type: part } : {}),
    basis: deriveFact('basis', context.system.basis.practice, { origin: 'stated' }),
  };
}

/**
 * What the conductors of a run lie in, as far as it is said: by `raceway`, by a cord or a cable that needs none, or by `metalRaceway`, of
 * which steel has the larger impedance; undefined where nothing says so.
 */
export function racewayOf(run: Run, context: QuantityContext): Derivation | undefined {
  const own = context.maybe(run, 'raceway');
  if (own) return own;
  const follows = (word: string, note: string): Derivation =>
    deriveFact('raceway', word, { origin: 'computed', notes: [note] });
  const isMetal = context.maybe(run, 'metalRaceway');
  if (isMetal?.value === true) return follows('steel', 'metal raceway; steel has the larger impedance');
  const value = run.properties.get('type')?.value;
  if (value?.type !== 'part') return undefined;
  if (value.part.kind === 'cord' || flagIn(value.part.properties, 'sheathed') === true)
    return follows('none', `${value.part.name} needs no raceway`);
  return undefined;
}
