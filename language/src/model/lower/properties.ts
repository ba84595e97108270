import { type AstNode, GrammarUtils } from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import {
  INSTANCE_KINDS,
  type KindDefinition,
  type PropertyDefinition,
  propertiesMeant,
  propertyOf,
} from '../../equipment/index.js';
import type { Hole, Property } from '../types.js';
import { Evaluator, type Surroundings } from './evaluate.js';
import type { FileReader } from './file-reader.js';
import type { Body } from './lowered.js';
import { textOf } from './place.js';
import { type ValueContext, defaultValue, typeValue, unitsFor } from './values.js';
import { article, joined } from './wording.js';

/** By kind, for all designs: the catalogue never changes while the tool runs, and no design is there yet to keep it. */
const defaults = new WeakMap<KindDefinition, readonly (readonly [string, Property])[]>();

/** What holds of a kind where nothing is stated. */
export function defaultsOf(definition: KindDefinition): readonly (readonly [string, Property])[] {
  let own = defaults.get(definition);
  if (!own) {
    own = definition.properties.flatMap((each) => {
      const { name, default: written } = each;
      const value = defaultValue(each);
      return value && written
        ? [[name, { name, value, origin: 'default', text: written.text, note: written.note }] as const]
        : [];
    });
    defaults.set(definition, own);
  }
  return own;
}

/** Words that begin a member of a design and are no kind of instance. */
const THINGS = new Set([
  'site',
  'run',
  'link',
  'control',
  'scenario',
  'require',
  'accept',
  'reading',
  'let',
  'profile',
  'part',
  'design',
  'variant',
]);

const INSTANCE_WORDS: ReadonlySet<string> = new Set(INSTANCE_KINDS.map(({ kind }) => kind));

/** Whether a value, or any row of a table, is assumed: then the whole of it is. */
const isAssumed = (value: AstNode): boolean =>
  value.$type === 'Assumed' ||
  (value.$type === 'Table' && (value as ast.Table).rows.some((row) => row.value?.$type === 'Assumed'));

/** What a body states. */
export interface StatedProperties {
  readonly properties: Map<string, Property>;
  readonly holes: Hole[];
  /** Properties that rest on facts that lack. */
  readonly unset: readonly { readonly name: string; readonly missing: readonly string[] }[];
  /** Properties whose values are wrong, which has been reported. */
  readonly wrong: readonly string[];
  /** Whether anything in it is wrong. */
  readonly isFaulty: boolean;
}

/** Reads bodies: what is stated as `name: value`, typed. */
export class PropertyReader {
  constructor(private readonly file: FileReader) {}

  valueContext(around: Surroundings, _owner: AstNode | undefined): ValueContext {
    return {
      evaluator: new Evaluator(around),
      report: around.report,
      findPart: this.file.parts.findPart,
      partNames: this.file.partNames,
      findProfile: this.file.findProfile,
      profileNames: (node) => this.file.namesOf(node, 'ProfileDeclaration'),
      ...(around.readCondition ? { readCondition: around.readCondition } : {}),
    };
  }

  /** The stated properties of a body, typed; unknown and doubled ones are reported. */
  properties(
    definition: KindDefinition,
    body: Body | readonly ast.Property[],
    owner: string,
    around: Surroundings,
    overrides: ReadonlyMap<string, ast.Override> | undefined,
    subject = '',
  ): StatedProperties {
    const nodes = body === undefined ? [] : 'length' in body ? body : (body.properties ?? []);
    const properties = new Map<string, Property>();
    const holes: Hole[] = [];
    const unset: { name: string; missing: readonly string[] }[] = [];
    const wrong: string[] = [];
    let isFaulty = false;
    const report: Surroundings['report'] = (node, facts, at) => {
      isFaulty = true;
      this.file.report(node, facts, subject, at);
    };
    const context = this.valueContext({ ...around, report }, undefined);
    const seen = new Map<string, ast.Property>();

    const take = (
      written: string,
      value: ast.Value | undefined,
      more: readonly ast.Value[],
      whole: AstNode,
      nameAt: Place,
    ): void => {
      const property = propertyOf(definition.kind, written);
      if (!property) {
        const names = definition.properties.map((each) => each.name);
        report(
          whole,
          {
            code: 'unknown-name',
            name: written,
            wanted: `property of ${article(definition.kind)}`,
            candidates: names,
            meant: propertiesMeant(definition.kind, written, names),
          },
          nameAt,
        );
        return;
      }
      const { name } = property;
      if (!value) return;
      if (value.$type === 'Hole') {
        holes.push({ property: name, place: this.file.place(value) });
        this.narrowing(value, property, owner, context);
        properties.delete(name);
        return;
      }
      const inner = value.$type === 'Assumed' ? value.value : value;
      if (!inner) return;
      const result = typeValue(inner, more, property, owner, context);
      if (result.kind === 'missing') unset.push({ name, missing: result.missing });
      if (result.kind === 'wrong') {
        isFaulty = true;
        wrong.push(name);
      }
      if (result.kind !== 'typed') return;
      const note = this.file.comment(whole);
      properties.set(name, {
        name,
        value: result.value,
        origin: isAssumed(value) ? 'assumed' : 'stated',
        place: more.length > 0 ? joined(this.file.place(value), this.file.place(more.at(-1)!)) : this.file.place(value),
        whole: this.file.place(whole),
        text: [inner, ...more].map(textOf).join(', '),
        ...(note ? { note } : {}),
      });
    };

    for (const [index, node] of nodes.entries()) {
      if (typeof node.name !== 'string') continue;
      if (!this.hasColon(node)) {
        // The parser went on behind a fault; what it made of the rest is no statement of the designer.
        if (this.startsThing(node, definition)) break;
        continue;
      }
      const property = propertyOf(definition.kind, node.name);
      const name = property?.name ?? node.name;
      const before = seen.get(name);
      if (before) {
        report(
          node,
          { code: 'duplicate-name', name: node.name, what: 'property', first: this.file.placeOf(before, 'name') },
          this.file.placeOf(node, 'name'),
        );
        continue;
      }
      seen.set(name, node);
      if (
        property &&
        (this.isUnknownUnit(node, nodes[index + 1], property, subject) || this.hasComma(node, property, subject))
      ) {
        isFaulty = true;
        wrong.push(name);
        continue;
      }
      take(node.name, node.value, node.more ?? [], node, this.file.placeOf(node, 'name'));
    }
    for (const [name, override] of overrides ?? [])
      take(name, override.value, override.more ?? [], override, this.file.placeOfStep(override.subject, 0));
    return { properties, holes, unset, wrong, isFaulty };
  }

