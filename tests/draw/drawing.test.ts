import { beforeAll, describe, expect, test } from 'vitest';
import {
  type LaidOutDrawing,
  type Positions,
  drawDesign,
  readPositions,
  writeDrawing,
  writePositions,
} from '@wattwright/language';
import { place } from '../../language/src/draw/layout/place.js';
import { TEXT } from '../../language/src/draw/layout/measure.js';
import { WEIGHT } from '../../language/src/draw/svg/ink.js';
import { layoutEngine } from '../../server/src/drawing/layout-engine.js';
import { analyseText } from '../helpers/analyse.js';
import { overlaps } from './helpers/overlaps.js';

/** Invented: a set, sun and a bank behind one bus, an inverter that passes nothing on, and a panel with loads. */
const HUT = (more = ''): string => `
design Hut "Hut <script>&\\u0007" {
  basis: iec
  site { ambient: 0..30 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   frequency: 50 Hz   neutralBond: bonded }
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.5 A }
  charger Rect { currentLimit: 60 A   maximumCurrent: 80 A   absorb: 28.4 V   input: 180..264 V }
  chargeController Tracker { currentLimit: 20 A   absorb: 28.4 V }
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 200 Ah   resistance: 4 mohm }
  inverter Inv { rated: 2 kW   apparent: 2 kVA   voltage: 230 V   efficiency: 92 %   neutralBond: bonded   dcVoltage: 20..32 V }
  bus DcBus { rating: 250 A }
  bus Panel { rating: 40 A   voltage: 230 V }
  fuse BankFuse { class: gG   rating: 200 A }
  breaker LightsBreaker { class: MiniatureBreaker6k   rating: 6 A   curve: B   poles: 2 }
  load Lights { power: 180 W   voltage: 230 V   lighting: yes }
  load Pump { power: 400 W   voltage: 230 V   startFactor: 5 }
  run GenLine: Genset -> Rect.ac { size: 2.5 mm2   type: H07RN-F   length: assumed 12 m }
  run RectFeed: DcBus -> Rect.dc { size: 16 mm2   type: H07V-K   length: 2 m }
  run SunLine: Array -> Tracker.solar { size: 6 mm2   length: 15 m }
  run SunFeed: DcBus -> Tracker.dc { size: 6 mm2   length: 2 m }
  run BankFeed: Bank -> BankFuse -> DcBus { size: 70 mm2   type: H07V-K   length: 1 m }
  run InvFeed: DcBus -> Inv.dc { size: 50 mm2   type: H07V-K   length: 1 m }
  run InvOut: Inv.ac -> Panel { size: 2.5 mm2   type: H07V-K   length: 2 m }
  run LightsLine: Panel -> LightsBreaker -> Lights { size: 1.5 mm2   type: H07V-U   length: 12 m }
  run PumpLine: Panel -> Pump { }
  link PackLink: Bank -> Rect { medium: can   length: 3 m }
  ${more}
}
`;
const MORE =
  'load Radio { power: 20 W   voltage: 230 V }\n  run RadioLine: Panel -> Radio { size: 1.5 mm2   length: 4 m }';

const STAMP = { tool: 'wattwright test', commit: 'abc1234', date: '2027-01-01' };

async function draw(text: string, kept?: Positions): Promise<LaidOutDrawing> {
  const analysis = await analyseText({ 'hut.watt': text });
  return drawDesign(analysis, analysis.designs[0]!, layoutEngine(), kept);
}

const written = (drawn: LaidOutDrawing, sheets: 'all' | 'whole' | { state: string } = 'all'): string =>
  writeDrawing(drawn.drawing, drawn.placed, { stamp: STAMP, sheets });

let hut: LaidOutDrawing;
beforeAll(async () => {
  hut = await draw(HUT());
});

