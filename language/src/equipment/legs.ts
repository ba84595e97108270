/** Legs and phases by name, with what they mean. */
export const LEGS = { L1: 'first leg or phase', L2: 'second leg or phase', L3: 'third phase' };
