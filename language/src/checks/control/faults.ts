import {
  analysedWith,
  type CompiledRule,
  type Fault,
  type FaultKind,
  type TargetAnalysis,
} from '../../control/index.js';
import type { Proof } from '../../proof/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control } from '../../model/types.js';
import type { Failed, NotChecked, RelatedPlace } from '../define.js';
import type { RuleSet } from './rules.js';

/** A fault that the search found, with the control, rules and set it is about. */
export interface FoundFault<Kind extends FaultKind = FaultKind> {
  readonly fault: Extract<Fault, { kind: Kind }>;
  readonly control: Control;
  readonly set: RuleSet;
  readonly analysis: TargetAnalysis;
  readonly rule: (index: number) => CompiledRule;
}

/** The faults of some kinds that the search found in the rules of a design. */
export function* faultsOf<Kind extends FaultKind>(
  context: DesignContext,
  { searched }: Proof,
  kinds: readonly Kind[],
): Generator<FoundFault<Kind>> {
  for (const analysis of analysedWith(context, searched))
    for (const fault of analysis.faults) {
      if (!(kinds as readonly string[]).includes(fault.kind)) continue;
      const compiled = analysis.target.controls[fault.control]!;
      const { control } = compiled;
      const { fallback, rules } = compiled.sets[fault.set]!;
      yield {
        fault: fault as Extract<Fault, { kind: Kind }>,
        control,
        set: {
          control,
          title: fallback ? `${control.name} without ${fallback.link.name}` : control.name,
          rules: rules.map(({ rule }) => rule),
        },
        analysis,
        rule: (index) => analysis.machine.compiled.rules[index]!,
      };
    }
}

interface Shown {
  readonly fault: Pick<Fault, 'trace'>;
  readonly rule: FoundFault['rule'];
}

/** What of a finding its trace gives: the steps themselves, and the rules that come to hold in them. */
export function shownBy({ fault: { trace }, rule }: Shown): Pick<Failed, 'trace' | 'related'> {
  const related: RelatedPlace[] = [];
  trace.forEach(({ event, rules }, step) => {
    for (const index of rules)
      if (!trace[step - 1]?.rules.includes(index))
        related.push({ place: rule(index).rule.place, text: `holds in step ${step + 1}: ${event}` });
  });
  return { trace: trace.map(({ event, state }) => ({ event, state })), related };
}

/** The controls about which nothing can be said: facts lack for a rule, or there is too much to search. */
export function* unsettled(
  context: DesignContext,
  { searched }: Proof,
  kinds: readonly FaultKind[],
): Generator<NotChecked> {
  for (const { target, machine, open, refused } of analysedWith(context, searched)) {
    const not = (control: Control, missing: readonly string[], isRefused = false): NotChecked => ({
      verdict: 'not-checked',
      subject: control.path,
      place: control.place,
      missing,
      ...(isRefused ? { isRefused } : {}),
    });
    for (const { control, facts } of machine.compiled.missing) yield not(control, facts);
    if (refused) yield not(target.controls[0]!.control, [refused], true);
    for (const each of open)
      if (kinds.includes(each.kind)) yield not(target.controls[each.control]!.control, each.missing);
  }
}

/** The controls that were searched and left nothing open, by path: those without a fault have passed. */
export function settledControls(context: DesignContext, { searched }: Proof): Control[] {
  return analysedWith(context, searched).flatMap(({ target, machine, refused }) =>
    refused || machine.compiled.missing.length > 0 || machine.compiled.rules.some(({ test }) => !test)
      ? []
      : target.controls.map(({ control }) => control),
  );
}
