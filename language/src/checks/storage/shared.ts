import { type Source, numberIn } from '../../derivation/index.js';
import { watchedBy } from '../../control/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { type Chemistry, chemistry } from '../../reference/energy/chemistries.js';
import type { Fix } from '../define.js';
import { propose, setProperties } from '../fixes.js';
import { isBank } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { isStringLoad, shareWith, stringLoad, stringRating } from './string-load.js';

export const PRACTICE: Source = { standard: 'common practice, no source', provenance: 'common practice, no source' };

export const banksOf = (context: DesignContext): Instance[] => context.system.instances.filter(isBank);

/** The banks of a design by bus: those that are joined stand together, in the order of the design. */
export function busesOf(context: DesignContext): (readonly Instance[])[] {
  const all = banksOf(context);
  const seen = new Set<Instance>();
  return all.flatMap((bank) => {
    if (seen.has(bank)) return [];
    const joined = new Set(banksAt(bank, context));
    const bus = all.filter((each) => each === bank || joined.has(each));
    for (const each of bus) seen.add(each);
    return [bus];
  });
}

/** The usual figures of a bank's chemistry, when it is stated. */
export function chemistryOf(bank: Instance, context: DesignContext): Chemistry | undefined {
  const name = context.maybe(bank, 'chemistry')?.value;
  return typeof name === 'string' ? chemistry(name) : undefined;
}

/** Whether a rule switches a thing off by what the bank shows. */
export const isSwitchedOffBy = (thing: Instance, bank: Instance, context: DesignContext): boolean =>
  context.system.controls.some(
    ({ target, rules }) =>
      target === thing &&
      rules.some(
        (rule) =>
          rule.verb === 'off' &&
          watchedBy(rule).some(({ terms }) => terms.some(({ signal }) => signal.kind === 'of' && signal.of === bank)),
      ),
  );

export const namesOf = (things: readonly { readonly name: string }[]): string =>
  things.length < 2
    ? things.map(({ name }) => name).join('')
    : `${things
        .slice(0, -1)
        .map(({ name }) => name)
        .join(', ')} and ${things.at(-1)!.name}`;

/**
 * The proposal of `times` as many strings for the only bank of a bus, with what goes with it: a take-off that shares evenly, and a fuse
 * for each string. None where maker or practice allow no so many.
 */
export function moreStrings(banks: readonly Instance[], times: number, context: DesignContext): Fix[] {
  const [bank] = banks as readonly [Instance, ...Instance[]];
  const now = context.maybe(bank, 'parallel');
  const most = context.maybe(bank, 'maximumParallel') ?? context.setting('mostStrings');
  if (banks.length !== 1 || !now || !most) return [];
  const count = Math.ceil(numberIn(now, '') * times - 1e-9);
  if (count > numberIn(most, '')) return [];
  return stringsFix(bank, count, `Put ${count} strings in parallel`, context);
}

/** The proposal of so many strings with what goes with them; none where a fact lacks without which their fuses could be too small. */
export function stringsFix(bank: Instance, count: number, title: string, context: DesignContext): Fix[] {
  const stated = context.maybe(bank, 'takeOff')?.value;
  const excess = context.setting('stringExcess');
  const isEven =
    typeof stated === 'string' && shareWith(bank, count, stated, context) <= 1 + (excess ? numberIn(excess, '') : 0);
  const takeOff = isEven ? undefined : 'busbar';
  const fuse = context.maybe(bank, 'stringFuse') ? undefined : fuseFor(bank, count, takeOff ?? String(stated), context);
  if (fuse === 'unknown') return [];
  const edits = setProperties(bank, {
    parallel: String(count),
    ...(takeOff ? { takeOff } : {}),
    ...(fuse ? { stringFuse: `${fuse} A` } : {}),
  });
  return [propose(`${title}${fuse ? `, each with a fuse of ${fuse} A` : ''}`, edits, true)];
}

/** The fuse for one of so many strings, A. */
function fuseFor(bank: Instance, strings: number, takeOff: string, context: DesignContext): number | 'unknown' {
  const load = stringLoad(bank, strings, takeOff, context);
  return (isStringLoad(load) ? stringRating(load, context) : undefined) ?? 'unknown';
}
