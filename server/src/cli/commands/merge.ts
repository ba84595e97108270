import { type Severity, openFacts } from '@wattwright/language';
import { byText, once } from '../once.js';
import path from 'node:path';
import { CallError, EXIT } from '../call-error.js';
import { readText } from '../files.js';
import { jsonText } from '../output/json.js';
import { SEVERITIES } from '../report.js';
import { writeWhole } from '../write-whole.js';

export interface MergeOptions {
  readonly failOn: Severity;
  readonly output?: string;
}

type Json = Readonly<Record<string, unknown>>;

/** What is known of a format: whether a report is of it, how several become one, and the severities in it. */
interface Mergeable {
  readonly name: string;
  readonly isOne: (report: unknown) => boolean;
  readonly merge: (reports: readonly unknown[]) => unknown;
  readonly severities: (merged: unknown) => readonly Severity[];
}

const isRecord = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
const list = (value: unknown): readonly unknown[] => (Array.isArray(value) ? value : []);
const recordsOf = (value: unknown): readonly Json[] => list(value).filter(isRecord);

/** `file`, line and column of an item of our own format, for the order of the whole. */
function placeKey(item: Json): string {
  const range = isRecord(item['range']) ? item['range'] : {};
  const start = isRecord(range['start']) ? range['start'] : {};
  const number = (value: unknown): string => String(Number(value)).padStart(9, '0');
  return `${String(item['file'])}\n${number(start['line'])}\n${number(start['column'])}`;
}

const inOrder = (items: readonly Json[]): Json[] =>
  [...items].sort(
    (left, right) => byText(placeKey(left), placeKey(right)) || byText(JSON.stringify(left), JSON.stringify(right)),
  );

const OWN: Mergeable = {
  name: 'json',
  isOne: (report) => isRecord(report) && Array.isArray(report['findings']) && isRecord(report['summary']),
  merge: (reports) => {
    const all = reports as readonly Json[];
    const joined = (name: string): Json[] => inOrder(once(all.flatMap((report) => recordsOf(report[name]))));
    const findings = joined('findings');
    const summaries = all.map((report) => report['summary'] as Json);
    const sum = (name: string): number => summaries.reduce((so, each) => so + Number(each[name] ?? 0), 0);
    const count = (severity: string): number =>
      findings.filter((each) => each['severity'] === severity && each['accepted'] === undefined).length;
    const fixed = joined('fixed');
    return {
      schema: all[0]!['schema'],
      tool: all[0]!['tool'],
      findings,
      requirements: joined('requirements'),
      readings: joined('readings'),
      questions: joined('questions'),
      facts: factsOf(joined('questions'), all),
      passed: passedOf(all),
      ...(fixed.length > 0 ? { fixed } : {}),
      summary: {
        designs: sum('designs'),
        files: sum('files'),
        errors: count('error'),
        warnings: count('warning'),
        infos: count('info'),
        accepted: findings.filter((each) => each['accepted'] !== undefined).length,
        passed: sum('passed'),
        notChecked: sum('notChecked'),
      },
    };
  },
  severities: (merged) =>
    recordsOf((merged as Json)['findings'])
      .filter((each) => each['accepted'] === undefined)
      .map((each) => each['severity'] as Severity),
};

/** What passed in all reports, by file, check and thing as `check` lists it; each file is in one part. */
const passedOf = (reports: readonly Json[]): Json[] =>
  reports
    .flatMap((report) => recordsOf(report['passed']))
    .sort((left, right) =>
      ['file', 'check', 'subject'].reduce((so, key) => so || byText(String(left[key]), String(right[key])), 0),
    );

/** The missing facts of all reports together, as `check` counts them: what only one part asks for may be asked for in others as well. */
function factsOf(questions: readonly Json[], reports: readonly Json[]): Json[] {
  const known = new Set(reports.flatMap((report) => recordsOf(report['facts']).map(({ fact }) => fact)));
  const asked = questions.map((question) => ({
    check: String(question['check']),
    subject: String(question['subject']),
    place: { file: question['file'], range: question['range'] },
    missing: list(question['missing']).map(String),
  }));
  // A calculation that does not hold lacks no fact; its reasons stand where others name facts.
  return openFacts(asked.filter(({ missing }) => missing.some((fact) => known.has(fact)))).map(
    ({ fact, whom, place, unlocks, alone }) => ({ fact, whom, ...place, unlocks, alone }),
  );
}

const LEVELS: Readonly<Record<string, Severity>> = { error: 'error', warning: 'warning', note: 'info' };

