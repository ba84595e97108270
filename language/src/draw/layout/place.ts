import type { Drawing, DrawnSymbol } from '../model/drawing.js';
import type { LayoutEdge, LayoutEngine, LayoutLabel, LayoutNode, LayoutPoint, LayoutPort } from './engine.js';
import { LINE, textWidth } from './measure.js';
import { BOND_HEIGHT, COLUMN, type Size, isBar, roomOf, up, wordsSize } from './sizes.js';

/** Where things stood before, by name; whole numbers. */
export type Positions = Readonly<Record<string, LayoutPoint>>;

export interface PlacedSymbol {
  readonly symbol: DrawnSymbol;
  /** Upper left corner and size of its room. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly ports: ReadonlyMap<string, LayoutPoint>;
}

export interface PlacedLine {
  readonly id: string;
  readonly points: readonly LayoutPoint[];
  /** Room of its words. */
  readonly words?: LayoutPoint & Size;
}

export interface Placed {
  readonly width: number;
  readonly height: number;
  readonly symbols: readonly PlacedSymbol[];
  readonly lines: ReadonlyMap<string, PlacedLine>;
  /** Where lines branch. */
  readonly junctions: readonly LayoutPoint[];
  readonly positions: Positions;
}

const ROOT: Readonly<Record<string, string>> = {
  'elk.algorithm': 'layered',
  'elk.direction': 'RIGHT',
  'elk.edgeRouting': 'ORTHOGONAL',
  'elk.randomSeed': '1',
  'elk.separateConnectedComponents': 'false',
  'elk.layered.cycleBreaking.strategy': 'GREEDY_MODEL_ORDER',
  'elk.layered.nodePlacement.strategy': 'NETWORK_SIMPLEX',
  'elk.layered.nodePlacement.networkSimplex.nodeFlexibility.default': 'PORT_POSITION',
  'elk.layered.edgeLabels.sideSelection': 'ALWAYS_UP',
  'elk.layered.spacing.nodeNodeBetweenLayers': '10',
  'elk.layered.spacing.edgeNodeBetweenLayers': '10',
  'elk.layered.spacing.edgeEdgeBetweenLayers': '20',
  'elk.spacing.nodeNode': '20',
  'elk.spacing.edgeNode': '20',
  'elk.spacing.edgeEdge': '20',
  'elk.spacing.edgeLabel': '4',
  'elk.spacing.labelNode': '4',
  'elk.padding': '[top=0,left=0,bottom=0,right=0]',
};
/** The order of the text decides. */
const BY_TEXT = {
  'elk.layered.considerModelOrder.strategy': 'NODES_AND_EDGES',
  'elk.layered.crossingMinimization.forceNodeModelOrder': 'false',
  'elk.layered.considerModelOrder.crossingCounterNodeInfluence': '0.001',
};
/** The places from before decide the order within a layer; the rest is found afresh. */
const BY_PLACE = { 'elk.layered.crossingMinimization.semiInteractive': 'true' };

/** Widths over height to which a drawing is folded that is too wide for a sheet: rows of it below each other, each read from left to right. */
const FOLDS = [1.9, 1.3] as const;
type Fold = (typeof FOLDS)[number] | undefined;
/** @param isPlain whether lines that lead from row to row are left as they fall */
const folded = (fold: Fold, isPlain: boolean): Readonly<Record<string, string>> =>
  fold === undefined
    ? {}
    : {
        'elk.layered.wrapping.strategy': 'MULTI_EDGE',
        'elk.aspectRatio': String(fold),
        ...(isPlain ? { 'elk.layered.wrapping.multiEdge.improveWrappedEdges': 'false' } : {}),
      };

/** A sheet of A3 laid across, and what frame, legend and title block take of it, in units of the picture. */
const PAPER = { width: 1680, height: 1188, beside: 128, below: 420 } as const;

const SIDE = { left: 'WEST', right: 'EAST', below: 'SOUTH' } as const;

/** Words above a bar and the sign of its bond below keep their room outside it, since its length follows its lines. */
function barLabels(symbol: DrawnSymbol): LayoutLabel[] {
  const words = wordsSize(symbol.label, symbol.marks);
  return [
    { text: 'words', ...words, layoutOptions: { 'elk.nodeLabels.placement': 'OUTSIDE V_TOP H_CENTER' } },
    ...(symbol.canBond
      ? [
          {
            text: 'bond',
            width: 30,
            height: BOND_HEIGHT,
            layoutOptions: { 'elk.nodeLabels.placement': 'OUTSIDE V_BOTTOM H_CENTER' },
          },
        ]
      : []),
  ];
}

