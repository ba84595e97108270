import { type Markup, element } from '../../markup/element.js';
import { textWidth } from '../../draw/layout/measure.js';
import { INK, WEIGHT, words } from '../../draw/svg/ink.js';
import { pictureRoot } from '../../draw/svg/picture.js';
import type { Cells } from '../cells.js';
import { type EnclosureLandings, type Landing, enclosureOf } from '../landings.js';
import type { Cell } from '../sheet.js';

/** Sizes in units of the picture. */
const ROW = 24;
const HEAD = 28;
const GAP = 18;
const LANE = 14;
const EDGE = 24;
const TITLE = 40;
const SWATCH = 12;
const SMALL = 12;

/** Colours of insulation by the words for them; the words stand beside. What is not among them has no patch. */
const PATCHES: Readonly<Record<string, readonly string[]>> = {
  red: ['#c62828'],
  black: ['#111111'],
  white: ['#ffffff'],
  grey: ['#9e9e9e'],
  gray: ['#9e9e9e'],
  blue: ['#1565c0'],
  'light blue': ['#81bfea'],
  brown: ['#6d4c2f'],
  green: ['#2e7d32'],
  yellow: ['#f5d000'],
  orange: ['#ef6c00'],
  'green-yellow': ['#2e7d32', '#f5d000'],
  'green-and-yellow': ['#2e7d32', '#f5d000'],
  'green with yellow': ['#2e7d32', '#f5d000'],
};

/** A wiring view with its size in units of the picture. */
export interface WiringDrawing {
  readonly title: string;
  readonly width: number;
  readonly height: number;
  readonly body: Markup;
}

interface Row {
  readonly landing: Landing;
  readonly y: number;
  readonly label: string;
  readonly colours: readonly string[];
  /** Where it leads outside of the enclosure; empty where it stays within. */
  readonly outside: string;
}

interface Thing {
  readonly name: string;
  readonly top: number;
  readonly rows: readonly Row[];
}

/** Height of a picture that a page across has room for at its true size. */
const MOST_HEIGHT = 600;

/** The wiring view of one enclosure, in as many pictures as it takes for each to be read on a page. */
export function drawWiring({ enclosure, landings }: EnclosureLandings, cells: Cells): readonly WiringDrawing[] {
  const parts: Landing[][] = [];
  let height = 0;
  for (const thing of new Set(landings.map((each) => each.thing))) {
    const own = landings.filter((each) => each.thing === thing);
    const needed = HEAD + own.length * ROW + GAP;
    const last = parts.at(-1);
    if (last && height + needed <= MOST_HEIGHT - TITLE) {
      last.push(...own);
      height += needed;
    } else {
      parts.push([...own]);
      height = needed;
    }
  }
  const title = enclosure ?? 'what is in no enclosure';
  return parts.map((part, index) =>
    drawPart(parts.length === 1 ? title : `${title}, ${index + 1} of ${parts.length}`, enclosure, part, cells),
  );
}

/**
 * The wiring view of one enclosure: its things with their terminals, at each what is landed, with size, colours and torque; stretches that
 * stay within as lines at the left, what leads out crosses the frame at the right. A fact that nobody stated is an empty box in the words.
 */
