import { type AstNode, AstUtils } from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import { INSTANCE_KINDS, type KindDefinition, kindOf, kindsMeant, propertyOf } from '../../equipment/index.js';
import { statedFacts } from '../stated-facts.js';
import type { ProblemFacts } from '../problems.js';
import type {
  Basis,
  Hole,
  Instance,
  Link,
  Part,
  Practice,
  Property,
  Requirement,
  Site,
  StatedOutcome,
  System,
} from '../types.js';
import { type ChangedMembers, changedMembers, isOfRemoved } from './changes.js';
import { ControlReader } from './controls.js';
import { DesignNames } from './design-names.js';
import type { Surroundings } from './evaluate.js';
import type { FileReader } from './file-reader.js';
import { insertionInDesign, insertionInto } from './insertion.js';
import type { Body, LoweredDesign, Named } from './lowered.js';
import { readOverrides } from './overrides.js';
import { defaultsOf } from './properties.js';
import { RecordReader } from './records.js';
import { RunReader, settleCarries } from './runs.js';
import { readScenario } from './scenario.js';
import { typeValue } from './values.js';
import { article, nameOf } from './wording.js';

const instanceKinds = new Map<string, (typeof INSTANCE_KINDS)[number]>(
  INSTANCE_KINDS.map((definition) => [definition.kind, definition]),
);

/** Reads one design, or a variant of it: the base with some values replaced. */
export class DesignReader {
  readonly name: string;
  readonly things = new Map<AstNode, Named>();
  readonly instances = new Map<string, Instance>();
  readonly around: Surroundings;
  readonly overrides: ReadonlyMap<string, ReadonlyMap<string, ast.Override>>;
  /** Facts that lack for a property that is stated, by `kind name.property`. */
  readonly unsetFacts = new Map<string, readonly string[]>();
  /** Facts that are stated, but wrongly: `capacity of Bank`. */
  private readonly wrongFacts = new Set<string>();
  readonly names: DesignNames;
  /** What a variant adds, removes and replaces; none in the base. */
  readonly changes: ChangedMembers | undefined;
  /** The members of the design, those of a variant as it has them. */
  readonly members: readonly ast.DesignMember[];
  /** Whether what a variant adds, removes, replaces or sets cannot be as it says. */
  private readonly isBroken: boolean;
  private readonly originals: ReadonlyMap<AstNode, AstNode>;

  constructor(
    readonly file: FileReader,
    readonly node: ast.Design,
    readonly variant?: ast.Variant,
  ) {
    this.name = nameOf(variant ?? node);
    const before = file.problems.length;
    this.names = new DesignNames(this);
    this.around = this.names.around();
    this.changes = variant && changedMembers(this, variant);
    this.members = this.changes?.members ?? node.members ?? [];
    this.originals = new Map([...(this.changes?.replaced ?? [])].map(([original, other]) => [other, original]));
    this.overrides = variant ? readOverrides(this, variant) : new Map();
    this.isBroken = variant !== undefined && file.problems.length > before;
  }

  // A variant repeats the text of its base; faults of the base are the base's own.
  readonly report = (node: AstNode, facts: ProblemFacts, subject = this.name, at?: Place): void => {
    if (this.variant && !AstUtils.getContainerOfType(node, (each): each is ast.Variant => each === this.variant))
      return;
    this.file.report(node, facts, subject, at);
  };

  /** Keeps what was read; names in the base lead to what stands in place of a thing. */
  know(node: AstNode, thing: Named): void {
    this.things.set(node, thing);
    const original = this.originals.get(node);
    if (original) this.things.set(original, thing);
  }

  /** Whether a node stands directly in the design, or in the changes that its variant makes. */
  isMember({ $container }: AstNode): boolean {
    return $container === this.node || (this.variant !== undefined && $container?.$container === this.variant);
  }

