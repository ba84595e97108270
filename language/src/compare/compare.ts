import { isOfDesign } from '../analyse/subjects.js';
import type { AnalysedDesign, Analysis, Finding } from '../analyse/types.js';
import { Causes } from './causes.js';
import { basisText } from '../checks/verdicts.js';
import { editsOf } from './edits.js';
import { comparedFindings, newFinding, uncheckedLines } from './findings.js';
import { type Identity, identityOf } from './identity.js';
import { marginLines, usePairs } from './margins.js';
import { quantityChanges, totals } from './numbers.js';
import { playLines } from './plays.js';
import { folded } from './ranking.js';
import { requirementLines } from './requirements.js';
import { type DesignSide, type Sides, designSide } from './side.js';
import { type SettingsByFile, settingChanges } from './settings.js';
import { trustLines } from './trust.js';
import {
  CLASSES,
  type DesignDiff,
  type DiffClass,
  type DesignEdit,
  type Line,
  type LineOf,
  type ReadFile,
  type RevisionDiff,
  type RevisionSide,
} from './types.js';

export interface CompareOptions {
  /** Renames that somebody has said, old name to new. */
  readonly renames?: ReadonlyMap<string, string>;
  /** What project files say on each side. */
  readonly settings?: { readonly before: SettingsByFile; readonly after: SettingsByFile };
}

/** One design of a side with its variants. */
interface Placed {
  readonly file: ReadFile;
  readonly design: AnalysedDesign;
  readonly variants: readonly AnalysedDesign[];
}

function designsOf({ files }: RevisionSide): Placed[] {
  return files.flatMap((file) =>
    file.analysis.designs
      .filter(({ system }) => system.variant === undefined)
      .map((design) => ({
        file,
        design,
        variants: file.analysis.designs.filter(
          ({ system }) => system.variant !== undefined && system.variantOf === design.system.name,
        ),
      })),
  );
}

/** Compares two states of a repository as designs: what a change does, not which lines it touches. */
export function compareRevisions(
  before: RevisionSide,
  after: RevisionSide,
  options: CompareOptions = {},
): RevisionDiff {
  const designs = matchedDesigns(designsOf(before), designsOf(after))
    .map(([was, is]) => (was && is ? compared(was, is, options) : oneSided((is ?? was)!, is ? 'added' : 'removed')))
    .filter(({ status }) => status !== 'same');
  const texts = textLines(before, after);
  const settings = options.settings ? settingChanges(options.settings.before, options.settings.after) : [];
  const beside = [...texts, ...settings];
  const summary = Object.fromEntries(
    CLASSES.map((each) => [
      each,
      designs.reduce(
        (sum, { lines, edits }) =>
          sum + (each === 'edits' ? edits.length : lines.filter((line) => line.class === each).length),
        each === 'edits' ? settings.length : beside.filter((line) => line.class === each).length,
      ),
    ]),
  ) as Record<DiffClass, number>;
  const classes = [...designs.map(({ worst }) => worst), ...beside.map((line) => line.class)];
  return { designs, texts, settings, summary, worst: worstOf(classes) };
}

/** What is found in files outside of their designs; a file that several use is told once. */
function textLines(before: RevisionSide, after: RevisionSide): LineOf<'finding'>[] {
  const outside = ({ files }: RevisionSide): Map<string, Finding> =>
    new Map(
      files.flatMap(({ analysis: { designs, findings }, unreadable }) =>
        // What cannot be read is told with its designs.
        (unreadable === undefined || designs.length === 0 ? findings : [])
          .filter(
            ({ subject, accepted }) => !accepted && !designs.some(({ system }) => isOfDesign(subject, system.name)),
          )
          .map((finding) => [`${finding.check}\n${finding.subject}\n${finding.message}`, finding] as const),
      ),
    );
  const [was, is] = [outside(before), outside(after)];
  return [...is]
    .filter(([key]) => !was.has(key))
    .map(([, finding]) => ({
      ...bareLine(finding.severity === 'error' ? 'fails' : 'edits', finding.subject),
      ...newFinding(finding),
      fixes: [],
      place: finding.place,
    }));
}

