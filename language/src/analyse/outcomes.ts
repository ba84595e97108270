import { type Derivation, deriveQuantity } from '../derivation/index.js';
import { dimensionName, formatQuantity } from '../quantity/index.js';
import type { DesignValues, LoweredDesign } from '../model/lower/lower.js';
import { placeOfNode } from '../model/lower/place.js';
import type { Problem } from '../model/problems.js';
import type { StatedOutcome } from '../model/types.js';
import { NOT_PLAYED } from './requirements.js';

/** What really came of the time of a scenario beside what playing it gives. It tells how near the model is and is no finding. */
export interface OutcomeResult {
  readonly design: string;
  readonly outcome: StatedOutcome;
  readonly measured: Derivation;
  /** What playing gives; over several runs its lowest and highest. */
  readonly simulated?: Derivation;
  /** How far what was simulated lies off what was measured, as share of the latter; absent where that is zero. */
  readonly error?: number;
  readonly undecided?: string;
  readonly isWaiting?: true;
}

/** Holds one stated outcome of a scenario against what playing it gives; what is wrong with its text goes to `reported`. */
export function judgeOutcome(
  design: LoweredDesign,
  outcome: StatedOutcome,
  values: DesignValues,
  reported: Problem[],
): OutcomeResult {
  const { name } = design.system;
  const measured = deriveQuantity(`measured ${outcome.text}`, outcome.value, {
    origin: 'stated',
    place: outcome.place,
  });
  const common = { design: name, outcome, measured };
  const node = design.conditionOf(outcome);
  if (!node) return { ...common, undecided: 'nothing stands here' };
  const before = reported.length;
  const value = design.evaluate(node, values, (at, facts, place) => {
    const own = at.$cstNode ? placeOfNode(at, outcome.place.uri) : outcome.place;
    reported.push({ ...facts, place: place ?? own, subject: name });
  });
  const dimension =
    value.kind === 'pending'
      ? value.dimension
      : value.kind === 'known' && typeof value.derivation.value === 'object'
        ? value.derivation.value.dimension
        : undefined;
  if (reported.length === before && dimension !== outcome.value.dimension && value.kind !== 'bad')
    reported.push({
      code: 'wrong-type',
      what: `a reading of ${outcome.text}`,
      expected:
        dimension === undefined || dimension === 'condition' ? 'a number of the whole time' : dimensionName(dimension),
      text: formatQuantity(outcome.value),
      proposals: [],
      place: outcome.place,
      subject: name,
    });
  if (reported.length > before) return { ...common, undecided: 'its text is faulty' };
  if (value.kind === 'pending')
    return value.missing.includes(NOT_PLAYED)
      ? { ...common, undecided: 'its scenario has not been simulated', isWaiting: true }
      : { ...common, undecided: `missing ${value.missing.join(', ')}` };
  if (value.kind === 'bad') return { ...common, undecided: value.reason };
  if (value.kind !== 'known' || typeof value.derivation.value !== 'object')
    return { ...common, undecided: 'it is no quantity' };
  const off = value.derivation.value.value - outcome.value.value;
  return {
    ...common,
    simulated: value.derivation,
    ...(outcome.value.value === 0 ? {} : { error: off / outcome.value.value }),
  };
}