function drawPart(
  title: string,
  enclosure: string | undefined,
  landings: readonly Landing[],
  cells: Cells,
): WiringDrawing {
  const things = placed(landings, enclosure, cells);
  const rows = things.flatMap((thing) => thing.rows);
  const lanes = lanesOf(rows);
  const left = EDGE + 20 + (Math.max(-1, ...lanes.map(({ lane }) => lane)) + 1) * LANE;
  const boxWidth = Math.max(
    ...things.map(({ name }) => textWidth(name) * 1.08 + 24),
    ...rows.map(({ landing }) => textWidth(landing.terminal, SMALL) + 40),
  );
  const right = left + boxWidth;
  const patchesAt = right + 30;
  const labelAt = patchesAt + Math.max(...rows.map(({ colours }) => patchesWidth(colours)));
  const labelEnd = labelAt + Math.max(...rows.map(({ label }) => textWidth(label, SMALL)));
  const frameEnd = labelEnd + EDGE;
  const outsideAt = frameEnd + 28;
  const width = outsideAt + Math.max(0, ...rows.map(({ outside }) => textWidth(outside, SMALL))) + 16;
  const bottom = rows.at(-1)!.y + ROW / 2 + GAP;
  const height = bottom + 20;
  const body = element(
    'g',
    { 'aria-hidden': 'true' },
    element('rect', { x: 0, y: 0, width, height, fill: INK.paper }),
    words(title, EDGE, 24, { size: 16, 'font-weight': 'bold' }),
    element('rect', {
      x: EDGE,
      y: TITLE - 4,
      width: frameEnd - EDGE,
      height: bottom - TITLE + 4,
      fill: 'none',
      stroke: INK.live,
      'stroke-width': WEIGHT.frame,
      ...(enclosure === undefined ? { 'stroke-dasharray': '8 5' } : {}),
    }),
    ...lanes.map(({ from, to, lane }) => bracket(left, left - (lane + 1) * LANE, from, to)),
    ...things.flatMap((thing) => thingBox(thing, left, boxWidth)),
    ...rows.flatMap((row) => rowMarks(row, { right, patchesAt, labelAt, frameEnd, outsideAt })),
  );
  return { width, height, title: `Wiring of ${title}`, body };
}

/** Wiring views below each other as one picture. */
export function wiringPicture(views: readonly WiringDrawing[]): Markup {
  const width = Math.max(...views.map((view) => view.width));
  const height = views.reduce((sum, view) => sum + view.height, 0);
  let top = 0;
  const placedViews = views.map((view) => {
    const group = element('g', { transform: `translate(0 ${top})` }, view.body);
    top += view.height;
    return group;
  });
  return element('svg', pictureRoot(width, height, 'img', views.map(({ title }) => title).join('; ')), ...placedViews);
}

function placed(landings: readonly Landing[], enclosure: string | undefined, cells: Cells): readonly Thing[] {
  const things: Thing[] = [];
  const here = new Set(landings.map((each) => each.thing));
  let top = TITLE + GAP;
  for (const thing of here) {
    const own = landings.filter((each) => each.thing === thing);
    const rows = own.map((landing, index): Row => {
      const out = landing.towards.filter((each) => !here.has(each));
      return {
        landing,
        y: top + HEAD + index * ROW + ROW / 2,
        label: labelOf(landing, cells),
        colours: coloursOf(landing),
        outside: out.length > 0 ? `to ${out.map((each) => placeName(each, enclosure)).join(', ')}` : '',
      };
    });
    const label = thing.label && thing.label !== thing.name ? ` · ${thing.label}` : '';
    things.push({ name: `${thing.name}${label}`, top, rows });
    top += HEAD + own.length * ROW + GAP;
  }
  return things;
}

function placeName(thing: Landing['thing'], from: string | undefined): string {
  const enclosure = enclosureOf(thing);
  return enclosure === undefined || enclosure === from ? thing.name : `${thing.name} in ${enclosure}`;
}

const EMPTY = '□';

const textOf = (cell: Cell): string => (cell.kind === 'box' ? '' : cell.text);

/** `Feed W1 · 35 mm² · red, black · M8 · 12 N·m`, with an empty box for what is to be filled in. */
function labelOf({ run, thing }: Landing, cells: Cells): string {
  const own = (name: string): string => textOf(cells.optional(thing, name)) || textOf(cells.fact(run, name));
  const stud = textOf(cells.optional(thing, 'stud'));
  const number = textOf(cells.fact(run, 'number'));
  return [
    [run.name, number].filter(Boolean).join(' '),
    textOf(cells.fact(run, 'size')) || `${EMPTY} size`,
    textOf(cells.fact(run, 'colour')) || `${EMPTY} colours`,
    ...(stud ? [`stud ${stud}`] : []),
    own('torque') || `${EMPTY} torque`,
  ].join(' · ');
}

function coloursOf({ run }: Landing): readonly string[] {
  const value = run.properties.get('colour')?.value;
  return value?.type === 'text' ? value.text.split(/[,;/]/).map((word) => word.trim().toLowerCase()) : [];
}

