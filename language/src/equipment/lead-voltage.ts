/**
 * How far the voltage of a lead-acid bank lies off its rest while a current flows: Shepherd's form, in which a polarisation grows with the
 * current and with what is already taken out (discharge) or put in (charge). Written once; plays, closed forms and rules read it.
 *
 * Shepherd, Journal of the Electrochemical Society 112 (1965) 657-664: U = E − K·Q/(Q − it)·i − N·i. `K` and `Q` are fitted to published
 * curves (see reference/energy/lead-voltage.json); N is the resistance that the bank states. With temperature it goes as in Copetti,
 * Lorenzo and Chenlo, Progress in Photovoltaics 1 (1993) 283-292.
 */
import { constant, leaf, type Named, type Term } from './formula/index.js';

export const LEAD_FACTS = {
  /** State of charge, 0 to 1. */
  soc: leaf('soc', 'ratio', 's'),
  /** Current that would empty the rated capacity in an hour. */
  hourCurrent: leaf('hourCurrent', 'current', 'I_1'),
  cells: leaf('cells', 'ratio', 'n_c'),
  /** Temperature of the cells above 25 °C. */
  warmer: leaf('warmer', 'temperatureDifference', 'ΔT'),
  /** Of one cell, at that current and full (discharge) or empty (charge). */
  dischargeVoltage: leaf('dischargeVoltage', 'voltage', 'K_d'),
  chargeVoltage: leaf('chargeVoltage', 'voltage', 'K_c'),
  /** Charge, over the rated capacity, at which the polarisation would be without end. */
  dischargeRoom: leaf('dischargeRoom', 'ratio', 'q_d'),
  chargeRoom: leaf('chargeRoom', 'ratio', 'q_c'),
  /** The same of a cell that is all but empty, whose voltage collapses. */
  endVoltage: leaf('endVoltage', 'voltage', 'K_e'),
  endRoom: leaf('endRoom', 'ratio', 'q_e'),
  /** Share by which it falls for each K. */
  dischargeCooling: leaf('dischargeCooling', 'ratio', 'a_d'),
  chargeCooling: leaf('chargeCooling', 'ratio', 'a_c'),
} as const;

const { soc, hourCurrent, cells, warmer, dischargeVoltage, chargeVoltage } = LEAD_FACTS;
const { endVoltage, endRoom } = LEAD_FACTS;
const { dischargeRoom, chargeRoom, dischargeCooling, chargeCooling } = LEAD_FACTS;
const ONE = constant(1);
/** Below this share warmth takes nothing more away: the published term is of cells up to some 45 °C. */
const LEAST = constant(0.3);

const byTemperature = (cooling: Term): Term =>
  ONE.minus(cooling.times(warmer.over(constant(1, 'temperatureDifference', '(1 K)')))).atLeast(LEAST);

/** Ohm of polarisation of the whole bank while it gives. */
export const DISCHARGE_POLARISATION: Named = cells
  .times(
    dischargeVoltage
      .times(dischargeRoom.over(dischargeRoom.minus(ONE).plus(soc)))
      .plus(endVoltage.times(endRoom.over(endRoom.plus(soc)))),
  )
  .over(hourCurrent)
  .times(byTemperature(dischargeCooling))
  .named('polarisation on discharge', 'R_pol', 'ohm');

/** Ohm of polarisation of the whole bank while it takes, above the knee. */
export const CHARGE_POLARISATION: Named = cells
  .times(chargeVoltage)
  .over(hourCurrent)
  .times(chargeRoom.over(chargeRoom.minus(soc)))
  .times(byTemperature(chargeCooling))
  .named('polarisation on charge', 'R_pol', 'ohm');
