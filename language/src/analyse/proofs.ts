import type { DesignContext } from '../model/context.js';
import { type Proof, isProvable, proving } from '../proof/index.js';
import { contentOf } from './content.js';
import { type ScenarioCache, finitely } from './scenarios.js';
import { asStated } from './stated.js';

/** The rules of a design that are to be proven by playing them. */
export interface ProofTask {
  readonly context: DesignContext;
}

export const proofTask = (context: DesignContext): ProofTask | undefined =>
  isProvable(context) ? { context } : undefined;

/** The proof as far as it is known without playing. */
export const keptProof = ({ context: { system } }: ProofTask, cache: ScenarioCache): Proof | undefined =>
  cache.proofs.get(contentOf(system));

/** Proves the rules, or takes what is known. Yields the share that is done. */
export function* provingRules({ context }: ProofTask, cache: ScenarioCache | undefined): Generator<number, Proof> {
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
