import {
  type DesignDiff,
  type DesignEdit,
  type Line,
  type Pair,
  type SettingChange,
  shareText,
} from '@wattwright/language';
import { plural } from '../report.js';

/** A line of a review in words, for the terminal and for Markdown alike. */
export interface Worded {
  readonly what: string;
  readonly before?: string;
  readonly after?: string;
  readonly limit?: string;
  /** What stands instead of two values. */
  readonly said?: string;
  readonly causes: string;
}

const TOTALS = {
  shed: 'shed',
  unserved: 'unserved energy',
  curtailed: 'curtailed energy',
  quietStarts: 'starts in quiet hours',
  starts: 'starts',
  runTime: 'run time',
  fuel: 'fuel',
  outOfFuel: 'out of fuel',
  lowestCharge: 'lowest charge',
  trips: 'disconnects',
  notPlayed: 'simulation',
} as const;

const SHOWN_CAUSES = 3;

/** The edits that moved a number, by what they are of: `Rect.currentLimit, Inv.rated`. */
export function causesText(line: Line, { edits }: DesignDiff): string {
  const names = line.causes.flatMap((cause) => {
    const [id, ...property] = cause.split('/');
    const edit = edits.find((each) => each.id === id);
    return edit ? [editTitle(edit, property.join('/') || undefined)] : [];
  });
  const all = [...new Set(names)];
  // That an edit was moved by itself says nothing.
  if (all.length === 0 || line.kind === 'origin' || line.kind === 'reading' || line.kind === 'basis') return '';
  const more = all.length - SHOWN_CAUSES;
  const list = more > 0 ? `${all.slice(0, SHOWN_CAUSES).join(', ')} and ${more} more` : all.join(', ');
  return line.isAnyOf && all.length > 1 ? `any of ${list}` : list;
}

export function editTitle({ kind, subject, property, after, before }: DesignEdit, inPart?: string): string {
  switch (kind) {
    case 'value':
      return `${subject}.${property ?? ''}`;
    case 'part':
      return inPart === undefined ? `${subject} part` : `${subject}.${inPart}`;
    case 'rule':
      return `${subject}: ${property ?? ''}`;
    case 'added':
      return `new ${subject}`;
    case 'removed':
      return `${subject} removed`;
    case 'replaced':
      return `${subject} replaced`;
    case 'renamed':
      return `${before?.text ?? ''} renamed ${after?.text ?? ''}`;
    case 'wiring':
      return `wiring of ${subject}`;
    case 'scenario':
      return `scenario ${subject}`;
    case 'accept':
      return `accept ${property ?? ''} on ${subject}`;
    default:
      return property === undefined ? subject : `${subject} ${property}`;
  }
}

export function worded(line: Line, design: DesignDiff): Worded {
  return { ...wordsOf(line, design), causes: causesText(line, design) };
}

type Words = Omit<Worded, 'causes'>;

const pair = ({ before, after }: Pair): Pick<Worded, 'before' | 'after'> => ({ before, after });

function wordsOf(line: Line, design: DesignDiff): Words {
  const on = line.subject === design.name ? '' : ` on ${line.subject}`;
  switch (line.kind) {
    case 'requirement': {
      const what = `${line.text}${line.scenario ? ` in ${line.scenario}` : ''}`;
      if (line.class === 'less' && line.use)
        return { what, before: shareText(line.use[0]), after: shareText(line.use[1]) };
      return {
        what,
        ...(line.before === undefined ? {} : { before: line.before }),
        ...(line.after === undefined ? { said: outcomeText(line.outcome) } : { after: line.after }),
        ...(line.limit === undefined ? {} : { limit: line.limit }),
      };
    }
    case 'finding': {
      const title = line.subject === '' ? line.check : `${line.check}${on}`;
      if (line.values) return { what: title, ...pair(line.values), ...(line.limit ? { limit: line.limit } : {}) };
      return { what: title, said: line.change === 'gone' ? 'no longer found' : line.headline };
    }
    case 'margin': {
      const limits =
        line.limits.before === line.limits.after ? '' : ` (limit ${line.limits.before} -> ${line.limits.after})`;
      return {
        what: `${line.subject} ${line.label}${limits}`,
        before: shareText(line.use[0]),
        after: shareText(line.use[1]),
      };
    }
    case 'unchecked':
      return {
        what: `${line.subject} no longer checked`,
        said: `${line.checks.join(', ')}: missing ${line.missing.join(', ')}`,
      };
    case 'checked':
      return { what: `${line.subject} now checked`, said: line.checks.join(', ') };
    case 'total':
      return { what: `${line.subject} ${TOTALS[line.what]} in ${line.scenario}`, ...pair(line.values) };
    case 'unreadable':
      return { what: `${line.subject} not compared`, said: `${line.side} the change: ${line.reason}` };
    case 'gone':
      return { what: `${line.what} removed`, said: line.text };
    case 'looser':
      return { what: 'requirement allows more', before: line.before, after: line.text };
    case 'origin':
      return {
        what: `${line.subject}.${line.property}`,
        before: stateText(line.before),
        after: stateText(line.after),
      };
    case 'accept': {
      const until = line.until ? `until ${line.until}` : 'without an end';
      const reason = line.reason ? `: "${line.reason}"` : '';
      return {
        what: `accept ${line.check}${on}`,
        said: line.change === 'gone' ? 'removed' : `${line.change}, ${until}${reason}`,
      };
    }
    case 'reading':
      return {
        what: `reading ${line.subject}${line.date ? ` ${line.date}` : ''}`,
        said: `older than the change of ${line.property}: measure again`,
      };
    case 'basis':
      return { what: 'wiring rules', ...pair(line.values) };
  }
}

