import type { LaidOutDrawing } from '@wattwright/language';
import { lineWidth } from '../../../language/src/draw/layout/measure.js';
import { isBar, roomOf } from '../../../language/src/draw/layout/sizes.js';

interface Box {
  readonly of: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

const meet = (a: Box, b: Box): boolean => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** The rooms of all words and bodies of a drawing. */
function boxesOf({ drawing, placed }: LaidOutDrawing): Box[] {
  const symbols = placed.symbols.flatMap(({ symbol, x, y, width, height }): Box[] => {
    const { words } = roomOf(symbol);
    const size = { width: Math.max(...symbol.label.map(lineWidth)), height: symbol.label.length * 18 };
    const body = { of: symbol.id, left: x, top: y, right: x + width, bottom: y + height };
    const label = {
      of: symbol.id,
      left: x + words.x,
      top: y + words.y,
      right: x + words.x + size.width,
      bottom: y + words.y + size.height,
    };
    return isBar(symbol) ? [{ ...body, left: x + 8, right: x + 12 }, label] : [body];
  });
  const labels = [...drawing.stretches, ...drawing.links].flatMap(({ id, label }): Box[] => {
    const words = placed.lines.get(id)?.words;
    if (!words || !label) return [];
    const width = Math.max(...label.map(lineWidth));
    return [{ of: id, left: words.x, top: words.y, right: words.x + width, bottom: words.y + words.height - 4 }];
  });
  return [...symbols, ...labels];
}

/** Everything in a drawing that lies over something else: words, bodies, and lines through what they do not lead to. Slanted lines too. */
export function overlaps(drawn: LaidOutDrawing): string[] {
  const { drawing, placed } = drawn;
  const boxes = boxesOf(drawn);
  const found = boxes.flatMap((a, index) =>
    boxes.slice(index + 1).flatMap((b) => (a.of !== b.of && meet(a, b) ? [`${a.of} over ${b.of}`] : [])),
  );
  for (const { id, from, to } of [...drawing.stretches, ...drawing.links]) {
    const { points } = placed.lines.get(id)!;
    const ends = drawing.symbols.filter(({ ports }) => ports.some((port) => port.id === from || port.id === to));
    // Words of its own run, and the symbols it ends at, may touch it.
    const others = boxes.filter(
      ({ of }) => of.split(' ')[0] !== id.split(' ')[0] && !ends.some((end) => end.id === of),
    );
    for (const [index, b] of points.entries()) {
      if (index === 0) continue;
      const a = points[index - 1]!;
      if (a.x !== b.x && a.y !== b.y) found.push(`${id} is slanted`);
      const line = {
        of: id,
        left: Math.min(a.x, b.x) - 0.1,
        right: Math.max(a.x, b.x) + 0.1,
        top: Math.min(a.y, b.y) - 0.1,
        bottom: Math.max(a.y, b.y) + 0.1,
      };
      found.push(...others.filter((box) => meet(line, box)).map((box) => `${id} through ${box.of}`));
    }
  }
  return found;
}
