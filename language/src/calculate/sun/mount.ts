import { RADIANS, cosine, sine } from './geometry.js';

/** A direction as shares to the east, to the north and up; its length is 1. */
export interface Direction {
  readonly east: number;
  readonly north: number;
  readonly up: number;
}

/** How modules are mounted. Angles in degrees, azimuths from north eastward. */
export type Mount =
  | { readonly moves: 'not'; readonly tilt: number; readonly azimuth: number }
  /**
   * Turned about one axis, which points to `azimuth` and sinks by `tilt`: with no turn the modules face there. `limit` is the furthest turn
   * to either side; `cover` the width of the modules over the distance of their rows, by which they turn back so as not to shade each other.
   */
  | {
      readonly moves: 'oneAxis';
      readonly tilt: number;
      readonly azimuth: number;
      readonly limit: number;
      readonly cover?: number;
    }
  | { readonly moves: 'twoAxes' };

/** How modules stand to the sun, written over from moment to moment. */
export interface Standing {
  cosineOfIncidence: number;
  cosineOfTilt: number;
}

/** Writes how modules stand to the sun at a place in the sky. */
export type StandsTo = (east: number, north: number, up: number, into: Standing) => void;

export function standing(mount: Mount): StandsTo {
  if (mount.moves === 'twoAxes')
    return (_east, _north, up, into) => {
      into.cosineOfIncidence = 1;
      into.cosineOfTilt = Math.max(0, up);
    };
  const { tilt, azimuth } = mount;
  const [toEast, toNorth, toUp] = [sine(tilt) * sine(azimuth), sine(tilt) * cosine(azimuth), cosine(tilt)];
  if (mount.moves === 'not')
    return (east, north, up, into) => {
      into.cosineOfIncidence = east * toEast + north * toNorth + up * toUp;
      into.cosineOfTilt = toUp;
    };
  return (east, north, up, into) => {
    const { along, across } = aboutAxis({ east, north, up }, mount);
    const turn = turnOf(across, along, mount.limit, mount.cover);
    into.cosineOfIncidence = along * Math.cos(turn) + across * Math.sin(turn);
    into.cosineOfTilt = toUp * Math.cos(turn);
  };
}

type OneAxis = Extract<Mount, { moves: 'oneAxis' }>;

/** The sun's direction along the normal of modules that are not turned, and across the axis to the right of the direction in which it points. */
function aboutAxis({ east, north, up }: Direction, { tilt, azimuth }: OneAxis): { along: number; across: number } {
  return {
    along: east * sine(tilt) * sine(azimuth) + north * sine(tilt) * cosine(azimuth) + up * cosine(tilt),
    across: east * sine(azimuth + 90) + north * cosine(azimuth + 90),
  };
}

/** The turn about an axis towards the sun, in radians. */
function turnOf(across: number, along: number, limit: number, cover: number | undefined): number {
  const wanted = Math.atan2(across, along);
  // Rows that would shade each other turn back until each just clears the next (Lorenzo, Narvarte and Muñoz 2011, from memory).
  const clear = cover !== undefined && cover > 0 ? Math.abs(Math.cos(wanted)) / cover : 1;
  const back = clear < 1 ? wanted - Math.sign(wanted) * Math.acos(clear) : wanted;
  const most = limit * RADIANS;
  return Math.min(most, Math.max(-most, back));
}

/** The turn of modules about one axis towards the sun, in degrees: positive to the right of the direction in which the axis points. */
export function rotationTo(sun: Direction, mount: OneAxis): number {
  const { along, across } = aboutAxis(sun, mount);
  return turnOf(across, along, mount.limit, mount.cover) / RADIANS;
}
