import type * as ast from '../../grammar/generated/ast.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { kindOf } from '../../equipment/index.js';
import type { Control, Instance, Link, Rule, Threshold } from '../types.js';
import { isBareShare } from './conditions.js';
import type { DesignReader } from './design-reader.js';
import { Evaluator } from './evaluate.js';
import { isCondition } from './evaluated.js';
import { insertionAtEnd } from './insertion.js';
import { afterPlace, textOf } from './place.js';
import { STATE_SIGNALS } from './signals.js';
import { nameOf } from './wording.js';

/** Reads controls with their rules and fallbacks. */
export class ControlReader {
  constructor(private readonly design: DesignReader) {}

  control(node: ast.Control): Control | undefined {
    const path = `${this.design.name}.${nameOf(node)}`;
    const members = node.members ?? [];
    const { properties, holes } = this.design.read(
      kindOf('control')!,
      members.filter((member): member is ast.Property => member.$type === 'Property'),
      `control ${nameOf(node)}`,
      path,
      this.design.overrides.get(node.name),
    );
    const target = node.target?.ref ? (this.design.things.get(node.target.ref) as Instance | undefined) : undefined;
    if (!target) {
      if (node.target && !node.target.ref)
        this.design.report(
          node,
          {
            code: 'unknown-name',
            name: node.target.$refText,
            wanted: 'thing of this design',
            candidates: [...this.design.instances.keys()],
          },
          path,
          this.design.file.placeOf(node, 'target'),
        );
      return undefined;
    }
    const fallbacks = members.flatMap((member) => {
      if (member.$type !== 'Fallback') return [];
      const link = member.link?.ref ? (this.design.things.get(member.link.ref) as Link | undefined) : undefined;
      if (!link) {
        const links = this.design.members.flatMap((each) => (each.$type === 'Link' ? [each.name] : []));
        if (member.link && !member.link.ref)
          this.design.report(
            member,
            { code: 'unknown-name', name: member.link.$refText, wanted: 'link of this design', candidates: links },
            path,
            this.design.file.placeOf(member, 'link'),
          );
        return [];
      }
      const rules = (member.members ?? []).flatMap((each) =>
        each.$type === 'Rule' ? (this.rule(each, path) ?? []) : [],
      );
      const stated = this.design.file.statements.properties(
        kindOf('control')!,
        (member.members ?? []).filter((each): each is ast.Property => each.$type === 'Property'),
        `control ${nameOf(node)} without ${link.name}`,
        this.design.names.conditionsAround(path),
        undefined,
        path,
      );
      holes.push(...stated.holes);
      return [{ link, rules, properties: stated.properties, place: this.design.file.place(member) }];
    });
    const doc = this.design.file.comment(node);
    const control: Control = {
      kind: 'control',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      target,
      rules: members.flatMap((member) => (member.$type === 'Rule' ? (this.rule(member, path) ?? []) : [])),
      fallbacks,
      properties,
      holes,
      place: this.design.file.placeOf(node, 'name'),
      whole: this.design.file.place(node),
      insert: insertionAtEnd(node),
    };
    this.design.know(node, control);
    return control;
  }

  private rule(node: ast.Rule, path: string): Rule | undefined {
    if (!['start', 'stop', 'on', 'off'].includes(node.verb)) {
      this.design.report(
        node,
        {
          code: 'unknown-name',
          name: node.verb ?? '',
          wanted: 'verb of a rule',
          candidates: ['start', 'stop', 'on', 'off'],
        },
        path,
        this.design.file.placeOf(node, 'verb'),
      );
      return undefined;
    }
    if (!node.condition) return undefined;
    const evaluator = new Evaluator({
      ...this.design.around,
      report: (node, facts, at) => this.design.report(node, facts, path, at),
    });
    const condition = evaluator.evaluate(node.condition);
    if (!isCondition(condition))
      this.design.report(
        node.condition,
        {
          code: 'wrong-type',
          what: `what stands after \`when\``,
          expected: 'a condition such as soc(Bank) < 40 %',
          text: textOf(node.condition),
          proposals: [],
        },
        path,
      );
    let dwell = 0;
    if (node.dwell) {
      const value = evaluator.evaluate(node.dwell);
      if (
        value.kind === 'known' &&
        typeof value.derivation.value === 'object' &&
        value.derivation.value.dimension === DIMENSIONS.time
      )
        dwell = value.derivation.value.value;
      else if (value.kind !== 'bad')
        this.design.report(
          node.dwell,
          {
            code: 'wrong-dimension',
            what: 'the time after `for`',
            expected: 'duration (min)',
            found: 'something else',
            text: textOf(node.dwell),
            proposals: [],
          },
          path,
        );
    }
    const thresholds: Threshold[] = [];
    const joined = this.thresholds(node.condition, thresholds);
    const read =
      condition.kind === 'pending'
        ? this.design.names.condition(node.condition, path, 'what stands after `when`')
        : undefined;
    if (condition.kind === 'known' && isCondition(condition))
      this.design.names.condition(node.condition, path, 'what stands after `when`');
    return {
      verb: node.verb as Rule['verb'],
      thresholds,
      joined,
      ...(read?.kind === 'condition' ? { condition: read.condition } : {}),
      ...(read?.kind === 'missing' ? { missing: read.missing } : {}),
      dwell,
      text: textOf(node),
      place: this.design.file.place(node),
      afterCondition: afterPlace(this.design.file.place(node.condition)),
    };
  }

  /** Collects the comparisons of a condition and says how they are joined. */
  private thresholds(node: ast.Expression, into: Threshold[]): Rule['joined'] {
    if (node.$type === 'Group') return this.thresholds(node.inner, into);
    if (node.$type === 'Logic') {
      const left = this.thresholds(node.left, into);
      const right = this.thresholds(node.right, into);
      return [left, right].every((side) => side === 'single' || side === node.operator) ? node.operator : 'other';
    }
    if (node.$type !== 'Arithmetic' || !['<', '<=', '>', '>='].includes(node.operator)) return 'other';
    const flipped = node.left?.$type !== 'Call';
    const call = flipped ? node.right : node.left;
    const limitNode = flipped ? node.left : node.right;
    const argument = call?.$type === 'Call' ? call.arguments?.[0]?.value : undefined;
    const target = argument?.$type === 'Path' ? argument.root?.ref : undefined;
    const of = target ? (this.design.things.get(target) as Instance | undefined) : undefined;
    if (call?.$type !== 'Call' || !STATE_SIGNALS.has(call.function) || !of || !limitNode) return 'other';
    const limit = new Evaluator(this.design.around).evaluate(limitNode);
    if (limit.kind !== 'known' || typeof limit.derivation.value !== 'object') return 'other';
    if (
      call.function === 'soc' &&
      isBareShare(limitNode, limit.derivation.value, (at, facts) => this.design.report(at, facts))
    )
      return 'other';
    const flip = { '<': '>', '<=': '>=', '>': '<', '>=': '<=' } as const;
    const comparison = node.operator as Threshold['comparison'];
    into.push({
      signal: call.function,
      of,
      comparison: flipped ? flip[comparison] : comparison,
      limit: limit.derivation.value,
      place: this.design.file.place(node),
      limitPlace: this.design.file.place(limitNode),
    });
    return 'single';
  }
}
