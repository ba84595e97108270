/**
 * The stages of a charger, whatever its kind: bulk (it gives what it can), absorption (it holds `absorb`), float (it holds `float`), and
 * back. Absorption ends when the current has stayed at or below the tail for the tail time, or when the voltage has been held without a
 * break for the absorption time, whichever comes first; it begins again when the voltage has stayed below `rebulk`, and with a new supply.
 * Where the time between two equalisings is over when absorption ends, it holds `equalise` for the equalising time before it floats; what is
 * broken off by the loss of its supply begins again at the next end of absorption.
 */
export interface ChargeStages {
  /** V held first, and afterwards. */
  readonly absorb: number;
  readonly float: number;
  /** s for which absorption is held at most; infinite where the tail alone ends it. */
  readonly absorbTime: number;
  /** A; not a number where it is the tail that its banks are usually charged to, minus infinity where no current ends it. */
  readonly tailCurrent: number;
  /** s for which the current must stay at or below the tail. */
  readonly tailTime: number;
  /** V below which it absorbs again, and s for which the voltage must stay there; 0 V where it never does. */
  readonly rebulk: number;
  readonly rebulkTime: number;
  /** V held while it equalises, s for which it does, and s between two; infinite where it never does by itself. */
  readonly equalise: number;
  readonly equaliseTime: number;
  readonly equaliseInterval: number;
}

/** Whether a current is one at which absorption may end. `tailOfBanks` (A) holds where the charger states none. */
export const isAtTail = ({ tailCurrent }: ChargeStages, amperes: number, tailOfBanks: number): boolean =>
  amperes <= (Number.isNaN(tailCurrent) ? tailOfBanks : tailCurrent);

/** Whether it has stages at all: what holds one voltage for ever has one. */
export const hasFloat = ({ absorb, float }: ChargeStages): boolean => float < absorb;