  lower(): LoweredDesign {
    const { members } = this;
    const runReader = new RunReader(this);
    const controlReader = new ControlReader(this);
    const records = new RecordReader(this);
    if (!this.variant) this.file.duplicates(members, 'thing of this design', this.name);
    const of = <T extends ast.DesignMember['$type']>(type: T): Extract<ast.DesignMember, { $type: T }>[] =>
      members.filter((member): member is Extract<ast.DesignMember, { $type: T }> => member.$type === type);

    const definition = kindOf('design')!;
    const settings = this.read(
      definition,
      of('Property').filter((property) => property.name !== 'basis'),
      `design ${this.name}`,
      this.name,
      this.overrides.get(''),
    );
    const site = this.site(of('Site'));
    for (const node of of('Instance')) this.instance(node);
    for (const node of of('Link')) runReader.link(node);
    // A value that asked for a run was left open; now that runs are read it can be had.
    this.names.forget();
    const runs = of('Run').flatMap((node) => runReader.run(node) ?? []);
    settleCarries(runs);
    const controls = of('Control').flatMap((node) => controlReader.control(node) ?? []);
    const scenarios = of('Scenario').map((node) => readScenario(this, node));
    const conditions = new Map<Requirement | StatedOutcome, ast.Expression>();
    const requirements = [
      ...of('Require').map((node) => records.requirement(node, conditions)),
      ...of('Scenario').flatMap((scenario) =>
        (scenario.members ?? []).flatMap((member) =>
          member.$type === 'Require' ? [records.requirement(member, conditions, scenario)] : [],
        ),
      ),
    ];
    const outcomes = of('Scenario').flatMap((scenario) =>
      (scenario.members ?? []).flatMap((member) =>
        member.$type === 'Outcome' && !isOfRemoved(member, this.changes?.removed ?? new Map())
          ? (records.outcome(member, conditions, scenario) ?? [])
          : [],
      ),
    );
    for (const node of of('Let')) this.names.letIn(node);
    const doc = this.file.comment(this.variant ?? this.node);
    const label = this.variant?.label ?? this.node.label;
    const system: System = {
      name: this.name,
      ...(label ? { label } : {}),
      ...(doc ? { doc } : {}),
      ...(this.variant ? { variant: this.variant.name, variantOf: nameOf(this.node) } : {}),
      uri: this.around.uri,
      basis: this.basis(of('Property')),
      site,
      settings: settings.properties,
      instances: [...this.instances.values()],
      runs,
      links: [...new Set(this.things.values())].filter(
        (thing): thing is Link => 'kind' in thing && thing.kind === 'link',
      ),
      controls,
      scenarios: [...scenarios, ...records.weeks.values()],
      requirements,
      accepts: of('Accept').map((node) => records.accept(node)),
      readings: of('Reading').flatMap((node) => records.reading(node) ?? []),
      outcomes,
      wrongFacts: this.wrongFacts,
      place: this.variant ? this.file.placeOf(this.variant, 'name') : this.file.placeOf(this.node, 'name'),
      whole: this.file.place(this.variant ?? this.node),
      insert: insertionInDesign(this.node),
    };
    records.openValues();
    return {
      system,
      evaluate: (node, values, report) => this.names.evaluate(node, values, report),
      conditionOf: (asked) => conditions.get(asked),
      isBroken: this.isBroken,
      lets: of('Let'),
    };
  }

  /** Stated properties of a thing on top of its part and the defaults of its kind. */
  read(
    definition: KindDefinition,
    body: Body | readonly ast.Property[],
    owner: string,
    path: string,
    overrides?: ReadonlyMap<string, ast.Override>,
    part?: Part,
  ): { properties: Map<string, Property>; holes: Hole[]; isFaulty: boolean } {
    const around = this.names.conditionsAround(path);
    const stated = this.file.statements.properties(definition, body, owner, around, overrides, path);
    for (const { name, missing } of stated.unset) this.unsetFacts.set(`${owner}.${name}`, missing);
    for (const name of [...(part?.wrong ?? []), ...stated.wrong]) this.wrongFacts.add(`${name} of ${nameIn(owner)}`);
    const properties = new Map(defaultsOf(definition));
    for (const [name, property] of part?.properties ?? [])
      properties.set(name, { ...property, inheritedFrom: property.inheritedFrom ?? part!.name });
    for (const hole of stated.holes) properties.delete(hole.property);
    for (const [name, property] of stated.properties) properties.set(name, property);
    return { properties, holes: stated.holes, isFaulty: stated.isFaulty };
  }

