import { Ajv } from 'ajv';
import { Ajv2020 } from 'ajv/dist/2020.js';
import ajvDraft04 from 'ajv-draft-04';
import addFormats from 'ajv-formats';
import { rdformatSchema } from '@umbrelladocs/rdformat-validator';
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import type { Log } from 'sarif';
import { beforeAll, describe, expect, test } from 'vitest';
import { CHECKS } from '../../language/src/index.js';
import { reportGithub } from '../../server/src/cli/output/github.js';
import { reportGitlab } from '../../server/src/cli/output/gitlab.js';
import { reportJunit } from '../../server/src/cli/output/junit.js';
import { reportRdjson } from '../../server/src/cli/output/rdjson.js';
import { reportSarif } from '../../server/src/cli/output/sarif.js';
import { sourceFiles } from '../../server/src/cli/files.js';
import { type CheckReport, gather } from '../../server/src/cli/report.js';
import { Session } from '../../server/src/cli/session.js';
import { temporaryFolder } from '../helpers/temporary-folders.js';
import { call } from './helpers/program.js';

const SITE = `/** 𐐀 in a comment, so that columns differ between bytes and units. */
design Hut "a | b" {
  basis: iec
  battery Bank : Lfp24V100Ah
  load /* 𐐀𐐀 */ Lamp { power: 400 W   supply: dc }
  run Feed: Bank -> Lamp { size: 1.5 mm2   length: 12 m   type: H07V-K }
  load Fan { power: 40 W   supply: dc }
  run Spare: Bank -> Fan { size: 25 mm2   type: H07V-K }
  require Feed.current <= 1 A
  require Feed.voltageDrop <= 10 mV
  accept voltage-drop on Feed because "a <b> & 100 %"
}
`;

async function checked(text: string, moved = false): Promise<{ report: CheckReport; session: Session; root: string }> {
  const root = temporaryFolder({ 'site/hut.watt': moved ? `\n\n\n${text}` : text });
  const session = await Session.open(await sourceFiles([path.join(root, 'site/hut.watt')]));
  const analyses = session.documents.map((document) => session.analyse(document, '2027-01-01'));
  return { report: gather(analyses, {}, { elsewhere: [], fixed: [] }), session, root };
}

/** A schema of the JSON that a forge reads, where it has published none: what its documentation calls required. */
const GITLAB_SCHEMA = {
  type: 'array',
  items: {
    type: 'object',
    required: ['description', 'check_name', 'fingerprint', 'severity', 'location'],
    properties: {
      description: { type: 'string', minLength: 1 },
      check_name: { type: 'string', minLength: 1 },
      fingerprint: { type: 'string', pattern: '^[0-9a-f]{32}$' },
      severity: { enum: ['info', 'minor', 'major', 'critical', 'blocker'] },
      location: {
        type: 'object',
        required: ['path', 'lines'],
        properties: {
          path: { type: 'string', pattern: '^(?!\\./|/)' },
          lines: { type: 'object', required: ['begin'], properties: { begin: { type: 'integer', minimum: 1 } } },
        },
      },
    },
  },
} as const;

/** What the schema of review diagnostics says of those of a whole report. */
interface RdformatSchema {
  readonly oneOf: readonly {
    readonly properties?: {
      readonly diagnostics?: { readonly items: { readonly properties: Record<string, object> } };
    };
  }[];
}

let told: Awaited<ReturnType<typeof checked>>;
beforeAll(async () => {
  told = await checked(SITE);
});

