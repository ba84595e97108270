/** Limits that the management of a bank (BMS) sends over its link. Chargers and inverters that hear them keep to them. */

/** A by state of charge, ascending: straight between the rows, held beyond them. */
export interface SentBySoc {
  readonly soc: Float64Array;
  readonly amperes: Float64Array;
}

/** A and below which a limit says no: limits are sent in steps of 0.1 A (common practice, no source). */
export const LEAST_SENT = 0.1;

/** The limit at a state of charge; infinite where none is sent. */
export function sentAt(sent: SentBySoc | undefined, soc: number): number {
  if (!sent) return Infinity;
  const last = sent.soc.length - 1;
  if (soc <= sent.soc[0]!) return sent.amperes[0]!;
  if (soc >= sent.soc[last]!) return sent.amperes[last]!;
  return sent.amperes[stretchOf(sent, soc)]! + slopeAt(sent, soc) * (soc - sent.soc[stretchOf(sent, soc)]!);
}

/** Its change with the state of charge, A; 0 beyond the rows. */
export function slopeAt({ soc: rows, amperes }: SentBySoc, soc: number): number {
  if (soc <= rows[0]! || soc >= rows.at(-1)!) return 0;
  const at = stretchOf({ soc: rows, amperes }, soc);
  return (amperes[at + 1]! - amperes[at]!) / (rows[at + 1]! - rows[at]!);
}

function stretchOf({ soc: rows }: SentBySoc, soc: number): number {
  let at = 0;
  while (at < rows.length - 2 && soc > rows[at + 1]!) at += 1;
  return at;
}

/** What a bank sends, as far as its numbers say. */
export interface Sending {
  /** A by data sheet and temperature; infinite where none is known. */
  readonly chargeLimit: number;
  readonly dischargeLimit: number;
  readonly chargeBySoc?: SentBySoc;
  readonly dischargeBySoc?: SentBySoc;
}

/** A into the bank that chargers which hear it keep to. */
export const chargeSent = (bank: Sending, soc: number): number =>
  bank.chargeBySoc ? Math.min(bank.chargeLimit, sentAt(bank.chargeBySoc, soc)) : bank.chargeLimit;

/** A out of the bank beyond which inverters that hear it stop. */
export const dischargeSent = (bank: Sending, soc: number): number =>
  bank.dischargeBySoc ? Math.min(bank.dischargeLimit, sentAt(bank.dischargeBySoc, soc)) : bank.dischargeLimit;