// The points below are those of the collection of conventions for single-line diagrams (IEC 61082-1, ISO 128, ISO 3098, ISO 7200 and common
// practice, all from memory).
describe('a single-line diagram by the conventions', () => {
  test('power flows from left to right: sources stand left of what they feed', () => {
    const at = (name: string): number => hut.placed.symbols.find(({ symbol }) => symbol.id === name)!.x;
    const order = ['Genset', 'Rect', 'DcBus', 'Inv', 'Panel', 'Lights'].map(at);
    expect(order).toEqual([...order].sort((a, b) => a - b));
    expect(at('Bank')).toBeLessThan(at('DcBus'));
    expect(at('Array')).toBeLessThan(at('Tracker'));
  });

  test('lines run level or upright, and end where the symbols have their connections', () => {
    const ports = new Map(hut.placed.symbols.flatMap((symbol) => [...symbol.ports]));
    for (const { id, from, to } of [...hut.drawing.stretches, ...hut.drawing.links]) {
      const { points } = hut.placed.lines.get(id)!;
      for (const [index, point] of points.entries())
        if (index > 0) expect(point.x === points[index - 1]!.x || point.y === points[index - 1]!.y, id).toBe(true);
      expect(points[0], id).toEqual(ports.get(from));
      expect(points.at(-1), id).toEqual(ports.get(to));
    }
  });

  test('symbols, lines and connections lie on half modules', () => {
    const values = [
      ...hut.placed.symbols.flatMap(({ x, y, ports }) => [
        x,
        y,
        ...[...ports.values()].flatMap((port) => [port.x, port.y]),
      ]),
      ...[...hut.placed.lines.values()].flatMap(({ points }) => points.flatMap(({ x, y }) => [x, y])),
    ];
    expect(values.filter((value) => value % 5 !== 0)).toEqual([]);
  });

  test('no words or bodies lie over each other, and no line crosses what it does not lead to', () => {
    expect(overlaps(hut)).toEqual([]);
  });

  test('a bar is at least twice as heavy as any line, thick lines at least twice as thin ones', () => {
    expect(WEIGHT.bar).toBeGreaterThanOrEqual(2 * WEIGHT.direct);
    expect(WEIGHT.direct).toBeGreaterThanOrEqual(2 * WEIGHT.alternating);
    expect(WEIGHT.frame / 4).toBeCloseTo(0.7);
    expect(WEIGHT.alternating / 4).toBeCloseTo(0.25);
  });

  test('capitals are 2.5 mm high on paper', () => {
    // Capitals of common sans faces are 0.72 of the size (from memory); 4 units are 1 mm.
    expect((TEXT * 0.72) / 4).toBeGreaterThanOrEqual(2.5);
    expect(written(hut)).toMatch(/<svg [^>]*width="\d+(\.\d+)?mm"/);
  });

  test('every symbol carries its name and ratings, every run its size, type, length and current', () => {
    const svg = written(hut, 'whole');
    for (const text of [
      'Genset',
      '5 kW',
      'BankFuse',
      'gG',
      '200 A',
      '200 Ah',
      '25.6 V',
      'BankFeed',
      '70 mm²',
      'H07V-K',
      '1 m',
    ])
      expect(svg, text).toContain(text);
    expect(svg).toMatch(/DC \d+(\.\d+)? A/);
    expect(svg).toMatch(/AC \d+(\.\d+)? A/);
  });

  test('what is assumed stands in italics, what is not stated says so', () => {
    const svg = written(hut, 'whole');
    expect(svg).toContain('<tspan font-style="italic">12 m</tspan>');
    expect(svg).toContain('<tspan text-decoration="underline">length not stated</tspan>');
  });

  test('the title block has its mandatory fields, and the legend every symbol that is used', () => {
    const svg = written(hut, 'whole');
    for (const field of ['Title', 'Document', 'Design', 'Rules', 'Revision', 'Date', 'Drawn by', 'Checked by', 'Sheet'])
      expect(svg).toContain(`>${field}</text>`);
    for (const title of [
      'Generator',
      'Solar array',
      'Battery bank',
      'Fuse',
      'Circuit breaker',
      'Lighting',
      'Motor',
      'Communication link',
    ])
      expect(svg).toContain(`>${title}</text>`);
    expect(svg).toContain('local codes');
  });

  test('links are dashed, and bonds of neutral to earth are drawn', () => {
    const svg = written(hut, 'whole');
    expect(svg).toMatch(/class="link" data-id="PackLink"><path [^>]*stroke-dasharray/);
    expect(svg).toMatch(/data-id="Genset".*?M0 0V6M-4 6H4V14H-4Z/);
  });
});