  private site(nodes: readonly ast.Site[]): Site {
    const [node, second] = nodes;
    if (second)
      this.report(second, { code: 'duplicate-name', name: 'site', what: 'site', first: this.file.place(node!) });
    const { properties } = this.read(
      kindOf('site')!,
      node?.body,
      'the site',
      `${this.name}.site`,
      this.overrides.get('site'),
    );
    return { properties, ...(node ? { place: this.file.place(node), insert: insertionInto(node, node.body) } : {}) };
  }

  private basis(properties: readonly ast.Property[]): Basis {
    const stated = properties.filter((property) => property.name === 'basis');
    const override = this.overrides.get('')?.get('basis');
    if (stated[1])
      this.report(stated[1], {
        code: 'duplicate-name',
        name: 'basis',
        what: 'property',
        first: this.file.placeOf(stated[0]!, 'name'),
      });
    const node = override ?? stated[0];
    const { basis: ofProject } = this.file.services;
    const unstated: Basis = ofProject
      ? { practice: ofProject, origin: 'project' }
      : { practice: 'nec', origin: 'default' };
    if (!node?.value) return unstated;
    const result = typeValue(
      node.value,
      node.more ?? [],
      propertyOf('design', 'basis')!,
      'design',
      this.file.statements.valueContext(this.around, undefined),
    );
    if (result.kind !== 'typed' || result.value.type !== 'word') return unstated;
    const edition = node.$type === 'Property' ? node.edition : undefined;
    return {
      practice: result.value.word as Practice,
      ...(edition === undefined ? {} : { edition: String(edition), editionPlace: this.file.placeOf(node, 'edition') }),
      origin: 'stated',
      place: this.file.place(node.value),
    };
  }

  instance(node: ast.Instance): void {
    const definition = instanceKinds.get(node.kind);
    if (!definition) {
      if (node.kind !== undefined)
        this.report(
          node,
          {
            code: 'unknown-name',
            name: node.kind,
            wanted: 'kind of thing',
            candidates: [
              ...instanceKinds.keys(),
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
            ],
            meant: kindsMeant(node.kind),
          },
          this.name,
          this.file.placeOf(node, 'kind'),
        );
      return;
    }
    if (typeof node.name !== 'string') return;
    const part = this.partOf(node, definition);
    const path = `${this.name}.${nameOf(node)}`;
    const { properties, holes } = this.read(
      definition,
      node.body,
      `${node.kind} ${node.name}`,
      path,
      this.overrides.get(node.name),
      part,
    );
    const doc = this.file.comment(node);
    const instance: Instance = {
      kind: definition.kind,
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      ...(part ? { part } : {}),
      properties,
      holes,
      terminals: definition.terminals(statedFacts(properties)),
      place: this.file.placeOf(node, 'name'),
      whole: this.file.place(node),
      insert: insertionInto(node, node.body),
    };
    this.know(node, instance);
    if (!this.instances.has(node.name)) this.instances.set(node.name, instance);
  }

  private partOf(node: ast.Instance, definition: KindDefinition): Part | undefined {
    if (!node.part) return undefined;
    const target = node.part.ref;
    const at = this.file.placeOf(node, 'part');
    if (!target) {
      this.report(
        node,
        {
          code: 'unknown-name',
          name: node.part.$refText,
          wanted: `part of kind ${definition.kind}`,
          candidates: this.file.partNames(node, [definition.kind]),
        },
        `${this.name}.${nameOf(node)}`,
        at,
      );
      return undefined;
    }
    this.file.parts.use(target);
    if (target.kind !== definition.kind) {
      this.report(
        node,
        {
          code: 'wrong-type',
          what: `the part of ${node.name}`,
          expected: `${article(definition.kind)}; ${target.name} is ${article(target.kind)}`,
          text: node.part.$refText,
          proposals: [],
        },
        `${this.name}.${nameOf(node)}`,
        at,
      );
      return undefined;
    }
    return this.file.parts.part(target, true);
  }
}

/** The name under which facts of an owner lack: `Bank` for `battery Bank`, and `the site` as it is. */
const nameIn = (owner: string): string => (owner === 'the site' ? owner : owner.slice(owner.indexOf(' ') + 1));
