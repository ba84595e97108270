import { ruleText } from '../../analyse/folding.js';
import { isOfDesign } from '../../analyse/subjects.js';
import { findingsOf } from '../../draw/model/findings.js';
import { basisOf } from '../../draw/model/build.js';
import { CAUTIONS, CAUTION_SHORT } from '../../explain/cautions.js';
import { openFacts } from '../../analyse/questions.js';
import { requirementOutcome } from '../../explain/outcomes.js';
import type { Property, System } from '../../model/types.js';
import { isBank, isInverter, isLoad, isSet, sourceOf } from '../../model/roles.js';
import { said } from '../cells.js';
import type { LeftOpen, SheetInput } from '../input.js';
import { type Sheet, type Table, box, table, text } from '../sheet.js';

const stated = ({ settings }: System, name: string): string => {
  const value = settings.get(name)?.value;
  return value?.type === 'text' ? value.text : '';
};

/** For the customer and the reviewer: what it is and does, what the checks say, what is open. */
export function summarySheet(input: SheetInput): Sheet {
  const { system, analysis, leftOpen } = input;
  const findings = findingsOf(analysis, system);
  const open = findings.filter(({ accepted, severity }) => !accepted && severity !== 'info');
  const count = (severity: string): number => open.filter((each) => each.severity === severity).length;
  const questions = analysis.questions.filter(({ subject }) => isOfDesign(subject, system.name));
  const facts = openFacts(questions);
  const short = (subject: string): string => subject.slice(system.name.length + 1) || system.name;
  const requirements = analysis.requirements.filter(({ design }) => design === system.name);
  return {
    name: 'summary',
    title: 'Summary',
    reader: 'customer and reviewer',
    // What was found is said in whole sentences.
    ...(open.length > 0 ? { isWide: true as const } : {}),
    blocks: [
      {
        kind: 'text',
        paragraphs: [
          `${system.label ?? system.name}${system.doc ? `: ${system.doc}` : ''}`,
          ...[`Rules: ${basisOf(system)}.${stated(system, 'customer') ? ` For ${stated(system, 'customer')}.` : ''}`],
          ...inNumbers(input),
          `Checks: ${plural(count('error'), 'error')}, ${plural(count('warning'), 'warning')}, ${plural(questions.length, 'check')} not carried out.`,
        ],
      },
      { kind: 'caution', lines: [CAUTION_SHORT, ...CAUTIONS] },
      ...(leftOpen.length > 0 ? [leftOpenTable(leftOpen)] : []),
      table(
        'findings',
        'What the checks found',
        [
          { key: 'severity', title: 'Severity', cell: (each: (typeof open)[number]) => text(each.severity) },
          { key: 'check', title: 'Check', cell: ({ check }) => text(check) },
          { key: 'subject', title: 'Of', cell: ({ subject }) => text(short(subject)) },
          { key: 'finding', title: 'Finding', cell: ({ headline }) => text(headline) },
          { key: 'why', title: 'Why', cell: ({ why = '' }) => text(why) },
          { key: 'rule', title: 'Rule', cell: (finding) => text(ruleText(finding) ?? '') },
          { key: 'assumes', title: 'Assumes', cell: ({ assumes }) => text(assumes.join(', ')) },
        ],
        open,
        'Nothing was found.',
      ),
      table(
        'requirements',
        'Requirements',
        [
          {
            key: 'outcome',
            title: 'Outcome',
            cell: (each: (typeof requirements)[number]) => text(requirementOutcome(each).word),
          },
          { key: 'scenario', title: 'Scenario', cell: ({ scenario = '' }) => text(scenario) },
          { key: 'requirement', title: 'Requirement', cell: (each) => text(each.text) },
          {
            key: 'values',
            title: 'Numbers',
            cell: (each) => text(requirementOutcome(each).why ?? requirementOutcome(each).text),
          },
          { key: 'reason', title: 'Because', cell: ({ reason = '' }) => text(reason) },
        ],
        requirements,
        'The design states no requirements.',
      ),
      table(
        'questions',
        'Open questions',
        [
          { key: 'fact', title: 'Missing', cell: (each: (typeof facts)[number]) => text(each.fact) },
          { key: 'whom', title: 'Who knows', cell: ({ whom }) => text(WHOM[whom]) },
          {
            key: 'unlocks',
            title: 'Unlocks',
            cell: ({ unlocks }) => text([...new Set(unlocks.map(({ check }) => check))].join(', ')),
          },
        ],
        facts,
        'No fact is missing.',
      ),
      table(
        'assumptions',
        'Assumptions',
        [
          { key: 'of', title: 'Of', cell: (each: Assumption) => text(each.of) },
          { key: 'property', title: 'Property', cell: ({ property }) => text(property.name) },
          {
            key: 'value',
            title: 'Assumed',
            cell: ({ property }) => ({ kind: 'text', text: property.text.replace(/^assumed\s+/, ''), isAssumed: true }),
          },
        ],
        assumptionsOf(system),
        'Nothing is marked as assumed.',
      ),
      table(
        'accepted',
        'Accepted findings',
        [
          { key: 'check', title: 'Check', cell: (each: (typeof findings)[number]) => text(each.check) },
          { key: 'subject', title: 'Of', cell: ({ subject }) => text(short(subject)) },
          { key: 'reason', title: 'Reason', cell: ({ accepted }) => text(accepted!.reason) },
          { key: 'until', title: 'Until', cell: ({ accepted }) => text(accepted!.until ?? '') },
        ],
        findings.filter(({ accepted }) => accepted),
        'No finding is accepted.',
      ),
    ],
  };
}