describe('SARIF', () => {
  const logOf = (options = {}): Log => reportSarif(told.report, CHECKS, { root: told.root, ...options });
  const schema = JSON.parse(
    readFileSync(path.join(import.meta.dirname, 'data/sarif-2.1.0-errata01.json'), 'utf8'),
  ) as object;

  test('follows the schema of OASIS with its errata', () => {
    const ajv = new ajvDraft04.default({ allErrors: true, strict: false, unicodeRegExp: false });
    addFormats.default(ajv);
    const validate = ajv.compile(schema);
    const log: unknown = JSON.parse(JSON.stringify(logOf({ withAccepted: true, withMissingFacts: true, exitCode: 1 })));
    validate(log);
    expect(validate.errors ?? []).toEqual([]);
    expect(validate({ version: '2.1.0', runs: [{}] })).toBe(false);
  });

  test('fingerprints do not change with lines or folders, and tell requirements apart', async () => {
    const prints = (log: Log): string[] =>
      log.runs[0]!.results!.map(({ partialFingerprints }) => Object.values(partialFingerprints!)[0]!);
    const again = await checked(SITE, true);
    expect(prints(reportSarif(again.report, CHECKS, { root: again.root }))).toEqual(prints(logOf()));
    // One requirement mended leaves the other the fingerprint that it had.
    const results = logOf().runs[0]!.results!.filter(({ ruleId }) => ruleId === 'requirement-failed');
    expect(results).toHaveLength(2);
    const mended = await checked(SITE.replace('<= 1 A', '<= 100 A'));
    const left = reportSarif(mended.report, CHECKS, { root: mended.root }).runs[0]!.results!.filter(
      ({ ruleId }) => ruleId === 'requirement-failed',
    );
    expect(left.map(({ partialFingerprints }) => partialFingerprints)).toEqual([results[1]!.partialFingerprints]);
  });

  test('accepted findings are left out unless asked for, and missing facts are notifications', () => {
    const [run] = logOf().runs;
    expect(run!.results!.some(({ suppressions }) => suppressions)).toBe(false);
    expect(run!.results!.some(({ ruleId }) => ruleId === 'missing-fact')).toBe(false);
    const notes = run!.invocations![0]!.toolExecutionNotifications!;
    expect(notes.map(({ descriptor }) => descriptor!.id)).toContain('missing-fact');
    const all = logOf({ withAccepted: true, withMissingFacts: true }).runs[0]!.results!;
    expect(all.filter(({ suppressions }) => suppressions)).toHaveLength(told.report.accepted.length);
    expect(told.report.accepted.length).toBeGreaterThan(0);
    expect(all.some(({ ruleId }) => ruleId === 'missing-fact')).toBe(true);
  });

  test('fingerprints and paths are the same from every working folder', async () => {
    const cwd = temporaryFolder({ '.git/HEAD': 'ref: refs/heads/main\n', 'site/deep/hut.watt': SITE });
    const from = async (folder: string, file: string): Promise<unknown> => {
      const { stdout } = await call(['check', file, '--format', 'sarif', '--fixes', 'none'], {
        cwd: path.join(cwd, folder),
      });
      return (JSON.parse(stdout) as Log).runs[0]!.results!.map(({ partialFingerprints, locations }) => [
        partialFingerprints,
        locations![0]!.physicalLocation!.artifactLocation!.uri,
      ]);
    };
    const top = await from('.', 'site/deep/hut.watt');
    expect(top).toEqual(await from('site', 'deep/hut.watt'));
    expect(top).toEqual(await from('site/deep', 'hut.watt'));
    expect(JSON.stringify(top)).toContain('"site/deep/hut.watt"');
  });

  test('steps of a trace are a code flow with states, and each related place is linked from the message', () => {
    const [first] = told.report.findings;
    const trace = [
      { event: 'soc(Bank) falls below 30 %', state: { Genset: 'off' } },
      { event: 'the link is lost', state: { Genset: 'running' } },
    ];
    const related = [{ place: first!.place, text: 'Bank [is] charged here' }];
    const report = { ...told.report, findings: [{ ...first!, trace, related }] };
    const [result] = reportSarif(report, CHECKS, { root: told.root }).runs[0]!.results!;
    const [{ threadFlows }] = result!.codeFlows! as [NonNullable<typeof result.codeFlows>[0]];
    expect(
      threadFlows[0]!.locations.map(({ executionOrder, location, state }) => [
        executionOrder,
        location!.message!.text,
        state!['Genset']!.text,
        location!.physicalLocation!.artifactLocation!.uri,
      ]),
    ).toEqual([
      [1, 'soc(Bank) falls below 30 %', 'off', 'site/hut.watt'],
      [2, 'the link is lost', 'running', 'site/hut.watt'],
    ]);
    for (const { id } of result!.relatedLocations!) expect(result!.message.text).toContain(`](${id})`);
    // Brackets of a text do not end its link.
    expect(result!.message.text).toContain('See [Bank \\[is\\] charged here](0).');
  });

  test('paths start at the root, and sources are a list that results point at', () => {
    const [run] = logOf().runs;
    const [result] = run!.results!;
    expect(result!.locations![0]!.physicalLocation!.artifactLocation!.uri).toBe('site/hut.watt');
    const taxa = run!.taxonomies![0]!.taxa!;
    for (const { id, index } of run!.results!.flatMap((each) => each.taxa ?? [])) expect(taxa[index!]!.id).toBe(id);
  });
});

