/*
 * The page that shows a drawing: it parses the picture, lets in the element names of drawings alone, and tells its host what was clicked.
 */
import { byId, fill, host } from './host.js';

interface DrawnElement {
  readonly id: string;
  readonly kind: 'symbol' | 'run' | 'link';
  readonly description: string;
}

type ToPage =
  | {
      readonly type: 'picture';
      readonly svg: string;
      readonly designs: readonly string[];
      readonly design: string;
      readonly states: readonly { readonly id: string; readonly title: string }[];
      readonly state: string;
      readonly elements: readonly DrawnElement[];
    }
  | { readonly type: 'cursor'; readonly id: string }
  | { readonly type: 'problem'; readonly text: string };

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const LETS_IN = /^(svg|g|rect|path|circle|text|tspan|title|desc|line|polyline|polygon)$/;
/** Scale of a saved PNG to the picture. */
const PNG_SCALE = 2;
/** Room around the diagram, units of the picture. */
const MARGIN = 24;
/** Pixels a pointer moves before a press is a drag. */
const DRAG = 3;

const editor = host<{ readonly box: Box }>();
const view = byId('view');
const said = byId('said');
const designs = byId<HTMLSelectElement>('design');
const states = byId<HTMLSelectElement>('state');

let picture: SVGSVGElement | undefined;
let source = '';
let whole: Box = { x: 0, y: 0, width: 1, height: 1 };
let box: Box = editor.getState()?.box ?? whole;
let isFitted = editor.getState()?.box === undefined;
let pointed = '';
let order: readonly DrawnElement[] = [];

const groups = (id: string): SVGGElement[] => [...view.querySelectorAll<SVGGElement>(`[data-id="${CSS.escape(id)}"]`)];

function apply(next: Box): void {
  box = next;
  picture?.setAttribute('viewBox', `${box.x} ${box.y} ${box.width} ${box.height}`);
  editor.setState({ box });
}

/** All of the room in the view, from the top, in the shape of the view: so a share of the view is that share of the box. */
function fit(): void {
  isFitted = true;
  const shape = view.clientHeight > 0 ? view.clientWidth / view.clientHeight : 1;
  const width = Math.max(whole.width, whole.height * shape);
  const height = Math.max(whole.height, whole.width / shape);
  apply({ x: whole.x - (width - whole.width) / 2, y: whole.y, width, height });
}

function zoom(factor: number, atX = 0.5, atY = 0.5): void {
  isFitted = false;
  const [width, height] = [box.width * factor, box.height * factor];
  apply({ x: box.x + (box.width - width) * atX, y: box.y + (box.height - height) * atY, width, height });
}

/** Share of the width of a sheet from which a diagram is shown with its frame, legend and findings, which are cut else. */
const NEARLY_ALL = 0.5;

/** The diagram itself fills the view; the frame of its sheet, with legend and title block, lies around it. */
function roomOfDiagram(root: SVGSVGElement): Box {
  const diagram = root.querySelector<SVGGElement>('g.diagram');
  const { x, y, width, height } = (diagram ?? root).getBBox();
  const shift = diagram?.getCTM();
  const base = root.getCTM();
  const offset = shift && base ? base.inverse().multiply(shift) : { e: 0, f: 0 };
  const room = {
    x: x + offset.e - MARGIN,
    y: y + offset.f - MARGIN,
    width: width + 2 * MARGIN,
    height: height + 2 * MARGIN,
  };
  const sheet = root.getBBox();
  if (room.width < NEARLY_ALL * sheet.width) return room;
  const top = sheet.y - MARGIN / 2;
  return { x: sheet.x - MARGIN / 2, y: top, width: sheet.width + MARGIN, height: room.y + room.height - top };
}

/** Corner of each symbol in a picture, by name. */
function corners(root: ParentNode): Map<string, DOMRect> {
  return new Map(
    [...root.querySelectorAll<SVGGElement>('g.symbol[data-id]')].map((group) => [
      group.dataset['id']!,
      group.getBBox(),
    ]),
  );
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] ?? 0;

