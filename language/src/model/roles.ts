/**
 * What a thing can do, with the conditions that hang on its facts settled. The rest of the program asks here instead of for the name of a
 * kind.
 */
import {
  type BondsNeutral,
  type Capabilities,
  type Charger,
  type Conducts,
  type Draws,
  type FaultSource,
  type Inverts,
  type OpensOnResidual,
  type OrNone,
  type Passes,
  type PropertyName,
  type Source,
  capabilitiesOf,
  isMet,
  none,
  type OnlyIf,
} from '../equipment/index.js';
import { flagIn, statedFacts } from './stated-facts.js';
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
export const faultSourcesOf = (instance: Instance): readonly FaultSource<PropertyName>[] =>
  (given(capabilities(instance).drivesFault) ?? []).filter((each) => holds(each, instance));

/** What it is in the path of conductors. */
const conductingOf = (instance: Instance): Conducts | undefined => given(capabilities(instance).conducts);

/** Where and by what word it bonds neutral to earth. */
export const bondingOf = (instance: Instance): BondsNeutral<PropertyName> | undefined =>
  given(capabilities(instance).bondsNeutral);

/** Whether and by what property it opens on residual current. */
export const residualOf = (instance: Instance): OpensOnResidual<PropertyName> | undefined =>
  given(capabilities(instance).opensOnResidual);

/** Whether a control starts and stops it, as a set; other things are switched on and off. */
export const isStarted = (instance: Instance): boolean => capabilities(instance).commanded === 'started';

export const isAcSource = (instance: Instance): boolean => sourceOf(instance)?.carries === 'ac';
export const isDcSource = (instance: Instance): boolean => sourceOf(instance)?.carries === 'dc';
/** A generating set: it burns fuel. */
export const isSet = (instance: Instance): boolean => sourceOf(instance)?.from === 'fuel';
/** A public network or shore. */
export const isService = (instance: Instance): boolean => sourceOf(instance)?.from === 'utility';
export const isVehicle = (instance: Instance): boolean => sourceOf(instance)?.from === 'vehicle';
/** Modules, which give no more than the sun does and follow any voltage. */
export const isArray = (instance: Instance): boolean => sourceOf(instance)?.from === 'sun';
/** A machine that something turns and that charges by itself: a turbine, or an alternator on an engine. */
export const isTurned = (instance: Instance): boolean => {
  const source = sourceOf(instance);
  return source?.carries === 'dc' && (source.from === 'wind' || source.from === 'water' || source.from === 'engine');
};
/** Whether two sources are one machine: the same, or outlets of one. */
export const isOneMachine = (left: Instance, right: Instance): boolean =>
  left === right || (machineOf(left) !== undefined && machineOf(left) === machineOf(right));
/** The machine whose outlet a source is, where several outlets of one are stated. */
export function machineOf(source: Instance): string | undefined {
  const value = source.properties.get('machine')?.value;
  return value?.type === 'text' && value.text !== '' ? value.text : undefined;
}
/** The device that holds the current of a source at its own terminals. */
export const ownDeviceOf = (
  instance: Instance,
): { readonly rating: PropertyName; readonly as: 'breaker' | 'service' } | undefined => {
  const source = sourceOf(instance);
  return source && given(source.heldBy);
};
/** What is called the cause of a limit by its own device: `the breaker of Genset`. */
export const ownDeviceTitle = (instance: Instance): string =>
  `the ${ownDeviceOf(instance)?.as ?? 'service'} of ${instance.name}`;

export const isBank = (instance: Instance): boolean => storingOf(instance) !== undefined;
export const isInverter = (instance: Instance): boolean => invertingOf(instance) !== undefined;
/** Whether it only uses power: a load. */
export const isLoad = (instance: Instance): boolean => drawsOf(instance).some(({ to }) => to === 'use');

/** Charges out of an alternating supply. */
export const isAcCharger = (instance: Instance): boolean => chargingOf(instance)?.supply.kind === 'alternating';
/** Charges out of an alternating supply and does nothing else. */
export const isPlainCharger = (instance: Instance): boolean => isAcCharger(instance) && !isInverter(instance);
/** Charges out of the array that is led to it. */
export const isArrayCharger = (instance: Instance): boolean => chargingOf(instance)?.supply.kind === 'array';
/** Charges one direct-current bus out of another. */
export const isBusCharger = (instance: Instance): boolean => chargingOf(instance)?.supply.kind === 'bus';
/** The terminal at which a charger takes its power from another direct bus; undefined for all others. */
export const inputBusOf = (instance: Instance): string | undefined => {
  const supply = chargingOf(instance)?.supply;
  return supply !== undefined && isBusCharger(instance) && 'at' in supply ? supply.at : undefined;
};
/** A source that charges by itself. */
export const isOwnCharger = (instance: Instance): boolean => chargingOf(instance)?.supply.kind === 'own';

