import { type Analysis, escapeMarkdown as plain, findingLines, foldedFindings } from '@wattwright/language';

/** Its message says all there is. */
const QUESTION = 'missing-fact';
/** Findings in one hover; the list of problems has all. */
const MOST = 2;
/** What the message of a problem says already. */
const IN_PROBLEM: ReadonlySet<string> = new Set(['why', 'also']);

/**
 * What the problems at a place in a file leave to the hover, as Markdown: the rule, what counts without being stated, the risk, and what to
 * do where no change can be offered.
 */
export function findingsAt(offset: number, { findings, uri }: Pick<Analysis, 'findings' | 'uri'>): string[] {
  const here = findings.filter(
    ({ accepted, check, place }) =>
      !accepted && check !== QUESTION && place.uri === uri && place.offset <= offset && offset <= place.end,
  );
  const told = foldedFindings(here).flatMap(({ finding }) => {
    const lines = findingLines(finding).filter(
      ({ label }) => !IN_PROBLEM.has(label) && !(label === 'fix' && finding.ways.length > 0),
    );
    if (lines.length === 0) return [];
    const items = lines.map(({ label, text }) => `- ${label}: ${plain(text)}`);
    return [`**${finding.check}**\n\n${items.join('\n')}`];
  });
  const more = told.length - MOST;
  return more > 0 ? [...told.slice(0, MOST), `*and ${more} more in the list of problems*`] : told;
}
