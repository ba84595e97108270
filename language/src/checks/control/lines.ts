import type { DesignContext } from '../../model/context.js';
import type { Instance, Link } from '../../model/types.js';

/** Links of these media carry messages; a dry contact speaks no protocol. */
const SPEAKING = ['rs485', 'can', 'ethernet', 'wireless'];

export const mediumOf = (link: Link, context: DesignContext): string | undefined => {
  const value = context.maybe(link, 'medium')?.value;
  return typeof value === 'string' ? value : undefined;
};

export const speaks = (link: Link, context: DesignContext): boolean => {
  const medium = mediumOf(link, context);
  return medium === undefined || SPEAKING.includes(medium);
};

/** Links that are one line: those with the same `line`, else each by itself. */
export interface Line {
  readonly title: string;
  readonly links: readonly Link[];
  readonly things: readonly Instance[];
}

export function linesOf(context: DesignContext): Line[] {
  const byName = new Map<string, Link[]>();
  const lines: Link[][] = [];
  for (const link of context.system.links) {
    if (!speaks(link, context)) continue;
    const name = context.maybe(link, 'line')?.value;
    const known = typeof name === 'string' ? byName.get(name) : undefined;
    if (known) {
      known.push(link);
      continue;
    }
    const own = [link];
    lines.push(own);
    if (typeof name === 'string') byName.set(name, own);
  }
  return lines.map((links) => ({
    title: links.map(({ name }) => name).join(', '),
    links,
    things: [...new Set(links.flatMap(({ from, to }) => [from, to]))],
  }));
}
