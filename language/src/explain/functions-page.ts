import { inPeopleUnits } from '../glossary/units-text.js';
import type { CalculationFunction, Parameter } from '../calculate/registry.js';
import { DIMENSIONS, dimensionName, formatQuantity, quantity } from '../quantity/index.js';
import { anchor, code, escapeMarkdown, page, table } from './markdown.js';

/** The default of a parameter as it would be written; undefined when it has none. */
export function parameterDefault(parameter: Parameter): string | undefined {
  switch (parameter.type) {
    case 'quantity':
      return parameter.default === undefined ? undefined : formatQuantity(quantity(parameter.default, parameter.unit));
    case 'word':
    case 'text':
      return parameter.default;
    case 'flag':
      return parameter.default === undefined ? undefined : parameter.default ? 'yes' : 'no';
    case 'part':
      return undefined;
  }
}

/** What a parameter takes, in words: `current, 0 A or more`. */
export function parameterTakes(parameter: Parameter): string {
  switch (parameter.type) {
    case 'quantity': {
      const names = parameter.dimensions.map((dimension) => dimensionName(DIMENSIONS[dimension])).join(' or ');
      const show = (bound: number): string => inPeopleUnits(formatQuantity(quantity(bound, parameter.unit)));
      const low =
        parameter.minimum === undefined
          ? ''
          : parameter.aboveMinimum
            ? `above ${show(parameter.minimum)}`
            : `from ${show(parameter.minimum)}`;
      const high = parameter.maximum === undefined ? '' : `up to ${show(parameter.maximum)}`;
      const span = [low, high].filter(Boolean).join(' ');
      return span ? `${names}, ${span}` : names;
    }
    case 'word':
      return `one of ${parameter.words.join(', ')}`;
    case 'flag':
      return 'yes or no';
    case 'text':
      return `text in quotes${parameter.orDimension ? ` or ${dimensionName(DIMENSIONS[parameter.orDimension])}` : ''}`;
    case 'part':
      return `a ${parameter.partKinds.join(' or ')} by name`;
  }
}

/** `voltageDrop(current, length, size, [voltage], [system: dc])`: brackets mark what may be left out. */
export function functionSignature(definition: CalculationFunction): string {
  const parameters = Object.entries(definition.parameters).map(([name, parameter]) => {
    const standard = parameterDefault(parameter);
    if (standard !== undefined) return `[${name}: ${standard}]`;
    return parameter.optional ? `[${name}]` : name;
  });
  return `${definition.name}(${parameters.join(', ')})`;
}

/** The documentation of one function, as Markdown. */
export function functionMarkdown(definition: CalculationFunction, heading = '#'): string {
  const rows = Object.entries(definition.parameters).map(([name, parameter]) => [
    code(name),
    escapeMarkdown(parameterTakes(parameter)),
    parameter.doc,
    parameterDefault(parameter) === undefined
      ? parameter.optional
        ? 'may be left out'
        : 'needed'
      : parameterDefault(parameter)!,
  ]);
  return [
    `${heading} ${definition.name}`,
    code(functionSignature(definition)),
    definition.summary,
    table(['argument', 'values', 'meaning', 'default'], rows),
    `**Result:** ${definition.result}`,
    `**Valid for:** ${definition.validity}`,
    `**Sources:** ${definition.sources.length > 0 ? definition.sources.join('; ') : 'follows from definitions'}`,
    ...(definition.examples.length > 0
      ? [
          table(
            ['example', 'gives', 'where that answer stands'],
            definition.examples.map((example) => [code(example.call), example.gives, example.source]),
          ),
        ]
      : []),
  ].join('\n\n');
}

/** `language/FUNCTIONS.md`: every function by group. */
export function functionsPage(functions: readonly CalculationFunction[]): string {
  const groups = [...new Set(functions.map((definition) => definition.group))];
  const of = (group: string): readonly CalculationFunction[] =>
    functions.filter((definition) => definition.group === group);
  return page([
    '# Functions of the language',
    '<!-- Made from the function registry by `npm run docs`. Do not edit. -->',
    `${functions.length} functions. Each is called by name with named arguments, in \`let\`, \`require\` and \`wattwright eval\`, and returns its result with the derivation. Arguments in brackets may be left out; a default that is used is named in the derivation. Arguments may be ranges: the result is worked out at every corner and the unfavourable one counts. Outside its range of validity a function says which argument is out and by how much.`,
    ...groups.flatMap((group) => [
      `## ${group.charAt(0).toUpperCase()}${group.slice(1)}`,
      table(
        ['function', 'gives'],
        of(group).map((definition) => [`[${definition.name}](#${anchor(definition.name)})`, definition.summary]),
      ),
    ]),
    ...groups.flatMap((group) => of(group).map((definition) => functionMarkdown(definition, '##'))),
  ]);
}
