/**
 * The cautions that travel with results. They are the trade's usual ones (common practice, no source); local codes and licensed
 * practice come first.
 */
export const CAUTION_SHORT =
  "Results help a qualified person and replace none: local codes, the authority having jurisdiction, the makers' instructions and licensed practice come first.";

/** What can hurt someone around these systems, one line each. */
export const CAUTIONS: readonly string[] = [
  'Stored energy: a bank cannot be switched off. Tools and conductors at its terminals can arc and burn even at 12 V.',
  'Fault current: a bank can drive thousands of amperes into a short circuit. Protection must be rated to interrupt it.',
  'Backfeed: a generator or inverter must never meet a dead supply. Use transfer equipment made for it.',
  'Carbon monoxide: run engines outdoors, away from openings, with alarms where people sleep.',
  'Bonding: exactly one bond of neutral and earth in each source state, and an earth connection as the local code requires.',
  'Charging lithium cells below freezing damages them for good; gassing batteries need ventilation.',
  'Hot surfaces and moving parts: exhausts, engines and resistors burn; generators with remote start can start at any time.',
  'Who may do the work is a matter of local law; much of it belongs to a licensed electrician.',
];
