import {
  A_SECOND,
  type Analysis,
  type Answer,
  type AskForRuns,
  type ChosenFix,
  type Edit,
  Effort,
  type Finding,
  Proposer,
  type Severity,
  edited,
  inLinesOf,
  overlaps,
  safeFixes,
  settle,
  standing,
  finished,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { performance } from 'node:perf_hooks';
import { CallError, EXIT } from '../call-error.js';
import { type SourceFile, sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import type { CheckFormat } from '../check-formats.js';
import { type Writing, outputsOf, writeOutputs, written } from '../formats.js';
import { tellDeprecated } from '../projects.js';
import { Progress } from '../output/progress.js';
import { played } from '../played.js';
import { type Team, runsBeside } from '../runs/team.js';
import { type AppliedFix, SEVERITIES, type Selection, gather, reaches } from '../report.js';
import { requireDesign } from '../selection.js';
import { Session, countSyntaxErrors, fileName, hasSyntaxErrors, pathOf } from '../session.js';
import { changedSince, inShard, newSince, shardOf } from '../since.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface CheckOptions {
  readonly format: CheckFormat;
  /** Reports that are written to files beside what is printed: `sarif:findings.sarif`. */
  readonly output?: readonly string[];
  readonly accepted?: 'include' | 'leave';
  readonly root?: string;
  readonly junitStrict?: boolean;
  readonly exitZero?: boolean;
  /** Only what is not found in this revision. */
  readonly baseline?: string;
  /** Only files that this revision does not hold as they are now, with all they draw in. */
  readonly changed?: string;
  readonly shard?: string;
  readonly fix?: boolean;
  readonly unsafe?: boolean;
  readonly fixes: 'all' | 'some' | 'none';
  /** What the project of each file says unless given; where that says nothing, errors. */
  readonly failOn?: Severity;
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
export async function check(paths: readonly string[], options: CheckOptions, runsThread?: URL): Promise<number> {
  const began = performance.now();
  const outputs = outputsOf(options.output ?? []);
  const shard = options.shard === undefined ? undefined : shardOf(options.shard);
  const all = await sourceFiles(paths, { standardInputName: options.stdinName });
  const files = shard ? inShard(all, shard) : all;
  if (options.fix && files.some((file) => file.isStandardInput))
    throw new CallError('--fix cannot change standard input; name the file instead');
  if (options.unsafe && !options.fix) throw new CallError('--unsafe says how far --fix goes; say both');
  const day = options.today ?? today();
  const { session, fixed } = options.fix
    ? await fixUntilSettled(files, findingsOn(day), options.unsafe ? day : undefined)
    : { session: await Session.open(files), fixed: [] };
  const touched = options.changed === undefined ? undefined : await changedSince(options.changed, session);
  const documents = session.documents.filter((document) => touched?.has(document) ?? true);
  const team: Team = { script: runsThread, folders: files.map(({ within }) => within), today: day };
  const progress = new Progress(process.stderr);
  const analyses = documents.map((document) =>
    played(session.analyse(document, day, 'leave', besideOf(document, files, team)), progress),
  );
  progress.end();
  const selection: Selection = options;
  // A part of all, or what has changed, need not hold the design that is asked for.
  if (!shard && !touched)
    requireDesign(
      analyses.flatMap((analysis) => analysis.designs),
      selection,
    );
  const whole = gather(analyses, selection, {
    elsewhere: syntaxFindings(session, day),
    fixed,
    answers: answersTo(session, documents, analyses, day, options.fixes),
    ...(options.timing ? { milliseconds: Math.round(performance.now() - began) } : {}),
  });
  const report = options.baseline === undefined ? whole : await newSince(options.baseline, whole, day);
  tellDeprecated(session.projects);
  const failOn = (uri: string): Severity =>
    options.failOn ?? session.projects.of(pathOf(uri))?.settings.failOn ?? 'error';
  const fails = report.findings.some((finding) => reaches([finding], failOn(finding.place.uri)));
  const found = fails ? EXIT.findings : EXIT.clean;
  const code = options.exitZero ? EXIT.clean : found;
  const writing: Writing = {
    ...options,
    // Facts that are missing are told one by one where they decide for any file.
    failOn: SEVERITIES.findLast((each) => documents.some(({ uri }) => failOn(uri.toString()) === each)) ?? 'error',
    textOf: (uri) => session.textOf(uri),
    exitCode: code,
  };
  const printed = written(report, options.format, writing);
  await writeOutputs(report, outputs, writing);
  process.stdout.write(printed);
  return code;
}

/** Who plays runs beside this thread: of the text as it now is, fixes applied. */
function besideOf(document: LangiumDocument, files: readonly SourceFile[], team: Team): AskForRuns | undefined {
  const file = files.find(({ path }) => path === document.uri.fsPath);
  return file && runsBeside(team, { ...file, text: document.textDocument.getText() });
}

/** A file drawn in through `use` that cannot be read whole makes what builds on it worthless: its syntax errors are told as well. */
const syntaxFindings = (session: Session, day: string): Finding[] =>
  session.used
    .filter(hasSyntaxErrors)
    .flatMap((document) => session.analyse(document, day).findings)
    .filter((finding) => finding.check === 'syntax-error');

/** Findings of a file for which proposals are worked out unless all or none are asked for, or its project says otherwise. */
const SOME = 20;

const RANK = { error: 0, warning: 1, info: 2 } as const;

/** What can be done about the findings of each file, the worst first, as far as it is asked for. */
function answersTo(
  session: Session,
  documents: readonly LangiumDocument[],
  analyses: readonly Analysis[],
  day: string,
  fixes: CheckOptions['fixes'],
): ReadonlyMap<Finding, Answer> {
  const answers = new Map<Finding, Answer>();
  // One effort for all files: whoever asks about many waits no longer than who asks about one.
  const effort = fixes === 'all' ? new Effort() : new Effort(A_SECOND);
  for (const [index, analysis] of analyses.entries()) {
    if (fixes === 'none') break;
    const proposer = new Proposer(analysis, session.ground(documents[index]!, day, 'play'), effort);
    const open = analysis.findings
      .filter(({ accepted }) => !accepted)
      .sort((left, right) => RANK[left.severity] - RANK[right.severity]);
    const { proposals = SOME } = session.projects.of(documents[index]!.uri.fsPath)?.settings ?? {};
    let sought = 0;
    for (const finding of open) {
      if (finding.ways.length > 0) sought += 1;
      if (fixes === 'some' && finding.ways.length > 0 && (sought > proposals || effort.isSpent)) continue;
      answers.set(finding, finished(proposer.answer(finding)));
    }
  }
  return answers;
}

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

/** All findings of a session's files that count before its scenarios are played. */
const findingsOn =
  (day: string) =>
  (session: Session): readonly Finding[] =>
    session.documents.flatMap((document) => standing(session.analyse(document, day)));

/**
 * Fixes, analyses again and so on until nothing changes, then writes what has changed: the safe fixes, and as of a day the preferred
 * proposal of each finding, where that is asked for.
 */
export async function fixUntilSettled(
  given: readonly SourceFile[],
  findingsOf: (session: Session) => readonly Finding[],
  unsafeOn?: string,
): Promise<{ session: Session; fixed: readonly AppliedFix[] }> {
  const safe = await safelyFixed(given, findingsOf);
  const { files, session, fixed } = unsafeOn === undefined ? safe : await whollyFixed(safe, unsafeOn);
  await writeChanged(given, files);
  return { session, fixed };
}

/** Files with the fixes that have been made of them, not written yet. */
interface Fixed {
  readonly files: readonly SourceFile[];
  readonly session: Session;
  readonly fixed: readonly AppliedFix[];
}

async function safelyFixed(
  given: readonly SourceFile[],
  findingsOf: (session: Session) => readonly Finding[],
): Promise<Fixed> {
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
  return { files, session, fixed };
}

/** The preferred proposal of each finding, file by file; one whose changes raise errors anywhere stays as it was. */
async function whollyFixed({ files, session, fixed }: Fixed, day: string): Promise<Fixed> {
  let [so, now] = [files, session];
  const all = [...fixed];
  for (const [index, file] of files.entries()) {
    const { text, steps } = finished(settle(now.ground(now.documents[index]!, day)));
    if (steps.length === 0) continue;
    const next = so.map((each) => (each.path === file.path ? { ...each, text } : each));
    const opened = await Session.open(next);
    if (errorsOn(opened, day) > errorsOn(now, day)) continue;
    [so, now] = [next, opened];
    all.push(...steps.map(({ check: id, title }) => ({ file: shownPath(file.path), check: id, title })));
  }
  return { files: so, session: now, fixed: all };
}

const errorsOn = (session: Session, day: string): number =>
  findingsOn(day)(session).filter(({ severity, accepted }) => severity === 'error' && !accepted).length;

async function writeChanged(given: readonly SourceFile[], files: readonly SourceFile[]): Promise<void> {
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
}

const syntaxErrors = (session: Session): number =>
  session.documents.reduce((sum, document) => sum + countSyntaxErrors(document), 0);
