/** A rule that is cited: the standard and its clause, and what it says in a few words. Rules without a standard are practice. */
export interface Clause {
  readonly standard?: string;
  readonly clause?: string;
  readonly what?: string;
  /** What it says stands behind a comma: it limits when the clause counts. */
  readonly isAside?: true;
  /** The source of the value that rests on it names the standard already. */
  readonly isStandardKnown?: true;
}

/** Every rule that can decide a value. */
export const CLAUSES = {
  severalReceptacles: { standard: 'NEC', clause: '240.4(B)(1)', what: 'several receptacles, not above the ampacity' },
  standardRating: { what: 'the ampacity is a standard rating' },
  nextRatingAbove: { standard: 'NEC', clause: '240.4(B)', what: 'next standard rating above the ampacity' },
  notAboveAmpacity: { standard: 'NEC', clause: '240.4(C)', what: 'above 800 A not above the ampacity' },
  overload: { standard: 'IEC 60364-4-43', clause: '433.1', what: 'In ≤ Iz and I2 ≤ 1.45 Iz' },
  ratedCurrent: { standard: 'IEC 60364-4-43', clause: '433.1', what: 'In ≤ Iz' },
  craftNextRating: { what: 'next standard rating, within 150 % of the ampacity' },
  craftNotAbove: { what: 'not above the ampacity' },
  smallConductor: { standard: 'NEC', clause: '240.4(D)' },
  smallConductors: { standard: 'NEC', clause: '240.4(D)', what: 'small conductors', isAside: true },
  cordCircuit: {
    standard: 'NEC',
    clause: '240.5(B)(4)',
    what: 'cords from 16 AWG on circuits of 20 A',
    isAside: true,
  },
  motorDevice: { standard: 'NEC', clause: '430.52', what: 'short-circuit device of a motor, overload apart' },
  motorFeeder: { standard: 'NEC', clause: '430.62', what: 'largest motor device and the other motors' },
  dwelling: { standard: 'NEC', clause: '310.12', what: '83 % of the device of a dwelling' },
  coldFactor: { standard: 'NEC', clause: 'Table 690.7(A)', what: 'no coefficient given', isAside: true },
  earthNotLarger: {
    standard: 'NEC',
    clause: '250.122(A)',
    what: 'never larger than the circuit conductors',
    isStandardKnown: true,
  },
  earthRaised: { standard: 'NEC', clause: '250.122(B)', what: 'raised with the phases', isStandardKnown: true },
} as const satisfies Record<string, Clause>;

export type ClauseName = keyof typeof CLAUSES;

/** A rule as it is cited: `NEC 240.4(B): next standard rating above the ampacity`. */
export function clauseText(name: ClauseName): string {
  const { standard, clause, what, isAside, isStandardKnown }: Clause = CLAUSES[name];
  const cited = [isStandardKnown ? undefined : standard, clause].filter((part) => part !== undefined).join(' ');
  return [cited, what ?? ''].filter(Boolean).join(isAside ? ', ' : ': ');
}
