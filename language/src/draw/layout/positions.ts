import type { LayoutPoint } from './engine.js';
import type { Positions } from './place.js';

/** What `<name>.layout.json` holds: for each design, where things were put. */
export type KeptPositions = Readonly<Record<string, Positions>>;

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const isPoint = (value: unknown): value is LayoutPoint =>
  isObject(value) && Number.isFinite(value['x']) && Number.isFinite(value['y']);

/** Reads the text of a file of positions; a sentence about what is wrong with it where it is none. */
export function readPositions(text: string): { readonly positions: KeptPositions } | { readonly wrong: string } {
  let content: unknown;
  try {
    content = JSON.parse(text);
  } catch {
    return { wrong: 'it is no JSON' };
  }
  if (!isObject(content) || !isObject(content['designs'])) return { wrong: 'it has no `designs`' };
  const designs: [string, Positions][] = [];
  for (const [design, things] of Object.entries(content['designs'])) {
    if (!isObject(things)) return { wrong: `\`${design}\` holds no positions by name` };
    for (const [name, point] of Object.entries(things))
      if (!isPoint(point)) return { wrong: `the position of \`${name}\` in \`${design}\` has no numbers x and y` };
    designs.push([design, Object.fromEntries(Object.entries(things) as [string, LayoutPoint][])]);
  }
  return { positions: Object.fromEntries(designs) };
}

/** The text of a file of positions: sorted names, whole numbers, one thing a line. */
export function writePositions(kept: KeptPositions): string {
  const sorted = <T>(record: Readonly<Record<string, T>>): [string, T][] =>
    Object.entries(record).sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
  const designs = sorted(kept).map(([design, things]) => {
    const lines = sorted(things).map(
      ([name, { x, y }]) => `      ${JSON.stringify(name)}: { "x": ${Math.round(x)}, "y": ${Math.round(y)} }`,
    );
    return `    ${JSON.stringify(design)}: {${lines.length > 0 ? `\n${lines.join(',\n')}\n    ` : ''}}`;
  });
  return `{\n  "schema": 1,\n  "designs": {${designs.length > 0 ? `\n${designs.join(',\n')}\n  ` : ''}}\n}\n`;
}
