import { type ChosenDesign, Effort, ENOUGH, type Edit, chosenFor, edited, finished } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { CallError, EXIT } from '../call-error.js';
import { shownPath } from '../shown-path.js';
import { sourceFiles } from '../files.js';
import { jsonText } from '../output/json.js';
import { solutionsJson } from '../output/solve-json.js';
import { prettySolutions } from '../output/solve.js';
import { terminalOf } from '../output/terminal.js';
import { requireDesign } from '../selection.js';
import { Session, hasSyntaxErrors, pathOf } from '../session.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface SolveOptions {
  readonly format: 'pretty' | 'json';
  readonly write?: boolean;
  readonly top: number;
  readonly design?: string;
  readonly variant?: string;
  readonly quiet?: boolean;
  readonly stdinName: string;
  readonly today?: string;
  readonly color?: boolean;
}

/** `wattwright solve`: exit code 1 when a hole has no answer. */
export async function solve(file: string, options: SolveOptions): Promise<number> {
  const files = await sourceFiles([file], { standardInputName: options.stdinName });
  if (options.write && files.some((each) => each.isStandardInput))
    throw new CallError('--write cannot change standard input; name the file instead');
  const session = await Session.open(files);
  const day = options.today ?? today();
  const broken = session.documents.find(hasSyntaxErrors);
  if (broken)
    throw new CallError(
      `${shownPath(pathOf(broken.uri.toString()))} has syntax errors; \`wattwright check\` shows where`,
    );
  const before = session.documents.map((document) => session.analyse(document, day, 'leave'));
  requireDesign(
    before.flatMap(({ designs }) => designs),
    options,
  );
  const isAsked = (name: string): boolean =>
    options.variant === undefined ? options.design === undefined || name === options.design : name === options.variant;
  const solved = session.documents.map((document, index) => {
    const ground = session.ground(document, day, 'play');
    const search = chosenFor(before[index]!, ground, {
      top: options.top,
      effort: new Effort(ENOUGH),
      designs: isAsked,
    });
    return { document, designs: finished(search) };
  });
  const designs = solved.flatMap((each) => each.designs);
  if (options.write) for (const { document, designs: own } of solved) await fill(document, own);
  process.stdout.write(
    options.format === 'json'
      ? jsonText(solutionsJson(designs))
      : prettySolutions(designs, { terminal: terminalOf(options.color), quiet: options.quiet ?? false }),
  );
  return designs.every(isAnswered) ? EXIT.clean : EXIT.findings;
}

const isAnswered = ({ open, answers: [first] }: ChosenDesign): boolean =>
  open.every(({ path }) => first?.values.has(path) === true);

/** Writes the best values into the file, and nothing else. */
async function fill(document: LangiumDocument, designs: readonly ChosenDesign[]): Promise<void> {
  const edits = designs.flatMap(({ open, answers: [first] }): Edit[] =>
    open.flatMap(({ path, place }) => {
      const text = first?.values.get(path);
      return text === undefined ? [] : [{ start: place.offset, end: place.end, text }];
    }),
  );
  if (edits.length > 0)
    await writeWhole(pathOf(document.uri.toString()), edited(document.textDocument.getText(), edits));
}
