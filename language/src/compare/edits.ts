import { basisText } from '../checks/verdicts.js';
import { displayValue } from '../derivation/index.js';
import type { Instance, Part, Run, System } from '../model/types.js';
import { type Found, change, plainEdit, propertyChanges, same, textStated, valueEdit, wiring } from './found-edit.js';
import { type Identity, type Named, wayOf } from './identity.js';
import { type Renamed, scenarioMeaning } from './meaning.js';
import { ruleEdits } from './rule-edits.js';
import { sentenceEdits } from './sentence-edits.js';
import type { DesignEdit, PropertyChange } from './types.js';

/** Everything that was edited between two states of a design, in the order of the design after it. */
export function editsOf(before: System, after: System, identity: Identity): DesignEdit[] {
  const found = [
    ...basisEdits(before, after),
    ...settingEdits(before, after, identity),
    ...thingEdits(before, after, identity),
    ...sentenceEdits(before, after, identity),
  ];
  const seen = new Set<string>();
  const once = found.filter((edit) => {
    // What changes in a part changes in everything that is of it: one edit.
    const key = [edit.kind, edit.subject, edit.property, edit.before?.text, edit.after?.text].join('\n');
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  return once.map((edit, index) => ({ id: `e${index + 1}`, ...edit }));
}

function basisEdits(before: System, after: System): Found[] {
  if (basisText(before.basis) === basisText(after.basis)) return [];
  return [
    plainEdit('basis', after.name, {
      property: 'basis',
      before: textStated(basisText(before.basis), before.basis.place),
      after: textStated(basisText(after.basis), after.basis.place),
      ...(after.basis.place ? { place: after.basis.place } : {}),
    }),
  ];
}

function settingEdits(before: System, after: System, { renamed }: Identity): Found[] {
  return [
    ...propertyChanges(before.settings, after.settings, renamed).map((each) =>
      valueEdit(after.name, each, after.place),
    ),
    ...propertyChanges(before.site.properties, after.site.properties, renamed).map((each) =>
      valueEdit('site', each, after.site.place ?? after.place),
    ),
  ];
}

function thingEdits(before: System, after: System, identity: Identity): Found[] {
  const order = new Map(
    [...after.instances, ...after.runs, ...after.links, ...after.controls, ...after.scenarios].map(
      ({ name }, index) => [name, index],
    ),
  );
  const pairs = [...identity.pairs].sort(([, left], [, right]) => order.get(left.name)! - order.get(right.name)!);
  return [
    ...pairs.flatMap(([was, is]) => pairEdits(was, is, identity)),
    ...identity.added.map((thing) =>
      plainEdit('added', thing.name, { after: textStated(thingText(thing), thing.place), place: thing.place }),
    ),
    ...identity.removed.map((thing) =>
      plainEdit('removed', thing.name, { before: textStated(thingText(thing), thing.place), place: before.place }),
    ),
  ];
}

const thingText = (thing: Named): string =>
  'part' in thing && thing.part ? `${thing.kind} ${thing.part.name}` : thing.kind;

function pairEdits(was: Named, is: Named, identity: Identity): Found[] {
  const { renamed } = identity;
  const edits: Found[] = [];
  if (was.name !== is.name)
    edits.push(
      plainEdit('renamed', is.name, {
        before: textStated(was.name, was.place),
        after: textStated(is.name, is.place),
        isPlayed: false,
        place: is.place,
      }),
    );
  if (was.kind !== is.kind)
    return [
      ...edits,
      plainEdit('replaced', is.name, {
        before: textStated(thingText(was), was.place),
        after: textStated(thingText(is), is.place),
        place: is.place,
      }),
    ];
  const changes = propertyChanges(was.properties, is.properties, renamed);
  if ('terminals' in was && 'terminals' in is) edits.push(...instanceEdits(was, is, changes));
  else edits.push(...changes.map((each) => valueEdit(is.name, each, is.place)));
  if (was.kind === 'run' && is.kind === 'run') edits.push(...wayEdits(was, is, renamed));
  if (was.kind === 'link' && is.kind === 'link') {
    const [from, to] = [`${renamed(was.from.name)} -> ${renamed(was.to.name)}`, `${is.from.name} -> ${is.to.name}`];
    if (from !== to) edits.push(wiring(is, from, to, was.place));
  }
  if (was.kind === 'control' && is.kind === 'control') edits.push(...ruleEdits(was, is, renamed));
  if (was.kind === 'scenario' && is.kind === 'scenario') {
    const [from, to] = [scenarioMeaning(was, renamed), scenarioMeaning(is, same)];
    if (from !== to) edits.push(plainEdit('scenario', is.name, { place: is.place }));
  }
  return edits;
}

/** Another part with all that it changes is one edit; what changes in the text of a part is an edit of the part. */
function instanceEdits(
  was: Instance,
  is: Instance,
  changes: readonly (PropertyChange & { readonly isInherited: boolean })[],
): Found[] {
  const name = (part: Part | undefined, kind: string): string => part?.name ?? kind;
  if (was.part?.name !== is.part?.name) {
    const inherited = changes.filter(({ isInherited }) => isInherited);
    return [
      plainEdit('part', is.name, {
        before: textStated(name(was.part, was.kind), was.place),
        after: textStated(name(is.part, is.kind), is.place),
        properties: inherited.map(change),
        place: is.place,
      }),
      ...changes.filter(({ isInherited }) => !isInherited).map((each) => valueEdit(is.name, each, is.place)),
    ];
  }
  return changes.map((each) => valueEdit(each.isInherited && is.part ? is.part.name : is.name, each, is.place));
}

function wayEdits(was: Run, is: Run, renamed: Renamed): Found[] {
  const [from, to] = [wayOf(was, renamed), wayOf(is)];
  if (from !== to) return [wiring(is, from, to, was.place)];
  return was.through.flatMap((stop, index) => {
    const other = is.through[index]!;
    const [left, right] = [stop.distance, other.distance].map((each) => each && displayValue(each));
    if (left === right) return [];
    return [
      valueEdit(
        is.name,
        {
          property: `@ ${other.instance.name}`,
          ...(left === undefined ? {} : { before: textStated(left, stop.distance?.place ?? stop.place) }),
          ...(right === undefined ? {} : { after: textStated(right, other.distance?.place ?? other.place) }),
        },
        other.place,
      ),
    ];
  });
}
