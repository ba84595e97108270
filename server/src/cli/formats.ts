import { CHECKS, type Severity } from '@wattwright/language';
import path from 'node:path';
import { CallError } from './call-error.js';
import { CHECK_FORMATS, type CheckFormat } from './check-formats.js';
import { reportGithub } from './output/github.js';
import { reportGitlab } from './output/gitlab.js';
import { rootOf } from './output/identity.js';
import { jsonText, reportJson } from './output/json.js';
import { reportJunit } from './output/junit.js';
import { prettyReport } from './output/pretty.js';
import { reportRdjson } from './output/rdjson.js';
import { reportSarif } from './output/sarif.js';
import { terminalOf } from './output/terminal.js';
import type { CheckReport } from './report.js';
import { writeAllWhole } from './write-whole.js';

export interface Writing {
  readonly textOf: (uri: string) => string | undefined;
  readonly exitCode: number;
  readonly failOn: Severity;
  readonly root?: string;
  readonly accepted?: 'include' | 'leave';
  readonly junitStrict?: boolean;
  readonly quiet?: boolean;
  readonly questions?: boolean;
  readonly fix?: boolean;
  readonly unsafe?: boolean;
  readonly color?: boolean;
}

/** A report in one of the formats. */
export function written(report: CheckReport, format: CheckFormat, writing: Writing): string {
  const root = rootOf(writing.root);
  const missingFacts = writing.failOn === 'info';
  switch (format) {
    case 'json':
      return jsonText(reportJson(report));
    case 'sarif':
      return jsonText(
        reportSarif(report, CHECKS, {
          root,
          withAccepted: writing.accepted === 'include',
          withMissingFacts: missingFacts,
          exitCode: writing.exitCode,
        }),
      );
    case 'gitlab':
      return jsonText(reportGitlab(report, root));
    case 'rdjson':
      return jsonText(reportRdjson(report, root, writing.textOf));
    case 'junit':
      return reportJunit(report, { root, strict: writing.junitStrict ?? false });
    case 'github':
      return reportGithub(report, pretty(report, { ...writing, color: false }, missingFacts), root);
    case 'pretty':
      return pretty(report, writing, missingFacts);
  }
}

const pretty = (report: CheckReport, writing: Writing, missingFacts: boolean): string =>
  prettyReport(report, {
    terminal: terminalOf(writing.color),
    textOf: writing.textOf,
    quiet: writing.quiet ?? false,
    questions: writing.questions ?? false,
    reasons: writing.unsafe ?? false,
    ...(writing.fix ? { fixing: writing.unsafe ? ('all' as const) : ('safe' as const) } : {}),
    missingFacts,
  });

/** A report that is written to a file beside what is printed. */
export interface Output {
  readonly format: CheckFormat;
  readonly file: string;
}

/** `sarif:findings.sarif`: refused before anything is worked out. */
export function outputsOf(given: readonly string[]): Output[] {
  const outputs = given.map((each): Output => {
    const [format, ...rest] = each.split(':');
    const file = rest.join(':');
    if (!isFormat(format) || file === '')
      throw new CallError(
        `--output needs FORMAT:FILE, as in sarif:findings.sarif; ${each} is none (formats: ${CHECK_FORMATS.join(', ')})`,
      );
    return { format, file: path.resolve(file) };
  });
  const files = outputs.map(({ file }) => file);
  const twice = files.find((file, index) => files.indexOf(file) !== index);
  if (twice !== undefined) throw new CallError(`two outputs go to ${path.basename(twice)}; name a file for each`);
  return outputs;
}

const isFormat = (text: string | undefined): text is CheckFormat =>
  (CHECK_FORMATS as readonly string[]).includes(text ?? '');

/** Writes all reports whole, or none of them. */
export async function writeOutputs(report: CheckReport, outputs: readonly Output[], writing: Writing): Promise<void> {
  await writeAllWhole(
    new Map(outputs.map(({ format, file }) => [file, written(report, format, { ...writing, color: false })])),
  );
}