/** `severity of run-ampacity: error -> info`. */
export const settingText = ({ setting, before, after }: SettingChange, arrow: string): string =>
  before === undefined
    ? `${setting}: ${after ?? ''}, new`
    : after === undefined
      ? `${setting}: ${before}, no longer`
      : `${setting}: ${before} ${arrow} ${after}`;

const stateText = ({ text, origin }: { readonly text: string; readonly origin: string }): string =>
  origin === 'assumed' && !text.startsWith('assumed') ? `assumed ${text}` : text;

function outcomeText([before, after]: readonly [string, string]): string {
  const now = { holds: 'passes', fails: 'fails', open: 'is not checked' }[after] ?? after;
  return before === 'none' ? `new, ${now}` : now;
}

/** Variants in which a line holds too, with the numbers there. */
export const variantsText = ({ variants }: Line): string =>
  variants.map(({ name, values }) => (values ? `${name} ${values.before} -> ${values.after}` : name)).join(', ');

export interface Counts {
  readonly fails: number;
  readonly less: number;
  readonly runs: number;
  readonly trust: number;
  readonly better: number;
}

export const countsOf = ({ lines }: DesignDiff): Counts => {
  const count = (of: string): number => lines.filter((line) => line.class === of).length;
  return {
    fails: count('fails'),
    less: count('less'),
    runs: count('runs'),
    trust: count('trust'),
    better: count('better'),
  };
};

/** Warnings and remarks that are new. */
export const remarksOf = ({ lines }: DesignDiff): readonly Line[] => lines.filter((line) => line.class === 'edits');

/** Whether a change makes a design safer, in one sentence. */
export function verdictOf(design: DesignDiff): string {
  if (design.status === 'added')
    return `new design${design.worst === 'fails' ? `, ${plural(countsOf(design).fails, 'error')}` : ', without errors'}`;
  if (design.status === 'removed') return 'design removed';
  if (design.status === 'unreadable') return 'not compared: it cannot be read on one side';
  const { lines } = design;
  const counts = countsOf(design);
  const failing = lines.filter((line) => line.class === 'fails');
  const requirements = failing.filter(({ kind }) => kind === 'requirement').length;
  const errors = failing.filter(({ kind }) => kind === 'finding').length;
  const unchecked = failing.filter(({ kind }) => kind === 'unchecked').length;
  const others = failing.length - requirements - errors - unchecked;
  const warnings = remarksOf(design).filter((line) => line.kind === 'finding' && line.severity === 'warning').length;
  const parts = [
    requirements > 0 ? `${plural(requirements, 'requirement now fails', 'requirements now fail')}` : '',
    errors > 0 ? plural(errors, 'new or worse error', 'new or worse errors') : '',
    unchecked > 0 ? `${plural(unchecked, 'thing is', 'things are')} no longer fully checked` : '',
    others > 0 ? `${plural(others, 'more failure', 'more failures')}` : '',
    counts.less > 0 ? `${counts.less} with less in hand` : '',
    failing.length === 0 && counts.runs > 0 ? `${plural(counts.runs, 'thing runs', 'things run')} differently` : '',
    failing.length === 0 && counts.trust > 0 ? `${counts.trust} on trust` : '',
    failing.length === 0 && counts.less === 0 && warnings > 0 ? plural(warnings, 'new warning') : '',
    counts.better > 0 ? `${counts.better} better` : '',
  ].filter(Boolean);
  const list = parts.slice(0, 4).join(', ');
  if (list === '') return design.edits.length === 0 ? 'no change of meaning' : 'no engineering consequence';
  const isWorse = failing.length > 0 || counts.less > 0;
  const direction = isWorse
    ? counts.better > 0 && failing.length === 0
      ? 'mixed'
      : 'less safe'
    : counts.better > 0
      ? 'safer'
      : '';
  return direction ? `${direction}: ${list}` : list;
}
