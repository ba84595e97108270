import type { Change, Drawing, DrawnLink, DrawnStretch, DrawnSymbol, Port, TextLine } from './drawing.js';

/** What a change does to one thing: the edits and numbers of it, a line each. */
export interface ThingChange {
  readonly change: Change;
  readonly lines: readonly string[];
}

/** What a change does to the things of a drawing, by their names after it; of what is removed, by the name before. */
export interface DrawingChanges {
  /** The two sides, as the heading says them: `e337e68 → 39d1453`. */
  readonly title: string;
  readonly things: ReadonlyMap<string, ThingChange>;
  /** Names after the change of things that were called otherwise before. */
  readonly renamed: ReadonlyMap<string, string>;
}

/** The sign in front of a thing that was changed: it carries the meaning, ink and dashes only help. */
const SIGNS = {
  added: '+ new',
  changed: '± changed',
  affected: '→ affected',
  removed: '− removed',
} as const satisfies Record<Change, string>;

/** Lines of changes that one thing shows. */
const MOST_LINES = 4;

/** The drawing of a design after a change, with what the change added, altered and took away. */
export function changedDrawing(before: Drawing | undefined, after: Drawing, changes: DrawingChanges): Drawing {
  const of = (name: string): ThingChange | undefined => changes.things.get(name);
  const gone = before ? removedFrom(before, after, changes) : { symbols: [], stretches: [], links: [], ports: [] };
  const symbols = after.symbols.map((each) => marked(each, of(each.id))).map((each) => withPorts(each, gone.ports));
  return {
    ...after,
    changes: changes.title,
    symbols: [...symbols, ...gone.symbols],
    stretches: [...after.stretches.map((each) => marked(each, of(each.run))), ...gone.stretches],
    links: [...after.links.map((each) => marked(each, of(each.id))), ...gone.links],
    // States are of the design as it is now; what is gone is live in none.
    states: [],
  };
}

interface Labelled {
  readonly label?: readonly TextLine[];
  readonly change?: Change;
}

/** A thing with its sign and what was changed of it; a stretch without words of its own only with its manner of drawing. */
function marked<T extends Labelled>(thing: T, change: ThingChange | undefined): T {
  if (!change) return thing;
  if (!thing.label) return { ...thing, change: change.change };
  const [name, ...ratings] = thing.label;
  const shown = change.lines.slice(0, MOST_LINES);
  const more = change.lines.length - shown.length;
  const plain = (text: string): TextLine => [{ text, style: 'plain' }];
  return {
    ...thing,
    change: change.change,
    label: [
      [{ text: SIGNS[change.change], style: 'name' }],
      ...(name ? [name] : []),
      ...ratings,
      ...shown.map((text) => plain(text)),
      ...(more > 0 ? [plain(`and ${more} more`)] : []),
    ],
  };
}

/** A port that a line which is gone needs of a thing that stays. */
interface NeededPort {
  readonly symbol: string;
  readonly port: Port;
}

interface Removed {
  readonly symbols: readonly DrawnSymbol[];
  readonly stretches: readonly DrawnStretch[];
  readonly links: readonly DrawnLink[];
  readonly ports: readonly NeededPort[];
}

/** What stood in the drawing before and does not any more. Its ids are kept apart from those of today, which may be the same. */
function removedFrom(before: Drawing, after: Drawing, { things, renamed }: DrawingChanges): Removed {
  const isGone = (name: string): boolean => things.get(name)?.change === 'removed';
  const nameNow = (name: string): string => renamed.get(name) ?? name;
  const own = (id: string): string => `removed ${id}`;
  const staying = new Map(after.symbols.map((each) => [each.id, each]));
  const portOwner = new Map(
    before.symbols.flatMap((each) => each.ports.map((port) => [port.id, { each, port }] as const)),
  );
  const needed = new Map<string, NeededPort>();
  /** Where a line that is gone ends now: at a thing that is gone too, or at a port of one that stays. */
  const end = (id: string): string | undefined => {
    const { each, port } = portOwner.get(id) ?? {};
    if (!each || !port) return undefined;
    if (isGone(each.id)) return own(id);
    const now = staying.get(nameNow(each.id));
    if (!now) return undefined;
    needed.set(own(id), { symbol: now.id, port: { ...port, id: own(id) } });
    return own(id);
  };
  const joined = <T extends { readonly id: string; readonly from: string; readonly to: string }>(line: T): T[] => {
    const [from, to] = [end(line.from), end(line.to)];
    return from === undefined || to === undefined ? [] : [{ ...line, id: own(line.id), from, to }];
  };
  const symbols = before.symbols
    .filter(({ id }) => isGone(id))
    .map((each) => ({
      ...marked(each, things.get(each.id)),
      id: own(each.id),
      // Findings of what is gone concern nobody any more.
      marks: [],
      ports: each.ports.map((port) => ({ ...port, id: own(port.id) })),
    }));
  const stretches = before.stretches
    .filter(({ run }) => isGone(run))
    .flatMap(joined)
    .map((each) => ({ ...marked(each, things.get(each.run)), marks: [] }));
  const links = before.links
    .filter(({ id }) => isGone(id))
    .flatMap((link) => joined(link).map((each) => ({ ...marked(each, things.get(link.id)), marks: [] })));
  return { symbols, stretches, links, ports: [...needed.values()] };
}

const withPorts = (symbol: DrawnSymbol, needed: readonly NeededPort[]): DrawnSymbol => {
  const own = needed.filter((each) => each.symbol === symbol.id).map(({ port }) => port);
  return own.length === 0 ? symbol : { ...symbol, ports: [...symbol.ports, ...own] };
};
