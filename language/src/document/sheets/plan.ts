import { inPeopleUnits } from '../../glossary/units-text.js';
import { requirementOutcome, statedOutcomeText } from '../../explain/outcomes.js';
import { summaryRows } from '../../explain/summary.js';
import type { SheetInput } from '../input.js';
import { type Block, type Sheet, table, text } from '../sheet.js';
import { scenarioFigure } from '../pictures/scenario-figure.js';

/** For the owner and the designer: what the scenarios say of running and fuel. */
export function planSheet({ analysis, system, context }: SheetInput): Sheet {
  const blocks = system.scenarios.flatMap((scenario): Block[] => {
    const title = scenario.label ? `${scenario.name}: ${scenario.label}` : scenario.name;
    const found = analysis.scenarios.find(
      (each) => each.design === system.name && each.scenario.name === scenario.name,
    );
    if (!found) return [{ kind: 'text', title, paragraphs: ['Not simulated: no requirement needs it.'] }];
    const { played } = found;
    if (played.kind !== 'played')
      return [
        {
          kind: 'text',
          title,
          paragraphs: [
            `Not simulated: ${played.kind === 'missing' ? `missing ${played.missing.join(', ')}` : played.kind === 'refused' ? played.reason : 'stopped'}.`,
          ],
        },
      ];
    const requirements = analysis.requirements.filter(
      (each) => each.design === system.name && each.scenario === scenario.name,
    );
    const outcomes = analysis.outcomes.filter(
      ({ design, outcome }) => design === system.name && outcome.scenario === scenario.name,
    );
    let of = '';
    return [
      {
        kind: 'figure',
        title,
        picture: scenarioFigure(played.result, context),
        description: summaryRows(played.result)
          .map((row) => row.join(' '))
          .join('; '),
      },
      table(
        `plan${scenario.name}`,
        `Figures: ${title}`,
        [
          { key: 'of', title: 'Of', cell: (row: readonly [string, string, string]) => text((of = row[0] || of)) },
          { key: 'what', title: 'What', cell: (row) => text(row[1]) },
          { key: 'value', title: 'Value', isNumber: true, cell: (row) => text(row[2]) },
        ],
        summaryRows(played.result),
        '',
      ),
      ...(requirements.length > 0
        ? [
            {
              kind: 'list' as const,
              items: requirements.map((each) => `${requirementOutcome(each).word} ${requirementOutcome(each).text}`),
            },
          ]
        : []),
      ...(outcomes.length > 0
        ? [
            {
              kind: 'list' as const,
              title: 'What was measured, for information',
              items: outcomes.map(statedOutcomeText),
            },
          ]
        : []),
      { kind: 'list', title: 'Assumed', items: played.result.assumptions.map(inPeopleUnits) },
    ];
  });
  return {
    name: 'plan',
    title: 'Fuel and run plan',
    reader: 'owner and designer',
    blocks:
      blocks.length > 0
        ? blocks
        : [{ kind: 'text', paragraphs: ['The design states no scenario, so nothing is said of running over time.'] }],
  };
}
