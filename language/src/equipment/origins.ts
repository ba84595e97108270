import type { EnergyFrom } from './capabilities.js';

/** What holds of a source by where its energy comes from. */
export interface Origin {
  /** As the subject of a sentence. */
  readonly title: string;
  /** `whole`: it is there or lost as a whole, and a scenario may lose it. `weather`: it follows the weather of a play. `unknown`: it follows a weather that no play has. */
  readonly comes: 'whole' | 'weather' | 'unknown';
  /**
   * The word by which direct current of it stands in the ids of source states. Wind, vehicles and engines have stood under `sun` from the
   * first version on, and designs may name it.
   */
  readonly state: string;
  /** Whether it is there while an engine runs that does something else as well. */
  readonly withEngine: boolean;
}

/** A new origin does not compile until it has answered. */
export const ORIGINS: Readonly<Record<EnergyFrom, Origin>> = {
  fuel: { title: 'the generator', comes: 'whole', state: 'sun', withEngine: false },
  utility: { title: 'the supply', comes: 'whole', state: 'sun', withEngine: false },
  vehicle: { title: 'the vehicle', comes: 'whole', state: 'sun', withEngine: true },
  sun: { title: 'the sun', comes: 'weather', state: 'sun', withEngine: false },
  wind: { title: 'the wind', comes: 'unknown', state: 'sun', withEngine: false },
  water: { title: 'the water', comes: 'whole', state: 'water', withEngine: false },
  engine: { title: 'the engine', comes: 'whole', state: 'sun', withEngine: true },
};
