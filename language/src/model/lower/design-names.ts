import type { AstNode } from 'langium';
import { AstUtils } from 'langium';
import { findFunction } from '../../calculate/index.js';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { kindOf, propertyOf } from '../../equipment/index.js';
import type { ProblemFacts } from '../problems.js';
import { ConditionReader, type ConditionScope, type ReadCondition } from './conditions.js';
import type { DesignReader } from './design-reader.js';
import { Evaluator, type Surroundings, ownEntry } from './evaluate.js';
import { type Evaluated, knownValue, pending } from './evaluated.js';
import { derivationOfProperty } from './property-facts.js';
import { unresolvedWord } from './file-names.js';
import type { DesignValues, Named } from './lowered.js';
import { MeasureReader } from './measures.js';
import { textOf } from './place.js';
import { CONDITION_WORDS, PLAIN_SIGNALS, SCENARIO_RESULTS, STATE_SIGNALS, typeSignalCall } from './signals.js';

/** What expressions of a design see: its things, their properties and quantities, its `let` values and signals. */
export class DesignNames {
  private values: DesignValues | undefined;
  private evaluationReport: Surroundings['report'] | undefined;
  private measures: MeasureReader | undefined;
  private readonly busy = new Set<AstNode>();
  /** Values of the `let` members: while the text is read, and for each set of computed quantities. */
  private readonly lets = new Map<ast.Let, Evaluated | 'busy'>();
  private readonly letsWith = new WeakMap<DesignValues, Map<ast.Let, Evaluated | 'busy'>>();

  constructor(private readonly design: DesignReader) {}

  around(): Surroundings {
    const { file, node } = this.design;
    return {
      uri: AstUtils.getDocument(node).uri.toString(),
      report: (at, facts, place) => this.tell(at, facts, place),
      lookUp: (path) => this.lookUp(path),
      names: () => [
        ...this.design.members.flatMap((member) =>
          'name' in member && typeof member.name === 'string' && member.$type !== 'Property' ? [member.name] : [],
        ),
        ...file.namesOf(node, 'Let'),
      ],
      callDesign: (call, given) => this.callDesign(call, given),
      designFunctionNames: [
        ...STATE_SIGNALS.keys(),
        ...CONDITION_WORDS.keys(),
        ...SCENARIO_RESULTS.keys(),
        'mean',
        'last',
        'p95',
        ...file.designFunctions,
      ],
    };
  }

  /** Works out an expression with the computed quantities at hand. */
  evaluate(node: ast.Expression, values: DesignValues, report?: Surroundings['report']): Evaluated {
    this.values = values;
    this.evaluationReport = report;
    this.measures =
      values.scenario &&
      new MeasureReader({ ...this.scope(this.design.around.report), isComputed: () => false }, values.scenario);
    try {
      const value = new Evaluator(this.design.around).evaluate(node);
      this.measures?.finish();
      return value;
    } finally {
      this.measures = undefined;
      this.values = undefined;
      this.evaluationReport = undefined;
    }
  }

  /** Forgets the values of the `let` members, so that what was open before is asked again. */
  forget(): void {
    this.lets.clear();
  }

  /** Reports what is wrong with an expression: to whoever asked for its value, else among the faults of the file. */
  private tell(node: AstNode, facts: ProblemFacts, at?: Place): void {
    if (this.evaluationReport) this.evaluationReport(node, facts, at);
    else this.design.report(node, facts, this.design.name, at);
  }

