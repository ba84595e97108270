import {
  type Check,
  type AnsweredFinding,
  type Place,
  type ReadingResult,
  type RequirementResult,
  derive,
  deriveQuantity,
  quantity,
  range,
} from '@wattwright/language';
import { describe, expect, test } from 'vitest';
import picocolors from 'picocolors';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { derivationJson, jsonText, reportJson } from '../../server/src/cli/output/json.js';
import { prettyReport, sourceExcerpt, wrap } from '../../server/src/cli/output/pretty.js';
import { safeText } from '../../server/src/cli/output/safe-text.js';
import { reportSarif } from '../../server/src/cli/output/sarif.js';
import { type Terminal, wantsColor } from '../../server/src/cli/output/terminal.js';
import type { CheckReport } from '../../server/src/cli/report.js';
import { againstSarif, againstSchema } from './helpers/schemas.js';

const plain: Terminal = { colors: picocolors.createColors(false), width: 80, interactive: false };

const URI = `file://${process.cwd()}/site.watt`;
const TEXT = [
  'design Hut {',
  '\tload Lamp "電燈" { power: 40 W }',
  '  run Feed: Bank -> Lamp { size: 14 AWG }',
  '}',
].join('\n');

/** The place of the first `needle` in TEXT. */
function at(needle: string): Place {
  const offset = TEXT.indexOf(needle);
  const before = TEXT.slice(0, offset).split('\n');
  const line = before.length - 1;
  const character = before[line]!.length;
  return {
    uri: URI,
    offset,
    end: offset + needle.length,
    line,
    character,
    endLine: line,
    endCharacter: character + needle.length,
  };
}

const source = { standard: 'NEC', edition: '2023', table: '210.19', provenance: 'published' } as const;

const finding = (facts: Partial<AnsweredFinding>): AnsweredFinding => ({
  check: 'voltage-drop',
  severity: 'warning',
  place: at('14 AWG'),
  subject: 'Hut.Feed',
  headline: 'Feed loses 2.1 V of 24 V (8.8 %); the limit is 3 % (0.72 V)',
  assumes: [],
  message: 'Feed loses 2.1 V of 24 V (8.8 %); the limit is 3 % (0.72 V)',
  numbers: { drop: derive('voltage drop', 2100, 'mV') },
  sources: [source],
  related: [{ place: at('40 W'), text: 'the load' }],
  ways: [],
  obstacles: [],
  fixesSought: true,
  fixes: [{ title: 'Use 6 AWG', safe: false, preferred: true, edits: [{ place: at('14 AWG'), text: '6 AWG' }] }],
  ...facts,
});

const requirement = (facts: Partial<RequirementResult>): RequirementResult => ({
  design: 'Hut',
  text: 'Feed.current <= 3 A',
  compared: { left: 'Feed.current', sign: '<=' },
  place: at('Feed'),
  ...facts,
});

const reading = (facts: Partial<ReadingResult>): ReadingResult => ({
  design: 'Hut',
  reading: {
    subject: 'Rect.dc.current',
    of: 'Rect',
    terminal: 'dc',
    what: 'current',
    value: quantity(66, 'A'),
    date: '2026-09-14',
    note: 'bank at 40 %',
    place: at('Feed'),
  },
  measured: derive('measured Rect.dc.current', 66, 'A'),
  ...facts,
});

const report = (facts: Partial<CheckReport>): CheckReport => ({
  findings: [],
  accepted: [],
  requirements: [],
  readings: [],
  questions: [],
  passes: [],
  files: 1,
  designs: 1,
  notChecked: 0,
  fixed: [],
  ...facts,
});

const pretty = (
  facts: Partial<CheckReport>,
  options: { quiet?: boolean; questions?: boolean; missingFacts?: boolean; terminal?: Terminal } = {},
): string =>
  prettyReport(report(facts), {
    terminal: options.terminal ?? plain,
    textOf: (uri) => (uri === URI ? TEXT : undefined),
    quiet: options.quiet ?? false,
    questions: options.questions ?? false,
    missingFacts: options.missingFacts ?? false,
  });

const questions = [{ check: 'run-ampacity', subject: 'Hut.Feed', place: at('Feed'), missing: ['length of Feed'] }];

