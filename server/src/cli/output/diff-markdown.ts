import {
  type DesignDiff,
  type Line,
  type Place,
  type RevisionDiff,
  type SettingChange,
  codeSpan,
  escapeMarkdown,
  shown,
} from '@wattwright/language';
import { VERSION } from '../../version.js';
import { plural } from '../report.js';
import { fileName, placeText } from '../session.js';
import { type DiffFrame, signed } from './diff-text.js';
import {
  causesText,
  countsOf,
  editTitle,
  remarksOf,
  settingText,
  variantsText,
  verdictOf,
  worded,
} from './diff-words.js';
import { peopleText } from './people-text.js';
import { safeText } from './safe-text.js';

export interface MarkdownOptions {
  /** What stands before the path of a file in a link: `https://forge.example/owner/name/blob/COMMIT`. */
  readonly linkBase?: string;
  /** What tells this comment from others of the same pull request, in its hidden first line. */
  readonly marker?: string;
}

/** Rows of a table that stand open. */
const OPEN_ROWS = 12;
/** Rows that are folded. */
const FOLDED_ROWS = 200;
/** Characters of a comment; forges refuse 65,536. */
const MOST = 60_000;
/** Lines that stand open. */
const OPEN_LINES = 58;

/**
 * Text of a design as Markdown of a comment: nobody is named by `@`, nothing is linked by `#` or an address, and no row or comment ends in
 * it. A forge links after Markdown is read, so that a backslash does not do: a character without width stands between.
 */
