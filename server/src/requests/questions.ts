import {
  type AnalysedDesign,
  type Analysis,
  type InsertionPoint,
  type OpenFact,
  type Place,
  type Property,
  type PropertyDefinition,
  openFacts,
  propertyOf,
  propertyTakes,
} from '@wattwright/language';
import type { Range } from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import { placeholder } from './completion-usual.js';

/** How a missing fact is stated in the text: what is written where, as snippets with the value to fill in. */
export interface FactAnswer {
  /** Where it is written; a stretch of text that is replaced, or an empty place. */
  readonly range: Range;
  /** States the fact: `length: …`. */
  readonly state: string;
  /** The same as an assumption: `length: assumed …`. */
  readonly assume: string;
  /** What its value is, in words: `length, as in m`. */
  readonly takes: string;
}

/** A fact that is missing, and where it is asked for. */
export interface OpenQuestionAt {
  readonly fact: string;
  readonly whom: OpenFact['whom'];
  readonly range: Range;
  /** How many checks wait for it. */
  readonly unlocks: number;
  /** The checks that wait for it, each with its subject. */
  readonly waiting: readonly string[];
  /** Absent where it is no property of a thing in this file. */
  readonly answer?: FactAnswer;
}

/** What a design of this file is asked, those first that unlock most; what several variants ask is asked once. */
export function questionsOf(analysis: Analysis): OpenQuestionAt[] {
  return openFacts(analysis.questions).map(({ fact, whom, place, unlocks }) => {
    const answer = answerTo(fact, analysis);
    return {
      fact,
      whom,
      range: rangeOf(place),
      unlocks: unlocks.length,
      waiting: unlocks.map(({ check, subject }) => `${check} ${subject}`),
      ...(answer ? { answer } : {}),
    };
  });
}

/** Something that states properties, as far as an answer needs it. */
interface Owner {
  readonly kind: string;
  readonly properties: ReadonlyMap<string, Property>;
  readonly holes: readonly { readonly property: string; readonly place: Place }[];
  readonly insert: InsertionPoint;
}

/** `length of Feed`, `accepts or thdLimit of Rect`, `altitude of the site (…)`: the property, and the name of its thing. */
const FACT = /^(\w+)(?: or \w+)* of (?:the )?(\S+?)[,(]?(?:\s|$)/;

function answerTo(fact: string, { designs, uri }: Analysis): FactAnswer | undefined {
  const [, name, of] = FACT.exec(`${fact} `) ?? [];
  if (name === undefined || of === undefined) return undefined;
  for (const design of designs) {
    const owner = ownerIn(design, of);
    const definition = owner && propertyOf(owner.kind, name);
    if (!owner || !definition) continue;
    const { place, before, after } = placeFor(owner, name);
    if (place.uri !== uri) continue;
    const written = (value: string): string => `${escaped(before)}${value}${escaped(after)}`;
    return {
      range: rangeOf(place),
      state: written(valueSnippet(definition)),
      assume: written(`assumed ${valueSnippet(definition)}`),
      takes: propertyTakes(definition.type).replaceAll('`', ''),
    };
  }
  return undefined;
}

function ownerIn({ system }: AnalysedDesign, name: string): Owner | undefined {
  const things = [...system.instances, ...system.runs, ...system.links];
  const thing = things.find((each) => each.name === name);
  if (thing) return { ...thing, kind: thing.kind, holes: 'holes' in thing ? thing.holes : [] };
  if (name !== 'site') return undefined;
  const { insert, before, after } = system.site.insert
    ? { insert: system.site.insert, before: '', after: '' }
    : { insert: system.insert, before: 'site { ', after: ' }' };
  return {
    kind: 'site',
    properties: system.site.properties,
    holes: [],
    insert: { place: insert.place, before: `${insert.before}${before}`, after: `${after}${insert.after}` },
  };
}

/** Where a value is written: over a hole or a value that the thing states itself, else behind its other properties. */
function placeFor({ properties, holes, insert }: Owner, name: string): InsertionPoint {
  const hole = holes.find(({ property }) => property === name);
  if (hole) return { place: hole.place, before: '', after: '' };
  const own = properties.get(name);
  if (own?.place && own.inheritedFrom === undefined && own.origin !== 'default')
    return { place: own.place, before: '', after: '' };
  return { place: insert.place, before: `${insert.before}${name}: `, after: insert.after };
}

/** The value as a place to fill in: a choice where words are all there is, else a hole. */
function valueSnippet(definition: PropertyDefinition): string {
  const { type } = definition;
  if (type.type === 'flag') return '${1|yes,no|}';
  if (type.type === 'word') return `\${1|${type.words.map(({ word }) => word).join(',')}|}`;
  return `\${1:${escaped(placeholder({ ...definition, default: undefined }))}}`;
}

const escaped = (text: string): string => text.replace(/[\\$}]/g, '\\$&');
