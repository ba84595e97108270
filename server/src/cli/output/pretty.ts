import {
  type AnsweredFinding,
  CAUTION_SHORT,
  type Curve,
  type Derivation,
  type OpenFact,
  type OpenQuestion,
  type Outcome,
  type Place,
  type ReadingResult,
  type RequirementResult,
  type Severity,
  type Whom,
  type WorkedLine,
  findingLines,
  foldedFindings,
  formatSpan,
  openFacts,
  readingOutcome,
  requirementOutcome,
  shownValue,
  workedLines,
} from '@wattwright/language';
import { type CheckReport, countOf, plural } from '../report.js';
import { placeText, writtenAt } from '../session.js';
import { safeText } from './safe-text.js';
import type { Colors, Terminal } from './terminal.js';
import { textWidth } from './width.js';

/** Source lines longer than this are cut around the marked stretch, also where messages are not wrapped. */
const LONGEST_SOURCE_LINE = 160;
const TAB_STOP = 4;

const colorOf = (colors: Colors, severity: Severity): ((text: string) => string) =>
  severity === 'error' ? colors.red : severity === 'warning' ? colors.yellow : colors.cyan;

/** Breaks text at spaces so that no line is wider than `width`; a word wider than that stays whole. */
export function wrap(text: string, width: number): string[] {
  if (width === Infinity) return [text];
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && textWidth(longer) > width) {
      lines.push(line);
      line = word;
    } else {
      line = longer;
    }
  }
  return [...lines, line];
}

/** A source line as shown: tabs become spaces up to the next stop, characters that would act on the terminal are spelled out. */
function shown(text: string, startColumn = 0): string {
  let out = '';
  let column = startColumn;
  for (const piece of text.split(/(\t)/)) {
    const next = piece === '\t' ? ' '.repeat(TAB_STOP - (column % TAB_STOP)) : safeText(piece);
    out += next;
    column += textWidth(next);
  }
  return out;
}

/** The last `width` columns of a text. */
function tail(text: string, width: number): string {
  const characters = [...text];
  let used = 0;
  let from = characters.length;
  while (from > 0 && used + textWidth(characters[from - 1]!) <= width) {
    from -= 1;
    used += textWidth(characters[from]!);
  }
  return characters.slice(from).join('');
}

/** The first `width` columns of a text. */
function head(text: string, width: number): string {
  let used = 0;
  let out = '';
  for (const character of text) {
    used += textWidth(character);
    if (used > width) break;
    out += character;
  }
  return out;
}

/**
 * The source line of a place with its number, and below it a line of carets under the stretch. A stretch over several lines is
 * marked to the end of its first line.
 */
export function sourceExcerpt(
  text: string,
  place: Place,
  terminal: Terminal,
  mark: (text: string) => string,
): string[] {
  const line = text.split(/\r\n|\r|\n/)[place.line] ?? '';
  const end = place.endLine > place.line ? line.length : place.endCharacter;
  const before = shown(line.slice(0, place.character));
  const marked = shown(line.slice(place.character, end), textWidth(before));
  const after = shown(line.slice(end), textWidth(before) + textWidth(marked));
  const number = String(place.line + 1);
  const room = Math.min(LONGEST_SOURCE_LINE, terminal.width) - number.length - 4;
  const carets = Math.max(1, Math.min(textWidth(marked), room));
  let [left, right] = [before, after];
  let middle = marked;
  if (textWidth(before + marked + after) > room) {
    middle = head(marked, room);
    const spare = room - textWidth(middle);
    const cut = tail(before, Math.max(0, spare - Math.min(textWidth(after), Math.floor(spare / 2)) - 1));
    left = cut === before ? before : `…${cut}`;
    const rest = Math.max(0, spare - textWidth(left) - 1);
    const kept = head(after, rest);
    right = kept === after ? after : `${kept}…`;
  }
  const { dim } = terminal.colors;
  const content = `${left}${middle}${right}`.trimEnd();
  return [
    content === '' ? dim(`${number} |`) : `${dim(`${number} |`)} ${content}`,
    `${dim(`${' '.repeat(number.length)} |`)} ${' '.repeat(textWidth(left))}${mark('^'.repeat(carets))}`,
  ];
}

