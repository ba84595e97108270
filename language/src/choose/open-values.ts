import { type AstNode, AstUtils } from 'langium';
import type { Place } from '../derivation/index.js';
import {
  type Arithmetic,
  type Design,
  type Expression,
  type Hole,
  type Variant,
  isArithmetic,
  isBody,
  isCall,
  isControl,
  isDesign,
  isFallback,
  isFile,
  isGroup,
  isHole,
  isInstance,
  isOverride,
  isProperty,
  isRule,
  isRun,
  isVariant,
} from '../grammar/generated/ast.js';
import { placeOfNode, textOf } from '../model/lower/place.js';

/** What a hole `?` stands for. */
export type OpenKind =
  /** A property of a thing. */
  | {
      readonly kind: 'property';
      readonly thing: string;
      readonly property: string;
      /** The kind of the thing; absent where only the model knows it. */
      readonly thingKind?: string;
    }
  /** The part that a thing is one of. */
  | { readonly kind: 'part'; readonly thing: string }
  /** What a rule compares a signal with. */
  | { readonly kind: 'limit'; readonly control: string; readonly signal: string }
  /** Something that no search can find. */
  | { readonly kind: 'other'; readonly why: string };

/** A value that a design leaves open. */
export interface OpenValue {
  /** `RidgeStation.InvFeed.size`; of a part `RidgeStation.Rect.part`, of a rule `RidgeStation.Autostart.start`. */
  readonly path: string;
  readonly place: Place;
  readonly of: OpenKind;
  readonly node: Hole;
}

/** A design or variant with the values that its own text leaves open, in the order of the text. */
export interface OpenDesign {
  readonly name: string;
  readonly variant?: string;
  readonly values: readonly OpenValue[];
}

/** Everything that the designs and variants of a file leave open. */
export function openValues(file: AstNode, uri: string): readonly OpenDesign[] {
  if (!isFile(file)) return [];
  return file.declarations.flatMap((declaration): OpenDesign[] => {
    if (!isDesign(declaration) && !isVariant(declaration)) return [];
    const values = valuesOf(declaration, uri);
    if (values.length === 0 || typeof declaration.name !== 'string') return [];
    const variant = isVariant(declaration) ? { variant: declaration.name } : {};
    return [{ name: declaration.name, ...variant, values }];
  });
}

function valuesOf(design: Design | Variant, uri: string): OpenValue[] {
  const paths = new Map<string, number>();
  return AstUtils.streamAst(design)
    .filter(isHole)
    .map((node) => {
      const of = kindOf(node);
      const path = `${design.name}.${pathOf(node, of)}`;
      const count = (paths.get(path) ?? 0) + 1;
      paths.set(path, count);
      return { path: count === 1 ? path : `${path}.${count}`, place: placeOfNode(node, uri), of, node };
    })
    .toArray();
}

function pathOf(node: Hole, of: OpenKind): string {
  switch (of.kind) {
    case 'property':
      return `${of.thing}.${of.property}`;
    case 'part':
      return `${of.thing}.part`;
    case 'limit':
      return `${of.control}.${AstUtils.getContainerOfType(node, isRule)?.verb ?? 'limit'}`;
    case 'other':
      return AstUtils.getContainerOfType(node, isProperty)?.name ?? 'value';
  }
}

const other = (why: string): OpenKind => ({ kind: 'other', why });

function kindOf(node: Hole): OpenKind {
  const { $container: owner } = node;
  if (isInstance(owner)) return { kind: 'part', thing: owner.name };
  if (isProperty(owner)) return ofProperty(owner.$container, owner.name);
  if (isOverride(owner)) {
    const [property, more] = owner.subject.steps ?? [];
    const thing = owner.subject.root?.$refText;
    return property !== undefined && more === undefined && thing !== undefined
      ? { kind: 'property', thing, property }
      : other('a variant opens a property of a thing, as in Bank.parallel = ?');
  }
  const rule = AstUtils.getContainerOfType(node, isRule);
  return rule ? inRule(node) : other('`?` stands alone as a value: in no sum, table or `let`');
}

function ofProperty(owner: AstNode, property: string): OpenKind {
  if (isBody(owner)) {
    const { $container: thing } = owner;
    if (isInstance(thing) || isRun(thing))
      return { kind: 'property', thing: thing.name, property, thingKind: isRun(thing) ? 'run' : thing.kind };
    return other('what a site or a line is like only somebody who looks can tell');
  }
  if (isControl(owner) || isFallback(owner)) return other('of a control only what a rule compares with is searched');
  return other('only properties of things and runs are searched');
}

const withoutBrackets = (node: Expression): Expression =>
  isGroup(node) && node.inner ? withoutBrackets(node.inner) : node;

/** `start when soc(Bank) < ?`: what a signal is compared with. */
function inRule(node: Hole): OpenKind {
  const control = AstUtils.getContainerOfType(node, isControl);
  const comparison = AstUtils.getContainerOfType(node, (each): each is Arithmetic => isArithmetic(each));
  const isSide = (side: Expression | undefined): boolean => side !== undefined && withoutBrackets(side) === node;
  const signal =
    comparison && (isSide(comparison.right) ? comparison.left : isSide(comparison.left) ? comparison.right : undefined);
  const call = signal && withoutBrackets(signal);
  return control && call && isCall(call) && ['<', '<=', '>', '>='].includes(comparison?.operator ?? '')
    ? { kind: 'limit', control: control.name, signal: call.function }
    : other('a rule compares one signal with `?`, as in soc(Bank) < ?');
}

/** The text of a hole as it stands. */
export const holeText = (node: Hole): string => textOf(node);
