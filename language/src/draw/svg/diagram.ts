import type { Change, Drawing, DrawnFlow, DrawnState, DrawnStretch, TextLine } from '../model/drawing.js';
import type { LayoutPoint } from '../layout/engine.js';
import type { Placed, PlacedLine, PlacedSymbol } from '../layout/place.js';
import { BOND_HEIGHT, type SymbolRoom, isBar, roomOf, wordsSize } from '../layout/sizes.js';
import { BOND, SYMBOLS, definitionOf } from '../symbols/shapes.js';
import { BODY, HALF, type SymbolManner, type SymbolShape } from '../symbols/symbol.js';
import { type Markup, element } from '../../markup/element.js';
import { INK, WEIGHT, centred, markBlock, wordBlock } from './ink.js';

/** The strokes of a symbol around a point. */
export function drawShape(
  { strokes, fills, dashed, text = [] }: SymbolShape,
  x: number,
  y: number,
  ink: string,
): Markup {
  return element(
    'g',
    { transform: `translate(${x} ${y})` },
    ...(strokes === ''
      ? []
      : [
          element('path', {
            d: strokes,
            fill: 'none',
            stroke: ink,
            'stroke-width': WEIGHT.symbol,
            'stroke-linecap': 'round',
          }),
        ]),
    ...(dashed
      ? [
          element('path', {
            d: dashed,
            fill: 'none',
            stroke: ink,
            'stroke-width': WEIGHT.symbol,
            'stroke-dasharray': '4 2.5',
          }),
        ]
      : []),
    ...(fills ? [element('path', { d: fills, fill: ink })] : []),
    ...text.map((each) => centred(each.text, each.x, each.y, each.size, ink)),
  );
}

const pathOf = (points: readonly LayoutPoint[]): string =>
  points.map(({ x, y }, index) => `${index ? 'L' : 'M'}${x} ${y}`).join('');

const weightOf = (carries: string): number => (carries === 'dc' ? WEIGHT.direct : WEIGHT.alternating);

/** The symbols, lines and words of a drawing in one state, or with nothing said of any. */
export function diagram(drawing: Drawing, placed: Placed, state: DrawnState | undefined): Markup {
  const nodes = new Map(drawing.symbols.flatMap(({ ports }) => ports.map((port) => [port.id, port.node] as const)));
  const live = new Set(state?.live);
  const isLive = (port: string): boolean => !state || live.has(nodes.get(port) ?? '');
  return element(
    'g',
    { class: 'diagram' },
    ...drawing.links.flatMap((link) => {
      const line = placed.lines.get(link.id);
      return line ? [linkElement(line, link.label, link.change)] : [];
    }),
    ...drawing.stretches.flatMap((stretch) => {
      const line = placed.lines.get(stretch.id);
      return line ? [stretchElement(stretch, line, state, isLive(stretch.from) && isLive(stretch.to))] : [];
    }),
    ...placed.junctions.map(({ x, y }) => element('circle', { cx: x, cy: y, r: 3.2, fill: INK.live })),
    ...placed.symbols.map((each) => symbolElement(each, drawing, state, isLive)),
  );
}

function linkElement(line: PlacedLine, label: readonly TextLine[], change: Change | undefined): Markup {
  return element(
    'g',
    { class: 'link', 'data-id': line.id, 'data-change': change },
    ...bandUnder(pathOf(line.points), change),
    element('path', {
      d: pathOf(line.points),
      fill: 'none',
      stroke: change === 'removed' ? INK.gone : INK.live,
      'stroke-width': WEIGHT.link,
      'stroke-dasharray': change === 'removed' ? '2 4' : '7 4',
    }),
    ...(line.words ? wordBlock(label, line.words.x + 2, line.words.y, INK.live) : []),
  );
}

/** What a stretch says in a state: its name, and what flows which way on the page. */
function flowLines(stretch: DrawnStretch, flows: readonly DrawnFlow[]): readonly TextLine[] {
  const [name] = stretch.label ?? [];
  return [
    ...(name ? [name] : []),
    ...flows.map(({ towards, text }): TextLine => [
      { text: `${towards === 'either' ? '↔' : isRightward(stretch, towards) ? '→' : '←'} ${text}`, style: 'plain' },
    ]),
  ];
}

const isRightward = ({ isReversed }: DrawnStretch, towards: 'far' | 'near'): boolean =>
  (towards === 'far') !== isReversed;

