import {
  type AnalysedDesign,
  type Analysis,
  type Paper,
  drawDesign,
  drawingFigures,
  drawingPage,
  textFault,
  wiringFigures,
  wiringViews,
  writeDrawing,
  writeWiring,
} from '@wattwright/language';
import path from 'node:path';
import { CallError, EXIT, reason } from '../call-error.js';
import { chosenDesign, keptPositions } from '../drawing-call.js';
import { layoutEngine } from '../../drawing/layout-engine.js';
import { sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import { safeText } from '../output/safe-text.js';
import { chromium, printed } from '../pdf.js';
import { requireName } from '../selection.js';
import { Session, hasSyntaxErrors } from '../session.js';
import { stampOf } from '../stamp.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface DrawOptions {
  readonly output: string;
  readonly state: string;
  /** The wiring views of enclosures in place of the single-line diagram. */
  readonly wiring?: boolean;
  /** Only the wiring view of this enclosure. */
  readonly enclosure?: string;
  /** Paper of a PDF. */
  readonly paper: Paper;
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
  const isPdf = path.extname(output) === '.pdf';
  if (path.extname(output) !== '.svg' && !isPdf)
    throw new CallError(`${options.output} does not end with .svg or .pdf; drawings are written as one of these`);
  const program = isPdf ? chromium() : undefined;
  if (isPdf && program === undefined)
    throw new CallError('there is no Chromium in the path to print with; write an SVG and print it instead');
  const session = await Session.open(await sourceFiles([file], { standardInputName: options.stdinName }));
  const day = options.today ?? today();
  const analyses = session.documents.map((document) => session.analyse(document, day));
  const { analysis, design } = chosenDesign(analyses, file, options, session.documents.some(hasSyntaxErrors));
  const paged = await (isWiring(options) ? wiring(design, options) : diagram(analysis, design, session, options));
  if (program === undefined) await writeWhole(output, paged.svg());
  else {
    const page = drawingPage(paged.title, paged.figures(), options.paper);
    await writeWhole(output, await printedDrawing(program, page, paged.date));
  }
  process.stderr.write(`wrote ${safeText(shownPath(output))}\n`);
  if (!textFault(analysis, design.system)) return EXIT.clean;
  process.stderr.write(
    `wattwright: the text of ${safeText(design.system.name)} has errors, so things may be missing in the drawing; \`wattwright check ${safeText(file)}\` says what is wrong\n`,
  );
  return EXIT.findings;
}

/** A picture that can be written as one file or printed page by page. */
interface Paged {
  readonly title: string;
  readonly date?: string | undefined;
  readonly svg: () => string;
  readonly figures: () => ReturnType<typeof drawingFigures>;
}

async function diagram(
  analysis: Analysis,
  design: AnalysedDesign,
  session: Session,
  options: DrawOptions,
): Promise<Paged> {
  const sheets = chosenSheets(design, options.state);
  const { drawing, placed } = await drawDesign(analysis, design, layoutEngine(), keptPositions(design));
  const stamp = await stampOf([...session.documents, ...session.used].map(({ uri }) => uri.fsPath));
  return {
    title: `Single-line diagram of ${drawing.title}`,
    date: stamp.date,
    svg: () => writeDrawing(drawing, placed, { stamp, sheets }),
    figures: () => drawingFigures(drawing, placed, { stamp, sheets }),
  };
}

const isWiring = ({ wiring: wanted, enclosure }: DrawOptions): boolean => wanted === true || enclosure !== undefined;

function wiring(design: AnalysedDesign, { enclosure }: DrawOptions): Paged {
  const all = wiringViews(design);
  const { name } = design.system;
  if (all.length === 0) throw new CallError(`there is nothing to wire in ${name}: it has no runs`);
  const named = all.flatMap((view) => view.enclosure ?? []);
  if (enclosure !== undefined && named.length === 0)
    throw new CallError(`nothing in ${name} states its enclosure; write \`enclosure: "${enclosure}"\` at its things`);
  if (enclosure !== undefined) requireName('enclosure', enclosure, named);
  const views = all.filter((view) => enclosure === undefined || view.enclosure === enclosure);
  return { title: `Wiring of ${name}`, svg: () => writeWiring(views), figures: () => wiringFigures(views) };
}

async function printedDrawing(program: string, page: string, date: string | undefined): Promise<Buffer> {
  try {
    return await printed(program, page, date);
  } catch (error) {
    throw new CallError(`Chromium could not print the drawing: ${reason(error)}`);
  }
}

function chosenSheets({ context }: AnalysedDesign, state: string): 'all' | 'whole' | { readonly state: string } {
  const ids = context.states.map(({ id }) => id);
  if (ids.includes(state)) return { state };
  if (state === ALL) return 'all';
  if (state === WHOLE) return 'whole';
  requireName('state', state, ids);
  return 'all';
}
