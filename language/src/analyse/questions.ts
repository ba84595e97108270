import { withoutDesign } from './subjects.js';
import type { Place } from '../derivation/index.js';
import type { FindingKey, OpenQuestion } from './types.js';

/** Who can answer a question: the data sheet or nameplate, a tape measure or a look on site, or who uses the system. */
export type Whom = 'nameplate' | 'site' | 'customer';

/** One fact that lacks, however many checks and variants ask for it; `P` says where. */
export interface OpenFact<P = Place> {
  readonly fact: string;
  readonly whom: Whom;
  /** Where it is asked for first. */
  readonly place: P;
  /** What it holds up. */
  readonly unlocks: readonly FindingKey[];
  /** How many of them lack nothing else. */
  readonly alone: number;
}

/** Properties that are measured or looked at where a system stands. */
const ON_SITE: ReadonlySet<string> = new Set([
  'length',
  'distance',
  'enclosure',
  'place',
  'raceway',
  'tilt',
  'azimuth',
  'clearness',
  'hubHeight',
  'windSpeed',
  'ambient',
  'altitude',
  'latitude',
  'longitude',
  'method',
  'conductors',
  'circuits',
  'enclosed',
  'type',
  'terminals',
  'terminalKind',
  'torque',
  'stud',
  'lugHole',
  'size',
  'earth',
  'location',
  'opening',
  'airFlow',
  'cellTemperature',
  'neutralBond',
  'head',
  'flow',
  'terminators',
  'cable',
  'line',
]);

/** Properties that only those who use a system know. */
const OF_USE: ReadonlySet<string> = new Set([
  'profile',
  'duty',
  'autonomy',
  'plannedRun',
  'refillInterval',
  'count',
  'legs',
  'onTime',
]);

function whomFor(fact: string): Whom {
  const [property = ''] = fact.split(/[ ,]/);
  // What a scenario begins with is for those who ask: `soc(Bank) of Week`.
  if (property.includes('(')) return 'customer';
  return OF_USE.has(property) ? 'customer' : ON_SITE.has(property) ? 'site' : 'nameplate';
}

/** Open questions by fact, those first that unlock most by themselves. */
export function openFacts<P = Place>(
  questions: readonly (Omit<OpenQuestion, 'place'> & { readonly place: P })[],
): OpenFact<P>[] {
  const facts = new Map<string, { place: P; unlocks: Map<string, FindingKey>; alone: Set<string> }>();
  for (const { check, subject, place, missing, isRefused } of questions) {
    if (isRefused) continue;
    for (const fact of missing) {
      const entry = facts.get(fact) ?? { place, unlocks: new Map(), alone: new Set() };
      const key = `${check} ${withoutDesign(subject)}`;
      entry.unlocks.set(key, entry.unlocks.get(key) ?? { check, subject });
      if (missing.length === 1) entry.alone.add(key);
      facts.set(fact, entry);
    }
  }
  return [...facts]
    .map(([fact, { place, unlocks, alone }]) => ({
      fact,
      whom: whomFor(fact),
      place,
      unlocks: [...unlocks.values()],
      alone: alone.size,
    }))
    .sort((left, right) => right.alone - left.alone || right.unlocks.length - left.unlocks.length);
}
