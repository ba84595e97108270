import { type Analysis, type AnalysedDesign, type Positions, readPositions } from '@wattwright/language';
import path from 'node:path';
import { textBeside } from '../files/text-beside.js';
import { CallError } from './call-error.js';
import { DESIGN_FILE } from './files.js';
import { shownPath } from './shown-path.js';
import { requireDesign } from './selection.js';
import { pathOf } from './session.js';

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

/** Positions kept in `<name>.layout.json` beside the design. */
export function keptPositions({ system }: AnalysedDesign): Positions {
  const design = pathOf(system.uri);
  const file = path.join(path.dirname(design), `${path.basename(design, DESIGN_FILE)}.layout.json`);
  const text = textBeside(file);
  if (text === undefined) return {};
  if (typeof text === 'object') throw new CallError(`${shownPath(file)} ${text.unread}`);
  const read = readPositions(text);
  if ('wrong' in read)
    throw new CallError(
      `${shownPath(file)} holds no positions: ${read.wrong}; correct it, or remove it and all is laid out afresh`,
    );
  const { positions } = read;
  return positions[system.name] ?? positions[system.variantOf ?? ''] ?? {};
}
