import { raise } from '../../quantity/index.js';
import { solarModel, solarTable } from '../../reference/energy/index.js';
import { RADIANS, cosine, sine } from './geometry.js';

/** How the light of the sky comes to a surface: the same from everywhere, brighter around the sun, or brighter there and at the horizon as well. */
export const SKIES = ['isotropic', 'hayDavies', 'perez'] as const;
export type Sky = (typeof SKIES)[number];

/** What falls on the horizontal and on a surface that faces the sun, in W/m², and how the surface stands to both. */
export interface PlaneCase {
  /** On a surface across the beam. */
  beam: number;
  diffuse: number;
  /** On the horizontal, for what the ground throws back. */
  total: number;
  /** Outside the air across the beam. */
  readonly outside: number;
  cosineOfZenith: number;
  cosineOfIncidence: number;
  cosineOfTilt: number;
  readonly albedo: number;
}

/** Below 3° the ratio of beam on the tilted to beam on the flat runs away while the beam is next to nothing: what there is counts as sky. */
export const LOWEST_BEAM = sine(3);
/** The sun's disk counts as no lower than this in the sky around it (Perez et al. 1990). */
const LOWEST_DISK = cosine(85);

const EDGES = solarModel('perez-clearness-edges');
const COEFFICIENTS = solarTable('perez-coefficients');
const [EXTRA] = solarModel('perez-zenith') as [number];
const [AIR_A, AIR_B, AIR_C] = solarModel('air-mass-kasten-young') as [number, number, number];

/** Way of the beam through the air over that from the zenith (Kasten and Young 1989), by the cosine of the zenith angle. */
export function airMass(cosineOfZenith: number): number {
  const zenith = Math.acos(Math.min(1, Math.max(0, cosineOfZenith))) / RADIANS;
  return 1 / (Math.max(0, cosineOfZenith) + AIR_A * raise(AIR_B - zenith, -AIR_C));
}

/** Brightness around the sun and at the horizon, as shares of the diffuse light (Perez et al. 1990). */
function perezShares({ beam, diffuse, outside, cosineOfZenith }: Readonly<PlaneCase>): readonly [number, number] {
  const zenith = Math.acos(Math.min(1, cosineOfZenith));
  const cube = EXTRA * zenith ** 3;
  const clearness = ((diffuse + beam) / diffuse + cube) / (1 + cube);
  let bin = 0;
  while (bin < EDGES.length && clearness > EDGES[bin]!) bin += 1;
  const brightness = (diffuse * airMass(cosineOfZenith)) / outside;
  const [f11, f12, f13, f21, f22, f23] = COEFFICIENTS[bin] as [number, number, number, number, number, number];
  return [Math.max(0, f11 + f12 * brightness + f13 * zenith), f21 + f22 * brightness + f23 * zenith];
}

/** W/m² on a surface, the sun above the horizon; below 3° all light counts as sky. */
export function onPlane(sky: Sky, given: Readonly<PlaneCase>): number {
  const { cosineOfZenith, cosineOfTilt, total, albedo, outside } = given;
  const skyView = (1 + cosineOfTilt) / 2;
  const ground = (total * albedo * (1 - cosineOfTilt)) / 2;
  if (cosineOfZenith < LOWEST_BEAM) return total * skyView + ground;
  const facing = Math.max(0, given.cosineOfIncidence);
  const { beam, diffuse } = given;
  switch (sky) {
    case 'isotropic':
      return beam * facing + diffuse * skyView + ground;
    case 'hayDavies': {
      const straight = beam / outside;
      return beam * facing + diffuse * (straight * (facing / cosineOfZenith) + (1 - straight) * skyView) + ground;
    }
    case 'perez': {
      if (diffuse <= 0) return beam * facing + ground;
      const [around, horizon] = perezShares(given);
      const upright = Math.sqrt(Math.max(0, 1 - cosineOfTilt ** 2));
      const light =
        (1 - around) * skyView + around * (facing / Math.max(LOWEST_DISK, cosineOfZenith)) + horizon * upright;
      return beam * facing + diffuse * Math.max(0, light) + ground;
    }
  }
}
