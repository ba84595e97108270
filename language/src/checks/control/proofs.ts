import type { DesignContext } from '../../model/context.js';
import type { Control, Rule } from '../../model/types.js';
import type { Proof, ProofFault, RuleAt, ShownKind } from '../../proof/index.js';
import { type Failed, type NotChecked, type Verdict, NO_LIMIT } from '../define.js';
import { passed } from '../verdicts.js';
import { type RuleSet, ruleSets } from './rules.js';

/** A fault that playing the rules showed, with the control and the rules it is about. */
export interface ProvenFault {
  readonly fault: ProofFault;
  readonly control: Control;
  readonly set: RuleSet;
}

/** The faults of some kinds that a proof shows. */
export function* provenFaults(
  context: DesignContext,
  proof: Proof,
  kinds: readonly ShownKind[],
): Generator<ProvenFault> {
  if (proof.kind !== 'proven') return;
  for (const fault of proof.faults) {
    if (!kinds.includes(fault.kind)) continue;
    const control = context.system.controls.find(({ name }) => name === fault.control);
    const set = control && ruleSets(control)[fault.set];
    if (control && set) yield { fault, control, set };
  }
}

/** A rule by where it stands. */
export const ruleNamed = (context: DesignContext, at: RuleAt | undefined): Rule | undefined => {
  const control = context.system.controls.find(({ name }) => name === at?.control);
  return control && at && ruleSets(control)[at.set]?.rules[at.rule];
};

/** What of a finding its proof gives: the steps of the week that was played, and the curve. */
export const shownByProof = ({ trace, curve }: ProofFault): Pick<Failed, 'trace' | 'curve'> => ({
  trace: trace.map(({ event, state }) => ({ event, state })),
  ...(curve ? { curve } : {}),
});

/** The controls without a fault of a check’s kinds, where there is a proof. */
export function* acquitted(context: DesignContext, proof: Proof, faulty: ReadonlySet<string>): Generator<Verdict> {
  if (proof.kind !== 'proven') return;
  for (const control of context.system.controls) if (!faulty.has(control.path)) yield passed(control, NO_LIMIT);
}

/** What stands in the way of a proof, at each control. */
export function* unproven(context: DesignContext, proof: Proof): Generator<NotChecked> {
  if (proof.kind === 'proven') return;
  for (const control of context.system.controls)
    yield {
      verdict: 'not-checked',
      subject: control.path,
      place: control.place,
      missing: proof.kind === 'missing' ? proof.missing : [proof.reason],
      ...(proof.kind === 'refused' ? { isRefused: true } : {}),
    };
}