/** Labels stand in a column of their own. */
const LABEL_WIDTH = 9;

/** A label and text below a finding, wrapped and indented under the label. */
function remark(label: string, text: string, { width, colors }: Terminal): string[] {
  const lead = `   ${label.padEnd(LABEL_WIDTH)}`;
  return wrap(text, Math.max(20, width - lead.length)).map((line, index) =>
    index === 0 ? `   ${colors.bold(label.padEnd(LABEL_WIDTH))}${line}` : `${' '.repeat(lead.length)}${line}`,
  );
}

export interface PrettyOptions {
  readonly terminal: Terminal;
  readonly textOf: (uri: string) => string | undefined;
  /** Findings and nothing else. */
  readonly quiet: boolean;
  /** Lists open questions instead of counting them. */
  readonly questions: boolean;
  /** Says of every finding that has no fix why. */
  readonly reasons?: boolean;
  /** Whether fixes were to be written, and which. */
  readonly fixing?: 'safe' | 'all';
  /** Shows a finding for every thing that lacks facts as well; else the open questions speak for them. */
  readonly missingFacts: boolean;
}

function excerpt(place: Place, options: PrettyOptions, mark: (text: string) => string): string[] {
  const text = options.textOf(place.uri);
  return text === undefined ? [] : sourceExcerpt(text, place, options.terminal, mark);
}

export function prettyFinding(
  finding: AnsweredFinding,
  options: PrettyOptions,
  folded: readonly AnsweredFinding[] = [],
): string[] {
  const { terminal } = options;
  const { colors } = terminal;
  const color = colorOf(colors, finding.severity);
  const where = safeText(placeText(finding.place));
  const check = `${finding.check}${finding.variant === undefined ? '' : ` (variant ${safeText(finding.variant)})`}:`;
  const plainHead = `${where} ${finding.severity} ${check}`;
  const paintedHead = `${colors.bold(where)} ${color(finding.severity)} ${colors.bold(check)}`;
  const [first, ...more] = wrap(`${plainHead} ${safeText(finding.headline)}`, terminal.width);
  const lines = [
    first!.startsWith(plainHead) ? `${paintedHead}${first!.slice(plainHead.length)}` : first!,
    ...more.map((line) => `  ${line}`),
    ...excerpt(finding.place, options, color),
  ];
  for (const [step, { event }] of (finding.trace ?? []).entries())
    lines.push(...remark(`step ${step + 1}`, safeText(event), terminal));
  if (finding.curve) lines.push(...remark('curve', curveText(finding.curve), terminal));
  for (const { place, text } of finding.related) {
    lines.push(...remark('see', `${safeText(placeText(place))} ${safeText(text)}`, terminal));
    lines.push(...excerpt(place, options, colors.cyan));
  }
  const isToldWhy = options.reasons || finding.obstacles.some(({ kind }) => kind !== 'no-way');
  const { fixes } = finding;
  const obstacles = isToldWhy ? finding.obstacles : [];
  for (const { label, text, fix } of findingLines(finding, { fixes, obstacles, folded })) {
    const how = fix?.safe ? ' (safe: `check --fix` applies it)' : '';
    lines.push(...remark(label, `${safeText(text)}${how}`, terminal));
  }
  return lines;
}

const outcomeColor = (colors: Colors, { holds }: Outcome): ((text: string) => string) =>
  holds === undefined ? colors.cyan : holds ? colors.green : colors.red;

export function prettyRequirement(requirement: RequirementResult, { terminal }: PrettyOptions): string[] {
  const outcome = requirementOutcome(requirement);
  const where = `${requirement.design}${requirement.scenario ? ` in ${requirement.scenario}` : ''}`;
  const why = outcome.why ? `: ${outcome.why}` : '';
  const text = `${outcome.text}, ${where}${why}`;
  return [`  ${outcomeColor(terminal.colors, outcome)(outcome.word)} ${safeText(text)}`];
}