  private lookUp(path: ast.Path): Evaluated | undefined {
    const target = path.root?.ref;
    const steps = path.steps ?? [];
    const signal = target || steps.length > 0 ? undefined : PLAIN_SIGNALS.get(path.root?.$refText ?? '');
    if (signal)
      return this.measures?.word(path) ?? pending(signal, `${path.root.$refText}, which only a scenario gives`);
    if (!target) return undefined;
    if (target.$type === 'Let' || target.$type === 'Part') {
      if (target.$type === 'Let' && steps.length === 0) return this.letIn(target);
      return this.design.file.names.lookUpNamed(path, this.design.around);
    }
    const thing = this.design.things.get(target);
    if (!thing) {
      if (this.design.changes?.removed.has(target)) return { kind: 'bad', reason: `${target.name} is removed` };
      // A thing that is read later in this design, or is faulty.
      const meant = this.design.changes?.replaced.get(target) ?? target;
      if (this.design.isMember(meant) && !this.busy.has(target) && meant.$type === 'Instance') {
        this.busy.add(target);
        this.design.instance(meant);
        this.busy.delete(target);
        return this.design.things.has(target) ? this.lookUp(path) : { kind: 'bad', reason: `${target.name} is faulty` };
      }
      return steps.length === 0
        ? { kind: 'thing', name: target.name, thingKind: target.$type.toLowerCase() }
        : pending(undefined, textOf(path));
    }
    if (steps.length === 0) return { kind: 'thing', name: thing.name, thingKind: thing.kind };
    return this.member(path, thing, steps);
  }

  /** A `let` may speak of computed quantities; it is worked out anew, once, when those are at hand. */
  letIn(node: ast.Let): Evaluated {
    if (!this.design.isMember(node))
      return this.design.file.names.letValue(node, this.design.file.names.fileSurroundings(node));
    let lets = this.values ? this.letsWith.get(this.values) : this.lets;
    if (!lets) this.letsWith.set(this.values!, (lets = new Map()));
    return this.design.file.names.letValue(node, this.design.around, lets);
  }

  private member(path: ast.Path, thing: Named, steps: readonly string[]): Evaluated {
    // A terminal may stand between: Rect.dc.current is the current at that terminal's side.
    const terminals = 'terminals' in thing ? thing.terminals.map((each) => each.name) : [];
    const atTerminal = steps.length > 1 && terminals.includes(steps[0]!);
    const name = atTerminal ? `${steps[0]}.${steps[1]}` : (propertyOf(thing.kind, steps[0]!)?.name ?? steps[0]!);
    const rest = steps.slice(atTerminal ? 2 : 1);
    const property = 'properties' in thing ? thing.properties.get(name) : undefined;
    const stated = property && derivationOfProperty(property, thing.name);
    const value = stated ? knownValue(stated) : this.values?.quantity(thing.name, name);
    if (value) return this.parts(path, value, rest);
    if (propertyOf(thing.kind, name))
      return pending(
        this.dimensionOf(thing.kind, name),
        ...(this.design.unsetFacts.get(`${thing.kind} ${thing.name}.${name}`) ?? [`${name} of ${thing.name}`]),
      );
    const quantities = this.design.file.quantityNames(thing.kind);
    if (quantities.includes(name)) return pending(undefined, `${name} of ${thing.name}`);
    const candidates = [...(kindOf(thing.kind)?.properties.map((each) => each.name) ?? []), ...quantities];
    // At a terminal only what belongs to it can be meant, and the proposal stands for the last step alone.
    const side = `${steps[0]}.`;
    this.tell(
      path,
      {
        code: 'unknown-name',
        name: steps[atTerminal ? 1 : 0]!,
        wanted: atTerminal ? `quantity at ${thing.name}.${steps[0]}` : `property of ${thing.name}`,
        candidates: atTerminal
          ? candidates.flatMap((each) => (each.startsWith(side) ? [each.slice(side.length)] : []))
          : candidates.filter((each) => !each.includes('.')),
      },
      this.design.file.placeOfStep(path, atTerminal ? 1 : 0),
    );
    return { kind: 'bad', reason: `${thing.name} has no ${name}` };
  }

  private dimensionOf(kind: string, name: string) {
    const type = propertyOf(kind, name)?.type;
    return type?.type === 'quantity' && type.dimensions.length === 1 ? DIMENSIONS[type.dimensions[0]!] : undefined;
  }

