import { type AnalysedDesign, drawDesign, textFault, writeDrawing } from '@wattwright/language';
import path from 'node:path';
import { CallError, EXIT } from '../call-error.js';
import { chosenDesign, keptPositions } from '../drawing-call.js';
import { layoutEngine } from '../../drawing/layout-engine.js';
import { sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import { safeText } from '../output/safe-text.js';
import { requireName } from '../selection.js';
import { Session, hasSyntaxErrors } from '../session.js';
import { stampOf } from '../stamp.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface DrawOptions {
  readonly output: string;
  readonly state: string;
  readonly design?: string;
  readonly variant?: string;
  readonly stdinName: string;
  readonly today?: string;
}

/** Words that stand for sheets and for no state. */
const ALL = 'all';
const WHOLE = 'none';

/** `wattwright draw`: exit code 1 when the text of the design has errors, so that the drawing may lack things. */
export async function draw(file: string, options: DrawOptions): Promise<number> {
  const output = path.resolve(options.output);
  if (path.extname(output) !== '.svg')
    throw new CallError(`${options.output} does not end with .svg; drawings are written as SVG`);
  const session = await Session.open(await sourceFiles([file], { standardInputName: options.stdinName }));
  const day = options.today ?? today();
  const analyses = session.documents.map((document) => session.analyse(document, day));
  const { analysis, design } = chosenDesign(analyses, file, options, session.documents.some(hasSyntaxErrors));
  const sheets = chosenSheets(design, options.state);
  const { drawing, placed } = await drawDesign(analysis, design, layoutEngine(), keptPositions(design));
  const files = [...session.documents, ...session.used].map(({ uri }) => uri.fsPath);
  await writeWhole(output, writeDrawing(drawing, placed, { stamp: await stampOf(files), sheets }));
  process.stderr.write(`wrote ${safeText(shownPath(output))}\n`);
  if (!textFault(analysis, design.system)) return EXIT.clean;
  process.stderr.write(
    `wattwright: the text of ${safeText(design.system.name)} has errors, so things may be missing in the drawing; \`wattwright check ${safeText(file)}\` says what is wrong\n`,
  );
  return EXIT.findings;
}

function chosenSheets({ context }: AnalysedDesign, state: string): 'all' | 'whole' | { readonly state: string } {
  const ids = context.states.map(({ id }) => id);
  if (ids.includes(state)) return { state };
  if (state === ALL) return 'all';
  if (state === WHOLE) return 'whole';
  requireName('state', state, ids);
  return 'all';
}