function prettyReading(result: ReadingResult, { terminal }: PrettyOptions): string {
  const outcome = readingOutcome(result);
  const { date, note } = result.reading;
  const text = [outcome.text, date, note, outcome.why].filter(Boolean).join('; ');
  return `  ${outcomeColor(terminal.colors, outcome)(outcome.word)} ${safeText(text)}`;
}

/** Who can answer, in the words of a heading. */
const WHOM: Readonly<Record<Whom, string>> = {
  nameplate: 'Read from nameplates and data sheets',
  site: 'Look up or measure on site',
  customer: 'Ask the customer',
};

/** Most checks that are named behind a question. */
const MOST_CHECKS = 4;

function prettyFact({ fact, place, unlocks, alone }: OpenFact): string {
  const checks = [...new Set(unlocks.map(({ check }) => check))];
  const more = checks.length > MOST_CHECKS ? ` and ${checks.length - MOST_CHECKS} more` : '';
  const how = alone > 0 ? 'unlocks' : 'with others unlocks';
  return `  ${safeText(placeText(place))} ${safeText(fact)} (${how} ${checks.slice(0, MOST_CHECKS).join(', ')}${more})`;
}

/** The facts that lack, each once, under who can answer; what cannot be worked out behind them. */
function prettyQuestions(questions: readonly OpenQuestion[], { colors }: Terminal): string[] {
  const facts = openFacts(questions);
  const groups = (Object.keys(WHOM) as Whom[]).flatMap((whom) => {
    const own = facts.filter((each) => each.whom === whom);
    return own.length > 0 ? [colors.bold(WHOM[whom]), ...own.map(prettyFact)] : [];
  });
  const refused = questions.filter(({ isRefused }) => isRefused);
  const reasons = [...new Set(refused.map(({ check, missing }) => `  ${safeText(missing.join(', '))} (for ${check})`))];
  return [...groups, ...(reasons.length > 0 ? [colors.bold('Cannot be worked out'), ...reasons] : [])];
}

/** The check whose findings say what the open questions say. */
const MISSING_FACT = 'missing-fact';

function summary(report: CheckReport, { terminal }: PrettyOptions): string {
  const { colors } = terminal;
  const counted = (severity: Severity, one: string, many: string): string => {
    const count = countOf(report.findings, severity);
    const text = plural(count, one, many);
    return count > 0 ? colorOf(colors, severity)(text) : text;
  };
  const parts = [
    counted('error', 'error', 'errors'),
    counted('warning', 'warning', 'warnings'),
    counted('info', 'note', 'notes'),
  ];
  if (report.accepted.length > 0) parts.push(`${report.accepted.length} accepted`);
  const took = report.milliseconds === undefined ? '' : `; ${report.milliseconds} ms`;
  return `${plural(report.designs, 'design')} in ${plural(report.files, 'file')}: ${parts.join(', ')}${took}`;
}

/** What `--fix` has left alone, where that was asked for. */
function leftToFix(report: CheckReport, { fixing, terminal }: PrettyOptions): string[] {
  if (!fixing) return [];
  const nothing = report.fixed.length === 0 ? ['Nothing was fixed.'] : [];
  const open = report.findings.filter(({ fixes }) => fixes.length > 0).length;
  const stuck = report.findings.filter(({ severity, fixes }) => severity !== 'info' && fixes.length === 0).length;
  const changes =
    fixing === 'safe' && open > 0
      ? [
          `${plural(open, 'finding')} can be fixed by a change of the design; \`wattwright check --fix --unsafe\` applies the preferred one of each.`,
        ]
      : [];
  const none =
    fixing === 'all' && stuck > 0
      ? [`${plural(stuck, 'error or warning', 'errors and warnings')} without a fix are left.`]
      : [];
  return [...nothing, ...changes, ...none].flatMap((line) => wrap(line, terminal.width));
}

