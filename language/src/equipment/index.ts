import { INSTANCES } from './placed.js';
import { type Capabilities, none } from './capabilities.js';
import { canonicalProperty } from './aliases.js';
import { CONDUCTOR, CORD, DEVICE_CLASS, PLUG } from './catalogue.js';
import { LINK, RUN } from './connections.js';
import { CONTROL, DESIGN, SCENARIO, SITE } from './control.js';
import { defaultFacts, type DeviceDefinition, type KindDefinition, type PropertyDefinition } from './define.js';
import type { KindQuestion } from './questions.js';
import type { StatedFacts, Terminal } from './terminal.js';

/** Kinds that only parts can be: catalogue data that properties refer to. */
const CATALOGUE = [CONDUCTOR, CORD, PLUG, DEVICE_CLASS] as const;
export const CATALOGUE_KINDS: readonly KindDefinition[] = CATALOGUE;

/** Everything that has a property catalogue. */
const ALL = [...INSTANCES, ...CATALOGUE, RUN, LINK, CONTROL, SITE, DESIGN, SCENARIO] as const;
export const ALL_KINDS: readonly KindDefinition[] = ALL;
export type InstanceKind = (typeof INSTANCES)[number]['kind'];
export const INSTANCE_KINDS: readonly DeviceDefinition<InstanceKind>[] = INSTANCES;
export type AnyKind = (typeof ALL)[number];
export type KindName = AnyKind['kind'];
export type PropertyName = AnyKind['properties'][number]['name'];

const byKind = new Map(ALL_KINDS.map((definition) => [definition.kind, definition]));
const byProperty = new Map(
  ALL_KINDS.map((definition) => [
    definition.kind,
    new Map(definition.properties.map((property) => [property.name, property])),
  ]),
);

const devices = new Map<string, DeviceDefinition>(INSTANCE_KINDS.map((definition) => [definition.kind, definition]));

/** What can do nothing: a run or link of which a rule names a signal. */
const NOTHING: Capabilities<PropertyName> = {
  source: none,
  charges: none,
  inverts: none,
  passes: none,
  stores: none,
  draws: none,
  drivesFault: none,
  conducts: none,
  bondsNeutral: none,
  opensOnResidual: none,
  commanded: none,
};

/**
 * What a kind of thing can do, in terms of the names of its properties: `defineDevice` has checked that it has them. Kinds that are not
 * placed in a design can do nothing.
 */
export const capabilitiesOf = (kind: string): Capabilities<PropertyName> =>
  (devices.get(kind)?.capabilities as Capabilities<PropertyName> | undefined) ?? NOTHING;

/** The kinds for which a question about what they may do is answered with yes, in the order in which they are declared. */
export const kindsThat = (...questions: readonly KindQuestion[]): readonly InstanceKind[] =>
  INSTANCE_KINDS.flatMap(({ kind, capabilities }) => (questions.some((asks) => asks(capabilities)) ? [kind] : []));

/** Whether a word is a property of a kind by its own name. */
export const isPropertyName = (kind: string, word: string): word is PropertyName =>
  byProperty.get(kind)?.has(word) === true;

/** The terminals of a thing of a kind that states nothing; none for kinds that are not placed. */
export const usualTerminals = ({ kind, properties }: KindDefinition): readonly Terminal[] =>
  INSTANCE_KINDS.find((device) => device.kind === kind)?.terminals(defaultFacts(properties)) ?? [];

/**
 * What a thing has to state, as it is written, to have a terminal that it does not have with what it states now; undefined where no single
 * word gives it one.
 */
export function statementFor(terminal: string, kind: string, stated: StatedFacts): string | undefined {
  const device = devices.get(kind);
  if (!device) return undefined;
  const gives = (facts: StatedFacts): boolean => device.terminals(facts).some(({ name }) => name === terminal);
  for (const { name, type } of device.properties) {
    const is = (property: string): boolean => property === name;
    if (type.type === 'flag' && gives({ ...stated, flag: (each) => is(each) || stated.flag(each) }))
      return `${name}: yes`;
    if (type.type !== 'word') continue;
    const found = type.words.find(({ word }) =>
      gives({ ...stated, word: (each) => (is(each) ? word : stated.word(each)) }),
    );
    if (found) return `${name}: ${found.word}`;
  }
  return undefined;
}

export const kindOf = (kind: string): KindDefinition | undefined => byKind.get(kind);
/** The property that a word means at a kind, by its own name or by a second one. */
export const propertyOf = (kind: string, word: string): PropertyDefinition | undefined =>
  byProperty.get(kind)?.get(word) ?? byProperty.get(kind)?.get(canonicalProperty(word));

export * from './define.js';
export * from './aliases.js';
export { kindsMeant, propertiesMeant } from './other-names.js';
export * from './capabilities.js';
export * from './questions.js';
export * from './origins.js';
export { LEGS } from './legs.js';
export * from './terminal.js';
