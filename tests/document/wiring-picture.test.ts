import { describe, expect, test } from 'vitest';
import { wiringViews, writeWiring } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';

/** Invented: two enclosures, a stretch within one, one between the two, and one to the field. */
const HUT = `
design Hut {
  basis: iec
  solar Array { power: 400 W }
  chargeController Tracker "roof side" { currentLimit: 20 A   enclosure: "board <1>" }
  bus Bar { rating: 200 A   enclosure: "board <1>"   stud: 8 mm }
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah   enclosure: "box" }
  fuse Main { class: gG   rating: 100 A   enclosure: "box" }
  run Feed: Bank -> Main -> Bar { size: 35 mm2   colour: "red, black"   number: "W1"   torque: 12 Nm }
  run Sun: Array -> Tracker.solar { size: 6 mm2 }
  run SunFeed: Tracker.dc -> Bar { size: 6 mm2   colour: "green-yellow, pink" }
}
`;

const views = async (text = HUT) => {
  const analysis = await analyseText({ 'made.watt': text });
  return wiringViews(analysis.designs[0]!);
};
const textsOf = (svg: string): string[] => [...svg.matchAll(/<text [^>]*>([^<]*)<\/text>/g)].map(([, text]) => text!);

describe('wiring views', () => {
  test('one for each enclosure in the order of the design, then what is in none', async () => {
    expect((await views()).map(({ enclosure }) => enclosure)).toEqual(['board <1>', 'box', undefined]);
  });

  test('each end says its run, number, size, colours, stud and torque, and has a box for what is not stated', async () => {
    const [board, box, none] = (await views()).map(({ body }) => textsOf(body.text));
    expect(board).toEqual(
      expect.arrayContaining([
        'Tracker · roof side',
        'Feed W1 · 35 mm² · red, black · stud 8 mm · 12 N·m',
        'SunFeed · 6 mm² · green-yellow, pink · □ torque',
        'SunFeed · 6 mm² · green-yellow, pink · stud 8 mm · □ torque',
        'Sun · 6 mm² · □ colours · □ torque',
      ]),
    );
    // What leads out says where to; what stays within does not.
    expect(board!.filter((text) => text.startsWith('to '))).toEqual(['to Array', 'to Main in box']);
    expect(box!.filter((text) => text.startsWith('to '))).toEqual(['to Bar in board &#60;1&#62;']);
    expect(none!.filter((text) => text.startsWith('to '))).toEqual(['to Tracker in board &#60;1&#62;']);
  });

  test('a stretch within an enclosure is one line between its two ends', async () => {
    const [board, box] = await views();
    const brackets = (svg: string): string[] => svg.match(/d="M[\d.]+ [\d.]+H[\d.]+V[\d.]+H[\d.]+"/g) ?? [];
    // SunFeed from Tracker to Bar; Bank to Main.
    expect(brackets(board!.body.text)).toHaveLength(1);
    expect(brackets(box!.body.text)).toHaveLength(1);
    const circles = [...board!.body.text.matchAll(/<circle cx="[\d.]+" cy="([\d.]+)"/g)].map(([, y]) => Number(y));
    const [, from, to] = /M[\d.]+ ([\d.]+)H[\d.]+V([\d.]+)H/.exec(brackets(board!.body.text)[0]!)!;
    expect(circles).toEqual(expect.arrayContaining([Number(from), Number(to)]));
  });

  test('lines that would lie on each other get lanes of their own', async () => {
    const runs = Array.from(
      { length: 4 },
      (_, nth) =>
        `fuse F${nth} { rating: 20 A   enclosure: "b" }\n  run R${nth}: Bar -> F${nth} -> L${nth} { size: 6 mm2 }\n  load L${nth} { power: 40 W   supply: dc }`,
    );
    const [view] = await views(
      `design Lanes {\n  bus Bar { rating: 90 A   enclosure: "b" }\n  ${runs.join('\n  ')}\n}\n`,
    );
    const spans = [...view!.body.text.matchAll(/d="M[\d.]+ ([\d.]+)H([\d.]+)V([\d.]+)H/g)].map(
      ([, from, lane, to]) => ({
        lane: Number(lane),
        from: Number(from),
        to: Number(to),
      }),
    );
    expect(spans).toHaveLength(4);
    for (const one of spans)
      for (const other of spans)
        if (one !== other && one.lane === other.lane)
          expect(Math.max(one.from, other.from)).toBeGreaterThan(Math.min(one.to, other.to));
  });

  test('what is too tall for a page comes in parts, and an end in another part is said', async () => {
    const runs = Array.from(
      { length: 12 },
      (_, nth) =>
        `fuse F${nth} { rating: 20 A   enclosure: "b" }\n  run R${nth}: Bar -> F${nth} -> L${nth} { size: 6 mm2 }\n  load L${nth} { power: 40 W   supply: dc }`,
    );
    const parts = await views(
      `design Tall {\n  bus Bar { rating: 90 A   enclosure: "b" }\n  ${runs.join('\n  ')}\n}\n`,
    );
    // The bus with two fuses, then five fuses twice.
    expect(parts.map(({ title }) => title)).toEqual([1, 2, 3].map((nth) => `Wiring of b, ${nth} of 3`));
    for (const { height } of parts) expect(height).toBeLessThanOrEqual(700);
    const words = parts.map(({ body }) => textsOf(body.text));
    // The bus lies in the first part: the fuses of the others say that they come from there.
    expect(words[1]).toContain('to Bar');
    expect(words.flat().filter((text) => /^R\d+ · /.test(text))).toHaveLength(36);
  });

  test('text of a design stays text, and the same design gives the same bytes', async () => {
    const [one, two] = [writeWiring(await views()), writeWiring(await views())];
    expect(one).toBe(two);
    expect(one).not.toContain('<1>');
    expect(one).toContain('aria-label="Wiring of board &#60;1&#62;; Wiring of box; Wiring of what is in no enclosure"');
  });
});
