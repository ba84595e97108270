import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { partArgument } from '../../model/lower/property-facts.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { conductorType } from '../../quantities/conductors/conductor.js';
import { sameSize } from '../../quantity/index.js';
import { ruleValue } from '../../reference/index.js';
import { isConnection, ownDeviceOf, ownDeviceTitle } from '../../model/roles.js';

/** The plug by which a cord is supplied, and whether a cord suits it. */
export interface CordPlug {
  /** For messages: `the L14-30 outlet of Genset`. */
  readonly title: string;
  readonly rating: Derivation;
  readonly carriedBy: (ampacity: Derivation, size: Derivation) => boolean;
}

function plugAt(
  { instance }: Stop,
  context: DesignContext,
): { title: string; rating: Derivation; isSupply: boolean } | undefined {
  const plug = (owner: Instance, property: string, title: string, isSupply: boolean) => {
    const value = owner.properties.get(property)?.value;
    const rating = value?.type === 'part' ? partArgument(value.part).fact('rating') : undefined;
    return value?.type === 'part' && rating
      ? { title: title.replace('%', value.part.name), rating, isSupply }
      : undefined;
  };
  if (isConnection(instance)) return plug(instance, 'plug', `the % receptacle ${instance.name}`, true);
  const device = ownDeviceOf(instance);
  if (!device) return plug(instance, 'plug', `the % plug of ${instance.name}`, false);
  const outlet = plug(instance, 'outlet', `the % outlet of ${instance.name}`, true);
  const own = context.maybe(instance, device.rating);
  // Behind a device of its own that is smaller than its outlet a source lets through what that device holds it to.
  return outlet && own && numberIn(own, 'A') < numberIn(outlet.rating, 'A')
    ? { title: ownDeviceTitle(instance), rating: own, isSupply: true }
    : outlet;
}

/**
 * The plug of a run of flexible cord: the largest at the outlets and receptacles it meets, which let through what they are rated for, else
 * the smallest of what it feeds. Undefined where no cord or no plug is stated.
 */
export function plugOfCord(run: Run, context: DesignContext): CordPlug | undefined {
  if (!conductorType(run).cord) return undefined;
  const plugs = [run.from, ...run.through, ...run.to].flatMap((stop) => plugAt(stop, context) ?? []);
  const amperes = (plug: { rating: Derivation }): number => numberIn(plug.rating, 'A');
  const supplies = plugs.filter(({ isSupply }) => isSupply).sort((a, b) => amperes(b) - amperes(a));
  const [chosen] = supplies.length > 0 ? supplies : plugs.sort((a, b) => amperes(a) - amperes(b));
  if (!chosen) return undefined;
  const { title, rating } = chosen;
  return {
    title,
    rating,
    carriedBy: (ampacity, size) =>
      numberIn(rating, 'A') <= numberIn(ampacity, 'A') * (1 + 1e-9) || isOnSmallCircuit(rating, size, context),
  };
}

/** Cords from 16 AWG may have plugs of circuits up to 20 A under the NEC (240.5(B)(4)): the load is what has to suit them. */
function isOnSmallCircuit(rating: Derivation, size: Derivation, context: DesignContext): boolean {
  if (context.system.basis.practice !== 'nec') return false;
  const [circuit, smallest] = [ruleValue('nec', 'cordCircuit'), ruleValue('nec', 'cordCircuitSmallest')];
  const [area, least] = [numberIn(size, 'mm2'), numberIn(smallest, 'mm2')];
  return numberIn(rating, 'A') <= numberIn(circuit, 'A') && (area >= least || sameSize(area, least));
}

/**
 * Whether a device is within what the table lists for a cord, and above its ampacity only by the correction for a warm ambient. NEC 400.5(A)
 * corrects what the cord may carry; 240.5(A), from memory, asks for a device in accordance with the ampacity of the table.
 */
export function isCordInTheWarm(run: Run, device: Derivation, ampacity: Derivation, context: DesignContext): boolean {
  if (context.system.basis.practice === 'iec' || !conductorType(run).cord) return false;
  const { uncorrected, bundleFactor } = ampacity.parts;
  if (!uncorrected) return false;
  const listed = numberIn(uncorrected, 'A') * (bundleFactor ? numberIn(bundleFactor, '') : 1);
  return numberIn(device, 'A') <= listed * (1 + 1e-9);
}

/** Why a cord above its corrected ampacity is a warning. */
export const CORD_REMARK = 'enough before it, by common practice (NEC 240.5(A), from memory)';