/** A source that charges by itself and has its set point set for the bank. */
export function isRegulating(instance: Instance): boolean {
  const supply = chargingOf(instance)?.supply;
  return supply?.kind === 'own' && supply.regulates;
}

/** Takes alternating current, or may: to use it, to charge with it, or to pass it on while it inverts else. */
export const isAcConsumer = (instance: Instance): boolean =>
  isLoad(instance) || isInverter(instance) || isAcCharger(instance);

/** Whether it opens by itself on overcurrent. */
export const isDevice = (instance: Instance): boolean => conductingOf(instance)?.as === 'device';
const opensBy = (instance: Instance, how: 'melting' | 'tripping'): boolean => {
  const conducts = conductingOf(instance);
  return conducts?.as === 'device' && conducts.opensBy === how;
};
export const isFuse = (instance: Instance): boolean => opensBy(instance, 'melting');
export const isBreaker = (instance: Instance): boolean => opensBy(instance, 'tripping');
/** Where runs meet: a busbar or panel. */
export const isJoint = (instance: Instance): boolean => conductingOf(instance)?.as === 'joint';
/** What is plugged: a receptacle, an inlet, an adapter. */
export const isConnection = (instance: Instance): boolean => conductingOf(instance)?.as === 'connection';
/** An inlet or plug into which one cord at a time is plugged. */
export const takesOneCord = (instance: Instance): boolean =>
  isConnection(instance) && flagIn(instance.properties, 'oneCord') === true;
/** The mechanical interlock of a breaker or switch, by its name: only one of its members is closed at a time. */
export function interlockOf(instance: Instance): string | undefined {
  const value = instance.properties.get('interlock')?.value;
  return isGear(instance) && value?.type === 'text' && value.text !== '' ? value.text : undefined;
}
export const isShunt = (instance: Instance): boolean => conductingOf(instance)?.as === 'measuring';
/** Contacts that are opened and closed: switches and transfer gear. */
export const isSwitchgear = (instance: Instance): boolean => conductingOf(instance)?.as === 'switch';
/** Stands on one of several supplies. */
export const isTransferGear = (instance: Instance): boolean => passingOf(instance)?.how === 'one';
export const isSwitch = (instance: Instance): boolean => isSwitchgear(instance) && !isTransferGear(instance);
export const isGear = (instance: Instance): boolean => conductingOf(instance) !== undefined;

/** A terminal of a thing; a stop of a run that names no terminal is none. */
interface At {
  readonly instance: Instance;
  readonly terminal?: { readonly name: string } | undefined;
}

const drawsAt = ({ instance, terminal }: At, end: Draws['to']): boolean =>
  drawsOf(instance).some(({ at, to }) => to === end && at === terminal?.name);

/** Whether a thing takes power here to charge with it. */
export const takesToCharge = (at: At): boolean => drawsAt(at, 'charge');
/** Whether a thing takes direct current here to make alternating current of it. */
export const takesToInvert = (at: At): boolean => drawsAt(at, 'invert');
/** Whether a thing takes direct current here to make another direct voltage of it. */
export const takesToConvert = (at: At): boolean => drawsAt(at, 'convert');
/** Whether a thing gives here the alternating current that it makes. */
export const givesInverted = ({ instance, terminal }: At): boolean => {
  const inverts = invertingOf(instance);
  return inverts !== undefined && inverts.to === terminal?.name;
};
/** Whether a thing charges the bus at this terminal. */
export const chargesAt = ({ instance, terminal }: At): boolean => {
  const charges = chargingOf(instance);
  return charges !== undefined && charges.at === terminal?.name;
};
/** Whether an array is led here that the thing charges with. */
export const takesArray = ({ instance, terminal }: At): boolean => {
  const supply = chargingOf(instance)?.supply;
  return supply?.kind === 'array' && supply.at === terminal?.name;
};

/** The terminal at which a thing gives alternating current: a source its own, an inverter what it makes. */
export const alternatingOutputOf = (instance: Instance): string | undefined => {
  const source = sourceOf(instance);
  return source?.carries === 'ac' ? source.at : invertingOf(instance)?.to;
};

/** The terminal at which a thing works with a bank: where it takes what it inverts, or charges. */
export const directSideOf = (instance: Instance): string | undefined =>
  invertingOf(instance)?.from ?? chargingOf(instance)?.at;

/** The supply on which passing gear stands, given which of its terminals are live: the first live one, else the last. */
export const chosenSide = ({ from }: Passes, isLive: (terminal: string) => boolean): string =>
  from.find(isLive) ?? from.at(-1)!;