const worstOf = (classes: readonly (DiffClass | undefined)[]): DiffClass | undefined =>
  CLASSES.find((each) => classes.includes(each));

/** Designs by name; of two with one name those in files of one name. One that is left on each side and is mostly the same was renamed. */
function matchedDesigns(
  before: readonly Placed[],
  after: readonly Placed[],
): (readonly [Placed | undefined, Placed | undefined])[] {
  const left = [...before];
  const take = (isOne: (each: Placed) => boolean): Placed | undefined => {
    const at = left.findIndex(isOne);
    return at < 0 ? undefined : left.splice(at, 1)[0];
  };
  const named = ({ design }: Placed, other: Placed): boolean => design.system.name === other.design.system.name;
  const inFile = after.map((is) => [take((was) => named(was, is) && was.file.uri === is.file.uri), is] as const);
  const byName = inFile.map(([was, is]) => [was ?? take((each) => named(each, is)), is] as const);
  const open = byName.filter(([was]) => !was).map(([, is]) => is);
  const renamed = new Map(
    open.flatMap((is) => {
      const alike = left.filter((was) => isMostly(was, is));
      const rivals = open.filter((other) => alike[0] && isMostly(alike[0], other));
      return alike.length === 1 && rivals.length === 1 ? [[is, alike[0]!] as const] : [];
    }),
  );
  const gone = left.filter((each) => ![...renamed.values()].includes(each));
  return [
    ...byName.map(([was, is]) => [was ?? renamed.get(is), is] as const),
    ...gone.map((was) => [was, undefined] as const),
  ];
}

/** Whether four fifths of the things of two designs have the same names and kinds. */
function isMostly({ design: one }: Placed, { design: other }: Placed): boolean {
  const names = (of: AnalysedDesign): Set<string> =>
    new Set([...of.system.instances, ...of.system.runs].map(({ kind, name }) => `${kind} ${name}`));
  const [was, is] = [names(one), names(other)];
  const both = [...was].filter((name) => is.has(name)).length;
  return was.size > 0 && both >= 0.8 * Math.max(was.size, is.size);
}

const nothing = (name: string, uri: string): Omit<DesignDiff, 'status' | 'basis' | 'worst'> => ({
  name,
  uri,
  edits: [],
  lines: [],
  findings: { new: 0, gone: 0, same: 0 },
  checked: [0, 0],
  open: [0, 0],
  quantities: [],
  totals: [],
  variants: [],
});

const bareLine = (lineClass: DiffClass, subject: string) =>
  ({ class: lineClass, subject, causes: [], also: [], variants: [] }) as const;

function oneSided({ file, design }: Placed, status: 'added' | 'removed'): DesignDiff {
  const { name } = design.system;
  const side = designSide(file.analysis, design);
  const standing = side.findings.filter(({ accepted }) => !accepted);
  const isAdded = status === 'added';
  const lines: Line[] = isAdded ? [] : [{ ...bareLine('fails', name), kind: 'gone', what: 'design', text: name }];
  // A design that is new is judged by what `check` says of it: its errors stand here so that nothing new fails unseen.
  if (isAdded && file.unreadable === undefined)
    for (const finding of standing)
      if (finding.severity === 'error')
        lines.push({
          ...bareLine('fails', finding.subject),
          kind: 'finding',
          check: finding.check,
          severity: 'error',
          change: 'new',
          headline: finding.headline,
          message: finding.message,
          fixes: [],
          place: finding.place,
        });
  if (isAdded && file.unreadable !== undefined)
    lines.push({ ...bareLine('fails', name), kind: 'unreadable', side: 'after', reason: file.unreadable });
  const count: readonly [number, number] = isAdded ? [0, side.passes.length] : [side.passes.length, 0];
  return {
    ...nothing(name, file.uri),
    status,
    basis: isAdded ? { after: basisText(design.system.basis) } : { before: basisText(design.system.basis) },
    lines,
    findings: { new: isAdded ? standing.length : 0, gone: isAdded ? 0 : standing.length, same: 0 },
    checked: count,
    worst: worstOf([...lines.map((line) => line.class), 'edits']),
  };
}

