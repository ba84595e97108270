import type { DesignDiff, DesignEdit, Line, QuantityChange, RevisionDiff, Stated } from '@wattwright/language';
import type { Revision } from '../../git/repository.js';
import { fileName } from '../session.js';
import type { DiffFrame } from './diff-text.js';
import { verdictOf } from './diff-words.js';
import { SCHEMA, TOOL, placeJson, valueJson } from './json.js';

export interface DiffSides {
  readonly before: Revision;
  /** Absent where the working folder is compared. */
  readonly after?: Revision;
  readonly today: string;
}

const statedJson = ({ text, origin, place }: Stated): object => ({
  text,
  origin,
  ...(place ? { place: placeJson(place) } : {}),
});

const editJson = ({ id, kind, subject, property, before, after, properties, place }: DesignEdit): object => ({
  id,
  kind,
  subject,
  ...(property === undefined ? {} : { property }),
  ...(before ? { before: statedJson(before) } : {}),
  ...(after ? { after: statedJson(after) } : {}),
  properties: properties.map((each) => ({
    property: each.property,
    ...(each.before ? { before: statedJson(each.before) } : {}),
    ...(each.after ? { after: statedJson(each.after) } : {}),
  })),
  ...(place ? { place: placeJson(place) } : {}),
});

function lineJson(line: Line): object {
  const { place, also, isAnyOf, ...facts } = line;
  return {
    ...facts,
    ...('before' in line && line.kind === 'origin'
      ? { before: statedJson(line.before), after: statedJson(line.after) }
      : {}),
    ...(isAnyOf ? { anyOf: true } : {}),
    ...(place ? { place: placeJson(place) } : {}),
    also: also.map(lineJson),
  };
}

const quantityJson = ({ path, before, after, causes }: QuantityChange): object => ({
  path,
  before: valueJson(before),
  after: valueJson(after),
  causes,
});

const designJson = (design: DesignDiff): object => ({
  name: design.name,
  ...(design.formerName ? { formerName: design.formerName } : {}),
  file: fileName(design.uri),
  ...(design.formerUri === undefined ? {} : { formerFile: fileName(design.formerUri) }),
  status: design.status,
  verdict: verdictOf(design),
  ...(design.worst ? { worst: design.worst } : {}),
  basis: design.basis,
  edits: design.edits.map(editJson),
  lines: design.lines.map(lineJson),
  findings: design.findings,
  checked: { before: design.checked[0], after: design.checked[1] },
  open: { before: design.open[0], after: design.open[1] },
  quantities: design.quantities.map(quantityJson),
  totals: design.totals.map(({ without, ...total }) => ({
    ...total,
    without: { before: without[0], after: without[1] },
  })),
  variants: design.variants,
});

/** `wattwright diff --format json`. */
export const diffJson = (diff: RevisionDiff, frame: DiffFrame, { before, after, today }: DiffSides): object => ({
  schema: SCHEMA,
  tool: TOOL,
  today,
  base: { revision: before.asked, commit: before.commit },
  head: after ? { revision: after.asked, commit: after.commit } : { revision: null, commit: null },
  designs: diff.designs.map(designJson),
  texts: diff.texts.map(lineJson),
  settings: diff.settings.map(({ uri, ...change }) => ({ ...change, file: fileName(uri) })),
  unread: frame.unread,
  summary: { ...diff.summary, ...(diff.worst ? { worst: diff.worst } : {}) },
});
