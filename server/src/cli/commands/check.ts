import { CHECKS, type ChosenFix, type Finding, type Severity, lineEndOf, safeFixes } from '@wattwright/language';
import { performance } from 'node:perf_hooks';
import { CallError, EXIT } from '../call-error.js';
import { type SourceFile, shownPath, sourceFiles } from '../files.js';
import { jsonText, reportJson } from '../output/json.js';
import { prettyReport } from '../output/pretty.js';
import { reportSarif } from '../output/sarif.js';
import { terminalOf } from '../output/terminal.js';
import { type AppliedFix, type CheckReport, type Selection, gather, reaches } from '../report.js';
import { requireDesign } from '../selection.js';
import { Session, countSyntaxErrors, fileName, hasSyntaxErrors, pathOf } from '../session.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface CheckOptions {
  readonly format: 'pretty' | 'json' | 'sarif';
  readonly fix?: boolean;
  readonly failOn: Severity;
  readonly design?: string;
  readonly variant?: string;
  readonly questions?: boolean;
  readonly quiet?: boolean;
  readonly timing?: boolean;
  readonly stdinName: string;
  readonly today?: string;
  readonly color?: boolean;
}

/** A fix may bring up what another one mends; more rounds than this mean that two fixes undo each other. */
const MOST_ROUNDS = 8;

/** `wattwright check`. */
export async function check(paths: readonly string[], options: CheckOptions): Promise<number> {
  const began = performance.now();
  const files = await sourceFiles(paths, { standardInputName: options.stdinName });
  if (options.fix && files.some((file) => file.isStandardInput))
    throw new CallError('--fix cannot change standard input; name the file instead');
  const day = options.today ?? today();
  const { session, fixed } = options.fix
    ? await fixUntilSettled(files, findingsOn(day))
    : { session: await Session.open(files), fixed: [] };
  const analyses = session.documents.map((document) => session.analyse(document, day, 'play'));
  const selection: Selection = options;
  requireDesign(
    analyses.flatMap((analysis) => analysis.designs),
    selection,
  );
  const report = gather(analyses, selection, {
    elsewhere: syntaxFindings(session, day),
    fixed,
    ...(options.timing ? { milliseconds: Math.round(performance.now() - began) } : {}),
  });
  process.stdout.write(written(report, session, options));
  return reaches(report.findings, options.failOn) ? EXIT.findings : EXIT.clean;
}

/** A file drawn in through `use` that cannot be read whole makes what builds on it worthless: its syntax errors are told as well. */
const syntaxFindings = (session: Session, day: string): Finding[] =>
  session.used
    .filter(hasSyntaxErrors)
    .flatMap((document) => session.analyse(document, day).findings)
    .filter((finding) => finding.check === 'syntax-error');

function written(report: CheckReport, session: Session, options: CheckOptions): string {
  switch (options.format) {
    case 'json':
      return jsonText(reportJson(report));
    case 'sarif':
      return jsonText(reportSarif(report, CHECKS));
    case 'pretty':
      return prettyReport(report, {
        terminal: terminalOf(options.color),
        textOf: (uri) => session.textOf(uri),
        quiet: options.quiet ?? false,
        questions: options.questions ?? false,
        missingFacts: options.failOn === 'info',
      });
  }
}

interface Edit {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

const overlaps = (left: Edit, right: Edit): boolean =>
  left.start === right.start || (left.start < right.end && right.start < left.end);

/** Puts edits that do not overlap into a text. */
export function edited(text: string, edits: readonly Edit[]): string {
  let out = '';
  let at = 0;
  for (const { start, end, text: replacement } of [...edits].sort((left, right) => left.start - right.start)) {
    out += text.slice(at, start) + replacement;
    at = end;
  }
  return out + text.slice(at);
}

/** What a fix writes ends its lines as the file does. */
const inLinesOf = (file: string, edits: readonly Edit[]): Edit[] => {
  const lineEnd = lineEndOf(file);
  return edits.map((edit) => ({ ...edit, text: edit.text.replace(/\r?\n/g, lineEnd) }));
};

/**
 * Applies fixes that do not collide with each other; a fix is applied with all its edits or not at all, and only when it stays
 * within the files that were asked for.
 */
export function applyFixes(
  files: readonly SourceFile[],
  fixes: readonly ChosenFix[],
): { readonly files: readonly SourceFile[]; readonly applied: readonly ChosenFix[] } {
  const edits = new Map(files.map((file) => [file.path, [] as Edit[]]));
  const applied: ChosenFix[] = [];
  for (const chosen of fixes) {
    const wanted = chosen.fix.edits.map(({ place, text }) => ({
      path: pathOf(place.uri),
      edit: { start: place.offset, end: place.end, text },
    }));
    const fits = wanted.every(({ path, edit }) => edits.get(path)?.every((other) => !overlaps(other, edit)));
    if (!fits) continue;
    for (const { path, edit } of wanted) edits.get(path)!.push(edit);
    applied.push(chosen);
  }
  return {
    files: files.map((file) => ({ ...file, text: edited(file.text, inLinesOf(file.text, edits.get(file.path)!)) })),
    applied,
  };
}

/** All findings of a session's files. */
const findingsOn =
  (day: string) =>
  (session: Session): readonly Finding[] =>
    session.documents.flatMap((document) => session.analyse(document, day).findings);

/** Fixes, analyses again and so on until nothing changes, then writes what has changed. */
export async function fixUntilSettled(
  given: readonly SourceFile[],
  findingsOf: (session: Session) => readonly Finding[],
): Promise<{ session: Session; fixed: readonly AppliedFix[] }> {
  let files = given;
  let session = await Session.open(files);
  const fixed: AppliedFix[] = [];
  for (let round = 0; round < MOST_ROUNDS; round += 1) {
    const next = applyFixes(files, safeFixes(findingsOf(session)));
    if (next.applied.length === 0) break;
    const nextSession = await Session.open(next.files);
    // A fix that breaks the text is a defect of that fix; the files stay as they were before it.
    if (syntaxErrors(nextSession) > syntaxErrors(session)) break;
    [files, session] = [next.files, nextSession];
    fixed.push(
      ...next.applied.map(({ finding, fix }) => ({
        file: fileName(fix.edits[0]!.place.uri),
        check: finding.check,
        title: fix.title,
      })),
    );
  }
  const before = new Map(given.map((file) => [file.path, file.text]));
  const written: string[] = [];
  for (const file of files) {
    if (before.get(file.path) === file.text) continue;
    try {
      await writeWhole(file.path, file.text);
    } catch (error) {
      if (!(error instanceof CallError) || written.length === 0) throw error;
      throw new CallError(`${error.message} (already written: ${written.join(', ')})`);
    }
    written.push(shownPath(file.path));
  }
  return { session, fixed };
}

const syntaxErrors = (session: Session): number =>
  session.documents.reduce((sum, document) => sum + countSyntaxErrors(document), 0);
