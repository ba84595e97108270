import {
  type Analysis,
  CSV_NAMES,
  ENOUGH,
  Effort,
  type HeldBy,
  type LeftOpen,
  SHEETS,
  type SetPaper,
  type SheetName,
  type Severity,
  chosenFor,
  drawDesign,
  finished,
  handoverCsv,
  handoverData,
  handoverPage,
  handoverSet,
  nearest,
  withoutDesign,
} from '@wattwright/language';
import { existsSync, lstatSync, mkdirSync, rmdirSync, statSync } from 'node:fs';
import path from 'node:path';
import { CallError, EXIT, reason } from '../call-error.js';
import { chosenDesign, keptPositions } from '../drawing-call.js';
import { layoutEngine } from '../../drawing/layout-engine.js';
import { sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import { jsonText } from '../output/json.js';
import { safeText } from '../output/safe-text.js';
import { chromium, printed } from '../pdf.js';
import { SEVERITIES } from '../report.js';
import { Session, hasSyntaxErrors } from '../session.js';
import { stampOf } from '../stamp.js';
import { today } from '../today.js';
import { writeAllWhole } from '../write-whole.js';

export interface ReportOptions {
  readonly output: string;
  readonly format: 'pretty' | 'json';
  readonly design?: string;
  readonly variant?: string;
  readonly sheet: readonly string[];
  /** Only the commissioning sheet. */
  readonly commission?: boolean;
  readonly failOn?: Severity;
  readonly pdf: boolean;
  /** Paper to print on, where it is not that of the practice. */
  readonly paper?: SetPaper;
  readonly stdinName: string;
  readonly today?: string;
}

/** `wattwright report`: the set is written whatever was found; with `--fail-on`, findings at or above it end with exit code 1 and nothing written. */
export async function report(file: string, options: ReportOptions): Promise<number> {
  const only = [...options.sheet.map(requireSheet), ...(options.commission ? (['commissioning'] as const) : [])];
  const session = await Session.open(await sourceFiles([file], { standardInputName: options.stdinName }));
  const analyses = session.documents.map((document) => session.analyse(document, options.today ?? today(), 'play'));
  const { analysis, design } = chosenDesign(analyses, file, options, session.documents.some(hasSyntaxErrors));
  const { system } = design;
  if (options.failOn !== undefined) {
    const worst = SEVERITIES.indexOf(options.failOn);
    const found = analysis.findings.filter(
      ({ severity, accepted }) => !accepted && SEVERITIES.indexOf(severity) <= worst,
    );
    if (found.length > 0) {
      process.stderr.write(
        `wattwright: nothing was written: ${found.length} findings at or above ${options.failOn}; \`wattwright check ${safeText(file)}\` lists them\n`,
      );
      return EXIT.findings;
    }
  }
  const stamp = await stampOf([...session.documents, ...session.used].map(({ uri }) => uri.fsPath));
  const drawn = await drawDesign(analysis, design, layoutEngine(), keptPositions(design));
  const leftOpen = leftOpenIn(analysis, system.name, session, options.today ?? today());
  const set = handoverSet(analysis, design, { drawn, stamp, leftOpen, ...(only.length > 0 ? { only } : {}) });
  const folder = path.resolve(options.output);
  const base = system.variant && system.variantOf ? `${system.variantOf}-${system.name}` : system.name;
  const page = handoverPage(set, options.paper);
  const files = new Map<string, string | Buffer>([[`${base}.html`, page]]);
  for (const [name, text] of handoverCsv(set)) files.set(`${name}.csv`, text);
  if (options.pdf) await addPdf(files, base, page, stamp.date);
  const isNew = requireFolder(folder);
  try {
    for (const name of files.keys()) requireInside(folder, name);
    await writeAllWhole(new Map([...files].map(([name, content]) => [path.join(folder, name), content])));
  } catch (error) {
    // Nothing was written: the folder that was made for it goes as well.
    if (isNew) removeEmpty(folder);
    throw error;
  }
  const written = [...files.keys()].map((name) => shownPath(path.join(folder, name)));
  for (const each of written) process.stderr.write(`wrote ${safeText(each)}\n`);
  tellEarlier(folder, base, files);
  if (options.format === 'json') process.stdout.write(jsonText(handoverData(set, written)));
  return EXIT.clean;
}

/** What the text of a design leaves open, with the values that are found for it. */
function leftOpenIn(analysis: Analysis, design: string, session: Session, day: string): readonly LeftOpen[] {
  const document = session.documents.find(({ uri }) => uri.toString() === analysis.uri);
  if (!document?.textDocument.getText().includes('?')) return [];
  const chosen = finished(
    chosenFor(analysis, session.ground(document, day, 'play'), {
      effort: new Effort(ENOUGH),
      designs: (name) => name === design,
    }),
  );
  return chosen.flatMap(({ open, answers: [best], questions, conflict }) =>
    open.map(({ path }): LeftOpen => {
      const value = best?.values.get(path);
      const held = best?.heldBy.find((each) => each.path === path);
      const asked = questions.find((each) => each.path === path)?.question;
      const because =
        value === undefined
          ? (asked ?? (conflict ? `no value holds: ${conflict[0]?.text ?? ''}` : 'nothing was found'))
          : heldText(held);
      return { path: withoutDesign(path), ...(value === undefined ? {} : { value }), because };
    }),
  );
}

function heldText(held: HeldBy | undefined): string {
  if (!held?.check) return 'every check and requirement lets it stand';
  const used = held.share === undefined ? '' : `, ${Math.round(held.share * 100)} % used`;
  return `held by ${held.check}${used}`;
}

function requireSheet(name: string): SheetName {
  const found = SHEETS.find((each) => each === name);
  if (found) return found;
  const near = nearest(name, SHEETS)[0];
  throw new CallError(
    `no sheet is named ${name}; ${near ? `did you mean ${near}?` : `there are ${SHEETS.join(', ')}`}`,
  );
}

async function addPdf(
  files: Map<string, string | Buffer>,
  base: string,
  page: string,
  date: string | undefined,
): Promise<void> {
  const program = chromium();
  if (program === undefined) {
    process.stderr.write('no PDF was made: there is no Chromium in the path; print the page from a browser instead\n');
    return;
  }
  try {
    files.set(`${base}.pdf`, await printed(program, page, date));
  } catch (error) {
    process.stderr.write(
      `no PDF was made: Chromium could not print the page: ${safeText(error instanceof Error ? error.message : String(error))}; print it from a browser instead\n`,
    );
  }
}

function removeEmpty(folder: string): void {
  try {
    rmdirSync(folder);
  } catch {
    // Somebody else has put something into it.
  }
}

/** The folder, made where it is not there; what is above it must be. Whether it was made. */
function requireFolder(folder: string): boolean {
  try {
    mkdirSync(folder);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST')
      throw new CallError(`cannot make the folder ${shownPath(folder)}: ${reason(error)}`);
    if (!statSync(folder).isDirectory())
      throw new CallError(`${shownPath(folder)} is no folder; name one for the hand-over set`);
    return false;
  }
}

/** What an earlier call has left in the folder and this one does not make: it may tell of another state of the design than the rest. */
function tellEarlier(folder: string, base: string, files: ReadonlyMap<string, unknown>): void {
  const earlier = [`${base}.html`, `${base}.pdf`, ...CSV_NAMES.map((name) => `${name}.csv`)].filter(
    (name) => !files.has(name) && existsSync(path.join(folder, name)),
  );
  if (earlier.length > 0)
    process.stderr.write(
      `left from an earlier set, and not of this one: ${safeText(earlier.join(', '))}; remove what is not wanted\n`,
    );
}

/** Nothing is written outside the folder: what leads out of it as a link is refused. */
function requireInside(folder: string, name: string): void {
  const target = path.join(folder, name);
  try {
    if (lstatSync(target).isSymbolicLink())
      throw new CallError(`${shownPath(target)} is a link; remove it, since nothing is written outside of the folder`);
  } catch (error) {
    if (error instanceof CallError) throw error;
  }
}