describe('pretty output', () => {
  test('a finding shows place, severity, id, message, source line, carets, related places, fixes and sources', () => {
    expect(pretty({ findings: [finding({})] })).toMatchInlineSnapshot(`
      "site.watt:3:34 warning voltage-drop: Feed loses 2.1 V of 24 V (8.8 %); the limit
        is 3 % (0.72 V)
      3 |   run Feed: Bank -> Lamp { size: 14 AWG }
        |                                  ^^^^^^
         see      site.watt:2:26 the load
      2 |     load Lamp "電燈" { power: 40 W }
        |                               ^^^^
         rule     NEC (2023) 210.19
         fix      Use 6 AWG

      1 design in 1 file: 0 errors, 1 warning, 0 notes
      "
    `);
  });

  test('requirements show their outcome with both sides in one unit', () => {
    expect(
      pretty({
        requirements: [
          requirement({ holds: true, left: derive('current', 1.5, 'A'), right: derive('limit', 3000, 'mA') }),
          requirement({ holds: false, left: derive('current', 3.001, 'A'), right: derive('limit', 3, 'A') }),
          requirement({ undecided: 'missing voltage of Bank' }),
        ],
      }),
    ).toMatchInlineSnapshot(`
      "Requirements
        PASS Feed.current = 1.5 A (limit ≤ 3 A), Hut
        FAIL Feed.current = 3.001 A (limit ≤ 3 A), Hut
        OPEN Feed.current <= 3 A, Hut: missing voltage of Bank

      1 design in 1 file: 0 errors, 0 warnings, 0 notes
      "
    `);
  });

  test('readings stand beside what was predicted', () => {
    const volts = (value: number) => derive('voltage', value, 'V');
    const text = pretty({
      readings: [
        reading({ holds: false, high: derive('output current', 60, 'A') }),
        reading({ holds: true, measured: volts(53), low: volts(44.8), high: volts(58.4) }),
        reading({ undecided: { kind: 'missing', missing: ['power of Fan'] } }),
      ],
    });
    expect(text).toContain(
      '  FAIL Rect.dc.current = 66 A (predicted at most 60 A); 2026-09-14; bank at 40 %\n' +
        '  PASS Rect.dc.current = 53 V (predicted 44.8 V to 58.4 V); 2026-09-14; bank at 40 %\n' +
        '  OPEN Rect.dc.current = 66 A; 2026-09-14; bank at 40 %; missing power of Fan\n',
    );
  });

  test('open questions are counted with a hint, or listed when asked for', () => {
    expect(pretty({ questions, notChecked: 1 }).replace(/\s+/g, ' ')).toContain(
      '1 check skipped: 1 fact missing; `wattwright check --questions` lists them.',
    );
    expect(pretty({ questions, notChecked: 1 }, { questions: true })).toContain(
      'Look up or measure on site\n  site.watt:3:7 length of Feed (unlocks run-ampacity)',
    );
  });

  test('what only says that facts lack is left to the open questions, unless it decides the exit code', () => {
    const facts = { findings: [finding({ check: 'missing-fact', severity: 'info' })] };
    expect(pretty(facts)).toBe('1 design in 1 file: 0 errors, 0 warnings, 0 notes\n');
    expect(pretty(facts, { missingFacts: true })).toContain('info missing-fact');
  });

  test('accepted findings are counted and not shown', () => {
    const text = pretty({ accepted: [finding({ accepted: { reason: 'inspected' } })] });
    expect(text).toContain('0 warnings, 0 notes, 1 accepted');
    expect(text).not.toContain('loses');
  });

  test('quiet leaves nothing but findings', () => {
    const facts = { findings: [finding({})], questions, requirements: [requirement({ holds: false })] };
    const quiet = pretty(facts, { quiet: true });
    expect(pretty(facts).startsWith(quiet)).toBe(true);
    expect(quiet).not.toMatch(/Requirements|Not checked|design in/);
    expect(pretty({ questions }, { quiet: true })).toBe('');
  });

  test('the cautions stand in the summary on a terminal only', () => {
    expect(pretty({})).not.toContain('licensed practice');
    expect(pretty({}, { terminal: { ...plain, interactive: true } })).toContain('licensed');
  });

  test('no line is wider than the terminal, except for a word that is', () => {
    for (const line of pretty({ findings: [finding({})], questions, notChecked: 1 }).split('\n'))
      expect(line.length).toBeLessThanOrEqual(80);
  });

  test('characters that act on a terminal are spelled out', () => {
    const hostile = '\u001b]0;owned\u0007 \u202egnp.exe \u009b31m \u200b';
    const text = pretty(
      {
        findings: [
          finding({
            message: hostile,
            subject: hostile,
            related: [{ place: at('40 W'), text: hostile }],
            fixes: [{ title: hostile, safe: true, edits: [] }],
          }),
        ],
        requirements: [requirement({ text: hostile, holds: false })],
        readings: [],
        questions: [{ check: 'x', subject: hostile, place: at('Feed'), missing: [hostile] }],
        fixed: [{ file: hostile, check: 'x', title: hostile }],
      },
      { questions: true },
    );
    // eslint-disable-next-line no-control-regex -- control characters are what is looked for
    expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200b-\u200f\u202a-\u202e]/);
    expect(text).toContain('\\u{1b}]0;owned\\u{7}');
  });
});