test('annotations: escaped, the worst first, no more than are shown, and no text of a design is a command', () => {
  const [first] = told.report.findings;
  const many = Array.from({ length: 30 }, (_, nth) => ({
    ...first!,
    subject: `Hut.Run${nth}`,
    severity: 'error' as const,
    message: '100 %, a: b\n::error::stolen',
  }));
  const output = reportGithub({ ...told.report, findings: many }, 'plain\n::error::from a design\n', told.root);
  const [stop, ...rest] = output.split('\n');
  const token = /^::stop-commands::([0-9a-f]{64})$/.exec(stop!)![1]!;
  const end = rest.indexOf(`::${token}::`);
  expect(rest.slice(0, end)).toContain('::error::from a design');
  const commands = rest.slice(end + 1).filter(Boolean);
  expect(commands.filter((line) => line.startsWith('::error '))).toHaveLength(10);
  expect(commands.at(-1)).toBe('::notice title=wattwright::20 more in the log');
  expect(commands[0]).toMatch(/::Hut\.Run0: 100 %25, a: b%0A::error::stolen$/);
  expect(commands.every((line) => /^::(error|warning|notice) /.test(line))).toBe(true);
});

test('a code quality report holds all that is required, each fingerprint once, and is empty when nothing is found', () => {
  const validate = new Ajv2020().compile(GITLAB_SCHEMA);
  const report = reportGitlab(told.report, told.root) as { fingerprint: string; location: { path: string } }[];
  expect(validate(report)).toBe(true);
  expect(new Set(report.map(({ fingerprint }) => fingerprint)).size).toBe(report.length);
  expect(report[0]!.location.path).toBe('site/hut.watt');
  expect(reportGitlab({ ...told.report, findings: [] }, told.root)).toEqual([]);
});

test('review bots get all that their format requires and nothing that it does not know', () => {
  // The schema of the Reviewdog Diagnostic Format as a validator of it (npm, Apache-2.0) has made it from the published definition.
  // It is older than field 8 of a diagnostic in that definition, `related_locations`, each with a message and a location.
  const schema = structuredClone(rdformatSchema) as unknown as RdformatSchema;
  const { properties } = schema.oneOf.flatMap((each) => each.properties?.diagnostics ?? [])[0]!.items;
  properties.relatedLocations = {
    type: 'array',
    items: { type: 'object', additionalProperties: false, properties: { message: {}, location: properties.location } },
  };
  const validate = new Ajv({ allErrors: true, strict: false }).compile(schema);
  const report = JSON.stringify(reportRdjson(told.report, told.root, (uri) => told.session.textOf(uri)));
  validate(JSON.parse(report));
  expect(validate.errors ?? []).toEqual([]);
  expect(validate(JSON.parse(report.replaceAll('"message"', '"text"')))).toBe(false);
  expect(validate(JSON.parse(report.replaceAll('"line":', '"row":')))).toBe(false);
});

test('review bots get columns in bytes and only suggestions of one stretch', () => {
  const report = reportRdjson(told.report, told.root, (uri) => told.session.textOf(uri)) as {
    diagnostics: { location: { path: string; range: { start: { line: number; column: number } } } }[];
  };
  const lamp = SITE.split('\n').findIndex((line) => line.includes('Lamp {'));
  const place = { ...told.report.findings[0]!.place, line: lamp, endLine: lamp, character: 18, endCharacter: 22 };
  const [one] = (
    reportRdjson(
      { ...told.report, findings: [{ ...told.report.findings[0]!, place }] },
      told.root,
      () => SITE,
    ) as typeof report
  ).diagnostics;
  const before = SITE.split('\n')[lamp]!.slice(0, 18);
  // Each of the two letters is two units and four bytes.
  expect(one!.location.range.start.column).toBe(before.length + 4 + 1);
  expect(report.diagnostics).toHaveLength(told.report.findings.length);
});

