import type { Control, Instance, Link, Run, Scenario, Stop, System } from '../model/types.js';
import { type Renamed, sameProperty } from './meaning.js';

/** Anything of a design that has a name. */
export type Named = Instance | Run | Link | Control | Scenario;

export const namedThings = (system: System): readonly Named[] => [
  ...system.instances,
  ...system.runs,
  ...system.links,
  ...system.controls,
  ...system.scenarios,
];

/** Which thing of a design is which after a change. */
export interface Identity {
  /** The name after the change of a thing of the side before; names of nothing stay. */
  readonly renamed: Renamed;
  /** Things that are on both sides. */
  readonly pairs: readonly (readonly [before: Named, after: Named])[];
  readonly added: readonly Named[];
  readonly removed: readonly Named[];
}

/** Share of the properties that must be equal for two things of different names to be one. */
const ALIKE = 0.8;

/**
 * Matches the things of two states of a design: by name, then what is left by what it is and what it is connected to. A wrong guess is
 * worse than two lines, so that one that has two candidates stays one gone and one new. `stated` are renames that somebody has said.
 */
export function identityOf(before: System, after: System, stated: ReadonlyMap<string, string> = new Map()): Identity {
  const old = new Map(namedThings(before).map((thing) => [thing.name, thing]));
  const now = new Map(namedThings(after).map((thing) => [thing.name, thing]));
  const names = new Map<string, string>();
  for (const [from, to] of stated) if (old.has(from) && now.has(to) && !now.has(from)) names.set(from, to);
  const taken = new Set(names.values());
  for (const name of old.keys()) if (!names.has(name) && now.has(name) && !taken.has(name)) names.set(name, name);
  const renamed: Renamed = (name) => names.get(name) ?? name;
  // What one rename tells may decide another: a run is known by its ends.
  for (let isFound = true; isFound;) {
    isFound = false;
    const gone = [...old.values()].filter(({ name }) => !names.has(name));
    const matched = new Set(names.values());
    const fresh = [...now.values()].filter(({ name }) => !matched.has(name));
    const candidates = gone.flatMap((one) =>
      fresh.filter((other) => isAlike(one, other, before, after, names)).map((other) => [one, other] as const),
    );
    for (const [one, other] of candidates) {
      const isOnly = candidates.every(([a, b]) => (a === one) === (b === other));
      if (!isOnly) continue;
      names.set(one.name, other.name);
      isFound = true;
    }
  }
  const pairs = [...old.values()].flatMap((one) => {
    const name = names.get(one.name);
    const other = name === undefined ? undefined : now.get(name);
    return other ? [[one, other] as const] : [];
  });
  const matched = new Set(pairs.map(([, other]) => other));
  return {
    renamed,
    pairs,
    added: [...now.values()].filter((thing) => !matched.has(thing)),
    removed: [...old.values()].filter(({ name }) => !names.has(name)),
  };
}

function isAlike(one: Named, other: Named, before: System, after: System, names: ReadonlyMap<string, string>): boolean {
  if (one.kind !== other.kind) return false;
  const renamed: Renamed = (name) => names.get(name) ?? name;
  // A thing that is itself unmatched may stand at an end: it is left out on both sides.
  const matched = new Set(names.values());
  const ends = (thing: Named, system: System, name: Renamed, isKnown: (of: string) => boolean): string =>
    neighbours(thing, system)
      .filter((each) => isKnown(each))
      .map(name)
      .sort()
      .join(' ');
  const around = ends(one, before, renamed, (name) => names.has(name));
  if (
    around !==
    ends(
      other,
      after,
      (name) => name,
      (name) => matched.has(name),
    )
  )
    return false;
  const [partBefore, partAfter] = [partOf(one), partOf(other)];
  if (partBefore !== partAfter) return false;
  const share = likeness(one, other, renamed);
  // Without anything around it, only a thing that is the same in all is taken for the same.
  return share >= (around === '' ? 1 : ALIKE);
}

const partOf = (thing: Named): string | undefined => ('part' in thing ? thing.part?.name : undefined);

/** Share of the properties of either that both have with the same meaning. */
function likeness(one: Named, other: Named, renamed: Renamed): number {
  const stated = ({ properties }: Named): string[] =>
    [...properties.values()].filter(({ origin }) => origin !== 'default').map(({ name }) => name);
  const all = new Set([...stated(one), ...stated(other)]);
  if (all.size === 0) return 1;
  const same = [...all].filter((name) => {
    const [left, right] = [one.properties.get(name), other.properties.get(name)];
    return left && right && sameProperty(left, right, renamed);
  });
  return same.length / all.size;
}

const stopsOf = ({ from, through, to }: Run): readonly Stop[] => [from, ...through, ...to];

/** Names of what a thing is connected to: the ends and gear of a run, what the runs of a thing lead to, the thing a control is of. */
function neighbours(thing: Named, system: System): readonly string[] {
  switch (thing.kind) {
    case 'run':
      return stopsOf(thing).map(({ instance }) => instance.name);
    case 'link':
      return [thing.from.name, thing.to.name];
    case 'control':
      return [thing.target.name];
    case 'scenario':
      return [];
    default: {
      const runs = system.runs.filter((run) => stopsOf(run).some(({ instance }) => instance === thing));
      const across = runs.flatMap((run) => stopsOf(run).map(({ instance }) => instance.name));
      const links = system.links
        .filter(({ from, to }) => from === thing || to === thing)
        .flatMap(({ from, to }) => [from.name, to.name]);
      const controls = system.controls.filter(({ target }) => target === thing).map(({ name }) => name);
      return [...new Set([...across, ...links, ...controls])].filter((name) => name !== thing.name);
    }
  }
}

/** What a run leads through, with the things by their names after the change: `DcBus -> RectFuse -> Rect.dc`. */
export function wayOf({ from, through, to }: Run, renamed: Renamed = (name) => name): string {
  const at = ({ instance, terminal }: Stop): string =>
    `${renamed(instance.name)}${terminal ? `.${terminal.name}` : ''}`;
  return [at(from), ...through.map(at), to.map(at).sort().join(', ')].join(' -> ');
}