/** Values that the design leaves to be found: whoever builds by the set has to see that they are none of its values yet. */
const leftOpenTable = (leftOpen: readonly LeftOpen[]): Table =>
  table(
    'left-open',
    'Left open in the design: not to be built before these are filled in',
    [
      { key: 'of', title: 'Of', cell: ({ path }: LeftOpen) => text(path) },
      { key: 'value', title: 'Value that holds', cell: ({ value }) => (value === undefined ? box() : text(value)) },
      { key: 'because', title: 'Because', cell: ({ because }) => text(because) },
    ],
    leftOpen,
    '',
  );

const WHOM = { nameplate: 'nameplate or data sheet', site: 'a look on site', customer: 'who uses it' } as const;

const plural = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;

/** What there is, with its first number where that is known. */
function inNumbers({ system, context }: SheetInput): string[] {
  const named = (
    title: string,
    which: (each: System['instances'][number]) => boolean,
    quantity?: 'bankCapacity' | 'arrayPower',
  ): string[] => {
    const all = system.instances.filter(which).map((each) => {
      const result =
        quantity && context.quantityNames(each).includes(quantity) ? context.quantity(each, quantity) : undefined;
      const rated = context.maybe(each, 'rated') ?? context.maybe(each, 'power');
      const value = result?.kind === 'known' ? result.derivation : rated;
      return `${each.label ?? each.name}${value ? ` (${said(value)})` : ''}`;
    });
    return all.length > 0 ? [`${title}: ${all.join(', ')}.`] : [];
  };
  return [
    ...named('Generators', isSet),
    ...named('Other sources', (each) => sourceOf(each) !== undefined && !isSet(each), 'arrayPower'),
    ...named('Storage', isBank, 'bankCapacity'),
    ...named('Inverters', isInverter),
    ...named('Loads', isLoad),
  ];
}

interface Assumption {
  readonly of: string;
  readonly property: Property;
}

function assumptionsOf(system: System): Assumption[] {
  const things = [...system.instances, ...system.runs, ...system.links, ...system.controls];
  return things.flatMap(({ name, properties }) =>
    [...properties.values()].filter(({ origin }) => origin === 'assumed').map((property) => ({ of: name, property })),
  );
}
