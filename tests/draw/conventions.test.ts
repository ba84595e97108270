import { beforeAll, describe, expect, test } from 'vitest';
import {
  type LaidOutDrawing,
  type AnalysedDesign,
  drawDesign,
  drawingFigures,
  writeDrawing,
} from '@wattwright/language';
import { layoutEngine } from '../../server/src/drawing/layout-engine.js';
import { analyseText } from '../helpers/analyse.js';
import { designFiles } from '../document/helpers/design-files.js';
import { overlaps } from './helpers/overlaps.js';

/*
 * The conventions of single-line diagrams, point by point, over every example. Where nothing else is said they are those of IEC 61082-1,
 * ISO 128, ISO 3098 and ISO 7200 from memory, and common practice without a source. What only an eye can judge (few bends, one family of
 * functions beside the other) is no point here.
 */

const STAMP = { tool: 'wattwright test', commit: 'abc1234', date: '2027-01-01' };
/** Units of the picture in a millimetre. */
const PER_MM = 4;

interface Drawn extends LaidOutDrawing {
  readonly design: AnalysedDesign;
  readonly figures: readonly { readonly title: string; readonly svg: string }[];
  readonly whole: string;
}

const textOf = (lines: readonly (readonly { readonly text: string }[])[]): string =>
  lines.map((line) => line.map(({ text }) => text).join('')).join('\n');

/** Slips of the pen: its bank is wired to both sides of its charger, so that no way is the way of power. */
const WITHOUT_WAY = 'field-mistakes/text.watt';

