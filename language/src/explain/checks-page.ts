import { CHECK_GROUPS, type Check, type CheckGroup } from '../checks/define.js';
import { sourceText } from '../derivation/index.js';
import { anchor, code, fenced, page, table } from './markdown.js';

/** The documentation of one check, as Markdown: what `explain`, the editor and the catalogue page show. */
export function checkMarkdown(check: Check, heading = '#'): string {
  const { docs } = check;
  return [
    `${heading} ${check.id}`,
    `**${check.severity}** · ${CHECK_GROUPS[check.group]} · since ${check.since}`,
    docs.finds,
    `${heading}# Why it matters`,
    docs.guards,
    `${heading}# How it is worked out`,
    docs.how,
    `${heading}# Fails`,
    fenced(docs.failing, 'watt'),
    `${heading}# Passes`,
    fenced(docs.passing, 'watt'),
    `${heading}# Fix`,
    docs.fix,
    `${heading}# Source`,
    docs.sources.length > 0
      ? docs.sources.map((source) => `- ${sourceText(source)}`).join('\n')
      : 'Follows from the language itself.',
    `${heading}# To accept it in one place`,
    `${code(`accept ${check.id} on NAME because "reason" until 2030-12-31`)} in the design silences it there until that date; the reason is needed.`,
  ].join('\n\n');
}

/** `language/CHECKS.md`: every check by group. */
export function checksPage(checks: readonly Check[]): string {
  const groups = (Object.keys(CHECK_GROUPS) as CheckGroup[]).filter((group) =>
    checks.some((check) => check.group === group),
  );
  const of = (group: CheckGroup): readonly Check[] => checks.filter((check) => check.group === group);
  return page([
    '# Catalogue of checks',
    '<!-- Made from the checks themselves by `npm run docs`. Do not edit. -->',
    `${checks.length} checks. Each looks at every subject in every source state and at every corner of the stated ranges. A check has three answers: nothing found, a finding, or *not checked* with the missing facts.`,
    ...groups.flatMap((group) => [
      `## ${CHECK_GROUPS[group]}`,
      table(
        ['check', 'severity', 'finds'],
        of(group).map((check) => [`[${check.id}](#${anchor(check.id)})`, check.severity, check.docs.finds]),
      ),
    ]),
    ...groups.flatMap((group) => of(group).map((check) => checkMarkdown(check, '##'))),
  ]);
}