function parsed(svg: string): SVGSVGElement {
  const root = new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement;
  const foreign = [root, ...root.querySelectorAll('*')].find(({ nodeName }) => !LETS_IN.test(nodeName));
  if (root.nodeName !== 'svg' || foreign) throw new Error(`not a drawing: ${foreign?.nodeName ?? root.nodeName}`);
  return document.importNode(root, true) as unknown as SVGSVGElement;
}

function show(svg: string, elements: readonly DrawnElement[]): void {
  const next = parsed(svg);
  const focused = (document.activeElement as SVGElement | null)?.dataset['id'];
  next.removeAttribute('width');
  next.removeAttribute('height');
  const before = picture ? corners(view) : new Map<string, DOMRect>();
  view.replaceChildren(next);
  picture = next;
  source = svg;
  whole = roomOfDiagram(next);
  order = elements;
  if (isFitted) fit();
  else {
    // The eye is held: the shift that most symbols share is taken out.
    const after = corners(view);
    const both = [...before.keys()].filter((id) => after.has(id));
    const shift = (of: 'x' | 'y'): number => median(both.map((id) => after.get(id)![of] - before.get(id)![of]));
    apply({ ...box, x: box.x + shift('x'), y: box.y + shift('y') });
  }
  for (const { id, kind, description } of elements)
    for (const group of groups(id)) {
      group.setAttribute('tabindex', '-1');
      group.setAttribute('role', kind === 'symbol' ? 'img' : 'graphics-symbol');
      group.setAttribute('aria-label', description);
    }
  if (focused !== undefined) groups(focused)[0]?.focus();
  mark();
}

function mark(): void {
  for (const group of view.querySelectorAll('.here')) group.classList.remove('here');
  if (pointed !== '') for (const group of groups(pointed)) group.classList.add('here');
}

window.addEventListener('message', ({ data }: MessageEvent<ToPage>) => {
  switch (data.type) {
    case 'picture':
      fill(
        designs,
        data.designs.map((name) => ({ id: name, title: name })),
        data.design,
      );
      designs.parentElement!.hidden = data.designs.length < 2;
      fill(states, [{ id: '', title: states.dataset['all'] ?? '' }, ...data.states], data.state);
      said.textContent = '';
      show(data.svg, data.elements);
      break;
    case 'cursor':
      pointed = data.id;
      mark();
      break;
    case 'problem':
      said.textContent = data.text;
      break;
  }
});

const reveal = (target: EventTarget | null): void => {
  const id = target instanceof Element ? target.closest<SVGElement>('[data-id]')?.dataset['id'] : undefined;
  if (id !== undefined) editor.postMessage({ type: 'reveal', id });
};

interface Drag {
  /** Where the pointer was last, and where it was pressed. */
  readonly x: number;
  readonly y: number;
  readonly from: { readonly x: number; readonly y: number };
  readonly isMoved: boolean;
  /** The symbol that is taken along; none where the picture itself is moved. */
  readonly symbol: SVGGElement | undefined;
}

/** Units of the picture for a pixel of the screen. */
const unitsPerPixel = (): number => Math.max(box.width / view.clientWidth, box.height / view.clientHeight);