describe('source excerpts', () => {
  const carets = (text: string, from: number, to: number, width = 80): string[] =>
    sourceExcerpt(
      text,
      { uri: URI, offset: from, end: to, line: 0, character: from, endLine: 0, endCharacter: to },
      { ...plain, width },
      (mark) => mark,
    );

  test('wide characters take two columns', () => {
    expect(carets('ab 電燈 cd', 6, 8)).toEqual(['1 | ab 電燈 cd', '  |         ^^']);
  });

  test('tabs go to the next stop', () => {
    expect(carets('\ta\tb', 3, 4)).toEqual(['1 |     a   b', '  |         ^']);
  });

  test('an empty place still has a caret', () => {
    expect(carets('abc', 3, 3)).toEqual(['1 | abc', '  |    ^']);
  });

  test('a long line is cut around the marked stretch', () => {
    const text = `${'x'.repeat(500)} HERE ${'y'.repeat(500)}`;
    const [line, mark] = carets(text, 501, 505, 60);
    expect(line!.length).toBeLessThanOrEqual(60);
    expect(line!.slice(mark!.indexOf('^'), mark!.lastIndexOf('^') + 1)).toBe('HERE');
  });

  test('a stretch longer than the line has carets to the edge', () => {
    const [line, mark] = carets('z'.repeat(900), 0, 900, 50);
    expect(mark!.length).toBeLessThanOrEqual(50);
    expect(line!.length).toBeLessThanOrEqual(51);
  });

  test('a place beyond the text is shown as an empty line', () => {
    expect(carets('', 0, 0)).toEqual(['1 |', '  | ^']);
  });
});

