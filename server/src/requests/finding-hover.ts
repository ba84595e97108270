import { type Analysis, escapeMarkdown as plain, findingLines, foldedFindings } from '@wattwright/language';

/** What the message of a problem says already. */
const IN_PROBLEM: ReadonlySet<string> = new Set(['why', 'also']);

/**
 * What the problems at a place in a file leave to the hover, as Markdown: the rule, what counts without being stated, the risk, and what to
 * do where no change can be offered.
 */
export function findingsAt(offset: number, { findings, uri }: Pick<Analysis, 'findings' | 'uri'>): string[] {
  const here = findings.filter(
    ({ accepted, place }) => !accepted && place.uri === uri && place.offset <= offset && offset <= place.end,
  );
  return foldedFindings(here).flatMap(({ finding }) => {
    const lines = findingLines(finding).filter(
      ({ label }) => !IN_PROBLEM.has(label) && !(label === 'fix' && finding.ways.length > 0),
    );
    if (lines.length === 0) return [];
    const items = lines.map(({ label, text }) => `- ${label}: ${plain(text)}`);
    return [`**${finding.check}**\n\n${items.join('\n')}`];
  });
}