const patchesOf = (colours: readonly string[]): readonly (readonly string[])[] =>
  colours.flatMap((colour) => (Object.hasOwn(PATCHES, colour) ? [PATCHES[colour]!] : []));

const patchesWidth = (colours: readonly string[]): number => {
  const { length } = patchesOf(colours);
  return length === 0 ? 0 : length * (SWATCH + 4) + 4;
};

interface Lane {
  readonly from: number;
  readonly to: number;
  readonly lane: number;
}

/** Stretches that stay within, the shortest nearest to the things; none crosses another along its way. */
function lanesOf(rows: readonly Row[]): readonly Lane[] {
  const ends = new Map<string, number[]>();
  for (const { landing, y } of rows) ends.set(landing.stretch, [...(ends.get(landing.stretch) ?? []), y]);
  const spans = [...ends.values()]
    .filter((heights) => heights.length > 1)
    .flatMap((heights) =>
      heights.slice(1).map((to) => ({ from: Math.min(heights[0]!, to), to: Math.max(heights[0]!, to) })),
    )
    .sort((a, b) => a.to - a.from - (b.to - b.from) || a.from - b.from);
  const taken: Lane[] = [];
  for (const span of spans) {
    let lane = 0;
    while (taken.some((each) => each.lane === lane && each.from <= span.to && span.from <= each.to)) lane += 1;
    taken.push({ ...span, lane });
  }
  return taken;
}

const line = (d: string, weight: number): Markup =>
  element('path', { d, stroke: INK.live, 'stroke-width': weight, fill: 'none' });

const bracket = (box: number, lane: number, from: number, to: number): Markup =>
  line(`M${box} ${from}H${lane}V${to}H${box}`, WEIGHT.direct);

function thingBox({ name, top, rows }: Thing, left: number, width: number): Markup[] {
  return [
    element('rect', {
      x: left,
      y: top,
      width,
      height: HEAD + rows.length * ROW,
      fill: INK.paper,
      stroke: INK.live,
      'stroke-width': WEIGHT.alternating,
    }),
    words(name, left + 10, top + 19, { 'font-weight': 'bold' }),
    line(`M${left} ${top + HEAD}H${left + width}`, WEIGHT.thin),
    ...rows.map(({ landing, y }) => words(landing.terminal, left + 16, y + 4, { size: SMALL })),
  ];
}

interface Columns {
  readonly right: number;
  readonly patchesAt: number;
  readonly labelAt: number;
  readonly frameEnd: number;
  readonly outsideAt: number;
}

function rowMarks(
  { y, label, colours, outside }: Row,
  { right, patchesAt, labelAt, frameEnd, outsideAt }: Columns,
): Markup[] {
  return [
    element('circle', { cx: right, cy: y, r: 4, fill: INK.paper, stroke: INK.live, 'stroke-width': 1.5 }),
    line(`M${right + 4} ${y}H${patchesAt - 6}`, WEIGHT.thin),
    ...patchesOf(colours).flatMap((inks, index) => patch(inks, patchesAt + index * (SWATCH + 4), y)),
    words(label, labelAt, y + 4, { size: SMALL }),
    ...(outside === ''
      ? []
      : [
          line(`M${labelAt + textWidth(label, SMALL) + 6} ${y}H${frameEnd + 18}`, WEIGHT.direct),
          element('path', { d: `M${frameEnd + 16} ${y - 5}l9 5l-9 5z`, fill: INK.live }),
          words(outside, outsideAt, y + 4, { size: SMALL }),
        ]),
  ];
}

function patch(inks: readonly string[], x: number, y: number): Markup[] {
  const part = SWATCH / inks.length;
  return [
    ...inks.map((fill, index) =>
      element('rect', { x: x + index * part, y: y - SWATCH / 2, width: part, height: SWATCH, fill }),
    ),
    element('rect', {
      x,
      y: y - SWATCH / 2,
      width: SWATCH,
      height: SWATCH,
      fill: 'none',
      stroke: INK.live,
      'stroke-width': 1,
    }),
  ];
}
