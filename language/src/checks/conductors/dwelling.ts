/** Services and feeders that supply the entire load of a dwelling (NEC 310.12, before 2020 310.15(B)(7)). */
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { flagIn } from '../../model/stated-facts.js';
import type { AcSystem, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { ruleValue, standardRatings } from '../../reference/index.js';

/** V: the highest a line of 120 V has against the neutral, in any of its names. */
const LINE_OF_DWELLINGS = 127;

/** Whether what feeds a run is 120/240 V, or two lines and the neutral of 120/208 V. */
function isOfDwellings(run: Run, context: DesignContext): boolean {
  const legs = run.properties.get('legs')?.value;
  const isOfTwoLines = legs?.type === 'words' && legs.words.length === 2;
  const suits = ({ phases, lineToNeutral }: AcSystem): boolean =>
    lineToNeutral <= LINE_OF_DWELLINGS && (phases === 'split' || (phases === 'three' && isOfTwoLines));
  const systems = context.circuitStates
    .flatMap(({ circuit }) => acFlow(run, circuit, context)?.sources ?? [])
    .map((source) => systemOf(source));
  return systems.length > 0 && systems.every((system) => system !== undefined && suits(system));
}

/** Whether 310.12 speaks of conductors like those of a run, whether or not it is said to be of a dwelling. */
export const mayBeOfDwelling = (run: Run, context: DesignContext): boolean =>
  context.system.basis.practice === 'nec' && run.carries === 'ac' && isOfDwellings(run, context);

/** The largest rating of which an ampacity is 83 %, whatever the run is said to be. */
export function dwellingRating(ampacity: Derivation): Derivation | undefined {
  const [share, least, most] = (['dwellingShare', 'dwellingLeast', 'dwellingMost'] as const).map((rule) =>
    ruleValue('nec', rule),
  ) as [Derivation, Derivation, Derivation];
  const amperes = numberIn(ampacity, 'A') * (1 + 1e-9);
  const rating = standardRatings('nec').findLast(
    (each) => each >= numberIn(least, 'A') && each <= numberIn(most, 'A') && numberIn(share, '') * each <= amperes,
  );
  return rating === undefined
    ? undefined
    : derive('largest device of a dwelling', rating, 'A', {
        formula: 'largest I_n with 83 %·I_n ≤ I_z',
        inputs: [share, { ...ampacity, symbol: 'I_z' }],
        ...(share.source ? { source: share.source } : {}),
        governing: [{ kind: 'clause', clause: 'dwelling' }],
      });
}

/** The largest device that 310.12 allows conductors that are said to supply the entire load of a dwelling. */
export const ofDwelling = (run: Run, ampacity: Derivation, context: DesignContext): Derivation | undefined =>
  flagIn(run.properties, 'dwelling') === true && mayBeOfDwelling(run, context) ? dwellingRating(ampacity) : undefined;