function compared(was: Placed, is: Placed, options: CompareOptions): DesignDiff {
  const { name } = is.design.system;
  const basis = { before: basisText(was.design.system.basis), after: basisText(is.design.system.basis) };
  const unreadable = is.file.unreadable ?? was.file.unreadable;
  if (unreadable !== undefined) {
    const side = is.file.unreadable !== undefined ? 'after' : 'before';
    const lines: Line[] = [
      { ...bareLine(side === 'after' ? 'fails' : 'edits', name), kind: 'unreadable', side, reason: unreadable },
    ];
    return {
      ...nothing(name, is.file.uri),
      formerUri: was.file.uri,
      status: 'unreadable',
      basis,
      lines,
      worst: lines[0]!.class,
    };
  }
  const base = comparison(was.file.analysis, was.design, is.file.analysis, is.design, options);
  const edits = [...base.edits];
  const lines = base.lines.map((line) => ({ ...line, variants: [...line.variants] }));
  const variants: string[] = [];
  for (const variant of is.variants) {
    const former = was.variants.find(({ system }) => system.name === variant.system.name);
    if (!former) {
      edits.push(variantEdit(variant, 'added', edits.length));
      continue;
    }
    variants.push(variant.system.name);
    const own = comparison(was.file.analysis, former, is.file.analysis, variant, options);
    joinVariant(variant.system.name, own, edits, lines);
  }
  for (const variant of was.variants)
    if (!is.variants.some(({ system }) => system.name === variant.system.name))
      edits.push(variantEdit(variant, 'removed', edits.length));
  const told = folded(lines, is.design.system);
  const isSame = edits.length === 0 && told.length === 0 && base.quantities.length === 0;
  return {
    name,
    ...(was.design.system.name === name ? {} : { formerName: was.design.system.name }),
    uri: is.file.uri,
    ...(was.file.uri === is.file.uri ? {} : { formerUri: was.file.uri }),
    status: isSame ? 'same' : 'changed',
    basis,
    edits,
    lines: told,
    findings: base.findings,
    checked: [base.sides.before.passes.length, base.sides.after.passes.length],
    open: [base.sides.before.questions.length, base.sides.after.questions.length],
    quantities: base.quantities,
    totals: totals(base.sides),
    variants,
    worst: worstOf([...told.map((line) => line.class), ...(edits.length > 0 ? (['edits'] as const) : [])]),
  };
}

const variantEdit = ({ system }: AnalysedDesign, kind: 'added' | 'removed', index: number): DesignEdit => ({
  id: `e${index + 1}`,
  kind,
  subject: system.name,
  property: 'variant',
  properties: [],
  isPlayed: false,
  place: system.place,
});

interface Comparison {
  readonly sides: Sides;
  readonly edits: readonly DesignEdit[];
  readonly lines: readonly Line[];
  readonly findings: DesignDiff['findings'];
  readonly quantities: DesignDiff['quantities'];
}

function comparison(
  was: Analysis,
  before: AnalysedDesign,
  is: Analysis,
  after: AnalysedDesign,
  { renames }: CompareOptions,
): Comparison {
  const identity = identityOf(before.system, after.system, renames);
  const sides: Sides = { before: designSide(was, before), after: designSide(is, after), renamed: identity.renamed };
  const edits = editsOf(before.system, after.system, identity);
  const causes = new Causes(edits, wholesOf(identity, edits), new Set(after.system.runs.map(({ name }) => name)));
  const pairs = usePairs(sides);
  const findings = comparedFindings(sides, pairs, causes);
  const added = new Set(identity.added.map(({ name }) => name));
  const lines = [
    ...requirementLines(sides, causes),
    ...findings.lines,
    ...uncheckedLines(sides, added),
    ...marginLines(withoutFindings(pairs, sides.after), causes),
    ...playLines(sides, causes),
    ...trustLines(sides, edits),
  ];
  return {
    sides,
    edits,
    lines,
    findings: { new: findings.fresh, gone: findings.gone, same: findings.same },
    quantities: edits.length === 0 ? [] : quantityChanges(sides, causes),
  };
}

