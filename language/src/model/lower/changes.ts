import { type AstNode, AstUtils } from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import type { DesignReader } from './design-reader.js';
import { placeOfCst } from './place.js';

type Member = ast.DesignMember;
type NamedMember = Extract<Member, { readonly name: string }>;

/** The members of a design as a variant has them. */
export interface ChangedMembers {
  readonly members: readonly Member[];
  /** Members of the base that the variant does without, each with where it says so. */
  readonly removed: ReadonlyMap<AstNode, Place>;
  /** Members of the base, each with what stands in its place. */
  readonly replaced: ReadonlyMap<AstNode, Member>;
}

/** What may be removed: the rest of a design is values, or has no name. */
const REMOVABLE: readonly Member['$type'][] = ['Instance', 'Run', 'Link', 'Control', 'Scenario'];
const isRemovable = (node: AstNode): node is NamedMember => (REMOVABLE as readonly string[]).includes(node.$type);

const isNamed = (node: Member): node is NamedMember =>
  'name' in node && typeof node.name === 'string' && node.$type !== 'Property';

const SORTS: Readonly<Record<string, string>> = {
  Instance: 'thing',
  Run: 'run',
  Link: 'link',
  Control: 'control',
  Scenario: 'scenario',
};

/** Carries out what a variant adds, removes and replaces. Reports what cannot be, and what a removed thing leaves behind. */
export function changedMembers(design: DesignReader, variant: ast.Variant): ChangedMembers {
  return new Changes(design, variant).carriedOut();
}

/** A place that speaks of a removed thing. */
interface Mention {
  readonly name: string;
  readonly place: Place;
  readonly removal: Place;
  /** Whether it is what a control commands. */
  readonly isTarget: boolean;
}

class Changes {
  private readonly base: readonly Member[];
  private readonly uri: string;
  private readonly removed = new Map<AstNode, Place>();
  private readonly replaced = new Map<AstNode, Member>();
  private readonly added: Member[] = [];

  constructor(
    private readonly design: DesignReader,
    private readonly variant: ast.Variant,
  ) {
    this.base = design.node.members ?? [];
    this.uri = AstUtils.getDocument(variant).uri.toString();
  }

  carriedOut(): ChangedMembers {
    const changes = this.variant.changes ?? [];
    for (const change of changes) if (change.$type === 'Removal') this.remove(change);
    for (const change of changes) if (change.$type === 'Replacement' && change.thing) this.replace(change.thing);
    for (const change of changes) if (change.$type === 'Addition' && change.thing) this.add(change.thing);
    const kept = this.base.filter((member) => !this.removed.has(member));
    const members = [...kept.map((member) => this.replaced.get(member) ?? member), ...this.added];
    return {
      members: this.removed.size === 0 ? members : members.filter((member) => !this.isLeftBehind(member)),
      removed: this.removed,
      replaced: this.replaced,
    };
  }

  private remove({ things }: ast.Removal): void {
    for (const { thing } of things ?? []) {
      if (!thing) continue;
      const at = placeOfCst(thing.$refNode, this.uri);
      const target = thing.ref;
      const removable = this.base.filter(isRemovable).map(({ name }) => name);
      if (!target)
        this.design.report(
          this.variant,
          {
            code: 'unknown-name',
            name: thing.$refText,
            wanted: `thing of ${this.design.node.name}`,
            candidates: removable,
          },
          this.design.name,
          at,
        );
      else if (target.$container !== this.design.node || !isRemovable(target))
        this.design.report(
          this.variant,
          {
            code: 'wrong-type',
            what: 'what a variant removes',
            expected: `a thing, run, link, control or scenario of ${this.design.node.name}`,
            text: thing.$refText,
            proposals: [],
          },
          this.design.name,
          at,
        );
      else if (!this.isTwice(target, thing.$refText, at)) this.removed.set(target, at);
    }
  }

  private replace(thing: ast.Replacement['thing']): void {
    if (typeof thing.name !== 'string') return;
    const at = this.design.file.placeOf(thing, 'name');
    const same = this.base.filter((member) => member.$type === thing.$type && isNamed(member)) as NamedMember[];
    const before = same.find(({ name }) => name === thing.name);
    if (!before)
      this.design.report(
        thing,
        {
          code: 'unknown-name',
          name: thing.name,
          wanted: `${SORTS[thing.$type]} of ${this.design.node.name} to replace`,
          candidates: same.map(({ name }) => name),
        },
        this.design.name,
        at,
      );
    else if (!this.isTwice(before, thing.name, at)) this.replaced.set(before, thing);
  }

