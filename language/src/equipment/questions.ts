import { type Capabilities, none } from './capabilities.js';
import { ORIGINS } from './origins.js';

/**
 * A question about a kind as such: whether a thing of that kind may do something, whatever it states. Questions about one thing, with what
 * it states, are those of model/roles.ts.
 */
export type KindQuestion = (can: Capabilities) => boolean;

export const mayStore: KindQuestion = ({ stores }) => stores !== none;
export const mayInvert: KindQuestion = ({ inverts }) => inverts !== none;
export const maySupply: KindQuestion = ({ source }) => source !== none;
export const maySupplyAlternating: KindQuestion = ({ source }) =>
  source !== none && source.some(({ carries }) => carries === 'ac');
/** A generating set. */
export const mayBurnFuel: KindQuestion = ({ source }) => source !== none && source.some(({ from }) => from === 'fuel');
/** A photovoltaic array. */
export const mayTakeSun: KindQuestion = ({ source }) => source !== none && source.some(({ from }) => from === 'sun');
/** There or gone as a whole, so that a scenario may lose it for a time. */
export const mayBeLost: KindQuestion = ({ source }) =>
  source !== none && source.some(({ from }) => ORIGINS[from].comes === 'whole');
/** Driven by what may be left untaken: the sun, or water. */
export const mayBeCurtailed: KindQuestion = ({ source, charges }) =>
  (source !== none && source.some(({ from }) => from === 'sun')) ||
  (charges !== none && charges.supply.kind === 'own' && charges.supply.drive !== none);
/** A load. */
export const mayUse: KindQuestion = ({ draws }) => draws !== none && draws.some(({ to }) => to === 'use');
/** Takes power for any end: to use it, to charge, to invert or to convert it. */
export const mayDraw: KindQuestion = ({ draws }) => draws !== none;
/** Regulates what it charges out of a supply that is led to it: a source that charges by itself is none. */
export const mayRegulate: KindQuestion = ({ charges }) => charges !== none && charges.supply.kind !== 'own';
/** Charges out of an alternating supply. */
export const mayChargeFromAlternating: KindQuestion = ({ charges }) =>
  charges !== none && charges.supply.kind === 'alternating';
/** Charges within bounds of its own: modules that are wired to the bus give what the sun does. */
export const mayChargeWithin: KindQuestion = ({ charges }) => charges !== none && charges.isUnregulated !== true;
export const mayConduct: KindQuestion = ({ conducts }) => conducts !== none;
/** Opens by itself on overcurrent. */
export const mayProtect: KindQuestion = ({ conducts }) => conducts !== none && conducts.as === 'device';
/** Gear whose ends are runs that meet or go on in it, unlike what is plugged. */
export const mayBeWired: KindQuestion = ({ conducts }) => conducts !== none && conducts.as !== 'connection';
/** Whether a mechanical interlock can hold it open: breakers and switches. */
export const mayBeInterlocked: KindQuestion = ({ conducts }) =>
  conducts !== none && (conducts.as === 'switch' || (conducts.as === 'device' && conducts.opensBy === 'tripping'));
/** An inlet, a receptacle, an adapter. */
export const mayBePlugged: KindQuestion = ({ conducts }) => conducts !== none && conducts.as === 'connection';
/** Has a relay that passes a supply on while it is there. */
export const mayPassByRelay: KindQuestion = ({ passes }) => passes !== none && passes.how === 'relay';
/** A control may command it: start and stop it, or switch it on and off. */
export const mayBeCommanded: KindQuestion = ({ commanded }) => commanded !== none;