describe('JSON', () => {
  test('a report follows its published schema', () => {
    const json: unknown = JSON.parse(
      jsonText(
        reportJson(
          report({
            findings: [finding({})],
            accepted: [finding({ accepted: { reason: 'inspected', until: '2027-01-01' } })],
            requirements: [
              requirement({ holds: false, left: derive('current', 3.001, 'A'), right: derive('limit', 3, 'A') }),
              requirement({ undecided: 'missing voltage of Bank', scenario: 'Dark', reason: 'why' }),
            ],
            readings: [
              reading({ holds: false, high: derive('output current', 60, 'A'), tolerance: derive('error', 2, 'A') }),
              reading({ undecided: { kind: 'missing', missing: ['power of Fan'] } }),
            ],
            questions,
            passes: [
              {
                uri: URI,
                check: 'voltage-drop',
                subject: 'Hut.Lamp',
                use: { value: derive('drop', 1, '%'), limit: derive('limit', 3, '%'), sense: 'at-most' },
              },
              { uri: URI, check: 'torque-missing', subject: 'Hut.Lamp' },
            ],
            fixed: [{ file: 'site.watt', check: 'x', title: 'y' }],
          }),
        ),
      ),
    );
    expect(againstSchema('check', json)).toEqual([]);
    expect(json).toMatchObject({
      schema: 1,
      findings: [
        {
          file: 'site.watt',
          range: { start: { line: 3, column: 34 }, end: { line: 3, column: 40 } },
          numbers: { drop: { value: 2.1, unit: 'V', display: '2.1 V' } },
        },
        { accepted: { reason: 'inspected' } },
      ],
      requirements: [{ holds: false }, { holds: null, undecided: 'missing voltage of Bank' }],
      readings: [
        { subject: 'Rect.dc.current', holds: false, measured: { value: 66 }, high: { value: 60 }, date: '2026-09-14' },
        { holds: null, undecided: 'missing power of Fan' },
      ],
      passed: [
        {
          check: 'voltage-drop',
          subject: 'Hut.Lamp',
          file: 'site.watt',
          use: { value: 0.01, limit: 0.03, sense: 'at-most', unit: '1' },
        },
        { check: 'torque-missing', subject: 'Hut.Lamp', file: 'site.watt' },
      ],
      summary: { warnings: 1, accepted: 1, passed: 2 },
    });
  });

  test('the schema refuses a report that lacks something', () => {
    const { summary: _summary, ...rest } = reportJson(report({})) as { summary: object };
    expect(againstSchema('check', rest)).toEqual([" must have required property 'summary'"]);
  });

  test.each([
    [derive('x', 2.5, 'kW'), 2500, 'W'],
    [derive('x', 7.5, 'kVA'), 7500, 'W'],
    [derive('x', 7500, 'VA'), 7500, 'VA'],
    [derive('x', 90, 'min'), 5400, 's'],
    [derive('x', 14.3, 'kWh'), 14300, 'Wh'],
    [derive('x', 280, 'Ah'), 280, 'Ah'],
    [derive('x', 25, 'degC'), 25, 'degC'],
    [derive('x', 68, 'degF'), 20, 'degC'],
    [derive('x', 35, 'mm2'), 35, 'mm2'],
    [derive('x', 3, '%'), 0.03, '1'],
    [derive('x', 3, ''), 3, '1'],
    [derive('x', 12, 'm3/h'), 12, 'm3/h'],
    [derive('x', 2, 'L/h'), 2, 'L/h'],
    [derive('x', 4, 'mohm'), 0.004, 'ohm'],
    [derive('x', 0.3, '%/K'), 0.003, '1/K'],
    [derive('x', 5, 'kW/m'), 5, 'kW/m'],
    [deriveQuantity('x', quantity(4, 'mohm')), 0.004, 'ohm'],
    [deriveQuantity('x', quantity(1450, 'EUR')), 1450, 'EUR'],
  ])('values are in SI or the trade’s unit, never rounded', (derivation, value, unit) => {
    const json = derivationJson(derivation) as { value: number; unit: string };
    expect(json.unit).toBe(unit);
    expect(json.value).toBeCloseTo(value, 12);
  });

  test('a range has both ends beside the value', () => {
    const stated = deriveQuantity('input', range(quantity(216, 'V'), quantity(264, 'V')));
    expect(derivationJson(stated, 'A.b')).toMatchObject({
      path: 'A.b',
      value: 240,
      range: [216, 264],
      display: '216..264 V',
    });
  });

  test('control characters of the upper half are escaped', () => {
    expect(jsonText({ a: '\u009b31m\u2028' })).toContain('\\u009b31m\\u2028');
  });
});

