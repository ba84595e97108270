import type { Source } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { banksAt } from '../../quantities/bank.js';
import { type Chemistry, chemistry } from '../../reference/energy/chemistries.js';

export const PRACTICE: Source = { standard: 'common practice, no source', provenance: 'common practice, no source' };

export const banksOf = (context: DesignContext): Instance[] =>
  context.system.instances.filter(({ kind }) => kind === 'battery');

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

export const namesOf = (things: readonly { readonly name: string }[]): string =>
  things.length < 2
    ? things.map(({ name }) => name).join('')
    : `${things
        .slice(0, -1)
        .map(({ name }) => name)
        .join(', ')} and ${things.at(-1)!.name}`;
