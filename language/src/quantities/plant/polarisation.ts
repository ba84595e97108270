import { compile, type NumberOf } from '../../equipment/formula/index.js';
import { CHARGE_POLARISATION, DISCHARGE_POLARISATION, LEAD_FACTS } from '../../equipment/lead-voltage.js';
import { leadVoltage } from '../../reference/energy/index.js';
import type { Bus } from '../../solve/bus.js';
import { REFERENCE_TEMPERATURE } from './cell-limits.js';

/** How far the voltage of a bank moves with its current beyond its resistance; plain SI numbers. */
export interface Polarisation {
  /** Ohm at a state of charge while it takes, above the knee, and while it gives. */
  readonly charge: (soc: number) => number;
  readonly discharge: (soc: number) => number;
  /** V that a charge needs beyond that, once more than the knee (A) flows. */
  readonly offset: number;
  readonly knee: number;
  /** V by which all that may be off. */
  readonly band: number;
}

/** Polarisation of a bank of so many cells in series and so many coulombs, at °C; undefined for chemistries without any. */
export function polarisationOf(
  chemistry: string,
  cells: number,
  coulombs: number,
  celsius: number,
): Polarisation | undefined {
  const row = leadVoltage(chemistry);
  if (!row || !(coulombs > 0)) return undefined;
  const hourCurrent = coulombs / 3600;
  const numbers = new Map([
    [LEAD_FACTS.hourCurrent, hourCurrent],
    [LEAD_FACTS.cells, cells],
    [LEAD_FACTS.warmer, celsius - REFERENCE_TEMPERATURE],
    [LEAD_FACTS.dischargeVoltage, row.dischargeVoltage],
    [LEAD_FACTS.chargeVoltage, row.chargeVoltage],
    [LEAD_FACTS.dischargeRoom, row.dischargeRoom],
    [LEAD_FACTS.chargeRoom, row.chargeRoom],
    [LEAD_FACTS.endVoltage, row.endVoltage],
    [LEAD_FACTS.endRoom, row.endRoom],
    [LEAD_FACTS.dischargeCooling, row.dischargeCooling],
    [LEAD_FACTS.chargeCooling, row.chargeCooling],
  ]);
  const of: NumberOf = (leaf) => numbers.get(leaf) ?? NaN;
  const free = new Map([[LEAD_FACTS.soc, 0]]);
  const slots = new Float64Array(1);
  const [charge, discharge] = [CHARGE_POLARISATION, DISCHARGE_POLARISATION].map((term) => {
    const run = compile(term, of, free);
    return (soc: number): number => {
      slots[0] = soc;
      return run(slots);
    };
  }) as [(soc: number) => number, (soc: number) => number];
  return { charge, discharge, offset: row.chargeOffset * cells, knee: row.knee * hourCurrent, band: row.band * cells };
}

/** Sets what lies between a bank and its bus at a state of charge. */
export function setResistances(
  bus: Bus,
  place: number,
  {
    resistance,
    leads,
    polarisation,
  }: { readonly resistance: number; readonly leads: number; readonly polarisation?: Polarisation },
  soc: number,
): void {
  const own = resistance + leads;
  bus.resistance[place] = own + (polarisation ? polarisation.charge(soc) : 0);
  if (!polarisation) return;
  bus.resistanceOut[place] = own + polarisation.discharge(soc);
  bus.offset[place] = polarisation.offset;
  bus.knee[place] = polarisation.knee;
}
