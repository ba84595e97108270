import { type DesignDiff, type DesignEdit, type Line, type RevisionDiff, shown } from '@wattwright/language';
import { plural } from '../report.js';
import { fileName, placeText } from '../session.js';
import { countsOf, editTitle, remarksOf, settingText, variantsText, verdictOf, worded } from './diff-words.js';
import { peopleText } from './people-text.js';
import type { Terminal } from './terminal.js';

export interface DiffFrame {
  /** What the two sides are called: `e337e68`, `working tree`. */
  readonly before: string;
  readonly after: string;
  /** Files that could not be read, with the side and why. */
  readonly unread: readonly { readonly side: string; readonly file: string; readonly why: string }[];
}

const WORDS = { fails: 'FAILS', less: 'LESS', runs: 'RUNS', trust: 'TRUST', better: 'BETTER', edits: 'NOTE' } as const;
const WIDEST = 56;

export interface TextOptions {
  readonly terminal: Terminal;
  /** Everything, not only what is ranked. */
  readonly all: boolean;
}

/** `wattwright diff` on a terminal: words carry the meaning, colour only helps. */
export function diffText(diff: RevisionDiff, frame: DiffFrame, options: TextOptions): string {
  const { colors } = options.terminal;
  const told = diff.designs;
  const blocks = told.map((design) => designText(design, frame, options));
  if (diff.texts.length > 0)
    blocks.push(
      diff.texts.map((line) =>
        peopleText(
          `${WORDS[line.class].padEnd(7)}${line.check}${line.subject ? ` on ${line.subject}` : ''}: ${line.message}${line.place ? `  ${placeText(line.place)}` : ''}`,
        ),
      ),
    );
  if (diff.settings.length > 0)
    blocks.push(
      diff.settings.map((change) =>
        peopleText(
          `${(change.class === 'trust' ? WORDS.trust : 'EDIT').padEnd(7)}${settingText(change, '->')}  ${fileName(change.uri)}`,
        ),
      ),
    );
  for (const { side, file, why } of frame.unread) blocks.push([peopleText(`${side}: ${file} ${why}; it is left out`)]);
  if (blocks.length === 0)
    return `${colors.green('No change of meaning')}: ${peopleText(`${frame.before} -> ${frame.after}`)}\n`;
  return blocks.map((block) => `${block.join('\n')}\n`).join('\n');
}

function designText(design: DesignDiff, frame: DiffFrame, { terminal, all }: TextOptions): string[] {
  const { colors } = terminal;
  const basis = design.basis.after ?? design.basis.before ?? '';
  const name = design.formerName ? `${design.formerName} -> ${design.name}` : design.name;
  const edits = design.status === 'added' ? [] : [plural(design.edits.length, 'edit')];
  const heading = `${colors.bold(peopleText(name))}  ${peopleText([`${frame.before} -> ${frame.after}`, basis, ...edits].join('   '))}`;
  const lines = [heading, peopleText(verdictOf(design))];
  if (design.formerUri !== undefined && design.formerUri !== design.uri)
    lines.push(peopleText(`moved: ${fileName(design.formerUri)} -> ${fileName(design.uri)}`));
  const ranked = design.lines.filter((line) => line.class !== 'edits');
  const width = Math.min(WIDEST, Math.max(0, ...ranked.map((line) => peopleText(worded(line, design).what).length)));
  for (const line of ranked) {
    lines.push(lineText(line, design, width, terminal));
    if (all) lines.push(...line.also.map((each) => `  also ${lineText(each, design, width - 7, terminal)}`));
  }
  if (all) {
    lines.push(...remarksOf(design).map((line) => lineText(line, design, width, terminal)));
    lines.push(
      ...design.quantities.map(({ path, before, after }) =>
        peopleText(`NUMBER ${path.padEnd(width)}  ${shown(before)} -> ${shown(after)}`),
      ),
    );
  }
  lines.push(...editLines(design, all));
  const end = summary(design, all);
  if (end !== '') lines.push(end);
  return lines;
}

function lineText(line: Line, design: DesignDiff, width: number, { colors }: Terminal): string {
  const { what, before, after, limit, said, causes } = worded(line, design);
  const values =
    said ??
    (before === undefined ? (after ?? '') : `${before} -> ${after ?? ''}`) +
      (limit === undefined ? '' : ` of ${limit}`);
  const word = WORDS[line.class].padEnd(7);
  const paint =
    line.class === 'fails' ? colors.red : line.class === 'less' ? colors.yellow : (text: string): string => text;
  const variants = line.variants.length > 0 ? `also ${variantsText(line)}` : '';
  const rest = [causes && `by ${causes}`, variants, line.place ? placeText(line.place) : ''].filter(Boolean).join('  ');
  return `${paint(word)}${peopleText(`${what.padEnd(width)}  ${values}${rest ? `  ${rest}` : ''}`)}`;
}

/** Edits whose effect no ranked line tells, or all of them. */
function editLines(design: DesignDiff, all: boolean): string[] {
  const told = new Set(design.lines.flatMap(({ causes }) => causes.map((cause) => cause.split('/')[0]!)));
  return design.edits.flatMap((edit) => {
    const { id, kind, before, after } = edit;
    const isPart = kind === 'part' || kind === 'replaced';
    if (!all && (told.has(id) || isAcceptTold(edit, design)) && !isPart && kind !== 'renamed') return [];
    if (kind === 'renamed') return [peopleText(`NAME   ${before?.text ?? ''} -> ${after?.text ?? ''}`)];
    const values = [before?.text, after?.text].map((text) => text ?? '-').join(' -> ');
    return [peopleText(`EDIT   ${editTitle(edit)}${before || after ? `  ${values}` : ''}`)];
  });
}

/** A waiver that is new or longer has a line of its own, with its reason. */
const isAcceptTold = ({ kind, subject, property }: DesignEdit, { lines }: DesignDiff): boolean =>
  kind === 'accept' &&
  lines.some((line) => line.kind === 'accept' && line.subject === subject && line.check === property);

/** What the heading and the verdict do not say: how many of each class, what it costs, and what is left out. */
function summary(design: DesignDiff, all: boolean): string {
  const { fails, less, runs, trust, better } = countsOf(design);
  const counts = [
    fails > 0 ? `${fails} fail` : '',
    less > 0 ? `${less} with less in hand` : '',
    runs > 0 ? `${runs} run differently` : '',
    trust > 0 ? `${trust} on trust` : '',
    better > 0 ? `${better} better` : '',
  ].filter(Boolean);
  const more = all ? 0 : design.quantities.length;
  const cost = design.totals.map(({ what, unit, before, after }) => `${what} ${signed(after - before)} ${unit}`);
  return peopleText(
    [
      ...(counts.length > 1 ? [counts.join(', ')] : []),
      ...cost,
      ...(more > 0 ? [`${plural(more, 'further number')} (--all)`] : []),
    ].join('; '),
  );
}

export const signed = (value: number): string => `${value > 0 ? '+' : ''}${Number(value.toPrecision(6))}`;