describe('SARIF', () => {
  const check: Check = {
    id: 'voltage-drop',
    group: 'conductors',
    severity: 'warning',
    since: '0.1.0',
    docs: {
      finds: 'Finds.',
      guards: 'Guards.',
      how: 'How.',
      fix: 'Fix.',
      sources: [source],
      failing: 'design A {}',
      passing: 'design B {}',
    },
    judge: () => [],
  };
  const log = reportSarif(
    report({
      findings: [
        finding({}),
        finding({}),
        finding({ check: 'of-its-own', severity: 'info', message: 'see [x](http://y)' }),
      ],
      accepted: [finding({ accepted: { reason: 'inspected' } })],
    }),
    [check],
    { withAccepted: true },
  );
  const [run] = log.runs;

  test('it follows the OASIS schema', () => {
    expect(againstSarif(log)).toEqual([]);
  });

  test('the OASIS schema refuses a log without a tool', () => {
    expect(againstSarif({ ...log, runs: [{ results: [] }] })).toContain("/runs/0 must have required property 'tool'");
  });

  test('every check is a rule, and results point at theirs', () => {
    const rules = run!.tool.driver.rules!;
    expect(rules[0]).toMatchObject({
      id: 'voltage-drop',
      shortDescription: { text: 'Finds.' },
      fullDescription: { text: 'Finds. Guards.' },
      defaultConfiguration: { level: 'warning' },
    });
    expect(rules[0]!.help!.markdown).toContain('```watt\ndesign A {}');
    for (const result of run!.results!) expect(rules[result.ruleIndex!]!.id).toBe(result.ruleId);
  });

  test('places, fixes, related places and suppressions are carried over', () => {
    expect(run!.results![0]).toMatchObject({
      level: 'warning',
      locations: [
        {
          physicalLocation: {
            artifactLocation: { uri: 'site.watt' },
            region: { startLine: 3, startColumn: 34, endLine: 3, endColumn: 40 },
          },
          logicalLocations: [{ fullyQualifiedName: 'Hut.Feed' }],
        },
      ],
      relatedLocations: [{ message: { text: 'the load' } }],
      fixes: [{ artifactChanges: [{ replacements: [{ insertedContent: { text: '6 AWG' } }] }] }],
    });
    expect(run!.results![2]).toMatchObject({
      level: 'note',
      message: { text: 'see [x] (http://y) See [the load](0).' },
    });
    expect(run!.results![3]!.suppressions).toEqual([
      { kind: 'inSource', status: 'accepted', justification: 'inspected' },
    ]);
  });

  test('a file outside the working folder is given by its whole address, one inside relative to that folder', () => {
    const uriOf = (file: string): unknown => {
      const place = { ...at('14 AWG'), uri: pathToFileURL(path.resolve(file)).href };
      const log = reportSarif(report({ findings: [finding({ place })] }), [check]);
      return log.runs[0]!.results![0]!.locations![0]!.physicalLocation!.artifactLocation;
    };
    const outside = path.resolve('..', 'else where', 'a#b.watt');
    expect(uriOf(outside)).toEqual({ uri: pathToFileURL(outside).href });
    expect(uriOf(path.resolve('..site.watt'))).toEqual({ uri: '..site.watt', uriBaseId: '%SRCROOT%' });
    expect(uriOf('a b/ü#1?.watt')).toEqual({ uri: 'a%20b/%C3%BC%231%3F.watt', uriBaseId: '%SRCROOT%' });
    expect(uriOf('c:d.watt')).toEqual({ uri: './c:d.watt', uriBaseId: '%SRCROOT%' });
    for (const each of ['../x.watt', 'a.watt'])
      expect(new URL((uriOf(each) as { uri: string }).uri, 'file:///base/').pathname).not.toContain('..');
  });

  test('fingerprints tell findings on one thing apart and do not change with lines', () => {
    const prints = run!.results!.map((result) => Object.values(result.partialFingerprints!)[0]);
    expect(new Set(prints).size).toBe(prints.length);
    const moved = finding({ place: { ...at('14 AWG'), line: 77, endLine: 77 } });
    const again = reportSarif(report({ findings: [moved] }), [check]);
    expect(Object.values(again.runs[0]!.results![0]!.partialFingerprints!)[0]).toBe(prints[0]);
  });
});

describe('colour and wrapping', () => {
  test('what is asked for leads over the environment, and that over the terminal', () => {
    expect(wantsColor(true, { NO_COLOR: '1' }, false)).toBe(true);
    expect(wantsColor(false, {}, true)).toBe(false);
    expect(wantsColor(undefined, { NO_COLOR: '1' }, true)).toBe(false);
    expect(wantsColor(undefined, { NO_COLOR: '' }, true)).toBe(true);
    expect(wantsColor(undefined, { FORCE_COLOR: '1' }, false)).toBe(true);
    expect(wantsColor(undefined, { TERM: 'dumb' }, true)).toBe(false);
    expect(wantsColor(undefined, {}, false)).toBe(false);
  });

  test('wrapping loses no word', () => {
    const text = 'one two threeeeeeeeeeeeeee four';
    for (const width of [1, 5, 10, 100]) expect(wrap(text, width).join(' ')).toBe(text);
    expect(wrap('a b c', 3)).toEqual(['a b', 'c']);
  });

  test('ordinary text of any language stays as it is', () => {
    expect(safeText('Ω 電燈 é ½ — “x”')).toBe('Ω 電燈 é ½ — “x”');
  });
});