function nodeOf(symbol: DrawnSymbol, former: LayoutPoint | undefined): LayoutNode {
  const room = roomOf(symbol);
  const ports = symbol.ports.map((port): LayoutPort => ({
    id: port.id,
    width: 0,
    height: 0,
    ...(port.side === 'below'
      ? { x: room.x, y: room.height }
      : { x: port.side === 'left' ? 0 : room.width, y: room.y + (room.offsets.get(port.id) ?? 0) }),
    layoutOptions: { 'elk.port.side': SIDE[port.side] },
  }));
  return {
    id: symbol.id,
    width: room.width,
    height: room.height,
    ...(isBar(symbol) ? { labels: barLabels(symbol) } : {}),
    ...(former ?? {}),
    ports,
    layoutOptions: {
      ...(isBar(symbol)
        ? {
            'elk.portConstraints': 'FIXED_SIDE',
            'elk.spacing.portPort': '40',
            'elk.portAlignment.default': 'CENTER',
            'elk.layered.nodePlacement.networkSimplex.nodeFlexibility': 'NODE_SIZE',
            'elk.nodeSize.constraints': 'MINIMUM_SIZE PORTS',
            'elk.nodeSize.minimum': `(${room.width},${room.height})`,
          }
        : {
            'elk.portConstraints': 'FIXED_POS',
            'elk.layered.nodePlacement.networkSimplex.nodeFlexibility': 'NONE',
          }),
      ...(former ? { 'elk.position': `(${former.x},${former.y})` } : {}),
    },
  };
}

const NO_WORDS: Size = { width: 0, height: 0 };

/** What flows along a run in some state may take more room than what the run is. */
function widened(words: Size, run: string, { states }: Drawing): Size {
  const flows = states.map((state) => state.flows.filter((flow) => flow.run === run));
  const widths = flows.flat().map(({ text }) => textWidth(`→ ${text}`));
  const lines = Math.max(...flows.map(({ length }) => length + 1), 0);
  return { width: Math.max(words.width, ...widths), height: Math.max(words.height, lines * LINE) };
}

/** Names of ports hold spaces and points, which ids of the engine may; ids of lines and symbols are kept apart by their first letter. */
function graphOf(drawing: Drawing, former: Positions | undefined, fold: Fold, isPlain: boolean): LayoutNode {
  const lines = [
    ...drawing.stretches.map(({ id, run, from, to, label, marks }) => ({
      id,
      from,
      to,
      words: label ? widened(wordsSize(label, marks), run, drawing) : NO_WORDS,
      isLink: false,
    })),
    ...drawing.links.map(({ id, from, to, label, marks }) => ({
      id,
      from,
      to,
      words: wordsSize(label, marks),
      isLink: true,
    })),
  ];
  return {
    id: 'drawing',
    layoutOptions: { ...ROOT, ...(former ? BY_PLACE : BY_TEXT), ...folded(fold, isPlain) },
    children: drawing.symbols.map((symbol) => nodeOf(symbol, former?.[symbol.id])),
    edges: lines.map(({ id, from, to, words, isLink }): LayoutEdge => ({
      id: `line ${id}`,
      sources: [from],
      targets: [to],
      // Links give way to what carries power.
      layoutOptions: {
        'elk.layered.priority.straightness': isLink ? '0' : '10',
        'elk.layered.priority.shortness': isLink ? '0' : '2',
      },
      ...(words.height > 0
        ? {
            labels: [
              {
                text: id,
                width: up(words.width + 4, COLUMN),
                height: words.height + 2,
              },
            ],
          }
        : {}),
    })),
  };
}

/** Lines and symbols lie on half modules: what was equal before stays equal, so that lines stay straight. */
const GRID = 5;
const onGrid = (value: number): number => Math.round(value / GRID) * GRID;
const pointOnGrid = ({ x, y }: LayoutPoint): LayoutPoint => ({ x: onGrid(x), y: onGrid(y) });

const roomOfLabel = ({ x = 0, y = 0, width = 0, height = 0 }: LayoutLabel): LayoutPoint & Size => ({
  ...pointOnGrid({ x, y }),
  width,
  height,
});

async function laidOut(
  drawing: Drawing,
  engine: LayoutEngine,
  former: Positions | undefined,
  fold: Fold,
  isPlain = false,
): Promise<LayoutNode> {
  return engine.layout(graphOf(drawing, former, fold, isPlain));
}

/** How large a drawing can be on a sheet of A3; 1 where it fits as it is. */
const scaleOf = ({ width = 0, height = 0 }: LayoutNode): number =>
  Math.min(1, PAPER.width / (width + PAPER.beside), PAPER.height / (height + PAPER.below));

/** How far things are from where they were kept, on the average. */
function awayFrom(kept: Positions, graph: LayoutNode): number {
  const now = positionsOf(graph);
  const names = Object.keys(kept).filter((name) => now[name]);
  const away = (name: string): number =>
    Math.abs(now[name]!.x - kept[name]!.x) + Math.abs(now[name]!.y - kept[name]!.y);
  return names.reduce((sum, name) => sum + away(name), 0) / Math.max(1, names.length);
}

interface Laid {
  readonly fold: Fold;
  readonly graph: LayoutNode;
}

/**
 * The first layouts, best first: unfolded where that fits, else folded as it is read best, or as it was when places were kept. Unfolded is
 * always among them.
 */
