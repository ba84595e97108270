import {
  CHECKS,
  CHECK_GROUPS,
  type CalculationFunction,
  type Check,
  type CheckGroup,
  FUNCTIONS,
  checkMarkdown,
  findCheck,
  functionMarkdown,
  functionSignature,
  nearest,
  parameterTakes,
  sourceText,
} from '@wattwright/language';
import { CallError, EXIT } from '../call-error.js';
import { explanationsJson, jsonText } from '../output/json.js';
import { wrap } from '../output/pretty.js';
import { type Terminal, terminalOf } from '../output/terminal.js';

export interface ExplainOptions {
  readonly format: 'pretty' | 'json' | 'md';
  readonly color?: boolean;
}

/** Width for prose where the output is no terminal. */
const PROSE_WIDTH = 100;

/** `wattwright explain`. */
export function explain(name: string | undefined, options: ExplainOptions): number {
  const own = terminalOf(options.color);
  const terminal = { ...own, width: Math.min(own.width, PROSE_WIDTH) };
  if (name === undefined) {
    process.stdout.write(
      options.format === 'json'
        ? jsonText(explanationsJson(CHECKS, FUNCTIONS))
        : options.format === 'md'
          ? listMarkdown()
          : listPretty(terminal),
    );
    return EXIT.clean;
  }
  const check = findCheck(name);
  if (check && check.id !== name) process.stderr.write(`${name} is now called ${check.id}\n`);
  const definition = FUNCTIONS.find((candidate) => candidate.name === name);
  if (!check && !definition) {
    const near = nearest(name, [...CHECKS.map(({ id }) => id), ...FUNCTIONS.map((one) => one.name)]);
    const help = near.length > 0 ? `did you mean ${near.join(' or ')}?` : '`wattwright explain` lists all of them';
    throw new CallError(`there is no check or function named ${name}; ${help}`);
  }
  if (options.format === 'json')
    process.stdout.write(jsonText(explanationsJson(check ? [check] : [], definition ? [definition] : [])));
  else if (options.format === 'md')
    process.stdout.write(
      [...(check ? [checkMarkdown(check)] : []), ...(definition ? [functionMarkdown(definition)] : [])]
        .map((page) => `${page}\n`)
        .join('\n'),
    );
  else
    process.stdout.write(
      [
        ...(check ? [checkPretty(check, terminal)] : []),
        ...(definition ? [functionPretty(definition, terminal)] : []),
      ].join('\n'),
    );
  return EXIT.clean;
}

const indented = (text: string, by = '  '): string =>
  text
    .trimEnd()
    .split('\n')
    .map((line) => (line === '' ? '' : by + line))
    .join('\n');

/** Lines of prose; those of a point stay under its first word. */
const prose = (text: string, { width }: Terminal): string =>
  indented(
    text
      .split('\n')
      .flatMap((paragraph) => {
        const [, mark, words] = /^(- )?(.*)$/.exec(paragraph)!;
        const hang = mark ?? '';
        return wrap(words!, width - 2 - hang.length).map(
          (line, index) => (index === 0 ? hang : ' '.repeat(hang.length)) + line,
        );
      })
      .join('\n'),
  );

function checkPretty(check: Check, terminal: Terminal): string {
  const { bold, dim } = terminal.colors;
  const { docs } = check;
  const section = (title: string, body: string): string => `${bold(title)}\n${body}\n`;
  return [
    `${bold(check.id)} ${dim(`${check.severity}, ${CHECK_GROUPS[check.group]}, since ${check.since}`)}\n${wrap(docs.finds, terminal.width).join('\n')}\n`,
    section('Why it matters', prose(docs.guards, terminal)),
    section('How it is worked out', prose(docs.how, terminal)),
    section('Fails', indented(docs.failing)),
    section('Passes', indented(docs.passing)),
    section('Fix', prose(docs.fix, terminal)),
    section(
      'Source',
      docs.sources.length > 0
        ? docs.sources.map((source) => prose(sourceText(source), terminal)).join('\n')
        : '  Follows from the language itself.',
    ),
  ].join('\n');
}

function functionPretty(definition: CalculationFunction, terminal: Terminal): string {
  const { bold } = terminal.colors;
  const section = (title: string, body: string): string => `${bold(title)}\n${body}\n`;
  return [
    `${bold(functionSignature(definition))}\n${wrap(definition.summary, terminal.width).join('\n')}\n`,
    section(
      'Arguments',
      Object.entries(definition.parameters)
        .map(([name, parameter]) => prose(`${name}: ${parameterTakes(parameter)}. ${parameter.doc}`, terminal))
        .join('\n'),
    ),
    section('Result', prose(definition.result, terminal)),
    section('Valid for', prose(definition.validity, terminal)),
    section('Sources', definition.sources.map((source) => prose(source, terminal)).join('\n')),
    ...(definition.examples.length > 0
      ? [
          section(
            'Examples',
            definition.examples
              .map(({ call, gives, source }) => `${indented(`${call} = ${gives}`)}\n${prose(`(${source})`, terminal)}`)
              .join('\n'),
          ),
        ]
      : []),
  ].join('\n');
}

const groupedChecks = (): { title: string; checks: readonly Check[] }[] =>
  (Object.keys(CHECK_GROUPS) as CheckGroup[])
    .map((group) => ({ title: CHECK_GROUPS[group], checks: CHECKS.filter((check) => check.group === group) }))
    .filter(({ checks }) => checks.length > 0);

const groupedFunctions = (): { title: string; functions: readonly CalculationFunction[] }[] =>
  [...new Set(FUNCTIONS.map(({ group }) => group))].map((title) => ({
    title,
    functions: FUNCTIONS.filter(({ group }) => group === title),
  }));

function listPretty(terminal: Terminal): string {
  const { bold } = terminal.colors;
  const longest = Math.max(...CHECKS.map(({ id }) => id.length), ...FUNCTIONS.map(({ name }) => name.length), 0);
  const row = (name: string, text: string): string => {
    const lead = `  ${name.padEnd(longest)}  `;
    const [first, ...more] = wrap(text, terminal.width - lead.length);
    return [lead + first!, ...more.map((line) => ' '.repeat(lead.length) + line)].join('\n');
  };
  const blocks = [
    ...groupedChecks().map(({ title, checks }) =>
      [bold(`Checks: ${title}`), ...checks.map((check) => row(check.id, check.docs.finds))].join('\n'),
    ),
    ...groupedFunctions().map(({ title, functions }) =>
      [bold(`Functions: ${title}`), ...functions.map(({ name, summary }) => row(name, summary))].join('\n'),
    ),
    'wattwright explain NAME says more.',
  ];
  return `${blocks.join('\n\n')}\n`;
}

const listMarkdown = (): string =>
  `${[
    ...groupedChecks().flatMap(({ title, checks }) => [
      `# Checks: ${title}`,
      checks.map((check) => `- \`${check.id}\`: ${check.docs.finds}`).join('\n'),
    ]),
    ...groupedFunctions().flatMap(({ title, functions }) => [
      `# Functions: ${title}`,
      functions.map(({ name, summary }) => `- \`${name}\`: ${summary}`).join('\n'),
    ]),
  ].join('\n\n')}\n`;