describe.each(designFiles)('the drawing of $file', ({ file, texts }) => {
  let all: readonly Drawn[];
  beforeAll(async () => {
    const analysis = await analyseText(texts);
    all = await Promise.all(
      analysis.designs.map(async (design): Promise<Drawn> => {
        const laid = await drawDesign(analysis, design, layoutEngine());
        const options = { stamp: STAMP, sheets: 'all' } as const;
        return {
          ...laid,
          design,
          figures: drawingFigures(laid.drawing, laid.placed, options).map(({ title, picture }) => ({
            title,
            svg: picture.text,
          })),
          whole: writeDrawing(laid.drawing, laid.placed, { stamp: STAMP, sheets: 'whole' }),
        };
      }),
    );
    expect(all.length).toBeGreaterThan(0);
  });
  const each = (point: (drawn: Drawn) => void): void => {
    for (const drawn of all) point(drawn);
  };

  test('every line leads from where it begins to where it ends, without a gap and without a slant', () => {
    each(({ drawing, placed }) => {
      const ports = new Map(placed.symbols.flatMap(({ ports: own }) => [...own]));
      for (const { id, from, to } of [...drawing.stretches, ...drawing.links]) {
        const points = placed.lines.get(id)?.points ?? [];
        expect([id, points[0], points.at(-1)]).toEqual([id, ports.get(from), ports.get(to)]);
        const slanted = points.slice(1).filter(({ x, y }, index) => x !== points[index]!.x && y !== points[index]!.y);
        expect([id, ...slanted]).toEqual([id]);
      }
    });
  });

  test('flow: power goes from left to right, and where it turns back it goes on in a row below', () => {
    each(({ drawing, placed }) => {
      const at = new Map(placed.symbols.flatMap(({ ports }) => [...ports]));
      const back = drawing.stretches.filter(({ from, to }) => {
        const [a, b] = [at.get(from)!, at.get(to)!];
        return b.x < a.x && b.y <= a.y;
      });
      expect(back.map(({ id }) => id)).toEqual(file === WITHOUT_WAY ? ['Feed 1'] : []);
    });
  });

  test('lines: level or upright, from connection to connection, at least 0.7 mm beside each other, nothing over anything', () => {
    each((drawn) => {
      expect(overlaps(drawn)).toEqual([]);
      expect(tooNear(drawn)).toEqual([]);
    });
  });

  test('grid: symbols, connections and bends lie on half modules', () => {
    each(({ placed }) => {
      const points = [
        ...placed.symbols.flatMap(({ x, y, ports }) => [{ x, y }, ...ports.values()]),
        ...[...placed.lines.values()].flatMap((line) => line.points),
      ];
      expect(points.filter(({ x, y }) => x % 5 !== 0 || y % 5 !== 0)).toEqual([]);
    });
  });

  test('designations: each thing and run once by its name, in front of its data', () => {
    each(({ drawing, design: { system } }) => {
      for (const { id, label } of drawing.symbols) expect(label[0]![0], id).toEqual({ text: id, style: 'name' });
      expect(drawing.symbols.map(({ id }) => id).sort()).toEqual(system.instances.map(({ name }) => name).sort());
      const named = drawing.stretches.flatMap(({ label }) => (label ? [label[0]![0]!.text] : []));
      expect(named.sort()).toEqual(system.runs.map(({ name }) => name).sort());
    });
  });

  test('content: devices with class, rating and poles; runs with size, conductors, earth, length, type, kind and current; what is not stated says so', () => {
    each(({ drawing, design: { system } }) => {
      for (const { name, kind, properties } of system.instances) {
        if (kind !== 'fuse' && kind !== 'breaker') continue;
        const said = textOf(drawing.symbols.find(({ id }) => id === name)!.label);
        expect(said, name).toMatch(properties.has('rating') ? /\d A/ : /./);
        if (kind === 'breaker' && properties.get('poles')?.origin === 'stated') expect(said, name).toMatch(/\dP/);
      }
      for (const { name, properties, carries } of system.runs) {
        const said = textOf(drawing.stretches.find(({ run, label }) => run === name && label)!.label!);
        expect(said, name).toMatch(properties.has('size') ? /\d (AWG|mm²|kcmil)|\d\/0/ : /size not stated/);
        expect(said, name).toMatch(properties.has('length') ? /\d m\b/ : /length not stated/);
        if (carries !== 'any') expect(said, name).toMatch(/^(AC|DC) (\d|current not worked out)/m);
        if (properties.get('earth')?.value.type === 'quantity')
          expect(said, name).toMatch(system.basis.practice === 'iec' ? /earth \d/ : /ground \d/);
        if (properties.has('conductors') && !properties.has('parallel')) expect(said, name).toMatch(/^\d+ × /m);
      }
    });
  });

  test('protection: every device of a run stands on its way, between what it joins', () => {
    each(({ drawing, design: { system } }) => {
      for (const { name, through } of system.runs) {
        const ports = new Set(
          drawing.stretches.filter(({ run }) => run === name).flatMap(({ from, to }) => [from, to]),
        );
        for (const { instance } of through) {
          const own = drawing.symbols.find(({ id }) => id === instance.name)!.ports.filter(({ id }) => ports.has(id));
          expect(own.length, `${instance.name} in ${name}`).toBe(2);
        }
      }
    });
  });

  test('states: each is a sheet that says which it is, with all symbols on it, and with what is live', () => {
    each(({ drawing, figures, design: { context } }) => {
      expect(drawing.states.map(({ id }) => id)).toEqual(context.circuitStates.map(({ state }) => state.id));
      for (const { title, live } of drawing.states) {
        const sheet = figures.find((figure) => figure.title.endsWith(`, ${title}`))!;
        expect(sheet.svg, title).toContain(`State: ${title}`.replaceAll('&', '&#38;'));
        for (const { id } of drawing.symbols) expect(sheet.svg, title).toContain(`data-id="${id}"`);
        expect(live.length, title).toBeGreaterThan(0);
      }
    });
  });

  test('earth: each bond of neutral to earth is drawn, and in each state those in force', () => {
    each(({ drawing, design: { system } }) => {
      const stated = system.instances.filter(({ properties }) => {
        const value = properties.get('neutralBond')?.value;
        return value?.type === 'word' && value.word !== 'floating';
      });
      for (const { name } of stated) expect(drawing.symbols.find(({ id }) => id === name)!.canBond, name).toBe(true);
      for (const { bonds } of drawing.states)
        for (const bond of bonds) expect(drawing.symbols.find(({ id }) => id === bond)!.canBond, bond).toBe(true);
    });
  });

  test('links: each is drawn, and dashed', () => {
    each(({ drawing, design: { system }, whole }) => {
      expect(drawing.links.map(({ id }) => id).sort()).toEqual(system.links.map(({ name }) => name).sort());
      for (const { id } of drawing.links)
        expect(whole).toMatch(new RegExp(`data-id="${id}"><path [^>]*stroke-dasharray`));
    });
  });

  test('title block: every mandatory field on every sheet, the sheets counted, nothing cut off', () => {
    each(({ figures, drawing }) => {
      for (const { svg, title } of figures)
        for (const field of [
          'Title',
          'Document',
          'Design',
          'Rules',
          'Revision',
          'Date',
          'Drawn by',
          'Checked by',
          'Sheet',
        ])
          expect(svg, title).toContain(`>${field}</text>`);
      for (const { svg, title } of figures) {
        expect(svg, title).toMatch(/>\d+ of \d+<\/text>/);
        if (drawing.title.length < 60) expect(svg, title).not.toContain('…<');
      }
    });
  });

  test('legend: every sort of symbol that is used', () => {
    each(({ drawing, whole }) => {
      for (const name of new Set(drawing.symbols.map(({ symbol }) => symbol)))
        expect(whole, name).toMatch(/Symbols, in the manner of (IEC 60617|IEEE 315)/);
      if (drawing.links.length > 0) expect(whole).toContain('>Communication link</text>');
    });
  });

  test('pages: each line that leaves one says to which it goes, and that page says the same of the way back', () => {
    each(({ figures }) => {
      const pages = new Map(
        figures.flatMap(({ title, svg }) => {
          const number = /, page (\d+) of \d+$/.exec(title)?.[1];
          return number === undefined ? [] : [[number, [...svg.matchAll(/>(\S+): page (\d+)</g)]] as const];
        }),
      );
      for (const [number, references] of pages)
        for (const [, run, to] of references) {
          const there = pages.get(to!) ?? [];
          expect(
            there.filter(([, other, back]) => other === run && back === number).length,
            `${run} of page ${number} on page ${to}`,
          ).toBe(references.filter(([, other, same]) => other === run && same === to).length);
        }
    });
  });

  test('text: no letters below 1.8 mm', () => {
    each(({ figures }) => {
      for (const { svg, title } of figures) {
        // Capitals of common sans faces are 0.72 of the size (from memory).
        const sizes = [...svg.matchAll(/font-size="([\d.]+)"/g)].map(([, size]) => (Number(size) * 0.72) / PER_MM);
        expect(Math.min(...sizes), title).toBeGreaterThan(1.799);
      }
    });
  });
});

/** Stretches of different lines that lie beside each other nearer than 0.7 mm without meeting in one connection. */
function tooNear({ drawing, placed }: LaidOutDrawing): string[] {
  const segments = [...drawing.stretches, ...drawing.links].flatMap(({ id, from, to }) => {
    const { points } = placed.lines.get(id)!;
    return points.slice(1).map((b, index) => ({ id, ends: [from, to], a: points[index]!, b }));
  });
  const found: string[] = [];
  for (const [index, one] of segments.entries())
    for (const other of segments.slice(index + 1)) {
      if (one.id === other.id || one.ends.some((end) => other.ends.includes(end))) continue;
      for (const [along, across] of [
        ['x', 'y'],
        ['y', 'x'],
      ] as const) {
        if (one.a[across] !== one.b[across] || other.a[across] !== other.b[across]) continue;
        const shared =
          Math.min(Math.max(one.a[along], one.b[along]), Math.max(other.a[along], other.b[along])) -
          Math.max(Math.min(one.a[along], one.b[along]), Math.min(other.a[along], other.b[along]));
        if (shared > 0 && Math.abs(one.a[across] - other.a[across]) < 0.7 * PER_MM)
          found.push(`${one.id} on ${other.id}`);
      }
    }
  return found;
}