/** The level stretch of a line below its words, where arrows stand. */
function levelBelow({ points, words }: PlacedLine, middle: number): number | undefined {
  let nearest: number | undefined;
  for (let index = 1; index < points.length; index += 1) {
    const [a, b] = [points[index - 1]!, points[index]!];
    if (a.y !== b.y || Math.min(a.x, b.x) > middle || Math.max(a.x, b.x) < middle) continue;
    if (a.y >= words!.y && (nearest === undefined || a.y < nearest)) nearest = a.y;
  }
  return nearest;
}

function stretchElement(
  stretch: DrawnStretch,
  line: PlacedLine,
  state: DrawnState | undefined,
  isLive: boolean,
): Markup {
  const isGone = stretch.change === 'removed';
  const ink = isGone ? INK.gone : isLive ? INK.live : INK.dead;
  const flows = state && isLive ? state.flows.filter(({ run }) => run === stretch.run) : [];
  const label = state ? flowLines(stretch, flows) : (stretch.label ?? []);
  const own: Markup[] = [
    ...bandUnder(pathOf(line.points), stretch.change),
    element('path', {
      d: pathOf(line.points),
      fill: 'none',
      stroke: ink,
      'stroke-width': weightOf(stretch.carries),
      'stroke-dasharray': isGone ? GONE_DASHES : undefined,
      class: stretch.carries,
    }),
  ];
  if (line.words && stretch.label) {
    const { x, y, width, height } = line.words;
    const shown = wordsSize(label, state ? [] : stretch.marks);
    // Words stand on the line, however few they are.
    const top = y + Math.max(0, height - shown.height - 2);
    own.push(...wordBlock(label, x + 2, top, isLive && !isGone ? INK.live : INK.deadText));
    if (!state) own.push(...markBlock(stretch.marks, x + 2, top + wordsSize(label, []).height));
    const middle = x + width / 2;
    const level = levelBelow(line, middle);
    if (level !== undefined)
      for (const { towards } of flows) {
        if (towards === 'either') continue;
        const way = isRightward(stretch, towards) ? 1 : -1;
        // Two ways at once stand apart.
        const at = middle + way * (flows.length > 1 ? 14 : 0);
        own.push(
          element('path', {
            d: `M${at + 7 * way} ${level}L${at - 5 * way} ${level - 5}V${level + 5}Z`,
            fill: INK.live,
          }),
        );
      }
  }
  return element('g', { class: 'stretch', 'data-id': stretch.run, 'data-change': stretch.change }, ...own);
}

function symbolElement(
  { symbol, x, y, width, height, ports }: PlacedSymbol,
  drawing: Drawing,
  state: DrawnState | undefined,
  isLive: (port: string) => boolean,
): Markup {
  const room = roomOf(symbol);
  const isOn = !state || symbol.ports.some(({ id, side }) => side !== 'below' && isLive(id));
  const isGone = symbol.change === 'removed';
  const ink = isGone ? INK.gone : isOn ? INK.live : INK.dead;
  const own: Markup[] = symbol.change ? [frameOf(symbol.change, outline(room, x, y, width, height))] : [];
  const marks = state ? [] : symbol.marks;
  if (marks.some(({ severity }) => severity === 'error' || severity === 'warning'))
    own.push(
      element('rect', {
        ...outline(room, x, y, width, height),
        rx: 4,
        fill: 'none',
        stroke: marks.some(({ severity }) => severity === 'error') ? INK.error : INK.warning,
        'stroke-width': 1.4,
        'stroke-dasharray': '6 3',
      }),
    );
  own.push(
    ...body({ symbol, x, y, width, height, ports }, drawing.manner, ink, (id) =>
      isGone ? INK.gone : isLive(id) ? INK.live : INK.dead,
    ),
  );
  const top = y + room.words.y;
  own.push(...wordBlock(symbol.label, x + room.words.x, top, isOn && !isGone ? INK.live : INK.deadText));
  own.push(...markBlock(marks, x + room.words.x, top + wordsSize(symbol.label, []).height));
  if (symbol.canBond) {
    const inForce = !state || state.bonds.includes(symbol.id);
    own.push(
      drawShape(BOND, x + room.x, y + height - (isBar(symbol) ? 0 : BOND_HEIGHT - 2), inForce ? INK.live : INK.dead),
    );
  }
  return element(
    'g',
    {
      class: 'symbol',
      'data-id': symbol.id,
      'data-change': symbol.change,
      role: 'img',
      'aria-label': symbol.change ? `${symbol.change}: ${symbol.description}` : symbol.description,
    },
    ...own,
  );
}

