import type { DesignContext } from '../model/context.js';
import { type Proof, isProvable, proving } from '../proof/index.js';
import { contentOf } from './content.js';
import { type ScenarioCache, finitely } from './scenarios.js';
import { asStated } from './stated.js';

/** The rules of a design that are to be proven by playing them. */
export interface ProofTask {
  readonly context: DesignContext;
  /** Whether the text that the rules rest on is wrong somewhere. */
  readonly isFaulty: boolean;
}

/** Rules are not proven on a text that is wrong: what is left of it is another design than is meant. */
const FAULTY: Proof = { kind: 'refused', reason: 'the text of the design has errors', searched: [] };

export const proofTask = (context: DesignContext, isFaulty: boolean): ProofTask | undefined =>
  isProvable(context) ? { context, isFaulty } : undefined;

/** The proof as far as it is known without playing. */
export const keptProof = ({ context: { system }, isFaulty }: ProofTask, cache: ScenarioCache): Proof | undefined =>
  isFaulty ? FAULTY : cache.proofs.get(contentOf(system));

/** Proves the rules, or takes what is known. Yields the share that is done. */
export function* provingRules(
  { context, isFaulty }: ProofTask,
  cache: ScenarioCache | undefined,
): Generator<number, Proof> {
  if (isFaulty) return FAULTY;
  const content = cache && contentOf(context.system);
  const kept = content === undefined ? undefined : cache?.proofs.get(content);
  if (kept) return kept;
  yield 0;
  const outcome = yield* finitely<Proof>(proving(context), (why) => ({ ...why, searched: [] }));
  const proof =
    outcome.kind === 'missing' ? { ...outcome, missing: asStated(context.system, [...outcome.missing]) } : outcome;
  if (content !== undefined) cache?.proofs.keep(content, proof);
  return proof;
}
