import {
  type AnalysedDesign,
  type Analysis,
  type DesignDiff,
  type DesignEdit,
  type DrawingChanges,
  type LayoutEngine,
  type RevisionDiff,
  type RevisionSide,
  type Stamp,
  type ThingChange,
  drawChange,
  writeDrawing,
} from '@wattwright/language';
import { CallError } from '../call-error.js';
import type { DiffFrame } from './diff-text.js';
import { worded } from './diff-words.js';

/** The one design whose change is drawn: the one that was asked for, or the only one that has changed. */
export function designToDraw({ designs }: RevisionDiff): DesignDiff {
  const [only, ...others] = designs;
  if (!only) throw new CallError('--svg draws a change, and no design has changed');
  if (others.length > 0)
    throw new CallError(
      `--svg draws one design; choose with --design among ${designs
        .map(({ name }) => name)
        .slice(0, 8)
        .join(', ')}`,
    );
  if (only.status === 'unreadable' || only.status === 'removed')
    throw new CallError(
      `--svg cannot draw ${only.name}: it ${only.status === 'removed' ? 'is removed' : 'cannot be read on one side'}`,
    );
  return only;
}

/** `wattwright diff --svg`: both states of a design in one picture. */
export async function diffDrawing(
  design: DesignDiff,
  sides: { readonly before: RevisionSide; readonly after: RevisionSide },
  frame: DiffFrame,
  engine: LayoutEngine,
  stamp: Stamp,
): Promise<string> {
  const after = sideOf(sides.after, design.uri, design.name)!;
  const before =
    design.status === 'added'
      ? undefined
      : sideOf(sides.before, design.formerUri ?? design.uri, design.formerName ?? design.name);
  const { drawing, placed } = await drawChange(before, after, changesOf(design, after.design, frame), engine);
  return writeDrawing(drawing, placed, { stamp, sheets: 'whole' });
}

function sideOf(
  { files }: RevisionSide,
  uri: string,
  name: string,
): { readonly analysis: Analysis; readonly design: AnalysedDesign } | undefined {
  const inFile = files.filter((file) => file.uri === uri);
  for (const { analysis } of [...inFile, ...files])
    for (const design of analysis.designs)
      if (design.system.name === name && !design.system.variant) return { analysis, design };
  return undefined;
}

/** What a change does to each thing, from its edits and from the numbers that are ranked. */
function changesOf(design: DesignDiff, { system }: AnalysedDesign, frame: DiffFrame): DrawingChanges {
  const title = `${frame.before} → ${frame.after}`;
  const things = new Map<string, ThingChange>();
  if (design.status === 'added') {
    for (const { name } of [...system.instances, ...system.runs, ...system.links])
      things.set(name, { change: 'added', lines: [] });
    return { title, things, renamed: new Map() };
  }
  const add = (name: string, change: ThingChange['change'], line?: string): void => {
    const so = things.get(name);
    // What is new or gone stays so, and what was edited is more than affected, whatever else is said of it.
    const kind = !so || RANK[change] < RANK[so.change] ? change : so.change;
    things.set(name, { change: kind, lines: [...(so?.lines ?? []), ...(line === undefined ? [] : [line])] });
  };
  for (const edit of design.edits) add(edit.subject, changeOf(edit), lineOf(edit));
  for (const line of design.lines) {
    if (line.class === 'edits' || line.class === 'trust') continue;
    const { what, before, after } = worded(line, design);
    const name = line.subject.split('.')[0]!;
    // Number of the thing alone: what is said of the design as a whole has no place in the picture.
    if (name !== design.name && before !== undefined && after !== undefined)
      add(name, 'affected', `${what.replace(` on ${name}`, '').replace(`${name} `, '')}: ${before} → ${after}`);
  }
  const renamed = design.edits.flatMap(({ kind, before, after }) =>
    kind === 'renamed' && before && after ? [[before.text, after.text] as const] : [],
  );
  return { title, things, renamed: new Map(renamed) };
}

const RANK = { added: 0, removed: 0, changed: 1, affected: 2 } as const;

const changeOf = ({ kind }: DesignEdit): ThingChange['change'] =>
  kind === 'added' || kind === 'removed' ? kind : 'changed';

function lineOf({ kind, property, before, after }: DesignEdit): string | undefined {
  const values = `${before?.text ?? '–'} → ${after?.text ?? '–'}`;
  switch (kind) {
    case 'added':
    case 'removed':
      return undefined;
    case 'renamed':
      return `was called ${before?.text ?? '–'}`;
    case 'part':
      return `part ${values}`;
    case 'accept':
      return `accept ${property ?? ''}${after ? '' : ' removed'}`;
    case 'replaced':
      return `replaced: ${values}`;
    case 'wiring':
      return 'wired otherwise';
    default:
      return property === undefined ? undefined : `${property} ${values}`;
  }
}
