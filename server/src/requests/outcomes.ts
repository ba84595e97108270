import {
  type Analysis,
  type Outcome,
  type Place,
  type PlayedScenario,
  type ReadingResult,
  type RequirementResult,
  ast,
  formatSpan,
  escapeMarkdown as plain,
  readingOutcome,
  requirementOutcome,
  statedOutcomeText,
  summaryRows,
} from '@wattwright/language';
import type { AstNode } from 'langium';
import { trustedPlays } from './trusted-plays.js';

/** What came of the requirement, reading or scenario that a keyword opens, as Markdown; a design with variants has one for each. */
export function outcomeOf(node: AstNode, keyword: string, analysis: Analysis | undefined): string | undefined {
  const written = node.$cstNode;
  if (!analysis || !written) return undefined;
  const isHere = ({ uri, offset, end }: Place): boolean =>
    uri === analysis.uri && offset >= written.offset && end <= written.end;
  if (keyword === 'require' && ast.isRequire(node))
    return listed(analysis.requirements.filter(({ place }) => isHere(place)).map(requirementText));
  if (keyword === 'reading' && ast.isReading(node))
    return listed(analysis.readings.filter(({ reading }) => isHere(reading.place)).map(readingText));
  if (keyword === 'reading' && ast.isOutcome(node))
    return listed(
      analysis.outcomes
        .filter(({ outcome }) => isHere(outcome.place))
        .map((each) => `${plain(statedOutcomeText(each))}, ${plain(each.design)}`),
    );
  if (keyword === 'scenario' && ast.isScenario(node)) return scenarioText(isHere, analysis);
  return undefined;
}

const listed = (lines: readonly string[]): string | undefined =>
  lines.length > 0 ? lines.map((line) => `- ${line}`).join('\n') : undefined;

const outcomeText = ({ word, text, why }: Outcome): string =>
  `**${word}** ${plain(text)}${why ? `: ${plain(why)}` : ''}`;

const requirementText = (requirement: RequirementResult): string =>
  `${outcomeText(requirementOutcome(requirement))}, ${plain(requirement.scenario ? `${requirement.design} in ${requirement.scenario}` : requirement.design)}`;

const readingText = (reading: ReadingResult): string =>
  `${outcomeText(readingOutcome(reading))}, ${plain(reading.design)}`;

function scenarioText(isHere: (place: Place) => boolean, analysis: Analysis): string {
  const plays = trustedPlays(analysis).filter(({ scenario }) => isHere(scenario.place));
  if (plays.length === 0) return 'Not simulated yet.';
  return plays.map((play) => playText(play, analysis)).join('\n\n');
}

function playText({ design, scenario, played }: PlayedScenario, { requirements }: Analysis): string {
  const head = plain(`${design}.${scenario.name}`);
  switch (played.kind) {
    case 'missing':
      return `${head} cannot be simulated: missing ${plain(played.missing.join(', '))}`;
    case 'refused':
      return `${head} cannot be simulated: ${plain(played.reason)}`;
    case 'cancelled':
      return `${head} was left off.`;
  }
  const { result } = played;
  const rows = summaryRows(result).map(
    ([thing, what, value]) => `| ${[thing.trim(), what, value].map(plain).join(' | ')} |`,
  );
  const own = requirements.filter((each) => each.design === design && each.scenario === scenario.name);
  return [
    `${head}, ${formatSpan(result.duration)}`,
    ['| | | |', '| --- | --- | --- |', ...rows].join('\n'),
    listed(own.map((each) => outcomeText(requirementOutcome(each)))),
  ]
    .filter(Boolean)
    .join('\n\n');
}
