import { AstUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import { isHole } from '../../grammar/generated/ast.js';
import type { Accept, Reading, Requirement, Scenario, StatedOutcome } from '../types.js';
import { readWeek } from './scenario.js';
import type { Quantity } from '../../quantity/index.js';
import type { DesignReader } from './design-reader.js';
import { Evaluator } from './evaluate.js';
import { textOf } from './place.js';
import { STATE_SIGNALS } from './signals.js';
import { isExpressionNode } from './values.js';

/** Reads what a design asks for, accepts and has measured: requirements, waivers and readings. */
export class RecordReader {
  constructor(private readonly design: DesignReader) {}

  /** Weeks that requirements ask for, by name. */
  readonly weeks = new Map<string, Scenario>();

  requirement(
    node: ast.Require,
    conditions: Map<Requirement | StatedOutcome, ast.Expression>,
    scenario?: ast.Scenario,
  ): Requirement {
    if (scenario && node.during)
      this.design.report(
        node.during,
        {
          code: 'wrong-type',
          what: 'a requirement of a scenario',
          expected: 'no `during`: it holds over the time of its scenario',
          text: textOf(node.during),
          proposals: [],
        },
        this.design.name,
      );
    const during = scenario ? undefined : this.week(node);
    const requirement: Requirement = {
      ...(scenario || during ? { scenario: (scenario ?? during)!.name } : {}),
      text: textOf(node.condition),
      ...(node.reason ? { reason: node.reason } : {}),
      ...(node.until ? { until: node.until } : {}),
      place: node.condition ? this.design.file.place(node.condition) : this.design.file.place(node),
      whole: this.design.file.place(node),
    };
    if (node.condition) conditions.set(requirement, node.condition);
    return requirement;
  }

  /** The week that a requirement of the design asks for; a scenario has a time of its own. */
  private week(node: ast.Require): Scenario | undefined {
    const week = node.during && readWeek(this.design, node.during);
    if (!week) return undefined;
    const known = this.weeks.get(week.name);
    if (!known) this.weeks.set(week.name, week);
    return known ?? week;
  }

  accept(node: ast.Accept): Accept {
    const subject = node.subject ? textOf(node.subject) : undefined;
    const root = node.subject?.root;
    if (root && !root.ref && root.$refText !== 'site')
      this.design.report(
        node,
        {
          code: 'unknown-name',
          name: root.$refText,
          wanted: 'thing of this design',
          candidates: [...this.design.around.names(), 'site'],
        },
        this.design.name,
        this.design.file.placeOf(node.subject!, 'root'),
      );
    return {
      check: node.check ?? '',
      ...(subject ? { subject } : {}),
      ...(node.reason ? { reason: node.reason } : {}),
      ...(node.until ? { until: node.until } : {}),
      place: this.design.file.place(node),
      checkPlace: this.design.file.placeOf(node, 'check'),
    };
  }

  reading(node: ast.Reading): Reading | undefined {
    const value = this.measuredValue(node.value);
    if (!node.subject || !value) return undefined;
    if (!node.subject.root?.ref)
      this.design.report(
        node.subject,
        {
          code: 'unknown-name',
          name: node.subject.root?.$refText ?? '',
          wanted: 'thing of this design',
          candidates: [...this.design.instances.keys()],
        },
        this.design.name,
        this.design.file.placeOf(node.subject, 'root'),
      );
    else this.checkReading(node.subject);
    const steps = node.subject.steps ?? [];
    const terminal = steps.length > 1 ? steps.slice(0, -1).join('.') : undefined;
    return {
      subject: textOf(node.subject),
      of: node.subject.root?.$refText ?? '',
      ...(terminal ? { terminal } : {}),
      what: steps.at(-1) ?? '',
      value,
      ...(node.date ? { date: node.date } : {}),
      ...(node.note ? { note: node.note } : {}),
      place: this.design.file.place(node),
    };
  }

  /** What really came of the time that a scenario plays. */
  outcome(
    node: ast.Outcome,
    conditions: Map<Requirement | StatedOutcome, ast.Expression>,
    scenario: ast.Scenario,
  ): StatedOutcome | undefined {
    const value = this.measuredValue(node.value);
    if (!node.measure || !value) return undefined;
    const outcome: StatedOutcome = {
      scenario: scenario.name,
      text: textOf(node.measure),
      value,
      ...(node.date ? { date: node.date } : {}),
      ...(node.note ? { note: node.note } : {}),
      place: this.design.file.place(node),
    };
    conditions.set(outcome, node.measure);
    return outcome;
  }

  /** The quantity that was measured; what is none is reported. */
  private measuredValue(node: ast.Value | undefined): Quantity | undefined {
    const value = node && isExpressionNode(node) ? new Evaluator(this.design.around).evaluate(node) : undefined;
    if (value?.kind === 'known' && typeof value.derivation.value === 'object') return value.derivation.value;
    if (node && value?.kind !== 'bad')
      this.design.report(node, {
        code: 'wrong-type',
        what: 'a reading',
        expected: 'a quantity',
        text: textOf(node),
        proposals: [],
      });
    return undefined;
  }

  /** A reading is of a property, a computed quantity, or a signal at a thing or terminal: Rect.dc.voltage. */
  private checkReading(subject: ast.Path): void {
    const last = subject.steps?.at(-1);
    if (last !== undefined && !STATE_SIGNALS.has(last)) new Evaluator(this.design.around).evaluate(subject);
  }

  /** Says once of a design how many of its values are left open. */
  openValues(): void {
    if (this.design.variant || !this.design.node.$cstNode?.root.fullText.includes('?')) return;
    const holes = AstUtils.streamAst(this.design.node).filter(isHole).toArray();
    const [first] = holes;
    if (!first) return;
    this.design.report(
      first,
      {
        code: 'not-evaluated',
        what: 'value',
        count: holes.length,
        reason: '`wattwright solve` finds what holds; the design is checked around them',
      },
      this.design.name,
      this.design.file.place(first),
    );
  }
}
