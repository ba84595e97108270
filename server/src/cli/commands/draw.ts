import {
  type Analysis,
  type AnalysedDesign,
  CHECKS,
  type Positions,
  drawDesign,
  readPositions,
  writeDrawing,
} from '@wattwright/language';
import path from 'node:path';
import { textBeside } from '../../files/text-beside.js';
import { CallError, EXIT } from '../call-error.js';
import { DESIGN_FILE, shownPath, sourceFiles } from '../files.js';
import { layoutEngine } from '../layout-engine.js';
import { safeText } from '../output/safe-text.js';
import { requireDesign, requireName } from '../selection.js';
import { Session, hasSyntaxErrors, pathOf } from '../session.js';
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
  if (!hasTextErrors(analysis, design)) return EXIT.clean;
  process.stderr.write(
    `wattwright: the text of ${safeText(design.system.name)} has errors, so the drawing may lack things; \`wattwright check ${safeText(file)}\` says what is wrong\n`,
  );
  return EXIT.findings;
}

interface Chosen {
  readonly analysis: Analysis;
  readonly design: AnalysedDesign;
}

/** The one design that a call is about: the one it names, or the only one there. */
export function chosenDesign(
  analyses: readonly Analysis[],
  file: string,
  { design, variant }: { readonly design?: string; readonly variant?: string },
  isUnreadable: boolean,
): Chosen {
  const all = analyses.flatMap((analysis) => analysis.designs.map((each): Chosen => ({ analysis, design: each })));
  requireDesign(
    all.map((each) => each.design),
    { ...(design === undefined ? {} : { design }), ...(variant === undefined ? {} : { variant }) },
  );
  const named = variant ?? design;
  const wanted = all.filter(({ design: { system } }) =>
    named === undefined ? system.variant === undefined : system.name === named,
  );
  const [first, another] = wanted;
  if (!first)
    throw new CallError(
      isUnreadable
        ? `no design of ${file} can be read; \`wattwright check ${file}\` says what is wrong`
        : `there is no design in ${file}`,
    );
  if (another)
    throw new CallError(
      `${file} has several designs; say which with --design: ${wanted.map((each) => each.design.system.name).join(', ')}`,
    );
  return first;
}

function chosenSheets({ context }: AnalysedDesign, state: string): 'all' | 'whole' | { readonly state: string } {
  const ids = context.states.map(({ id }) => id);
  if (ids.includes(state)) return { state };
  if (state === ALL) return 'all';
  if (state === WHOLE) return 'whole';
  requireName('state', state, ids);
  return 'all';
}

/** Positions kept in `<name>.layout.json` beside the design. */
function keptPositions({ system }: AnalysedDesign): Positions {
  const design = pathOf(system.uri);
  const file = path.join(path.dirname(design), `${path.basename(design, DESIGN_FILE)}.layout.json`);
  const text = textBeside(file);
  if (text === undefined) return {};
  if (typeof text === 'object') throw new CallError(`${shownPath(file)} ${text.unread}`);
  const read = readPositions(text);
  if ('wrong' in read)
    throw new CallError(
      `${shownPath(file)} holds no positions: ${read.wrong}; mend it, or remove it and all is laid out afresh`,
    );
  const { positions } = read;
  return positions[system.name] ?? positions[system.variantOf ?? ''] ?? {};
}

const TEXT_CHECKS: ReadonlySet<string> = new Set(CHECKS.filter(({ group }) => group === 'text').map(({ id }) => id));

const hasTextErrors = ({ findings }: Analysis, { system }: AnalysedDesign): boolean =>
  findings.some(
    ({ check, severity, subject }) =>
      severity === 'error' &&
      TEXT_CHECKS.has(check) &&
      (subject === '' || subject === system.name || subject.startsWith(`${system.name}.`)),
  );
