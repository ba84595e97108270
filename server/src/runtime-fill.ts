/**
 * Lets the bundled command line start on Node 20: the parser asks for `Object.groupBy` and `Map.groupBy`, which came with Node 21.
 * Must be imported before anything of the parser. Delete once Node 20 is no longer asked for.
 * Source of the behaviour: ECMAScript 2024, 20.1.2.13 and 24.1.2.1.
 */
type Group<Item, Key> = (item: Item, index: number) => Key;

function groupIntoMap<Item, Key>(items: Iterable<Item>, keyOf: Group<Item, Key>): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  let index = 0;
  for (const item of items) {
    const key = keyOf(item, index++);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return groups;
}

function groupIntoObject<Item>(items: Iterable<Item>, keyOf: Group<Item, PropertyKey>): Record<PropertyKey, Item[]> {
  const groups = Object.create(null) as Record<PropertyKey, Item[]>;
  for (const [key, group] of groupIntoMap(items, keyOf)) groups[key] = [...(groups[key] ?? []), ...group];
  return groups;
}

const fill = (target: object, name: string, value: unknown): void => {
  if (!(name in target)) Object.defineProperty(target, name, { value, writable: true, configurable: true });
};

fill(Object, 'groupBy', groupIntoObject);
fill(Map, 'groupBy', groupIntoMap);
