/** Rest voltage by state of charge with the energy under it. Points ascend from 0 to 1. */
export interface RestCurve {
  readonly soc: Float64Array;
  /** V of the whole bank. */
  readonly volts: Float64Array;
  /** J per coulomb of capacity from empty to each point: the integral of the rest voltage over state of charge. */
  readonly energy: Float64Array;
}

/** Coulombs stored for each that goes in: up to `knee` (state of charge) `efficiency`, from there falling straight to `efficiencyFull` at 1. */
export interface ChargeShare {
  readonly efficiency: number;
  readonly efficiencyFull: number;
  readonly knee: number;
}

/** A rest-voltage curve of a bank from points of one cell. `points` are state of charge (0 to 1) and V per cell, ascending, with both ends. */
export function restCurve(points: readonly (readonly [soc: number, volts: number])[], cells: number): RestCurve {
  const soc = Float64Array.from(points, ([charge]) => charge);
  const volts = Float64Array.from(points, ([, cell]) => cell * cells);
  const energy = new Float64Array(points.length);
  for (let at = 1; at < points.length; at += 1)
    energy[at] = energy[at - 1]! + ((volts[at]! + volts[at - 1]!) / 2) * (soc[at]! - soc[at - 1]!);
  return { soc, volts, energy };
}

/** The stretch of a curve that a state of charge lies on; of two at a point the one towards `direction` (its sign counts). */
export function stretchAt({ soc }: RestCurve, charge: number, direction: number): number {
  const last = soc.length - 2;
  let at = 0;
  while (at < last && (charge > soc[at + 1]! || (charge === soc[at + 1]! && direction >= 0))) at += 1;
  return at;
}

/** Slope of a stretch, V per unit of state of charge. */
export const slopeOf = ({ soc, volts }: RestCurve, stretch: number): number =>
  (volts[stretch + 1]! - volts[stretch]!) / (soc[stretch + 1]! - soc[stretch]!);

/** J stored above empty at a charge in C. Exact: the integral of the straight lines. */
export function storedEnergy(
  { curve, capacity }: { readonly curve: RestCurve; readonly capacity: number },
  charge: number,
): number {
  const soc = charge / capacity;
  const at = stretchAt(curve, soc, 0);
  const over = soc - curve.soc[at]!;
  return capacity * (curve.energy[at]! + over * (curve.volts[at]! + (slopeOf(curve, at) * over) / 2));
}

/** Share of the current into a bank that is stored, at a state of charge. */
export const chargeShare = (bank: ChargeShare, soc: number): number =>
  soc <= bank.knee
    ? bank.efficiency
    : bank.efficiency - ((bank.efficiency - bank.efficiencyFull) * (soc - bank.knee)) / (1 - bank.knee);

/** V at which a bank rests at a state of charge from 0 to 1. */
export function restVolts(curve: RestCurve, soc: number): number {
  const at = stretchAt(curve, soc, 0);
  return curve.volts[at]! + slopeOf(curve, at) * (soc - curve.soc[at]!);
}