  private add(thing: ast.Addition['thing']): void {
    if (!isNamed(thing)) {
      this.added.push(thing);
      return;
    }
    const kept = this.base.filter((member) => !this.removed.has(member));
    const before = [...kept, ...this.added].filter(isNamed).find(({ name }) => name === thing.name);
    if (!before) this.added.push(thing);
    else
      this.design.report(
        thing,
        {
          code: 'duplicate-name',
          name: thing.name,
          what: 'thing of this design',
          first: this.design.file.placeOf(before, 'name'),
        },
        this.design.name,
        this.design.file.placeOf(thing, 'name'),
      );
  }

  /** Whether the variant removes or replaces a thing a second time, which is reported. */
  private isTwice(target: AstNode, name: string, at: Place): boolean {
    const other = this.replaced.get(target);
    const first = this.removed.get(target) ?? (other && this.design.file.placeOf(other, 'name'));
    if (!first) return false;
    this.design.report(
      this.variant,
      { code: 'duplicate-name', name, what: 'change of this variant', first },
      this.design.name,
      at,
    );
    return true;
  }

  /** Whether a member speaks of what the variant removes, so that it cannot stand as it is. Reports it. */
  private isLeftBehind(member: Member): boolean {
    const own = AstUtils.getContainerOfType(member, (each): each is ast.Variant => each === this.variant) !== undefined;
    // What is remarked of a removed thing goes with it.
    if (!own && (member.$type === 'Accept' || member.$type === 'Reading')) return this.spokenOf(member).length > 0;
    const [first] = this.spokenOf(member);
    if (!first) return false;
    const { removal, place } = first;
    const name = isNamed(member) ? member.name : undefined;
    const sort =
      member.$type === 'Instance'
        ? member.kind
        : member.$type === 'Require'
          ? 'a requirement'
          : member.$type.toLowerCase();
    this.design.report(
      this.variant,
      {
        code: 'lost-end',
        thing: name === undefined ? sort : `${sort} ${name}`,
        removed: first.name,
        how: member.$type === 'Run' || member.$type === 'Link' ? 'ends' : first.isTarget ? 'commands' : 'speaks',
        removal,
        ...(name !== undefined && !own && isRemovable(member) ? { name } : {}),
      },
      name === undefined ? this.design.name : `${this.design.name}.${name}`,
      place,
    );
    // A scenario or a thing stands without what it said of it; a run without its end does not.
    return member.$type !== 'Instance' && member.$type !== 'Scenario';
  }

  /** The removed things that a member speaks of. What a scenario or a fallback says of them alone goes with them. */
  private spokenOf(member: Member): Mention[] {
    const found: Mention[] = [];
    for (const node of AstUtils.streamAst(member)) {
      for (const { reference } of AstUtils.streamReferences(node)) {
        const target = 'ref' in reference ? reference.ref : undefined;
        const removal = target && this.removed.get(target);
        if (!removal || this.isDroppedWithIt(node)) continue;
        found.push({
          name: reference.$refText,
          place: placeOfCst(reference.$refNode, AstUtils.getDocument(node).uri.toString()),
          removal,
          isTarget: node.$type === 'Control',
        });
      }
    }
    return found;
  }

  private isDroppedWithIt(node: AstNode): boolean {
    const fallback = AstUtils.getContainerOfType(node, (each): each is ast.Fallback => each.$type === 'Fallback');
    if (fallback?.link?.ref && this.removed.has(fallback.link.ref)) return true;
    const row = AstUtils.getContainerOfType(node, (each): each is ast.TableRow => each.$type === 'TableRow');
    if (row?.key === node) return true;
    const outcome = AstUtils.getContainerOfType(node, (each): each is ast.Outcome => each.$type === 'Outcome');
    if (outcome) return isOfRemoved(outcome, this.removed);
    const start = AstUtils.getContainerOfType(node, (each): each is ast.InitialValue => each.$type === 'InitialValue');
    return start !== undefined && speaksOfRemoved(start, this.removed);
  }
}

/** Whether what a scenario says is said of a thing that is removed: `soc(Bank): 90 %`, `lost(Mains): always`. */
export const speaksOfRemoved = ({ target }: ast.InitialValue, removed: ReadonlyMap<AstNode, Place>): boolean =>
  (target?.arguments ?? []).some(
    ({ value }) => value?.$type === 'Path' && value.root?.ref !== undefined && removed.has(value.root.ref),
  );

/** Whether what was read of a scenario is of a thing that is removed. */
export const isOfRemoved = (outcome: ast.Outcome, removed: ReadonlyMap<AstNode, Place>): boolean =>
  AstUtils.streamAst(outcome).some((node) => node.$type === 'Path' && removedRoot(node as ast.Path, removed));

const removedRoot = ({ root }: ast.Path, removed: ReadonlyMap<AstNode, Place>): boolean =>
  root?.ref !== undefined && removed.has(root.ref);
