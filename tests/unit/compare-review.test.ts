import { beforeAll, describe, expect, test } from 'vitest';
import { type RevisionDiff, compareRevisions } from '../../language/src/index.js';
import { diffMarkdown } from '../../server/src/cli/output/diff-markdown.js';
import { diffText } from '../../server/src/cli/output/diff-text.js';
import { terminalOf } from '../../server/src/cli/output/terminal.js';
import { analyseText } from '../helpers/analyse.js';
import { STATION, STATION_PARTS, afterSevenEdits } from '../helpers/seven-edits.js';

/** Without its variant, which doubles the time of the test; the command line compares it with it. */
const ALONE = STATION.replace(/^\/\*\* The same station while[\s\S]*$/m, '');

const FRAME = { before: 'e337e68', after: '39d1453', unread: [] };

describe('seven edits of one station', () => {
  let diff: RevisionDiff;

  beforeAll(async () => {
    const [before, after] = [
      await analyseText({ 'station.watt': ALONE, 'parts.watt': STATION_PARTS }, '2026-11-29'),
      await analyseText(afterSevenEdits(ALONE), '2026-11-29'),
    ];
    diff = compareRevisions(
      { files: [{ uri: before.uri, analysis: before }] },
      { files: [{ uri: after.uri, analysis: after }] },
    );
  });

  const linesOf = (...classes: readonly string[]) =>
    diff.designs[0]!.lines.filter((line) => classes.includes(line.class));

  test('are seven edits, of which one is a rename', () => {
    const { edits } = diff.designs[0]!;
    expect(edits.map(({ kind, subject }) => `${kind} ${subject}`)).toEqual([
      'value Rect',
      'part Inv',
      'renamed AntennaHeater',
      'value GenCord',
      'value RectFeed',
      'rule Autostart',
      'accept GenCord',
    ]);
  });

  test('give nine ranked lines, the worst first, not a line for each changed number', () => {
    const told = linesOf('fails', 'less').map(({ class: is, kind, subject }) => `${is} ${kind} ${subject}`);
    expect(told).toEqual([
      'fails requirement FiveDark',
      'fails finding InvFuse',
      'fails finding InvFeed',
      'fails unchecked RectFeed',
      'less margin RectFuse',
      'less margin BankFuse',
      'less margin BankFeed',
      'less requirement GenCord',
      'less margin Genset',
    ]);
    expect(diff.designs[0]!.quantities.length).toBeGreaterThan(50);
  });

  test('each number that moved says which edit moved it', () => {
    const { edits, quantities } = diff.designs[0]!;
    expect(quantities.filter(({ causes }) => causes.length === 0)).toEqual([]);
    const causesOf = (wanted: string): string[] =>
      quantities
        .find((each) => each.path === wanted)!
        .causes.map((cause) => edits.find(({ id }) => id === cause.split('/')[0])!.subject);
    expect(causesOf('RectFeed.current')).toEqual(['Rect']);
    expect(causesOf('RectFeed.voltageDrop')).toEqual(['Rect', 'RectFeed']);
    // Hand calculation: 6 kW / (0.93 · 48 V) = 134 A, 8 kW / (0.94 · 48 V) = 177 A.
    expect(causesOf('BankFeed.current')).toEqual(['Inv', 'Inv']);
  });

  test('what rests on trust is told: an assumption, a waiver, a reading that is older than the change', () => {
    expect(linesOf('trust').map(({ kind, subject }) => `${kind} ${subject}`)).toEqual([
      'origin GenCord',
      'accept GenCord',
      'reading Rect.dc.current',
    ]);
    expect(linesOf('runs').map((line) => (line.kind === 'total' ? `${line.what} ${line.subject}` : ''))).toEqual([
      'quietStarts Genset',
      'shed Pump',
    ]);
  });

  test('the parts cost and weigh more', () => {
    const { totals } = diff.designs[0]!;
    expect(totals.map(({ what, unit, before, after }) => [what, unit, after - before])).toEqual([
      ['price', 'EUR', 700],
      ['mass', 'kg', 8],
    ]);
  });

  test('the comment stays under 60 open lines, and the same change gives the same bytes', () => {
    const markdown = diffMarkdown(diff, FRAME);
    expect(diffMarkdown(diff, FRAME)).toBe(markdown);
    const open = markdown.replace(/<details>[\s\S]*?<\/details>/g, '');
    expect(open.split('\n').length).toBeLessThan(60);
    expect(markdown.split('\n')[0]).toBe('<!-- wattwright-diff -->');
    expect(markdown).toContain('### RidgeStation: less safe: 1 requirement now fails');
  });

  test('a terminal gets words, not only colours', () => {
    const text = diffText(diff, FRAME, { terminal: terminalOf(false), all: false });
    expect(text).toMatch(/^FAILS {2}protection-continuous on InvFuse +168 A -> 222 A of 175 A {2}by Inv\.rated/m);
    expect(text).toMatch(/^LESS {3}BankFeed ampacity +73 % -> 96\.4 %/m);
    expect(text).toMatch(/^NAME {3}MastHeater -> AntennaHeater$/m);
    expect(text).toMatch(/4 fail, 5 with less in hand, 2 run differently, 3 on trust; price \+700 EUR; mass \+8 kg/);
  });
});