/** The output of `check` for people. */
export function prettyReport(whole: CheckReport, options: PrettyOptions): string {
  const { terminal } = options;
  const report: CheckReport = options.missingFacts
    ? whole
    : {
        ...whole,
        findings: whole.findings.filter(({ check, severity }) => check !== MISSING_FACT || severity !== 'info'),
      };
  const { colors } = terminal;
  const blocks = foldedFindings(report.findings).map(({ finding, folded }) => prettyFinding(finding, options, folded));
  if (!options.quiet) {
    if (report.requirements.length > 0)
      blocks.push([colors.bold('Requirements'), ...report.requirements.flatMap((r) => prettyRequirement(r, options))]);
    if (report.readings.length > 0)
      blocks.push([colors.bold('Readings'), ...report.readings.map((each) => prettyReading(each, options))]);
    const facts = openFacts(report.questions);
    if (report.questions.length > 0 && options.questions) blocks.push(prettyQuestions(report.questions, terminal));
    if (report.fixed.length > 0)
      blocks.push([
        colors.bold('Fixed'),
        ...report.fixed.map(({ file, check, title }) => `  ${safeText(`${file}: ${title}`)} (${check})`),
      ]);
    const end = [...leftToFix(report, options), summary(report, options)];
    if (facts.length > 0 && !options.questions)
      end.push(
        ...wrap(
          `${plural(report.questions.length, 'check')} skipped: ${plural(facts.length, 'fact')} missing; \`wattwright check --questions\` lists them.`,
          terminal.width,
        ),
      );
    if (terminal.interactive) end.push(...wrap(CAUTION_SHORT, terminal.width).map(colors.dim));
    blocks.push(end);
  }
  return blocks.map((block) => `${block.join('\n')}\n`).join('\n');
}

function workedLine(line: WorkedLine, { width, colors }: Terminal): string[] {
  const indent = '  '.repeat(line.depth);
  const lead = {
    value: '',
    formula: '',
    numbers: '  ',
    part: 'also: ',
    governing: 'governs: ',
    source: 'source: ',
    note: 'note: ',
  }[line.kind];
  const hang = `${indent}${' '.repeat(line.kind === 'value' ? 4 : lead.length)}`;
  return wrap(`${lead}${safeText(line.text)}`, Math.max(20, width - indent.length)).map((text, index) => {
    const painted =
      line.kind === 'value'
        ? line.depth === 0
          ? colors.bold(text)
          : text
        : line.kind === 'numbers'
          ? text
          : colors.dim(text);
    return index === 0 ? `${indent}${painted}` : `${hang}${painted}`;
  });
}

/** A derivation as an indented worked calculation. */
export const prettyDerivation = (derivation: Derivation, terminal: Terminal): string =>
  workedLines(derivation, { placeText: writtenAt })
    .flatMap((line) => workedLine(line, terminal))
    .map((line) => `${line}\n`)
    .join('');

/** One line of `calc`: path and value. */
export const prettyQuantity = (path: string, derivation: Derivation, { colors }: Terminal): string => {
  const { display, range } = shownValue(derivation);
  return `${colors.bold(safeText(path))} = ${safeText(display)}${range ? ` (range ${safeText(range)})` : ''}`;
};

export const prettyCaution = ({ width, colors }: Terminal): string =>
  `${wrap(CAUTION_SHORT, width).map(colors.dim).join('\n')}\n`;

const EIGHTHS = '▁▂▃▄▅▆▇█';
const MOST_COLUMNS = 48;

/** The state of charge over the week that shows a fault of rules, in one line. */
function curveText({ bank, time, soc }: Curve): string {
  const columns = Math.min(MOST_COLUMNS, soc.length);
  const bars = Array.from({ length: columns }, (_, column) => {
    const share = soc[Math.floor((column * soc.length) / columns)]!;
    return EIGHTHS[Math.min(EIGHTHS.length - 1, Math.floor(share * EIGHTHS.length))]!;
  });
  const span = (time.at(-1) ?? 0) - (time[0] ?? 0);
  return `soc(${safeText(bank)}) ${bars.join('')} over ${formatSpan(span)}`;
}
