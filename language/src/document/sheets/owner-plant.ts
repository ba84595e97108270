import {
  isArray,
  isBank,
  isBreaker,
  isDevice,
  isInverter,
  isLoad,
  isService,
  isSet,
  isSwitch,
  isTurned,
  sourceOf,
} from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { gearOf, runsAt } from '../commissioning/wiring-state.js';
import { isPlugged } from '../commissioning/words.js';
import type { SheetInput } from '../input.js';
import type { Block } from '../sheet.js';

/** What an owner has before them, sorted by what they do with it. */
export interface Plant {
  readonly sets: readonly Instance[];
  /** Generators that a person starts. */
  readonly byHand: readonly Instance[];
  /** Generators that rules start. */
  readonly byControl: readonly Instance[];
  readonly banks: readonly Instance[];
  readonly leadBanks: readonly Instance[];
  readonly lithiumBanks: readonly Instance[];
  readonly inverters: readonly Instance[];
  readonly arrays: readonly Instance[];
  /** Switches and breakers of arrays and of what follows them. */
  readonly arrayGear: readonly Instance[];
  readonly services: readonly Instance[];
  readonly loads: readonly Instance[];
  /** Breakers of circuits. */
  readonly breakers: readonly Instance[];
  readonly devices: readonly Instance[];
  /** Turbines and alternators, which need their bank. */
  readonly turned: readonly Instance[];
  /** Sources that are neither generators, modules nor supplies. */
  readonly others: readonly Instance[];
  /** Every source that is plugged in. */
  readonly plugged: readonly Instance[];
  /** Inlets that accept one of several cords, each with what may be plugged in there. */
  readonly inlets: readonly { readonly inlet: Instance; readonly sources: readonly Instance[] }[];
  /** `BankSwitch, the main switch of Bank`; absent where nothing that a person opens is between the banks and the rest. */
  readonly main?: string;
}

export const title = ({ name, label }: Instance): string => (label ? `${label} (${name})` : name);
export const listed = (things: readonly Instance[]): string => things.map(title).join(', ');

/** Lines that are told only where there is what they are about. */
export const when = (things: readonly unknown[], ...lines: readonly string[]): readonly string[] =>
  things.length > 0 ? lines : [];

export const list = (heading: string, items: readonly string[]): Block => ({
  kind: 'list',
  title: heading,
  isOrdered: true,
  items: items.length > 0 ? items : ['Nothing.'],
});

export function plantOf({ system, context }: SheetInput): Plant {
  const of = (which: (each: Instance) => boolean): Instance[] => system.instances.filter(which);
  const [sets, banks, arrays] = [of(isSet), of(isBank), of(isArray)];
  const isOpenedByHand = (each: Instance): boolean => isSwitch(each) || isBreaker(each);
  const gearAt = (things: readonly Instance[]): Instance[] =>
    [...new Set(things.flatMap((each) => runsAt(each, context).flatMap(gearOf)))].filter(isOpenedByHand);
  const mains = gearAt(banks);
  const isStartedByRule = (set: Instance): boolean => system.controls.some(({ target }) => target === set);
  const family = (bank: Instance): string | undefined => chemistry(wordIn(bank.properties, 'chemistry') ?? '')?.family;
  return {
    sets,
    byHand: sets.filter((set) => !isStartedByRule(set)),
    byControl: sets.filter(isStartedByRule),
    banks,
    leadBanks: banks.filter((bank) => family(bank) === 'lead'),
    lithiumBanks: banks.filter((bank) => family(bank) === 'lithium'),
    inverters: of(isInverter),
    arrays,
    arrayGear: gearAt(arrays),
    services: of(isService),
    loads: of(isLoad),
    breakers: of(isBreaker),
    devices: of(isDevice),
    turned: of(isTurned),
    others: of((each) => sourceOf(each) !== undefined && !isSet(each) && !isArray(each) && !isService(each)),
    plugged: of((each) => sourceOf(each) !== undefined && runsAt(each, context).some(isPlugged)),
    inlets: context.graph.inlets
      .filter(({ interlock }) => interlock === undefined)
      .map(({ at, cords }) => ({
        inlet: at,
        sources: [...new Set(cords.flatMap(({ sources, charging }) => [...sources, ...charging]))],
      })),
    ...(mains.length > 0 ? { main: `${listed(mains)}, the main switch of ${listed(banks)}` } : {}),
  };
}
