import { type Part, type Property, type PropertyValue, inPeopleUnits, kindOf, reportUnit } from '@wattwright/language';
import { plural } from '../report.js';
import { fileName, placeText } from '../session.js';
import { shownPath } from '../shown-path.js';
import { SCHEMA, TOOL, placeJson, quantityJson } from './json.js';
import { safeText } from './safe-text.js';
import { wrap } from './pretty.js';
import type { Terminal } from './terminal.js';

interface Folder {
  readonly name: string;
  readonly folder: string;
}

/** What is no rating: it identifies or describes. */
const REMARKS = new Set(['note', 'dataSheet']);

/** The ratings of a part in the order of its kind, its own and inherited ones. */
function ratingsOf({ kind, properties }: Part): Property[] {
  const order = kindOf(kind)?.properties.map(({ name }) => name) ?? [];
  return [...properties.values()]
    .filter(({ name, origin }) => origin !== 'default' && !REMARKS.has(name))
    .sort((left, right) => order.indexOf(left.name) - order.indexOf(right.name));
}

const oneLine = (text: string): string => safeText(text.replace(/\s+/g, ' ').trim());

/** How a design draws a part in: through a name of the project where its file lies in such a folder. */
function useOf({ place, library }: Part, folders: readonly Folder[]): string | undefined {
  if (library) return undefined;
  const file = fileName(place.uri);
  const around = folders.find(({ folder }) => file.startsWith(`${shownPath(folder)}/`));
  return around && `${around.name}/${file.slice(shownPath(around.folder).length + 1)}`;
}

const INDENT = '   ';
/** Narrower columns would split the ratings themselves. */
const NARROWEST_RATINGS = 20;

/** The ratings of a part below its name, in as many lines as they need; none is split where it fits in a line. */
function indented(ratings: readonly string[], width: number): string {
  const room = Math.max(NARROWEST_RATINGS, width - INDENT.length);
  const lines = ratings.reduce<string[]>((so, rating) => {
    const last = so.at(-1);
    const longer = last === undefined ? rating : `${last} · ${rating}`;
    return last === undefined || longer.length > room ? [...so, rating] : [...so.slice(0, -1), longer];
  }, []);
  return (lines.length > 0 ? lines : ['no ratings'])
    .flatMap((line) => wrap(line, room))
    .map((line) => `${INDENT}${line}\n`)
    .join('');
}

/** Parts with their ratings, for people. */
export function partsText(
  parts: readonly Part[],
  all: number,
  folders: readonly Folder[],
  { colors, width }: Terminal,
): string {
  const lines = parts.map((part) => {
    const ratings = ratingsOf(part).map(
      ({ name, text, origin }) => `${name} ${origin === 'assumed' ? 'assumed ' : ''}${inPeopleUnits(oneLine(text))}`,
    );
    const use = useOf(part, folders);
    const where = part.library ? 'standard library' : use === undefined ? placeText(part.place) : `use "${use}"`;
    return `${colors.bold(safeText(part.name))}  ${part.label === undefined ? '' : `${oneLine(part.label)}, `}${part.kind}  ${colors.dim(safeText(where))}\n${indented(ratings, width)}`;
  });
  const count = parts.length === all ? plural(all, 'part') : `${parts.length} of ${plural(all, 'part')}`;
  return `${lines.join('')}${count}\n`;
}

/** A value as data: numbers in the unit in which results are reported, everything else as it is written. */
function valueJson(value: PropertyValue, text: string): object {
  if (value.type === 'quantity') {
    const { quantity } = value;
    return { ...quantityJson(quantity, reportUnit(quantity.dimension)), text };
  }
  return { text };
}

/** `wattwright parts --format json`. */
export const partsJson = (parts: readonly Part[], folders: readonly Folder[]): object => ({
  schema: SCHEMA,
  tool: TOOL,
  parts: parts.map((part) => {
    const use = useOf(part, folders);
    return {
      name: part.name,
      kind: part.kind,
      ...(part.label ? { label: part.label } : {}),
      ...(part.doc ? { doc: part.doc } : {}),
      library: part.library,
      ...(part.base ? { extends: part.base.name } : {}),
      ...(use === undefined ? {} : { use }),
      place: placeJson(part.place),
      ratings: Object.fromEntries(
        ratingsOf(part).map(({ name, value, text, origin }) => [
          name,
          { ...valueJson(value, oneLine(text)), ...(origin === 'assumed' ? { assumed: true } : {}) },
        ]),
      ),
    };
  }),
});