const SARIF: Mergeable = {
  name: 'sarif',
  isOne: (report) => isRecord(report) && report['version'] === '2.1.0' && recordsOf(report['runs']).length === 1,
  merge: (reports) => {
    const runs = (reports as readonly Json[]).map((report) => recordsOf(report['runs'])[0]!);
    const rulesOf = (run: Json): readonly Json[] => recordsOf(((run['tool'] as Json)['driver'] as Json)['rules']);
    const rules = once(runs.flatMap(rulesOf), (rule) => String(rule['id']));
    const taxaOf = (run: Json): readonly Json[] => recordsOf(recordsOf(run['taxonomies'])[0]?.['taxa']);
    const taxa = once(runs.flatMap(taxaOf), (taxon) => String(taxon['id'])).sort((a, b) =>
      byText(String(a['id']), String(b['id'])),
    );
    // Results point at rules and sources by their place in the lists, which are other lists now.
    const results = once(
      runs.flatMap((run) => recordsOf(run['results'])),
      ({ ruleIndex: _index, taxa: _taxa, ...result }) => JSON.stringify(result),
    ).map((result) => ({
      ...result,
      ruleIndex: rules.findIndex((rule) => rule['id'] === result['ruleId']),
      ...(result['taxa'] === undefined
        ? {}
        : {
            taxa: recordsOf(result['taxa']).map((each) => ({
              ...each,
              index: taxa.findIndex((taxon) => taxon['id'] === each['id']),
            })),
          }),
    }));
    const [first] = runs;
    const driver = (first!['tool'] as Json)['driver'] as Json;
    const invocations = runs.flatMap((run) => recordsOf(run['invocations']));
    const notifications = once(invocations.flatMap((each) => recordsOf(each['toolExecutionNotifications'])));
    return {
      ...(reports[0] as Json),
      runs: [
        {
          ...first,
          tool: {
            driver: {
              ...driver,
              rules,
              ...(taxa.length > 0 ? { supportedTaxonomies: [{ name: 'sources', index: 0 }] } : {}),
            },
          },
          ...(taxa.length > 0
            ? { taxonomies: [{ ...recordsOf(runs.find((run) => taxaOf(run).length > 0)!['taxonomies'])[0], taxa }] }
            : {}),
          invocations: [
            {
              executionSuccessful: invocations.every((each) => each['executionSuccessful'] !== false),
              exitCode: Math.max(0, ...invocations.map((each) => Number(each['exitCode'] ?? 0))),
              ...(notifications.length > 0 ? { toolExecutionNotifications: notifications } : {}),
            },
          ],
          results,
        },
      ],
    };
  },
  severities: (merged) =>
    recordsOf(recordsOf((merged as Json)['runs'])[0]!['results'])
      .filter((each) => each['suppressions'] === undefined)
      .map((each) => LEVELS[String(each['level'])] ?? 'warning'),
};

const GITLAB_LEVELS: Readonly<Record<string, Severity>> = { critical: 'error', major: 'warning', info: 'info' };

const GITLAB: Mergeable = {
  name: 'gitlab',
  isOne: (report) => Array.isArray(report) && report.every((each) => isRecord(each) && 'fingerprint' in each),
  merge: (reports) =>
    once((reports as readonly (readonly Json[])[]).flat(), (each) => `${String(each['fingerprint'])}`),
  severities: (merged) =>
    (merged as readonly Json[]).map((each) => GITLAB_LEVELS[String(each['severity'])] ?? 'warning'),
};

const RDJSON_LEVELS: Readonly<Record<string, Severity>> = { ERROR: 'error', WARNING: 'warning', INFO: 'info' };

const RDJSON: Mergeable = {
  name: 'rdjson',
  isOne: (report) => isRecord(report) && Array.isArray(report['diagnostics']),
  merge: (reports) => {
    const diagnostics = once((reports as readonly Json[]).flatMap((report) => recordsOf(report['diagnostics'])));
    const worst = ['ERROR', 'WARNING', 'INFO'].find((level) => diagnostics.some((each) => each['severity'] === level));
    return { source: (reports[0] as Json)['source'], ...(worst ? { severity: worst } : {}), diagnostics };
  },
  severities: (merged) =>
    recordsOf((merged as Json)['diagnostics']).map((each) => RDJSON_LEVELS[String(each['severity'])] ?? 'warning'),
};

const FORMATS: readonly Mergeable[] = [OWN, SARIF, GITLAB, RDJSON];

function parsed(file: string): unknown {
  const text = readText(path.resolve(file));
  try {
    return JSON.parse(text);
  } catch {
    const hint = text.trimStart().startsWith('<')
      ? '; of JUnit files forges take several, so that they need no merging'
      : '';
    throw new CallError(`${file} is no report in JSON${hint}`);
  }
}

/** `wattwright merge`: reports of the parts of a check as one, with the total that one call would have had. */
export async function merge(files: readonly string[], options: MergeOptions): Promise<number> {
  const reports = files.map(parsed);
  const format = FORMATS.find(({ isOne }) => isOne(reports[0]));
  if (!format)
    throw new CallError(
      `${files[0]} is no report that can be merged; formats are ${FORMATS.map(({ name }) => name).join(', ')}`,
    );
  const other = reports.findIndex((report) => !format.isOne(report));
  if (other >= 0)
    throw new CallError(`${files[other]} is no ${format.name} report as ${files[0]} is; merge reports of one format`);
  const merged = format.merge(reports);
  if (options.output === undefined) process.stdout.write(jsonText(merged));
  else await writeWhole(path.resolve(options.output), jsonText(merged));
  const least = SEVERITIES.indexOf(options.failOn);
  return format.severities(merged).some((each) => SEVERITIES.indexOf(each) <= least) ? EXIT.findings : EXIT.clean;
}