/** Uses of passes alone: what a finding says of a limit has a line of its own. */
function withoutFindings(pairs: ReturnType<typeof usePairs>, { findings, useOf }: DesignSide): typeof pairs {
  const told = new Set(findings.filter(({ accepted }) => !accepted).map((each) => useOf(each)));
  return pairs.filter(({ after }) => !told.has(after));
}

const wholesOf = (identity: Identity, edits: readonly DesignEdit[]): ConstructorParameters<typeof Causes>[1] => {
  const idOf = (kind: DesignEdit['kind'], name: string): string | undefined =>
    edits.find((edit) => edit.kind === kind && edit.subject === name)?.id;
  const rows = (kind: 'added' | 'removed', side: 'before' | 'after', things: Identity['added']) =>
    things.flatMap((thing) => {
      const id = idOf(kind, thing.name);
      return id === undefined ? [] : [{ id, side, place: 'whole' in thing ? thing.whole : thing.place }];
    });
  return [...rows('added', 'after', identity.added), ...rows('removed', 'before', identity.removed)];
};

/** What two lines say, without their numbers: the same for a design and for its variant. */
function sayingOf(line: Line, design: string): string {
  const subject = line.subject === design ? '' : line.subject;
  switch (line.kind) {
    case 'requirement':
      return `${line.kind} ${line.text} ${line.scenario ?? ''} ${line.class}`;
    case 'finding':
    case 'margin':
      return `${line.kind} ${line.check} ${subject} ${line.class}`;
    case 'total':
      return `${line.kind} ${line.what} ${subject} ${line.scenario}`;
    case 'unchecked':
    case 'checked':
      return `${line.kind} ${subject} ${line.checks.join()}`;
    case 'origin':
      return `${line.kind} ${subject} ${line.property}`;
    case 'accept':
      return `${line.kind} ${subject} ${line.check}`;
    case 'looser':
    case 'gone':
      return `${line.kind} ${line.text}`;
    default:
      return `${line.kind} ${subject}`;
  }
}

/** Lines of a variant that its base has too are told with the base; what is its own stands by itself. */
function joinVariant(name: string, own: Comparison, edits: DesignEdit[], lines: Line[]): void {
  const keyOf = ({ kind, subject, property, before, after }: DesignEdit): string =>
    [kind, subject === own.sides.after.name ? '' : subject, property, before?.text, after?.text].join('\n');
  const base = own.sides.after.design.system.variantOf ?? '';
  const known = new Map(
    edits.map((edit) => [keyOf(edit.subject === base ? { ...edit, subject: name } : edit), edit.id]),
  );
  const ids = new Map<string, string>();
  for (const edit of own.edits) {
    const same = known.get(keyOf(edit));
    const id = same ?? `e${edits.length + 1}`;
    ids.set(edit.id, id);
    if (same === undefined)
      edits.push({ ...edit, id, subject: edit.subject === name ? name : `${name}.${edit.subject}` });
  }
  const said = new Map(lines.map((line, index) => [sayingOf(line, base), index]));
  for (const line of own.lines) {
    const at = said.get(sayingOf(line, name));
    const values = valuesOf(line);
    if (at === undefined)
      lines.push({
        ...line,
        subject: line.subject === name ? name : `${name}.${line.subject}`,
        causes: line.causes.map((id) => {
          const [edit, ...property] = id.split('/');
          return [ids.get(edit!) ?? edit!, ...property].join('/');
        }),
      });
    else lines[at] = { ...lines[at]!, variants: [...lines[at]!.variants, { name, ...(values ? { values } : {}) }] };
  }
}

const valuesOf = (line: Line): { before: string; after: string } | undefined => {
  if (line.kind === 'requirement')
    return line.before !== undefined && line.after !== undefined
      ? { before: line.before, after: line.after }
      : undefined;
  return 'values' in line ? line.values : undefined;
};