export const commentText = (text: string): string =>
  escapeMarkdown(peopleText(text))
    .replace(/\\@/g, '@&#8203;')
    .replace(/\\#/g, '#&#8203;')
    .replace(/(?<=\b[Gg][Hh])-(?=\d)/g, '-&#8203;')
    .replace(/\\:(?=\/\/)/g, ':&#8203;')
    .replace(/!(?=\\?\[|\d)/g, '!&#8203;');

/** Code of one line: nothing in it is read as Markdown, and a bar is still a bar of the table. */
const codeText = (text: string): string => codeSpan(safeText(text)).replaceAll('|', '\\|');

/** `wattwright diff --format md`: fits a comment of a pull request, the verdict first, what is long folded. */
export function diffMarkdown(diff: RevisionDiff, frame: DiffFrame, options: MarkdownOptions = {}): string {
  const marker = `<!-- wattwright-diff${options.marker ? `: ${options.marker.replace(/[^\w.-]+/g, '-').replace(/-{2,}/g, '-')}` : ''} -->`;
  const told = diff.designs;
  const open: string[] = [marker];
  const details: string[] = [];
  if (told.length === 0 && diff.texts.length === 0 && diff.settings.length === 0 && frame.unread.length === 0)
    open.push(
      `### No change of meaning`,
      `${codeText(frame.before)} → ${codeText(frame.after)} · wattwright ${VERSION}`,
    );
  // With many designs each has fewer lines.
  const share = Math.max(6, Math.floor(OPEN_LINES / Math.max(1, told.length)));
  for (const design of told) {
    const [top, folded] = designBlocks(design, frame, options, share);
    open.push(...top);
    details.push(...folded);
  }
  if (diff.texts.length > 0)
    open.push(
      '',
      '**In files outside of designs**',
      ...diff.texts
        .slice(0, OPEN_ROWS)
        .map(
          (line) => `- ${commentText(`${line.check}${line.subject ? ` on ${line.subject}` : ''}: ${line.message}`)}`,
        ),
    );
  const settings = (of: SettingChange['class']): readonly SettingChange[] =>
    diff.settings.filter((change) => change.class === of);
  for (const [title, changes] of [
    ['Taken on trust, for all designs', settings('trust')],
    ['Project settings', settings('edits')],
  ] as const)
    if (changes.length > 0) open.push('', settingsSentence(title, changes));
  for (const { side, file, why } of frame.unread)
    open.push('', `⚠️ ${commentText(`${side}: ${file} ${why}`)}; it is left out.`);
  const cautions =
    '<sub>Not an approval: a check reads what is written, and nobody has looked at the site. Local codes and licensed practice lead.</sub>';
  return cut(open, details, cautions);
}

/** What project files say otherwise, in one line. */
function settingsSentence(title: string, changes: readonly SettingChange[]): string {
  const texts = changes
    .slice(0, OPEN_ROWS)
    .map((change) => `${commentText(settingText(change, '→'))} (${codeText(fileName(change.uri))})`);
  const more = changes.length - texts.length;
  return `**${title}**: ${[...texts, ...(more > 0 ? [`and ${more} more`] : [])].join(' · ')}`;
}

/** A comment that is too long loses its folded parts first, then its rows. */
function cut(open: readonly string[], details: readonly string[], cautions: string): string {
  const whole = (parts: readonly string[], note: string): string =>
    `${[...open, ...parts, ...(note ? ['', note] : []), '', cautions].join('\n')}\n`;
  const all = whole(details, '');
  if (all.length <= MOST) return all;
  const short = whole([], 'The details do not fit into a comment: see the summary of the job.');
  if (short.length <= MOST) return short;
  const lines: string[] = [];
  let length = cautions.length + 120;
  for (const line of open) {
    length += line.length + 1;
    if (length > MOST) break;
    lines.push(line);
  }
  return `${[...lines, '', 'More does not fit into a comment: see the summary of the job.', '', cautions].join('\n')}\n`;
}

function designBlocks(
  design: DesignDiff,
  frame: DiffFrame,
  options: MarkdownOptions,
  share: number,
): [string[], string[]] {
  const { name, formerName, basis, edits, variants } = design;
  const title = formerName ? `${commentText(formerName)} → ${commentText(name)}` : commentText(name);
  const about = [
    `${codeText(frame.before)} → ${codeText(frame.after)}`,
    commentText(basis.after ?? basis.before ?? ''),
    `wattwright ${VERSION}`,
    plural(edits.length, 'edit'),
    ...(variants.length > 0
      ? [`also in ${plural(variants.length, 'variant')} ${variants.map(commentText).join(', ')}`]
      : []),
    'not an approval; see cautions',
  ].filter(Boolean);
  const open = [`### ${title}: ${verdictOf(design)}`, about.join(' · ')];
  if (design.formerUri !== undefined && design.formerUri !== design.uri)
    open.push('', `File moved: ${codeText(fileName(design.formerUri))} → ${codeText(fileName(design.uri))}`);
  const of = (lineClass: Line['class']): readonly Line[] => design.lines.filter((line) => line.class === lineClass);
  const rows = Math.min(OPEN_ROWS, Math.max(3, share));
  open.push(
    ...section('Now fails', of('fails'), rows, (lines) => failsTable(lines, design, options)),
    ...fixesOf(of('fails')),
    ...section('Still holds, with less in hand** (share of the limit in use)**', of('less'), rows, (lines) =>
      lessTable(lines, design, options),
    ),
    ...sentences('Runs differently', of('runs'), design),
    ...sentences('Taken on trust', of('trust'), design),
    ...sentences('Better', of('better'), design),
  );
  return [open, [...editDetails(design), ...numberDetails(design, options)]];
}

function section(
  title: string,
  lines: readonly Line[],
  rows: number,
  table: (lines: readonly Line[]) => readonly string[],
): string[] {
  if (lines.length === 0) return [];
  const more = lines.length - rows;
  return [
    '',
    `**${title}**`.replace(/\*\*\*\*/g, ''),
    '',
    ...table(lines.slice(0, rows)),
    ...(more > 0 ? [`\nand ${more} more (run it with \`--all\`)`] : []),
  ];
}

function failsTable(lines: readonly Line[], design: DesignDiff, options: MarkdownOptions): string[] {
  return [
    '| | | before | after | limit | because of |',
    '| --- | --- | ---: | ---: | ---: | --- |',
    ...lines.map((line) => {
      const { what, before, after, limit, said } = worded(line, design);
      const variants = line.variants.length > 0 ? ` (also ${commentText(variantsText(line))})` : '';
      const title = `${commentText(said === undefined ? what : `${what}: ${said}`)}${variants}${place(line.place, options)}`;
      const cells = [
        '❌',
        title,
        before === undefined ? '' : commentText(before),
        after === undefined ? '' : `**${commentText(after)}**`,
        limit === undefined ? '' : commentText(limit),
        commentText(causesText(line, design)),
      ];
      return `| ${cells.join(' | ')} |`;
    }),
  ];
}

function lessTable(lines: readonly Line[], design: DesignDiff, options: MarkdownOptions): string[] {
  return [
    '| | before | after | because of |',
    '| --- | ---: | ---: | --- |',
    ...lines.map((line) => {
      const { what, before, after, causes } = worded(line, design);
      const isClose = 'use' in line && line.use !== undefined && line.use[1] > 0.95;
      return `| ${isClose ? '⚠️ ' : ''}${commentText(what)}${place(line.place, options)} | ${commentText(before ?? '')} | ${isClose ? `**${commentText(after ?? '')}**` : commentText(after ?? '')} | ${commentText(causes)} |`;
    }),
  ];
}

/** Where something stands, as a link where the forge's address is known. */
function place(at: Place | undefined, { linkBase }: MarkdownOptions): string {
  if (!at) return '';
  const text = placeText(at).replace(/:\d+$/, '');
  if (linkBase === undefined) return ` ${codeText(text)}`;
  const address = fileName(at.uri)
    .split('/')
    .map((step) => encodeURIComponent(step).replace(/[()']/g, (each) => `%${each.charCodeAt(0).toString(16)}`))
    .join('/');
  return ` [${codeText(text)}](${linkBase.replace(/\/+$/, '')}/${address}#L${at.line + 1})`;
}

function fixesOf(lines: readonly Line[]): string[] {
  const titles = [...new Set(lines.flatMap((line) => (line.kind === 'finding' ? line.fixes : [])))];
  return titles.length === 0 ? [] : ['', ...titles.slice(0, 3).map((title) => `Fix: *${commentText(title)}.*`)];
}

function sentences(title: string, lines: readonly Line[], design: DesignDiff): string[] {
  if (lines.length === 0) return [];
  const texts = lines.slice(0, OPEN_ROWS).map((line) => {
    const { what, before, after, said, causes } = worded(line, design);
    const values = said ?? (before === undefined ? '' : `${before} → ${after ?? ''}`);
    return commentText(`${what}: ${values}${causes ? ` (${causes})` : ''}`);
  });
  const more = lines.length - texts.length;
  return ['', `**${title}**: ${[...texts, ...(more > 0 ? [`and ${more} more`] : [])].join(' · ')}`];
}

function editDetails({ edits, totals }: DesignDiff): string[] {
  if (edits.length === 0) return [];
  const cost = totals.map(({ what, unit, before, after }) => `${what} ${signed(after - before)} ${unit}`);
  const rows = edits.slice(0, FOLDED_ROWS).map((edit) => {
    const { kind, properties, before, after } = edit;
    const text = (of: typeof before): string =>
      of === undefined
        ? '–'
        : `${of.origin === 'assumed' && !of.text.startsWith('assumed') ? '*assumed* ' : ''}${commentText(of.text)}`;
    const inside = properties
      .map(({ property, before: was, after: is }) => `${property} ${was?.text ?? '–'} → ${is?.text ?? '–'}`)
      .join(', ');
    const now = `${text(after)}${kind === 'part' && inside ? `: ${commentText(inside)}` : ''}`;
    return `| ${commentText(editTitle(edit))} | ${text(before)} | ${now} |`;
  });
  return [
    '',
    `<details><summary>Edits (${edits.length})${cost.length > 0 ? ` and parts (${commentText(cost.join(', '))})` : ''}</summary>`,
    '',
    '| edit | before | after |',
    '| --- | --- | --- |',
    ...rows,
    ...(edits.length > FOLDED_ROWS ? [`\nand ${edits.length - FOLDED_ROWS} more`] : []),
    '',
    '</details>',
  ];
}

function remarkText(line: Line, design: DesignDiff): string {
  if (line.kind === 'finding') return `${line.severity} ${line.check} on ${line.subject}: ${line.message}`;
  const { what, before, after, said } = worded(line, design);
  const values = said ?? (before === undefined ? after : `${before} → ${after ?? ''}`);
  return `${line.kind === 'requirement' ? 'requirement ' : ''}${what}${values === undefined ? '' : `: ${values}`}`;
}

function numberDetails(design: DesignDiff, options: MarkdownOptions): string[] {
  const remarks = remarksOf(design);
  const { quantities, checked, open } = design;
  if (remarks.length === 0 && quantities.length === 0 && design.edits.length === 0) return [];
  const { better } = countsOf(design);
  const title = [
    remarks.length > 0 ? `New warnings and notes (${remarks.length})` : '',
    quantities.length > 0 ? plural(quantities.length, 'further number') : '',
    `${checked[1]} checks passed (before: ${checked[0]})`,
    `${plural(open[1], 'open point')} (before: ${open[0]})`,
    better > 0 ? `${better} better` : '',
  ].filter(Boolean);
  // There is nothing to unfold.
  if (remarks.length === 0 && quantities.length === 0) return ['', title.join(' · ')];
  const rows = quantities.slice(0, FOLDED_ROWS);
  return [
    '',
    `<details><summary>${title.join(' · ')}</summary>`,
    '',
    ...remarks.slice(0, FOLDED_ROWS).map((line) => {
      return `- ${commentText(remarkText(line, design))}${place(line.place, options)}`;
    }),
    ...(rows.length > 0
      ? [
          '',
          '| number | before | after |',
          '| --- | ---: | ---: |',
          ...rows.map(
            ({ path, before, after }) =>
              `| ${commentText(path)} | ${commentText(shown(before))} | ${commentText(shown(after))} |`,
          ),
        ]
      : []),
    ...(quantities.length > rows.length ? [`\nand ${quantities.length - rows.length} more`] : []),
    '',
    '</details>',
  ];
}