/** Dashes of what is gone. */
const GONE_DASHES = '3 4';

/** A wide pale band under a line that was added or changed; two thin lines beside an added one, so that ink is not all that tells them apart. */
function bandUnder(path: string, change: Change | undefined): Markup[] {
  if (change !== 'added' && change !== 'changed') return [];
  const band = (width: number, stroke: string): Markup =>
    element('path', { d: path, fill: 'none', stroke, 'stroke-width': width, 'stroke-linejoin': 'round' });
  return change === 'added' ? [band(11, INK.added), band(9, INK.paper)] : [band(11, INK.changed)];
}

/** The frame around a thing: double where it is new, a filled ground where it was changed, plain where its numbers moved, dashed where it is gone. */
function frameOf(change: Change, at: Record<string, number>): Markup {
  const frame = { ...at, rx: 4, 'stroke-width': 1.2 };
  if (change === 'changed') return element('rect', { ...frame, fill: INK.changed, stroke: INK.live });
  if (change === 'affected') return element('rect', { ...frame, fill: 'none', stroke: INK.live });
  if (change === 'removed')
    return element('rect', { ...frame, fill: 'none', stroke: INK.gone, 'stroke-dasharray': GONE_DASHES });
  const { x = 0, y = 0, width = 0, height = 0 } = at;
  const inner = { ...frame, x: x + 3, y: y + 3, width: width - 6, height: height - 6 };
  return element(
    'g',
    {},
    element('rect', { ...frame, fill: INK.paper, stroke: INK.added }),
    element('rect', { ...inner, fill: 'none', stroke: INK.added }),
  );
}

/** The outline of what a finding is of: its room, and the words that stand outside it. */
function outline(room: SymbolRoom, x: number, y: number, width: number, height: number): Record<string, number> {
  const left = Math.min(0, room.words.x);
  const top = Math.min(0, room.words.y);
  return { x: x + left - 5, y: y + top - 5, width: width - 2 * left + 10, height: height - top + 10 };
}

/** A body with the leads that reach from it to the sides of its room. */
function body(
  { symbol, x, y, height, ports }: PlacedSymbol,
  manner: SymbolManner,
  ink: string,
  inkOf: (port: string) => string,
): Markup[] {
  const room = roomOf(symbol);
  const middle = { x: x + room.x, y: y + room.y };
  const own: Markup[] = [];
  const reach = isBar(symbol) ? 0 : definitionOf(symbol.symbol).isSquare ? BODY : HALF;
  for (const { id, side, carries } of symbol.ports) {
    const at = ports.get(id);
    if (!at || side === 'below') continue;
    const end = middle.x + (side === 'left' ? -reach : reach);
    if (end !== at.x)
      own.push(
        element('path', {
          d: `M${at.x} ${at.y}H${end}`,
          fill: 'none',
          stroke: inkOf(id),
          'stroke-width': weightOf(carries),
        }),
      );
  }
  if (isBar(symbol)) {
    const levels = symbol.ports.flatMap(({ id, side }) => (side === 'below' ? [] : [ports.get(id)?.y ?? middle.y]));
    own.push(
      element('path', {
        d: `M${middle.x} ${Math.min(y, ...levels)}V${Math.max(y + height, ...levels)}`,
        fill: 'none',
        stroke: ink,
        'stroke-width': WEIGHT.bar,
      }),
    );
  } else {
    const isMirrored = !symbol.ports.some(({ side }) => side === 'right') && symbol.symbol === 'bank';
    const shape = SYMBOLS[symbol.symbol][manner];
    own.push(isMirrored ? mirrored(shape, middle.x, middle.y, ink) : drawShape(shape, middle.x, middle.y, ink));
  }
  return own;
}

/** A symbol whose only line comes from the left, where it is drawn for one to the right; words stay as they are read. */
function mirrored({ text = [], ...shape }: SymbolShape, x: number, y: number, ink: string): Markup {
  return element(
    'g',
    {},
    element('g', { transform: `translate(${2 * x} 0) scale(-1 1)` }, drawShape(shape, x, y, ink)),
    ...text.map((each) => centred(each.text, x - each.x, y + each.y, each.size, ink)),
  );
}