  private parts(path: ast.Path, value: Evaluated, steps: readonly string[]): Evaluated {
    let at = value;
    for (const [index, step] of steps.entries()) {
      if (at.kind !== 'known') return at;
      const part = ownEntry(at.derivation.parts, step);
      if (!part) {
        this.tell(
          path,
          {
            code: 'unknown-name',
            name: step,
            wanted: `part of ${at.derivation.name}`,
            candidates: Object.keys(at.derivation.parts),
          },
          this.design.file.placeOfStep(path, path.steps.length - steps.length + index),
        );
        return { kind: 'bad', reason: `no part ${step}` };
      }
      at = knownValue(part);
    }
    return at;
  }

  private callDesign(
    call: ast.Call,
    given: readonly { name?: string; value: Evaluated; node: ast.Expression }[],
  ): Evaluated | undefined {
    const name = call.function ?? '';
    const known = this.design.around.designFunctionNames.includes(name);
    const [first] = given;
    const word = first && known ? unresolvedWord(first.node) : undefined;
    // Some results of a scenario are words of their own: p95(unserved).
    if (first && word !== undefined && !PLAIN_SIGNALS.has(word)) {
      const candidates = [...this.design.around.names()];
      this.design.around.report(first.node, {
        code: 'unknown-name',
        name: word,
        wanted: 'thing of this design',
        candidates,
      });
      return { kind: 'bad', reason: `unknown name ${word}` };
    }
    const signal = this.measures?.call(call, given) ?? typeSignalCall(call, given);
    if (signal) return signal;
    if (!known) return undefined;
    if (first?.value.kind !== 'thing') {
      // Some functions of a thing are also functions of plain values: chargeTime(capacity: 100 Ah, …).
      if (findFunction(name)) return undefined;
      if (first?.value.kind === 'bad' || first?.value.kind === 'pending') return first.value;
      const at = first?.node ?? call;
      const what = `the first argument of \`${name}\``;
      const text = textOf(at);
      this.design.around.report(at, {
        code: 'wrong-type',
        what,
        expected: 'a thing of this design',
        text,
        proposals: [],
      });
      return { kind: 'bad', reason: `${name} needs a thing` };
    }
    return this.values?.call(name, given) ?? pending(undefined, `${name}(${first.value.name}, …)`);
  }

  /** What properties of controls see: quiet hours rest on conditions. */
  conditionsAround(path: string): Surroundings {
    return {
      ...this.design.around,
      report: (node, facts, at) => this.design.report(node, facts, path, at),
      readCondition: (node) => this.condition(node, path, 'what stands after `unless`'),
    };
  }

  /** Reads what a rule or quiet hours rest on. The expression has been evaluated, so that its types are right. */
  condition(node: ast.Expression, path: string, what: string): ReadCondition {
    const report: Surroundings['report'] = (at, facts, place) => this.design.report(at, facts, path, place);
    return new ConditionReader(this.scope(report), what).read(node);
  }

  /** What reading conditions and measures needs to know of the design. */
  private scope(report: Surroundings['report']): ConditionScope {
    const evaluator = new Evaluator({ ...this.design.around, report });
    return {
      evaluate: (each) => evaluator.evaluate(each),
      report,
      place: (each) => this.design.file.place(each),
      thing: (each) => (each.root?.ref ? this.design.things.get(each.root.ref) : undefined),
      letOf: (each) => {
        const target = each.root?.ref;
        return target?.$type === 'Let' && this.design.isMember(target) ? target : undefined;
      },
      isComputed: (each) => this.isComputed(each),
    };
  }

  /** Whether a value is worked out from the whole design rather than stated. */
  private isComputed(node: ast.Path | ast.Call): boolean {
    if (node.$type === 'Call') {
      const first = node.arguments?.[0]?.value;
      const target = first?.$type === 'Path' && (first.steps ?? []).length === 0 ? first.root?.ref : undefined;
      return (
        this.design.file.designFunctions.includes(node.function) &&
        target !== undefined &&
        this.design.things.has(target)
      );
    }
    const thing = node.root?.ref && this.design.things.get(node.root.ref);
    const steps = node.steps ?? [];
    if (!thing || steps.length === 0 || propertyOf(thing.kind, steps[0]!)) return false;
    return this.design.file
      .quantityNames(thing.kind)
      .some((name) => name === steps[0] || name === steps.slice(0, 2).join('.'));
  }
}
