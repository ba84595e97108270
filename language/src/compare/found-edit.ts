import type { Place } from '../derivation/index.js';
import type { Property } from '../model/types.js';
import type { Named } from './identity.js';
import { type Renamed, sameProperty, shortText } from './meaning.js';
import type { DesignEdit, EditKind, PropertyChange, Stated } from './types.js';

/** An edit while it is found: its id follows from its place among all. */
export type Found = Omit<DesignEdit, 'id'>;

/** Properties that say nothing of what is built or how it behaves. */
const REMARKS: ReadonlySet<string> = new Set(['note', 'customer', 'author', 'dataSheet']);

/** Properties that no play rests on. */
const UNPLAYED: ReadonlySet<string> = new Set(['price', 'mass']);

export const same: Renamed = (name) => name;

export const stated = ({ text, origin, place }: Property): Stated => ({
  text: shortText(text),
  origin,
  ...(place ? { place } : {}),
});

export const textStated = (text: string, place?: Place): Stated => ({
  text: shortText(text),
  origin: 'stated',
  ...(place ? { place } : {}),
});

/** Whether two properties say the same, and say it as surely. */
const isSame = (before: Property, after: Property, renamed: Renamed): boolean =>
  (before.origin === 'assumed') === (after.origin === 'assumed') && sameProperty(before, after, renamed);

/** What differs between two sets of properties. A default that comes to be stated with the same value changes nothing. */
export function propertyChanges(
  before: ReadonlyMap<string, Property>,
  after: ReadonlyMap<string, Property>,
  renamed: Renamed,
): (PropertyChange & { readonly isInherited: boolean })[] {
  const names = new Set([...after.keys(), ...before.keys()]);
  return [...names].flatMap((property) => {
    if (REMARKS.has(property)) return [];
    const [was, is] = [before.get(property), after.get(property)];
    if (was && is && isSame(was, is, renamed)) return [];
    if (!was && !is) return [];
    return [
      {
        property,
        isInherited: (was?.inheritedFrom ?? is?.inheritedFrom) !== undefined && isFromPart(was) && isFromPart(is),
        ...(was ? { before: stated(was) } : {}),
        ...(is ? { after: stated(is) } : {}),
      },
    ];
  });
}

const isFromPart = (property: Property | undefined): boolean =>
  property === undefined || property.inheritedFrom !== undefined || property.origin === 'default';

export const change = ({ property, before, after }: PropertyChange): PropertyChange => ({
  property,
  ...(before ? { before } : {}),
  ...(after ? { after } : {}),
});

export const valueEdit = (subject: string, given: PropertyChange, place: Place | undefined): Found => ({
  kind: 'value',
  subject,
  ...change(given),
  properties: [],
  isPlayed: !UNPLAYED.has(given.property),
  ...((given.after?.place ?? place) ? { place: given.after?.place ?? place } : {}),
});

export const plainEdit = (kind: EditKind, subject: string, facts: Partial<Found>): Found => ({
  kind,
  subject,
  properties: [],
  isPlayed: true,
  ...facts,
});

export const wiring = (thing: Named, before: string, after: string, place: Place): Found =>
  plainEdit('wiring', thing.name, {
    before: textStated(before, place),
    after: textStated(after, thing.place),
    place: thing.place,
  });
