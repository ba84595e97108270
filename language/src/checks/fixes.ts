import type { Place } from '../derivation/index.js';
import type { InsertionPoint, Property, Thing } from '../model/types.js';
import type { Fix, TextEdit } from './define.js';

/** Anything with properties and a place where a new one can be written; a thing of a design has a path. */
type Owner = Pick<Thing, 'properties' | 'insert'> & { readonly name?: string; readonly path?: string };

const given = ({ name, path }: Owner, values: Readonly<Record<string, string>>): Pick<TextEdit, 'gives'> =>
  name !== undefined && path !== undefined
    ? { gives: Object.entries(values).map(([property, text]) => ({ thing: name, property, text })) }
    : {};

/**
 * The edit that gives a thing a property: replaces the value it states itself, else adds `name: value`. A value inherited from a part is
 * overridden in the thing, never changed in the part.
 */
export function setProperty(owner: Owner, name: string, text: string): TextEdit {
  const own: Property | undefined = owner.properties.get(name);
  const gives = given(owner, { [name]: text });
  if (own?.place && own.inheritedFrom === undefined && own.origin !== 'default')
    return { place: own.place, text, ...gives };
  return { ...insertText(owner.insert, `${name}: ${text}`), ...gives };
}

/** The edits that give a thing several properties: those it does not state itself are written together, since a thing without a body gets one. */
export function setProperties(owner: Owner, values: Readonly<Record<string, string>>): TextEdit[] {
  const edits: TextEdit[] = [];
  const added: Record<string, string> = {};
  for (const [name, text] of Object.entries(values)) {
    const edit = setProperty(owner, name, text);
    if (edit.place === owner.insert.place) added[name] = text;
    else edits.push(edit);
  }
  const texts = Object.entries(added).map(([name, text]) => `${name}: ${text}`);
  return texts.length > 0
    ? [...edits, { ...insertText(owner.insert, texts.join('   ')), ...given(owner, added) }]
    : edits;
}

/** The edit that writes a text at an insertion point. */
export const insertText = (point: InsertionPoint, text: string): TextEdit => ({
  place: point.place,
  text: `${point.before}${text}${point.after}`,
});

export const replace = (place: Place, text: string): TextEdit => ({ place, text });

/** A proposal of one or more edits that may change what the design means. */
export function propose(title: string, edits: readonly TextEdit[], preferred = false): Fix {
  return { title, safe: false, edits, ...(preferred ? { preferred } : {}) };
}
