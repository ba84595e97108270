import {
  type CalculationFunction,
  type Dimension,
  type KindDefinition,
  CONDITION_WORDS,
  DESIGN_FUNCTIONS,
  DIMENSIONS,
  type DimensionName,
  FUNCTIONS,
  MEASURES,
  type PropertyDefinition,
  type PropertyType,
  STATE_SIGNALS,
  UNITS,
  functionSignature,
  propertyTakes,
} from '@wattwright/language';
import { type CompletionItem, CompletionItemKind, InsertTextFormat } from 'vscode-languageserver';
import type { Snippet } from './snippets.js';
import { BUILT_IN_FUNCTIONS, LANGUAGE_WORDS } from './words.js';

/** What a list offers, before it is known where in the text it goes. */
export type Item = Omit<CompletionItem, 'textEdit'>;

export const keywords = (...words: string[]): Item[] =>
  words.map((word) => ({
    label: word,
    kind: CompletionItemKind.Keyword,
    documentation: LANGUAGE_WORDS.get(word) ?? '',
  }));

export const valueItem = (label: string, detail?: string): Item => ({
  label,
  kind: CompletionItemKind.Value,
  ...(detail ? { detail } : {}),
});

export const holeItems = (): Item[] => [
  { label: '?', kind: CompletionItemKind.Value, detail: 'a hole', documentation: 'Work this out for me.' },
];

export const tableItem = (key: string, value: string): Item => ({
  label: `{ ${key}: ${value} }`,
  insertText: `{ \${1:${key}}: \${2:${value}} }`,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Snippet,
});

export const defaultItems = ({ default: standard }: PropertyDefinition): Item[] =>
  standard
    ? [
        {
          label: standard.text,
          kind: CompletionItemKind.Value,
          detail: `the default: ${standard.note}`,
          preselect: true,
        },
      ]
    : [];

export const kindItem = ({ kind, doc }: KindDefinition): Item => ({
  label: kind,
  kind: CompletionItemKind.Keyword,
  documentation: doc,
});

/** A property to write, by its own name or by a second word for it. */
export const propertyItem = (property: PropertyDefinition, word = property.name): Item => ({
  label: word,
  insertText: `${word}: `,
  kind: CompletionItemKind.Property,
  detail: plainTakes(property.type),
  documentation: word === property.name ? property.doc : `Another word for ${property.name}. ${property.doc}`,
});

const plainTakes = (type: PropertyType): string => propertyTakes(type).replaceAll('`', '');

export const snippetItem = ({ label, detail, text }: Snippet): Item => ({
  label,
  detail,
  insertText: text,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Snippet,
  documentation: LANGUAGE_WORDS.get(label) ?? '',
});

const callItem = (name: string, detail: string, documentation: string): Item => ({
  label: name,
  insertText: `${name}($0)`,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Function,
  detail,
  documentation,
});

/** Functions of the language: with dimensions, those whose result may have one of them. */
export function functionItems(dimensions?: readonly DimensionName[]): Item[] {
  const fits = (definition: CalculationFunction): boolean => {
    const result = dimensions && resultOf(definition);
    return !result || dimensions.some((name) => DIMENSIONS[name] === result);
  };
  return [
    ...FUNCTIONS.filter(fits).map((definition) =>
      callItem(definition.name, functionSignature(definition), definition.summary),
    ),
    ...[...DESIGN_FUNCTIONS.values()].map(({ name, signature, doc }) => callItem(name, signature, doc)),
    ...[...BUILT_IN_FUNCTIONS].filter(([name]) => !TIMED.has(name)).map(([name, doc]) => callItem(name, '', doc)),
  ];
}

/** The dimension of what a function gives, by its first worked example; undefined where that has no unit. */
function resultOf({ examples }: CalculationFunction): Dimension | undefined {
  const unit = /\d\s*([^\d\s.][^\s]*)$/u.exec(examples[0]?.gives ?? '')?.[1];
  return UNITS.find(({ symbol }) => symbol === unit)?.dimension;
}

/** Words that have a meaning only while time runs. */
const TIMED = new Set(['lost', 'plugged', 'fuelLeft', 'refilled']);

/** What may be asked of a scenario: measures of things, and of signals. */
export const measureItems = (): Item[] => [
  ...[...MEASURES.values()].map(({ what, takes, doc }) =>
    takes === 'thing or nothing'
      ? { label: what, kind: CompletionItemKind.Function, documentation: doc }
      : callItem(what, takes, doc),
  ),
  ...signalItems(),
];

/** Signals and conditions that rules watch. */
export const signalItems = (): Item[] => [
  ...[...STATE_SIGNALS.keys()].map((name) => callItem(name, 'a signal, while time runs', '')),
  ...[...CONDITION_WORDS].map(([name, detail]) => callItem(name, detail, '')),
];