let drag: Drag | undefined;
view.addEventListener('pointerdown', ({ clientX, clientY, target }) => {
  const symbol = target instanceof Element ? target.closest<SVGGElement>('g.symbol[data-id]') : null;
  const from = { x: clientX, y: clientY };
  drag = { ...from, from, isMoved: false, symbol: symbol ?? undefined };
});
view.addEventListener('pointermove', ({ clientX, clientY, buttons }) => {
  if (!drag || buttons === 0) return;
  const { from, symbol } = drag;
  const [right, down] = [clientX - drag.x, clientY - drag.y];
  if (!drag.isMoved && Math.abs(right) + Math.abs(down) < DRAG) return;
  const scale = unitsPerPixel();
  if (symbol) {
    symbol.classList.add('dragged');
    symbol.style.transform = `translate(${(clientX - from.x) * scale}px, ${(clientY - from.y) * scale}px)`;
  } else {
    isFitted = false;
    apply({ ...box, x: box.x - right * scale, y: box.y - down * scale });
  }
  drag = { ...drag, x: clientX, y: clientY, isMoved: true };
});
view.addEventListener('pointerup', ({ clientX, clientY }) => {
  if (!drag?.isMoved || !drag.symbol) return;
  const { from, symbol } = drag;
  const scale = unitsPerPixel();
  editor.postMessage({
    type: 'place',
    id: symbol.dataset['id'],
    right: Math.round((clientX - from.x) * scale),
    down: Math.round((clientY - from.y) * scale),
  });
});
// Beyond the edge nothing is put down.
view.addEventListener('pointerleave', () => {
  drag?.symbol?.style.removeProperty('transform');
  drag = undefined;
});
view.addEventListener('click', ({ target }) => {
  if (!drag?.isMoved) reveal(target);
  drag = undefined;
});
view.addEventListener(
  'wheel',
  (event) => {
    event.preventDefault();
    const { x, y, width, height } = view.getBoundingClientRect();
    zoom(Math.exp(event.deltaY / 500), (event.clientX - x) / width, (event.clientY - y) / height);
  },
  { passive: false },
);

/** The element before or behind the focused one in the order of power flow: symbols by arrows up and down, all by left and right. */
function walk(step: 1 | -1, isSymbolsOnly: boolean): void {
  const stops = order.filter(({ id, kind }) => (!isSymbolsOnly || kind === 'symbol') && groups(id).length > 0);
  const focused = (document.activeElement as SVGElement | null)?.dataset['id'];
  const at = stops.findIndex(({ id }) => id === focused);
  const next = stops[at < 0 ? 0 : (at + step + stops.length) % stops.length];
  if (next) groups(next.id)[0]?.focus();
}

const KEYS: Readonly<Record<string, () => void>> = {
  ArrowRight: () => walk(1, false),
  ArrowLeft: () => walk(-1, false),
  ArrowDown: () => walk(1, true),
  ArrowUp: () => walk(-1, true),
  Enter: () => reveal(document.activeElement),
  '+': () => zoom(0.8),
  '-': () => zoom(1.25),
  '0': fit,
  Escape: () => view.focus(),
};
view.addEventListener('keydown', (event) => {
  const act = KEYS[event.key];
  if (!act) return;
  event.preventDefault();
  act();
});

new ResizeObserver(() => {
  if (isFitted && picture) fit();
}).observe(view);
byId('fit').addEventListener('click', fit);
byId('tidy').addEventListener('click', () => editor.postMessage({ type: 'tidy' }));
byId('svg').addEventListener('click', () => editor.postMessage({ type: 'exportSvg' }));
byId('png').addEventListener('click', () => void savePng());
designs.addEventListener('change', () => editor.postMessage({ type: 'design', name: designs.value }));
states.addEventListener('change', () => editor.postMessage({ type: 'state', name: states.value }));

async function savePng(): Promise<void> {
  const image = new Image();
  image.src = URL.createObjectURL(new Blob([source], { type: 'image/svg+xml' }));
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = image.naturalWidth * PNG_SCALE;
  canvas.height = image.naturalHeight * PNG_SCALE;
  const context = canvas.getContext('2d')!;
  context.fillStyle = '#ffffff';
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.drawImage(image, 0, 0, canvas.width, canvas.height);
  URL.revokeObjectURL(image.src);
  editor.postMessage({ type: 'exportPng', data: canvas.toDataURL('image/png').replace(/^[^,]*,/, '') });
}

editor.postMessage({ type: 'ready' });
