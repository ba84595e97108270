/**
 * What a thing can do, with the conditions that hang on its facts settled. The rest of the program asks here instead of for the name of a
 * kind.
 */
import {
  type Capabilities,
  type Charger,
  type Conducts,
  type Draws,
  type FaultSource,
  type Inverts,
  type OrNone,
  type Passes,
  type PropertyName,
  type Source,
  capabilitiesOf,
  isMet,
  none,
  type OnlyIf,
} from '../equipment/index.js';
import { statedFacts } from './stated-facts.js';
import type { Instance } from './types.js';

const given = <T>(answer: OrNone<T>): T | undefined => (answer === none ? undefined : (answer as T));

const holds = ({ if: condition }: { readonly if?: OnlyIf }, { properties }: Instance): boolean =>
  !condition || isMet(condition, statedFacts(properties));

const capabilities = ({ kind }: Instance): Capabilities<PropertyName> => capabilitiesOf(kind);

/** The energy of its own that it brings in. */
export const sourceOf = (instance: Instance): Source<PropertyName> | undefined =>
  given(capabilities(instance).source)?.find((each) => holds(each, instance));

/** How it charges; undefined when it does not. */
export function chargingOf(instance: Instance): Charger<PropertyName> | undefined {
  const charges = given(capabilities(instance).charges);
  return charges && holds(charges, instance) ? charges : undefined;
}

/** Which way it makes alternating current out of direct current. */
export const invertingOf = (instance: Instance): Inverts | undefined => given(capabilities(instance).inverts);

/** How it passes a supply on. */
export function passingOf(instance: Instance): Passes<PropertyName> | undefined {
  const passes = given(capabilities(instance).passes);
  return passes && holds(passes, instance) ? passes : undefined;
}

/** Where it stores charge. */
export const storingOf = (instance: Instance): { readonly at: string } | undefined =>
  given(capabilities(instance).stores);

/** Where and to what end it takes power. */
export const drawsOf = (instance: Instance): readonly Draws[] =>
  (given(capabilities(instance).draws) ?? []).filter((each) => holds(each, instance));

/** What it drives into a short circuit. */
export const faultSourcesOf = (instance: Instance): readonly FaultSource[] =>
  (given(capabilities(instance).drivesFault) ?? []).filter((each) => holds(each, instance));

/** What it is in the path of conductors. */
export const conductingOf = (instance: Instance): Conducts | undefined => given(capabilities(instance).conducts);

/** Whether a control starts and stops it, as a set; other things are switched on and off. */
export const isStarted = (instance: Instance): boolean => capabilities(instance).commanded === 'started';

export const isAcSource = (instance: Instance): boolean => sourceOf(instance)?.carries === 'ac';
export const isDcSource = (instance: Instance): boolean => sourceOf(instance)?.carries === 'dc';
export const isBank = (instance: Instance): boolean => storingOf(instance) !== undefined;
export const isInverter = (instance: Instance): boolean => invertingOf(instance) !== undefined;
/** Whether it only uses power: a load. */
export const isLoad = (instance: Instance): boolean => drawsOf(instance).some(({ to }) => to === 'use');
/** Whether it opens by itself on overcurrent. */
export const isDevice = (instance: Instance): boolean => conductingOf(instance)?.as === 'device';