describe('JUnit', () => {
  const junit = (): string => reportJunit(told.report, { root: told.root, strict: false });

  test('requirements are test cases, one suite for each design, and counts add up', () => {
    const text = junit();
    const cases = [...text.matchAll(/<testcase ([^>]*?)\/?>/g)].map(([, facts]) => facts!);
    const names = cases.map((facts) => /classname="([^"]*)" name="([^"]*)"/.exec(facts)!.slice(1).join(' '));
    expect(names).toContain('Hut Feed.current &lt;= 1 A');
    expect(new Set(names).size).toBe(names.length);
    const [, tests, failures, skipped] =
      /<testsuite name="Hut" tests="(\d+)" failures="(\d+)" errors="0" skipped="(\d+)"/.exec(text)!;
    expect(Number(tests)).toBe(cases.length);
    expect(Number(failures)).toBe([...text.matchAll(/<failure /g)].length);
    expect(Number(skipped)).toBe([...text.matchAll(/<skipped /g)].length);
    expect(Number(failures)).toBeGreaterThan(1);
  });

  test.each([false, true])('follows the schema of what readers have in common, strict: %s', (strict) => {
    const schema = path.join(import.meta.dirname, 'data/junit.xsd');
    /** By xmllint, of the packages that the tests need. */
    const valid = (contents: string): boolean => {
      const { status, error, stderr } = spawnSync('xmllint', ['--nonet', '--noout', '--schema', schema, '-'], {
        input: contents,
        encoding: 'utf8',
      });
      if (error) throw error;
      // 0: valid; 3: not valid by the schema. Anything else is no answer.
      expect([0, 3], stderr).toContain(status);
      return status === 0;
    };
    const text = reportJunit(told.report, { root: told.root, strict });
    expect(valid(text)).toBe(true);
    expect(valid(text.replace(/ tests="\d+"/, ''))).toBe(false);
    const [once] = /<testcase .*?(?:\/>|<\/testcase>)/s.exec(text)!;
    expect(valid(text.replace(once, once + once))).toBe(false);
  });

  test('in strict form has no attribute that junit-10.xsd of the xUnit plugin of Jenkins refuses, and all that it demands', () => {
    // Read there (MIT licence): what an element may have, and what it must have. It is the narrowest of the published schemas.
    const ALLOWED: Readonly<Record<string, { readonly may: readonly string[]; readonly must: readonly string[] }>> = {
      testsuites: { may: ['name', 'time', 'tests', 'failures', 'errors'], must: [] },
      testsuite: {
        may: ['name', 'tests', 'failures', 'errors', 'skipped', 'time', 'timestamp', 'file', 'url'],
        must: ['name', 'tests', 'failures', 'errors'],
      },
      testcase: { may: ['name', 'time', 'classname', 'group'], must: ['name'] },
      failure: { may: ['type', 'message'], must: [] },
      error: { may: ['type', 'message'], must: [] },
      skipped: { may: ['type', 'message'], must: [] },
      'system-out': { may: [], must: [] },
    };
    const text = reportJunit(told.report, { root: told.root, strict: true });
    const elements = [...text.matchAll(/<([a-z-]+)((?: [a-z]+="[^"]*")*)\s*\/?>/g)];
    expect(new Set(elements.map(([, name]) => name))).toEqual(
      new Set(['testsuites', 'testsuite', 'testcase', 'failure', 'skipped', 'system-out']),
    );
    for (const [, name, facts] of elements) {
      const given = [...facts!.matchAll(/ ([a-z]+)="/g)].map(([, key]) => key!);
      expect(
        given.filter((key) => !ALLOWED[name!]!.may.includes(key)),
        name,
      ).toEqual([]);
      expect(
        ALLOWED[name!]!.must.filter((key) => !given.includes(key)),
        name,
      ).toEqual([]);
    }
  });

  test('a reading that does not fit is one case, not also one of its check', async () => {
    const read = await checked(SITE.replace('\n}\n', '\n  reading Feed.current = 99 A on 2026-05-01\n}\n'));
    const text = reportJunit(read.report, { root: read.root, strict: true });
    expect(read.report.readings.map(({ holds }) => holds)).toEqual([false]);
    const failed = [
      ...text.matchAll(/<testcase classname="([^"]*)" name="([^"]*)" time="0">\n *<failure type="([^"]*)"/g),
    ];
    expect(
      failed.filter(([whole]) => whole.includes('reading')).map(([, classname, , type]) => [classname, type]),
    ).toEqual([['Hut.readings', 'reading-mismatch']]);
  });

  test('text of a design stays text', () => {
    const text = junit();
    expect(text).toContain('a &lt;b&gt; &amp; 100 %');
    const odd = reportJunit(
      { ...told.report, requirements: [{ ...told.report.requirements[0]!, text: 'a\u0001b\ud800"<\ufffe' }] },
      { root: told.root, strict: true },
    );
    expect(odd).toContain('name="a\\u{1}b\ufffd&quot;&lt;\ufffd"');
    expect(odd).not.toContain('file=');
  });
});
