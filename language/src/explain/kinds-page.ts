import { inPeopleUnits } from '../glossary/units-text.js';
import { aliasesOfProperty, usualTerminals } from '../equipment/index.js';
import type { KindDefinition, PropertyDefinition, PropertyType } from '../equipment/index.js';
import { COMMON } from '../equipment/index.js';
import { DIMENSIONS, type DimensionName, dimensionName, formatQuantity, quantity } from '../quantity/index.js';
import { code, page, table } from './markdown.js';

const GROUP_TITLES: Readonly<Record<KindDefinition['group'], string>> = {
  source: 'Sources',
  converter: 'Converters',
  storage: 'Storage',
  gear: 'Gear',
  load: 'Loads',
  connection: 'Connections',
  control: 'Control',
  design: 'Design',
  catalogue: 'Catalogue data',
};

const names = (dimensions: readonly DimensionName[]): string =>
  dimensions.map((dimension) => dimensionName(DIMENSIONS[dimension])).join(' or ');

/** What a property takes, in words. */
export function propertyTakes(type: PropertyType): string {
  switch (type.type) {
    case 'quantity': {
      // Bounds of ratios are plain numbers even where the unit shown is percent.
      const show = (bound: number): string =>
        inPeopleUnits(formatQuantity(quantity(type.unit === '%' ? bound * 100 : bound, type.unit)));
      const low = type.minimum === undefined ? '' : `from ${show(type.minimum)}`;
      const high = type.maximum === undefined ? '' : `up to ${show(type.maximum)}`;
      const span = [low, high].filter(Boolean).join(' ');
      const facts = [
        // A torque has the dimension of an energy.
        type.unit === 'Nm' ? 'torque' : names(type.dimensions),
        type.unit ? `as in ${code(type.unit)}` : '',
        span,
        type.whole ? 'whole' : '',
        type.flavour === 'apparent' ? 'apparent power' : '',
        type.ranges ? 'may be a range' : '',
      ];
      return facts.filter(Boolean).join(', ');
    }
    case 'word':
      return type.words.map(({ word, doc }) => `${code(word)} (${doc})`).join(', ');
    case 'words':
      return `one or more of ${type.words.map(({ word, doc }) => `${code(word)} (${doc})`).join(', ')}`;
    case 'flag':
      return '`yes` or `no`';
    case 'text':
      return 'text in quotes';
    case 'date':
      return 'a date, `2027-01-15`';
    case 'money':
      return 'an amount, `1450 EUR`';
    case 'system':
      return 'a voltage system: `230 V`, `120/240 V`, `three 400 V`';
    case 'part':
      return `a ${type.kinds.join(' or ')} by name`;
    case 'table':
      return `a table of ${names(type.key)} to ${names(type.value)}, \`{ ${type.keyUnit ? `10 ${type.keyUnit}` : '1'}: ${type.valueUnit ? `20 ${type.valueUnit}` : '1'} }\``;
    case 'bySupply':
      return `a value for each supply, \`{ Post30: 24 ${type.unit} }\``;
    case 'profile':
      return '`always`, or windows of a day: `{ 07:00..08:00: 100 % }`';
    case 'quiet':
      return 'hours, `22:00..06:30`, with `unless` and a condition where needed';
  }
}

/** Second words for a name, as the end of its description. */
export const alsoWritten = (aliases: readonly string[]): string =>
  aliases.length > 0 ? ` Also written ${aliases.map(code).join(', ')}.` : '';

const defaultCell = ({ default: standard }: PropertyDefinition): string =>
  standard ? `${code(standard.text)} (${standard.note})` : '';

const propertyTable = (properties: readonly PropertyDefinition[]): string =>
  table(
    ['property', 'values', 'meaning', 'default'],
    properties.map((property) => [
      code(property.name),
      propertyTakes(property.type),
      property.doc + alsoWritten(aliasesOfProperty(property.name)),
      defaultCell(property),
    ]),
  );

/** The documentation of one kind, as Markdown; the facts every kind may carry are left out. */
export function kindMarkdown(definition: KindDefinition, heading = '#'): string {
  const own = definition.properties.filter((property) => !(COMMON as readonly PropertyDefinition[]).includes(property));
  const terminals = usualTerminals(definition);
  return [
    `${heading} ${definition.kind}`,
    definition.doc,
    terminals.length > 0
      ? `Terminals: ${terminals
          .map(
            ({ name, carries, direction }) =>
              `${code(name)} (${carries === 'any' ? 'AC or DC' : carries.toUpperCase()}, ${direction === 'both' ? 'in and out' : direction})`,
          )
          .join(', ')}.`
      : '',
    own.length > 0 ? propertyTable(own) : '',
  ]
    .filter(Boolean)
    .join('\n\n');
}

/** `language/KINDS.md`: every kind with its properties. */
export function kindsPage(kinds: readonly KindDefinition[]): string {
  const groups = (Object.keys(GROUP_TITLES) as KindDefinition['group'][]).filter((group) =>
    kinds.some((kind) => kind.group === group),
  );
  return page([
    '# Kinds and their properties',
    '<!-- Made from the property catalogue by `npm run docs`. Do not edit. -->',
    'A default is used when nothing is stated, and shows as a default wherever it counts.',
    '## Facts every part and instance may carry',
    propertyTable(COMMON),
    ...groups.flatMap((group) => [
      `## ${GROUP_TITLES[group]}`,
      ...kinds.filter((kind) => kind.group === group).map((kind) => kindMarkdown(kind, '###')),
    ]),
  ]);
}