describe('states', () => {
  test('each has a sheet, with what is dead drawn pale and what flows along the runs', () => {
    const svg = written(hut);
    expect(svg.match(/class="sheet"/g)).toHaveLength(1 + hut.drawing.states.length);
    const alone = written(hut, { state: 'battery' });
    expect(alone).toMatch(/data-id="GenLine"><path [^>]*stroke="#b8b8b8"/);
    expect(alone).toMatch(/data-id="BankFeed"><path [^>]*stroke="#111111"/);
    expect(alone).toMatch(/→ \d+(\.\d+)? A {2}\d+(\.\d+)? k?W/);
  });

  test('the bond in force is told from one that is not', () => {
    const bonds = (id: string): readonly string[] => hut.drawing.states.find((state) => state.id === id)!.bonds;
    expect(bonds('battery')).toEqual(['Inv']);
    expect(bonds('Genset')).toEqual(['Genset', 'Inv']);
  });

  test('what a bank takes and gives is shown both ways', () => {
    const flows = hut.drawing.states.find(({ id }) => id === 'Genset')!.flows.filter(({ run }) => run === 'BankFeed');
    expect(flows.map(({ towards }) => towards).sort()).toEqual(['far', 'near']);
    // 60 A of the charger, into the bank.
    expect(flows.find(({ towards }) => towards === 'near')!.text).toMatch(/^60 A /);
  });
});

describe('text of people', () => {
  test('markup and control characters of names are words in the picture and nothing else', () => {
    const svg = written(hut);
    expect(svg).toContain('Hut &#60;script&#62;&#38;');
    expect(svg).not.toMatch(/<script/);
    expect(svg).not.toContain('\u0007');
  });

  test('who does not see it gets its elements, runs and states in words', () => {
    const svg = written(hut);
    expect(svg).toMatch(/<title>Single-line diagram of Hut/);
    expect(svg).toMatch(
      /<desc>Elements: Genset, 5 kW, .*Runs: GenLine, 2.5 mm², 12 m \(assumed\).*Genset to Rect.*States: battery alone/s,
    );
    expect(svg).toMatch(/class="symbol" data-id="Bank" role="img" aria-label="Bank, 200 Ah, 25.6 V/);
  });
});

describe('places', () => {
  test('the same text gives the same bytes', async () => {
    expect(written(await draw(HUT()))).toBe(written(hut));
  });

  test('what is added leaves the others in their order, and moves none by more than its own room', async () => {
    const more = await draw(HUT(MORE));
    const again = await place(more.drawing, layoutEngine(), hut.placed.positions);
    const before = hut.placed.positions;
    const shared = Object.keys(before);
    const moves = shared.map((name) => Math.abs(again.positions[name]!.y - before[name]!.y));
    expect(Math.max(...moves)).toBeLessThanOrEqual(120);
    for (const a of shared)
      for (const b of shared)
        if (before[a]!.x === before[b]!.x && before[a]!.y < before[b]!.y)
          expect(again.positions[a]!.y, `${a} above ${b}`).toBeLessThan(again.positions[b]!.y);
  });

  test('places kept from before decide what stands above what', async () => {
    const { drawing, placed } = await draw(HUT(MORE));
    const isAbove = (places: Positions): boolean => places['Radio']!.y < places['Pump']!.y;
    // Both are fed by the panel itself. Turned round: what was above is put below.
    const at = (name: string, other: string): Positions => ({ [name]: placed.positions[other]! });
    const kept = { ...at('Radio', 'Pump'), ...at('Pump', 'Radio') };
    expect(isAbove((await place(drawing, layoutEngine(), kept)).positions)).toBe(!isAbove(placed.positions));
  });

  test('are written with sorted names and whole numbers, and read back', () => {
    const text = writePositions({ Hut: { Lights: { x: 1.4, y: 2 }, Bank: { x: 3, y: -4 } } });
    expect(text).toBe(
      '{\n  "schema": 1,\n  "designs": {\n    "Hut": {\n      "Bank": { "x": 3, "y": -4 },\n      "Lights": { "x": 1, "y": 2 }\n    }\n  }\n}\n',
    );
    expect(readPositions(text)).toEqual({ positions: { Hut: { Bank: { x: 3, y: -4 }, Lights: { x: 1, y: 2 } } } });
    expect(readPositions('{')).toEqual({ wrong: 'it is no JSON' });
    expect(readPositions('{"designs": {"Hut": {"Bank": {"x": "1"}}}}')).toHaveProperty('wrong');
  });
});