async function firstLayouts(
  drawing: Drawing,
  engine: LayoutEngine,
  known: Positions,
): Promise<readonly [best: Laid, plain?: Laid]> {
  const plain: Laid = { fold: undefined, graph: await laidOut(drawing, engine, undefined, undefined) };
  if (scaleOf(plain.graph) === 1) return [plain];
  const all = [plain];
  for (const fold of FOLDS) {
    const graph = await ifLaidOut(drawing, engine, undefined, fold);
    if (graph) all.push({ fold, graph });
  }
  const isKept = Object.keys(known).length * 2 >= drawing.symbols.length;
  const worth = ({ graph }: Laid): number => (isKept ? -awayFrom(known, graph) : scaleOf(graph));
  const best = all.reduce((so, next) => (worth(next) > worth(so) + 1e-9 ? next : so));
  return best === plain ? [plain] : [best, plain];
}

/** Where the connections of a symbol lie. */
const portsOf = ({ x: left = 0, y: top = 0, ports = [] }: LayoutNode): Map<string, LayoutPoint> =>
  new Map(ports.map(({ id, x = 0, y = 0 }) => [id, pointOnGrid({ x: left + x, y: top + y })]));

/** Whether every line begins and ends at the connections that it joins: the engine loses the rest of some lines when it folds a graph. */
function areLinesWhole({ children = [], edges = [] }: LayoutNode): boolean {
  const ports = new Map(children.flatMap((node) => [...portsOf(node)]));
  const isAt = (id: string | undefined, point: LayoutPoint): boolean => {
    const port = id === undefined ? undefined : ports.get(id);
    const { x, y } = pointOnGrid(point);
    return port?.x === x && port.y === y;
  };
  return edges.every(
    ({ sections = [], sources, targets }) =>
      sections.length === 1 && isAt(sources[0], sections[0]!.startPoint) && isAt(targets[0], sections[0]!.endPoint),
  );
}

/**
 * The layout in another fold: the engine fails at some graphs when it folds them, or loses a part of a line, and at fewer when it leaves the folded
 * lines as they are.
 */
async function ifLaidOut(
  drawing: Drawing,
  engine: LayoutEngine,
  former: Positions | undefined,
  fold: Fold,
): Promise<LayoutNode | undefined> {
  for (const isPlain of [false, true])
    try {
      const graph = await laidOut(drawing, engine, former, fold, isPlain);
      if (areLinesWhole(graph)) return graph;
    } catch {
      // Unfolded, which is always tried, says what is wrong where it is the graph itself.
    }
  return undefined;
}

const positionsOf = (graph: LayoutNode): Positions =>
  Object.fromEntries(
    (graph.children ?? []).map(({ id, x = 0, y = 0 }) => [id, { x: Math.round(x), y: Math.round(y) }]),
  );

/**
 * Gives everything its place. First the order of the text decides, then the places found so or kept from before hold the order within each
 * layer: what is added later moves the rest by no more than it needs room.
 */
export async function place(drawing: Drawing, engine: LayoutEngine, kept: Positions = {}): Promise<Placed> {
  const names = new Set(drawing.symbols.map(({ id }) => id));
  const known = Object.fromEntries(Object.entries(kept).filter(([name]) => names.has(name)));
  const [best, plain] = await firstLayouts(drawing, engine, known);
  const held = ({ graph }: Laid): Positions => ({ ...positionsOf(graph), ...known });
  const graph =
    (plain && (await ifLaidOut(drawing, engine, held(best), best.fold))) ??
    (await laidOut(drawing, engine, held(plain ?? best), undefined));
  const nodes = new Map((graph.children ?? []).map((node) => [node.id, node]));
  const symbols = drawing.symbols.map((symbol): PlacedSymbol => {
    const node = nodes.get(symbol.id)!;
    const corner = pointOnGrid({ x: node.x ?? 0, y: node.y ?? 0 });
    return { symbol, ...corner, width: node.width ?? 0, height: onGrid(node.height ?? 0), ports: portsOf(node) };
  });
  const lines = new Map<string, PlacedLine>();
  const junctions = new Map<string, LayoutPoint>();
  for (const { id, sections = [], labels = [], junctionPoints = [] } of graph.edges ?? []) {
    for (const point of junctionPoints.map(pointOnGrid)) junctions.set(`${point.x} ${point.y}`, point);
    const [section] = sections;
    if (!section) continue;
    const [label] = labels;
    const points = [section.startPoint, ...(section.bendPoints ?? []), section.endPoint].map(pointOnGrid);
    const name = id.slice('line '.length);
    lines.set(name, { id: name, points, ...(label ? { words: roomOfLabel(label) } : {}) });
  }
  return {
    width: Math.ceil(graph.width ?? 0),
    height: Math.ceil(graph.height ?? 0),
    symbols,
    lines,
    junctions: [...junctions.values()],
    positions: positionsOf(graph),
  };
}
