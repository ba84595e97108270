import { type Analysis, type PlayedScenario, textFault } from '@wattwright/language';

/** What came of a text with errors would be of another design than is meant. */
const FAULTY = { kind: 'refused', reason: 'its text has errors' } as const;

/** The plays of an analysis; refused where the text of their design has errors, since what is left of it is another design than is meant. */
export function trustedPlays(analysis: Analysis): PlayedScenario[] {
  const faulty = new Set(analysis.designs.flatMap(({ system }) => (textFault(analysis, system) ? [system.name] : [])));
  return analysis.scenarios.map((play) => (faulty.has(play.design) ? { ...play, played: FAULTY } : play));
}