  /** Checks what narrows a hole: the ends of a range are values of its property, the lower one first; only parts are taken `of` somewhere. */
  private narrowing(hole: ast.Hole, property: PropertyDefinition, owner: string, context: ValueContext): void {
    const what = `\`${property.name}\` of ${owner}`;
    const text = textOf(hole);
    if (hole.source !== undefined && property.type.type !== 'part')
      context.report(hole, {
        code: 'wrong-type',
        what,
        expected: '`?` or `? in A..B`: only parts are taken `of` somewhere',
        text,
        proposals: ['?'],
      });
    if (!hole.from || !hole.to) return;
    if (property.type.type !== 'quantity') {
      context.report(hole, {
        code: 'wrong-type',
        what,
        expected: '`?`: only quantities have a range',
        text,
        proposals: ['?'],
      });
      return;
    }
    const [low, high] = [hole.from, hole.to].map((end) => typeValue(end, [], property, owner, context));
    if (low?.kind !== 'typed' || high?.kind !== 'typed') return;
    if (low.value.type !== 'quantity' || high.value.type !== 'quantity') return;
    if (low.value.quantity.low > high.value.quantity.high * (1 + 1e-9))
      context.report(hole, { code: 'value-out-of-range', what, text, reason: 'the range ends below where it begins' });
  }

  /** Whether a property has its colon; without it the parser has said so already. */
  private hasColon(node: ast.Property): boolean {
    return !this.file.hasSyntaxErrors || GrammarUtils.findNodeForKeyword(node.$cstNode, ':') !== undefined;
  }

  /** A new thing that begins inside a body: the bracket before it is missing, and what follows belongs to that thing. */
  private startsThing(node: ast.Property, definition: KindDefinition): boolean {
    if (propertyOf(definition.kind, node.name) || !(INSTANCE_WORDS.has(node.name) || THINGS.has(node.name)))
      return false;
    const at = this.file.placeOf(node, 'name');
    this.file.replaceSyntaxErrors(node, at, `\`}\` is missing before \`${node.name}\``);
    return true;
  }

  /** `5 kWx`: a number and behind it a word that is no unit, which the parser takes for the next property. */
  private isUnknownUnit(
    node: ast.Property,
    next: ast.Property | undefined,
    { type }: PropertyDefinition,
    subject: string,
  ): boolean {
    if (node.value?.$type !== 'NumberLiteral' || !next || typeof next.name !== 'string' || this.hasColon(next))
      return false;
    const at = this.file.placeOf(next, 'name');
    if (at.line !== this.file.place(node.value).endLine || type.type !== 'quantity') return false;
    this.file.replaceSyntaxErrors(next, at);
    this.file.report(
      next,
      { code: 'unknown-name', name: next.name, wanted: 'unit', candidates: unitsFor(type.dimensions) },
      subject,
      at,
    );
    return true;
  }

  /** `power: 5 W, count: 2`: properties stand side by side without commas. */
  private hasComma(node: ast.Property, { name, type }: PropertyDefinition, subject: string): boolean {
    const [second] = node.more ?? [];
    if (!this.file.hasSyntaxErrors || !second || type.type === 'words') return false;
    const at = this.file.place(second);
    if (!this.file.replaceSyntaxErrors(node, at)) return false;
    const reason = `\`${name}\` has one value; properties stand side by side, without commas`;
    this.file.report(node, { code: 'value-out-of-range', what: name, text: textOf(second), reason }, subject, at);
    return true;
  }
}
