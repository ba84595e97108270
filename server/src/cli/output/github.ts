import { type AnsweredFinding, type Severity, messageWithVariant } from '@wattwright/language';
import { createHash } from 'node:crypto';
import { type CheckReport, SEVERITIES } from '../report.js';
import { shownFrom } from './identity.js';
import { UNSAFE, safeLines, safeText } from './safe-text.js';

/** Annotations of each kind that are shown for a step; more are dropped there without a word. */
const MOST = 10;

const COMMAND: Readonly<Record<Severity, string>> = { error: 'error', warning: 'warning', info: 'notice' };

/** The text of a workflow command. The percent sign goes first, since the others bring it in; the log may be read on a terminal. */
const message = (text: string): string =>
  text.replaceAll('%', '%25').replaceAll('\r', '%0D').replaceAll('\n', '%0A').replace(UNSAFE, safeText);

const property = (text: string): string => message(text).replaceAll(':', '%3A').replaceAll(',', '%2C');

function command(finding: AnsweredFinding, root: string): string {
  const { place, severity, check } = finding;
  const isOneLine = place.line === place.endLine;
  const facts = [
    `file=${property(shownFrom(root, place.uri))}`,
    `line=${place.line + 1}`,
    `endLine=${place.endLine + 1}`,
    // Columns count only within one line.
    ...(isOneLine ? [`col=${place.character + 1}`, `endColumn=${place.endCharacter + 1}`] : []),
    `title=${property(check)}`,
  ];
  const subject = finding.subject ? `${finding.subject}: ` : '';
  return `::${COMMAND[severity]} ${facts.join(',')}::${message(`${subject}${messageWithVariant(finding)}`)}`;
}

/** One of each check and thing, the worst first, as many as are shown; the rest is told by its number. */
function annotations({ findings }: CheckReport, root: string): string[] {
  const seen = new Set<string>();
  const told = findings.filter(({ check, subject }) => {
    const key = `${check}\n${subject}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  const lines: string[] = [];
  let left = findings.length - told.length;
  for (const severity of SEVERITIES) {
    const own = told.filter((finding) => finding.severity === severity);
    // One notice is kept for the number of what is left.
    const most = severity === 'info' ? MOST - 1 : MOST;
    lines.push(...own.slice(0, most).map((finding) => command(finding, root)));
    left += Math.max(0, own.length - most);
  }
  return left > 0 ? [...lines, `::notice title=wattwright::${left} more in the log`] : lines;
}

/**
 * `check --format github`: the report as text, then annotations. While the text stands, commands in it are off: the word that turns them on
 * again is made of the text itself, so that no text of a design can hold it.
 */
export function reportGithub(report: CheckReport, text: string, root: string): string {
  const plain = safeLines(text);
  const token = createHash('sha256').update(plain).digest('hex');
  return [`::stop-commands::${token}`, plain.replace(/\n$/, ''), `::${token}::`, ...annotations(report, root), ''].join(
    '\n',
  );
}
