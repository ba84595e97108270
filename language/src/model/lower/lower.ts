import { AstUtils, type AstNode, type CstNode, GrammarUtils, type LangiumDocument, type URI } from 'langium';
import { findFunction } from '../../calculate/index.js';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';
import { isFile } from '../../grammar/generated/ast.js';
import { DIMENSIONS } from '../../quantity/index.js';
import { LIBRARY_SCHEME, type VisibleDocuments, resolveUse } from '../../syntax/scope.js';
import {
  CATALOGUE_KINDS,
  INSTANCE_KINDS,
  type KindDefinition,
  type PropertyDefinition,
  kindOf,
  propertyOf,
} from '../kinds/index.js';
import type { Problem, ProblemFacts } from '../problems.js';
import type {
  Accept,
  Basis,
  Carries,
  Control,
  Hole,
  InsertionPoint,
  Instance,
  Link,
  Part,
  Practice,
  Property,
  Reading,
  Requirement,
  Rule,
  Run,
  Scenario,
  Site,
  Stop,
  System,
  Terminal,
  Threshold,
} from '../types.js';
import {
  type Evaluated,
  Evaluator,
  type Surroundings,
  derivationOfProperty,
  isCondition,
  knownValue,
  ownEntry,
  partArgument,
  pending,
} from './evaluate.js';
import { ConditionReader, type ReadCondition, isBareShare } from './conditions.js';
import { afterPlace, placeOfCst, placeOfItem, placeOfNode, placeOfProperty, textOf } from './place.js';
import { ScenarioReader, scenarioSetting } from './scenario.js';
import { PLAIN_SIGNALS, SCENARIO_RESULTS, STATE_SIGNALS, typeSignalCall } from './signals.js';
import { type ValueContext, defaultValue, isExpressionNode, typeValue, unitsFor } from './values.js';

/** What the model needs of the language services. */
export interface LoweringServices {
  readonly visible: VisibleDocuments;
  /** Whether a file may be read: inside the workspace folder. */
  readonly mayUse: (from: URI, to: URI) => boolean;
  readonly isLoaded: (uri: URI) => boolean;
  /** The doc comment before a node, without its marks. */
  readonly comment: (node: AstNode) => string | undefined;
  /** Whether another loaded file draws this one in. */
  readonly isUsed: (uri: URI) => boolean;
  /** Names of the quantities that are computed for a kind, those at a terminal included (`dc.current`). */
  readonly quantityNames: (kind: string) => readonly string[];
  /** Functions whose first argument is a thing of the design: `chargeTime`. */
  readonly designFunctions: readonly string[];
}

/** A design read from text: the immutable system, and how to work out its requirements once calculations exist. */
export interface LoweredDesign {
  readonly system: System;
  /** Works out an expression of this design; `values` gives properties and computed quantities by path. */
  readonly evaluate: (node: ast.Expression, values: DesignValues, report?: Surroundings['report']) => Evaluated;
  /** The condition of a requirement. */
  readonly conditionOf: (requirement: Requirement) => ast.Expression | undefined;
  /** The `let` values of the design, for `calc`. */
  readonly lets: readonly ast.Let[];
}

/** Values that only the analysed design can give. */
export interface DesignValues {
  /** A computed quantity, or undefined when the thing has none of this name. */
  readonly quantity: (thing: string, name: string) => Evaluated | undefined;
  /** A function whose first argument is a thing: `chargeTime(Bank, 20 %, 90 %)`. */
  readonly call: (name: string, given: readonly { name?: string; value: Evaluated }[]) => Evaluated | undefined;
}

export interface LoweredFile {
  readonly uri: string;
  readonly problems: readonly Problem[];
  readonly designs: readonly LoweredDesign[];
  readonly parts: readonly Part[];
  /** The parts of a kind that this file can use, its own, those it draws in and the standard library's. */
  readonly partsOf: (kind: string) => readonly Part[];
}

const instanceKinds = new Map(INSTANCE_KINDS.map((definition) => [definition.kind, definition]));
const partKinds = new Map([...INSTANCE_KINDS, ...CATALOGUE_KINDS].map((definition) => [definition.kind, definition]));

type Body = ast.Body | undefined;
type Named = Instance | Run | Link | Control | Scenario;

/** Parts that may wait for one another's base at once, so that no text can exhaust the stack. */
const MOST_BASES = 200;

/** Parts of the standard library never change while the tool runs. */
const libraryParts = new WeakMap<ast.Part, Part>();

/** The catalogue never changes while the tool runs. */
const defaults = new WeakMap<KindDefinition, readonly (readonly [string, Property])[]>();

/** What holds of a kind where nothing is stated. */
function defaultsOf(definition: KindDefinition): readonly (readonly [string, Property])[] {
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

/** Reads one file: checks names, kinds and types, and builds a `System` for every design and variant. */
export function lowerFile(document: LangiumDocument, services: LoweringServices): LoweredFile {
  return new FileLowering(document, services).lower();
}

class FileLowering {
  private readonly problems: Problem[] = [];
  private readonly uri: string;
  private readonly parts = new Map<ast.Part, Part | 'busy'>();
  private readonly lets = new Map<ast.Let, Evaluated | 'busy'>();
  /** Parts that wait for their base. */
  private openParts = 0;
  private readonly usedParts = new Set<ast.Part>();
  /** Reported nodes by problem code: a part used twice reports its fault once. */
  private readonly reported = new Set<string>();

  constructor(
    private readonly document: LangiumDocument,
    private readonly services: LoweringServices,
  ) {
    this.uri = document.uri.toString();
  }

  lower(): LoweredFile {
    const file = this.document.parseResult.value;
    if (!isFile(file)) return { uri: this.uri, problems: [], designs: [], parts: [], partsOf: () => [] };
    this.syntaxErrors();
    this.uses(file);
    this.duplicates(file.declarations ?? [], 'declaration', '');
    const designs: LoweredDesign[] = [];
    const parts: Part[] = [];
    for (const declaration of file.declarations ?? []) {
      switch (declaration.$type) {
        case 'Part': {
          const part = this.part(declaration);
          if (part) parts.push(part);
          break;
        }
        case 'Let':
          this.letValue(declaration, this.fileSurroundings());
          break;
        case 'ProfileDeclaration':
          this.profile(declaration);
          break;
        case 'Design':
          designs.push(new DesignLowering(this, declaration).lower());
          break;
        case 'Variant': {
          const variant = this.variant(declaration);
          if (variant) designs.push(variant);
          break;
        }
      }
    }
    if (designs.length > 0 && !this.services.isUsed(this.document.uri)) this.unusedParts(file);
    return { uri: this.uri, problems: this.problems, designs, parts, partsOf: (kind) => this.partsOf(file, kind) };
  }

  /** Reports a problem at a node of this file; faults of other files are reported when those are read. */
  readonly report = (node: AstNode, facts: ProblemFacts, subject = '', at?: Place): void => {
    if (AstUtils.getDocument(node) !== this.document) return;
    const place = at ?? placeOfNode(node, this.uri);
    const key = `${facts.code} ${place.offset} ${place.end}`;
    if (this.reported.has(key)) return;
    this.reported.add(key);
    this.problems.push({ ...facts, place, subject });
  };

  readonly place = (node: AstNode): Place => placeOfNode(node, AstUtils.getDocument(node).uri.toString());
  readonly placeOf = (node: AstNode, property: string): Place =>
    placeOfProperty(node, property, AstUtils.getDocument(node).uri.toString());
  readonly comment = (node: AstNode): string | undefined => this.services.comment(node);
  readonly quantityNames = (kind: string): readonly string[] => this.services.quantityNames(kind);
  get designFunctions(): readonly string[] {
    return this.services.designFunctions;
  }
  /** The place of one step of a path: `capacity` of `Bank.capacity`. */
  readonly placeOfStep = (path: ast.Path, index: number): Place =>
    placeOfItem(path, 'steps', index, AstUtils.getDocument(path).uri.toString());

  private syntaxErrors(): void {
    const { lexerErrors, parserErrors } = this.document.parseResult;
    const text = this.document.textDocument.getText();
    const add = (offset: number, end: number, message: string): void => {
      const from = Math.min(Math.max(0, offset), text.length);
      const to = Math.min(Math.max(from, end), text.length);
      const start = this.document.textDocument.positionAt(from);
      const stop = this.document.textDocument.positionAt(to);
      const place = {
        uri: this.uri,
        offset: from,
        end: to,
        line: start.line,
        character: start.character,
        endLine: stop.line,
        endCharacter: stop.character,
      };
      this.problems.push({ code: 'syntax-error', message, place, subject: '' });
    };
    for (const error of lexerErrors)
      add(
        error.offset,
        error.offset + error.length,
        `\`${text.slice(error.offset, error.offset + Math.min(error.length, 20))}\` does not belong here`,
      );
    for (const error of parserErrors) {
      const { token } = error;
      const atEnd = token.tokenType.name === 'EOF' || !Number.isFinite(token.startOffset);
      const offset = atEnd && !Number.isFinite(token.startOffset) ? text.trimEnd().length : token.startOffset;
      const end = atEnd ? offset : (token.endOffset ?? offset) + 1;
      add(offset, end, wordSyntaxError(error.name, error.message, token.image));
    }
  }

  private uses(file: ast.File): void {
    for (const use of file.uses ?? []) {
      if (typeof use.path !== 'string') continue;
      const at = this.placeOf(use, 'path');
      const target = resolveUse(this.document.uri, use.path);
      if (!target) {
        this.report(use, { code: 'import-outside', path: use.path, reason: 'not-relative' }, '', at);
      } else if (!this.services.mayUse(this.document.uri, target)) {
        this.report(use, { code: 'import-outside', path: use.path, reason: 'outside' }, '', at);
      } else if (!this.services.isLoaded(target)) {
        this.report(use, { code: 'unknown-name', name: use.path, wanted: 'file', candidates: [] }, '', at);
      } else {
        const chain = this.loopFrom(target.toString(), [this.uri]);
        if (chain) this.report(use, { code: 'import-loop', chain }, '', at);
      }
    }
  }

  /** The chain of files that leads from `uri` back to this file; undefined when none does. */
  private loopFrom(uri: string, chain: readonly string[], seen = new Set<string>()): readonly string[] | undefined {
    if (uri === this.uri) return [...chain, uri];
    if (seen.has(uri)) return undefined;
    seen.add(uri);
    const document = this.services.visible.byUri(uri);
    for (const used of document ? this.services.visible.used(document) : []) {
      const found = this.loopFrom(used.uri.toString(), [...chain, uri], seen);
      if (found) return found;
    }
    return undefined;
  }

  duplicates(nodes: readonly AstNode[], what: string, subject: string): void {
    const first = new Map<string, AstNode>();
    for (const node of nodes) {
      const { name } = node as { name?: unknown };
      if (typeof name !== 'string' || node.$type === 'Property') continue;
      const before = first.get(name);
      if (before)
        this.report(
          node,
          { code: 'duplicate-name', name, what, first: this.placeOf(before, 'name') },
          subject,
          this.placeOf(node, 'name'),
        );
      else first.set(name, node);
    }
  }

  private unusedParts(file: ast.File): void {
    for (const declaration of file.declarations ?? []) {
      if (declaration.$type !== 'Part' || !declaration.name || this.usedParts.has(declaration)) continue;
      this.report(
        declaration,
        { code: 'unused-part', name: declaration.name, whole: this.place(declaration) },
        '',
        this.placeOf(declaration, 'name'),
      );
    }
  }

  /** Finds a part by name among the visible files; the nearest one of a fitting kind. */
  readonly findPart = (node: AstNode, name: string, kinds: readonly string[]): Part | undefined => {
    for (const table of this.services.visible.tables(node)) {
      for (const candidate of table.get(name) ?? []) {
        if (candidate.$type !== 'Part' || !kinds.includes((candidate as unknown as ast.Part).kind)) continue;
        return this.part(candidate as unknown as ast.Part, true);
      }
    }
    return undefined;
  };

  readonly partNames = (node: AstNode, kinds: readonly string[]): string[] =>
    this.services.visible.tables(node).flatMap((table) =>
      [...table.values()]
        .flat()
        .filter((each) => each.$type === 'Part' && kinds.includes((each as unknown as ast.Part).kind))
        .map((each) => each.name),
    );

  readonly findProfile = (node: AstNode, name: string): ast.ProfileDeclaration | undefined => {
    for (const table of this.services.visible.tables(node)) {
      const found = table.get(name)?.find((each) => each.$type === 'ProfileDeclaration');
      if (found) return found as unknown as ast.ProfileDeclaration;
    }
    return undefined;
  };

  /** A part with everything it inherits; undefined when its kind is unknown or it inherits from itself. */
  part(node: ast.Part, used = false): Part | undefined {
    if (used) this.usedParts.add(node);
    const kept = libraryParts.get(node);
    if (kept) return kept;
    const known = this.parts.get(node);
    if (known === 'busy') {
      this.report(
        node,
        { code: 'import-loop', chain: [node.name, node.base?.$refText ?? '', node.name] },
        '',
        this.placeOf(node, 'base'),
      );
      return undefined;
    }
    if (known) return known;
    const definition = partKinds.get(node.kind);
    if (!definition) {
      if (node.kind !== undefined)
        this.report(
          node,
          { code: 'unknown-name', name: node.kind, wanted: 'kind of part', candidates: [...partKinds.keys()] },
          '',
          this.placeOf(node, 'kind'),
        );
      return undefined;
    }
    this.parts.set(node, 'busy');
    this.openParts += 1;
    const base = this.baseOf(node);
    this.openParts -= 1;
    const own = this.properties(definition, node.body, `part ${nameOf(node)}`, this.fileSurroundings(node), undefined);
    const isLibrary = AstUtils.getDocument(node).uri.scheme === LIBRARY_SCHEME;
    const inherited = new Map(
      [...(base?.properties ?? [])].map(([name, property]) => [
        name,
        { ...property, inheritedFrom: property.inheritedFrom ?? base!.name },
      ]),
    );
    const doc = this.comment(node);
    const part: Part = {
      kind: node.kind,
      name: nameOf(node),
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      library: isLibrary,
      place: this.placeOf(node, 'name'),
      properties: new Map([...inherited, ...own.properties]),
    };
    this.parts.set(node, part);
    if (isLibrary) libraryParts.set(node, part);
    return part;
  }

  private baseOf(node: ast.Part): Part | undefined {
    if (!node.base) return undefined;
    const target = node.base.ref;
    if (!target) {
      this.report(
        node,
        {
          code: 'unknown-name',
          name: node.base.$refText,
          wanted: `part of kind ${node.kind}`,
          candidates: this.partNames(node, [node.kind]),
        },
        '',
        this.placeOf(node, 'base'),
      );
      return undefined;
    }
    if (target.kind !== node.kind) {
      this.report(
        node,
        {
          code: 'wrong-type',
          what: `the base of part ${node.name}`,
          expected: `a ${node.kind}; ${target.name} is a ${target.kind}`,
          text: node.base.$refText,
          proposals: [],
        },
        '',
        this.placeOf(node, 'base'),
      );
      return undefined;
    }
    if (this.openParts > MOST_BASES) {
      this.report(
        node,
        {
          code: 'value-out-of-range',
          what: `part ${nameOf(node)}`,
          text: `extends ${target.name}`,
          reason: `more than ${MOST_BASES} parts that extend one another are open here`,
        },
        '',
        this.placeOf(node, 'base'),
      );
      return undefined;
    }
    return this.part(target, true);
  }

  private partsOf(file: ast.File, kind: string): Part[] {
    const names = [...new Set(this.partNames(file, [kind]))];
    return names.flatMap((name) => this.findPart(file, name, [kind]) ?? []);
  }

  private profile(node: ast.ProfileDeclaration): void {
    if (!node.table) return;
    const definition = propertyOf('load', 'profile');
    if (definition)
      typeValue(
        node.table,
        [],
        definition,
        `profile ${nameOf(node)}`,
        this.valueContext(this.fileSurroundings(node), undefined),
      );
  }

  private variant(node: ast.Variant): LoweredDesign | undefined {
    const base = node.base?.ref;
    if (!base) {
      if (node.base)
        this.report(
          node,
          {
            code: 'unknown-name',
            name: node.base.$refText,
            wanted: 'design',
            candidates: this.namesOf(node, 'Design'),
          },
          '',
          this.placeOf(node, 'base'),
        );
      return undefined;
    }
    return new DesignLowering(this, base, node).lower();
  }

  namesOf(node: AstNode, type: string): string[] {
    return this.services.visible.tables(node).flatMap((table) =>
      [...table.values()]
        .flat()
        .filter((each) => each.$type === type)
        .map((each) => each.name),
    );
  }

  /** What expressions outside designs see: `let` values, parts and functions. */
  fileSurroundings(owner?: AstNode): Surroundings {
    const around: Surroundings = {
      uri: owner ? AstUtils.getDocument(owner).uri.toString() : this.uri,
      report: (node, facts, at) => this.report(node, facts, '', at),
      lookUp: (path) => this.lookUpNamed(path, around),
      names: () => this.namesOf(owner ?? this.document.parseResult.value, 'Let'),
      callDesign: (call, given) => typeSignalCall(call, given),
      designFunctionNames: [],
    };
    return around;
  }

  /** A `let` or a part by name; undefined for everything else. */
  lookUpNamed(path: ast.Path, around: Surroundings): Evaluated | undefined {
    const target = path.root?.ref;
    if (!target) return undefined;
    if (target.$type === 'Let' && (path.steps ?? []).length === 0) return this.letValue(target, around);
    if (target.$type === 'Part') {
      const part = this.part(target, true);
      if (!part) return { kind: 'bad', reason: `part ${target.name} is faulty` };
      const [step, ...rest] = path.steps ?? [];
      if (step === undefined) return { kind: 'part', part: partArgument(part) };
      const property = part.properties.get(step);
      const derivation = property && derivationOfProperty(property, part.name);
      if (derivation && rest.length === 0) return knownValue(derivation);
      if (propertyOf(part.kind, step) && rest.length === 0) return pending(undefined, `${step} of ${part.name}`);
      around.report(
        path,
        {
          code: 'unknown-name',
          name: step,
          wanted: `property of ${part.name}`,
          candidates: kindOf(part.kind)?.properties.map(({ name }) => name) ?? [],
        },
        this.placeOfStep(path, 0),
      );
      return { kind: 'bad', reason: `unknown property ${step}` };
    }
    return undefined;
  }

  /** The value of a `let`. Those of a design are kept by the design, since a variant of it may give other values. */
  letValue(node: ast.Let, around: Surroundings, lets = this.lets): Evaluated {
    const kept = lets.get(node);
    if (kept === 'busy') {
      this.report(
        node,
        {
          code: 'wrong-type',
          what: `\`let ${nameOf(node)}\``,
          expected: 'a value that does not rest on itself',
          text: node.name,
          proposals: [],
        },
        '',
        this.placeOf(node, 'name'),
      );
      return { kind: 'bad', reason: `${node.name} rests on itself` };
    }
    if (kept) return kept;
    const value = node.value;
    if (value?.$type === 'Hole') return pending(undefined, node.name);
    const inner = value?.$type === 'Assumed' ? value.value : value;
    if (!inner || !isExpressionNode(inner)) {
      if (inner)
        this.report(inner, {
          code: 'wrong-type',
          what: `\`let ${nameOf(node)}\``,
          expected: 'an expression',
          text: textOf(inner),
          proposals: [],
        });
      return { kind: 'bad', reason: 'not an expression' };
    }
    lets.set(node, 'busy');
    const result = new Evaluator({ ...around, uri: AstUtils.getDocument(node).uri.toString() }).evaluate(inner);
    const word = result.kind === 'known' ? unresolvedWord(inner) : undefined;
    if (word !== undefined)
      around.report(inner, { code: 'unknown-name', name: word, wanted: 'value', candidates: [...around.names()] });
    const named: Evaluated =
      word !== undefined
        ? { kind: 'bad', reason: `unknown name ${word}` }
        : result.kind === 'known'
          ? knownValue({
              ...result.derivation,
              name: nameOf(node),
              ...(value?.$type === 'Assumed' ? { origin: 'assumed' } : {}),
            })
          : result;
    lets.set(node, named);
    return named;
  }

  valueContext(around: Surroundings, _owner: AstNode | undefined): ValueContext {
    return {
      evaluator: new Evaluator(around),
      report: around.report,
      findPart: this.findPart,
      partNames: this.partNames,
      findProfile: this.findProfile,
      profileNames: (node) => this.namesOf(node, 'ProfileDeclaration'),
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
  ): { properties: Map<string, Property>; holes: Hole[]; unset: { name: string; missing: readonly string[] }[] } {
    const nodes = body === undefined ? [] : 'length' in body ? body : (body.properties ?? []);
    const properties = new Map<string, Property>();
    const holes: Hole[] = [];
    const unset: { name: string; missing: readonly string[] }[] = [];
    const context = this.valueContext(
      { ...around, report: (node, facts, at) => this.report(node, facts, subject, at) },
      undefined,
    );
    const seen = new Map<string, ast.Property>();

    const take = (
      name: string,
      value: ast.Value | undefined,
      more: readonly ast.Value[],
      whole: AstNode,
      nameAt: Place,
    ): void => {
      const property = propertyOf(definition.kind, name);
      if (!property) {
        this.report(
          whole,
          {
            code: 'unknown-name',
            name,
            wanted: `property of ${article(definition.kind)}`,
            candidates: definition.properties.map((each) => each.name),
          },
          subject,
          nameAt,
        );
        return;
      }
      if (!value) return;
      if (value.$type === 'Hole') {
        holes.push({ property: name, place: this.place(value) });
        properties.delete(name);
        return;
      }
      const inner = value.$type === 'Assumed' ? value.value : value;
      if (!inner) return;
      const result = typeValue(inner, more, property, owner, context);
      if (result.kind === 'missing') unset.push({ name, missing: result.missing });
      if (result.kind !== 'typed') return;
      const note = this.comment(whole);
      properties.set(name, {
        name,
        value: result.value,
        origin: value.$type === 'Assumed' ? 'assumed' : 'stated',
        place: more.length > 0 ? joined(this.place(value), this.place(more.at(-1)!)) : this.place(value),
        whole: this.place(whole),
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
      const before = seen.get(node.name);
      if (before) {
        this.report(
          node,
          { code: 'duplicate-name', name: node.name, what: 'property', first: this.placeOf(before, 'name') },
          subject,
          this.placeOf(node, 'name'),
        );
        continue;
      }
      seen.set(node.name, node);
      const property = propertyOf(definition.kind, node.name);
      if (property && this.isUnknownUnit(node, nodes[index + 1], property, subject)) continue;
      if (property && this.hasComma(node, property, subject)) continue;
      take(node.name, node.value, node.more ?? [], node, this.placeOf(node, 'name'));
    }
    for (const [name, override] of overrides ?? [])
      take(name, override.value, override.more ?? [], override, this.placeOfStep(override.subject, 0));
    return { properties, holes, unset };
  }

  /** Whether a property has its colon; without it the parser has said so already. */
  private hasColon(node: ast.Property): boolean {
    return !this.hasSyntaxErrors || GrammarUtils.findNodeForKeyword(node.$cstNode, ':') !== undefined;
  }

  /** A new thing that begins inside a body: the bracket before it is missing, and what follows belongs to that thing. */
  private startsThing(node: ast.Property, definition: KindDefinition): boolean {
    if (propertyOf(definition.kind, node.name) || !(instanceKinds.has(node.name) || THINGS.has(node.name)))
      return false;
    const at = this.placeOf(node, 'name');
    this.replaceSyntaxErrors(node, at, `\`}\` is missing before \`${node.name}\``);
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
    const at = this.placeOf(next, 'name');
    if (at.line !== this.place(node.value).endLine || type.type !== 'quantity') return false;
    this.replaceSyntaxErrors(next, at);
    this.report(
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
    if (!this.hasSyntaxErrors || !second || type.type === 'words') return false;
    const at = this.place(second);
    if (!this.replaceSyntaxErrors(node, at)) return false;
    const reason = `\`${name}\` takes one value; properties stand side by side, without commas`;
    this.report(node, { code: 'value-out-of-range', what: name, text: textOf(second), reason }, subject, at);
    return true;
  }

  private get hasSyntaxErrors(): boolean {
    const { lexerErrors, parserErrors } = this.document.parseResult;
    return lexerErrors.length + parserErrors.length > 0;
  }

  /**
   * Takes back the syntax errors that follow from one fault: those behind it on its line, else the next one if nothing stands between. Says
   * `message` instead, if there is one. Returns whether there were any.
   */
  private replaceSyntaxErrors(node: AstNode, at: Place, message?: string): boolean {
    if (AstUtils.getDocument(node) !== this.document) return false;
    const text = this.document.textDocument.getText();
    const isNext = ({ place }: Problem): boolean =>
      place.offset >= at.end && (place.line === at.endLine || text.slice(at.end, place.offset).trim() === '');
    const follow = this.problems.filter((problem) => problem.code === 'syntax-error' && isNext(problem));
    if (follow.length === 0) return false;
    for (const problem of follow) this.problems.splice(this.problems.indexOf(problem), 1);
    if (message) this.problems.push({ code: 'syntax-error', message, place: at, subject: '' });
    return true;
  }

  use(part: ast.Part | undefined): void {
    if (part) this.usedParts.add(part);
  }
}

/** A bare word that stands for nothing, where it is the whole of an expression. */
function unresolvedWord(node: ast.Expression): string | undefined {
  if (node.$type === 'Group') return node.inner && unresolvedWord(node.inner);
  if (node.$type !== 'Path' || (node.steps ?? []).length > 0 || node.root?.ref) return undefined;
  return node.root?.$refText;
}

/** A text that is being written may lack a name where the tree says there is one. */
const nameOf = ({ name }: { readonly name?: string }): string => name ?? 'without a name';

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

const article = (kind: string): string => (/^[aeiou]/.test(kind) ? `an ${kind}` : `a ${kind}`);

const joined = (from: Place, to: Place): Place => ({
  ...from,
  end: to.end,
  endLine: to.endLine,
  endCharacter: to.endCharacter,
});

/** The parser's message in the words of the language. */
function wordSyntaxError(name: string, message: string, image: string): string {
  const found = image ? `\`${image.slice(0, 30)}\`` : 'the end of the text';
  const expected =
    /Expecting token of type '([^']+)'/.exec(message)?.[1] ??
    /Expecting: one of these possible Token sequences:/.exec(message)?.[0];
  if (name === 'NestingTooDeep') return message;
  if (name === 'MismatchedTokenException' && expected === 'EOF')
    return `${found} does not start a declaration; use, part, profile, let, design or variant stand here`;
  if (name === 'MismatchedTokenException' && expected)
    return `${SPOKEN_TOKENS[expected] ?? `\`${expected}\``} is missing before ${found}`;
  if (name === 'NotAllInputParsedException')
    return `${found} does not belong here; a bracket may be missing or one too many`;
  if (name === 'NoViableAltException' || name === 'EarlyExitException') return `${found} does not fit here`;
  return `${found} is not expected here`;
}

const SPOKEN_TOKENS: Readonly<Record<string, string>> = {
  WORD: 'a name',
  STRING: 'a text in double quotes',
  NUMBER: 'a number',
  QUANTITY: 'a number with its unit',
  DATE: 'a date such as 2027-01-15',
  TIME: 'a time of day',
  ':': '`:`',
};

/** Reads one design, or a variant of it: the base with some values replaced. */
class DesignLowering {
  private readonly name: string;
  private readonly things = new Map<AstNode, Named>();
  private readonly instances = new Map<string, Instance>();
  private readonly around: Surroundings;
  private readonly overrides = new Map<string, Map<string, ast.Override>>();
  private values: DesignValues | undefined;
  private evaluationReport: Surroundings['report'] | undefined;
  private readonly unsetFacts = new Map<string, readonly string[]>();
  private readonly busy = new Set<AstNode>();
  /** Values of the `let` members: while the text is read, and for each set of computed quantities. */
  private readonly lets = new Map<ast.Let, Evaluated | 'busy'>();
  private readonly letsWith = new WeakMap<DesignValues, Map<ast.Let, Evaluated | 'busy'>>();

  constructor(
    private readonly file: FileLowering,
    private readonly design: ast.Design,
    private readonly variant?: ast.Variant,
  ) {
    this.name = nameOf(variant ?? design);
    this.around = {
      uri: AstUtils.getDocument(design).uri.toString(),
      report: (node, facts, at) => this.tell(node, facts, at),
      lookUp: (path) => this.lookUp(path),
      names: () => [
        ...(design.members ?? []).flatMap((member) =>
          'name' in member && typeof member.name === 'string' && member.$type !== 'Property' ? [member.name] : [],
        ),
        ...file.namesOf(design, 'Let'),
      ],
      callDesign: (call, given) => this.callDesign(call, given),
      designFunctionNames: [...STATE_SIGNALS.keys(), ...SCENARIO_RESULTS.keys(), ...file.designFunctions],
    };
  }

  // A variant repeats the text of its base; faults of the base are the base's own.
  private readonly report = (node: AstNode, facts: ProblemFacts, subject = this.name, at?: Place): void => {
    if (this.variant && !AstUtils.getContainerOfType(node, (each): each is ast.Variant => each === this.variant))
      return;
    this.file.report(node, facts, subject, at);
  };

  /** Reports what is wrong with an expression: to whoever asked for its value, else among the faults of the file. */
  private tell(node: AstNode, facts: ProblemFacts, at?: Place): void {
    if (this.evaluationReport) this.evaluationReport(node, facts, at);
    else this.report(node, facts, this.name, at);
  }

  lower(): LoweredDesign {
    const members = this.design.members ?? [];
    this.collectOverrides();
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
    for (const node of of('Link')) this.link(node);
    // A value that asked for a run was left open; now that runs are read it can be had.
    this.lets.clear();
    const runs = of('Run').flatMap((node) => this.run(node) ?? []);
    settleCarries(runs);
    const controls = of('Control').flatMap((node) => this.control(node) ?? []);
    const scenarios = of('Scenario').map((node) => this.scenario(node));
    const conditions = new Map<Requirement, ast.Expression>();
    const requirements = [
      ...of('Require').map((node) => this.requirement(node, conditions)),
      ...of('Scenario').flatMap((scenario) =>
        (scenario.members ?? []).flatMap((member) =>
          member.$type === 'Require' ? [this.requirement(member, conditions, scenario)] : [],
        ),
      ),
    ];
    for (const node of of('Let')) this.letIn(node);
    const doc = this.file.comment(this.variant ?? this.design);
    const label = this.variant?.label ?? this.design.label;
    const system: System = {
      name: this.name,
      ...(label ? { label } : {}),
      ...(doc ? { doc } : {}),
      ...(this.variant ? { variant: this.variant.name } : {}),
      uri: this.around.uri,
      basis: this.basis(of('Property')),
      site,
      settings: settings.properties,
      instances: [...this.instances.values()],
      runs,
      links: [...this.things.values()].filter((thing): thing is Link => 'kind' in thing && thing.kind === 'link'),
      controls,
      scenarios,
      requirements,
      accepts: of('Accept').map((node) => this.accept(node)),
      readings: of('Reading').flatMap((node) => this.reading(node) ?? []),
      place: this.variant ? this.file.placeOf(this.variant, 'name') : this.file.placeOf(this.design, 'name'),
      whole: this.file.place(this.variant ?? this.design),
      insert: this.insertionInDesign(),
    };
    this.notEvaluated(system);
    return {
      system,
      evaluate: (node, values, report) => {
        this.values = values;
        this.evaluationReport = report;
        try {
          return new Evaluator(this.around).evaluate(node);
        } finally {
          this.values = undefined;
          this.evaluationReport = undefined;
        }
      },
      conditionOf: (requirement) => conditions.get(requirement),
      lets: of('Let'),
    };
  }

  private collectOverrides(): void {
    for (const override of this.variant?.overrides ?? []) {
      const { subject } = override;
      if (!subject) continue;
      const root = subject.root?.$refText ?? '';
      const [property, ...rest] = subject.steps ?? [];
      if (rest.length > 0 || property === undefined) {
        this.report(
          override,
          {
            code: 'wrong-type',
            what: 'what a variant changes',
            expected: 'a property of a thing, such as Bank.parallel',
            text: textOf(subject),
            proposals: [],
          },
          this.name,
          this.file.place(subject),
        );
        continue;
      }
      if (root !== 'site' && root !== 'design' && !subject.root?.ref) {
        const candidates = (this.design.members ?? []).flatMap((member) =>
          'name' in member && member.$type !== 'Property' ? [member.name] : [],
        );
        this.report(
          override,
          { code: 'unknown-name', name: root, wanted: `thing of ${this.design.name}`, candidates },
          this.name,
          this.file.placeOf(subject, 'root'),
        );
        continue;
      }
      const key = root === 'design' ? '' : root;
      const of = this.overrides.get(key) ?? new Map<string, ast.Override>();
      of.set(property, override);
      this.overrides.set(key, of);
    }
  }

  /** Stated properties of a thing on top of its part and the defaults of its kind. */
  private read(
    definition: KindDefinition,
    body: Body | readonly ast.Property[],
    owner: string,
    path: string,
    overrides?: ReadonlyMap<string, ast.Override>,
    part?: Part,
  ): { properties: Map<string, Property>; holes: Hole[] } {
    const around = this.conditionsAround(path);
    const stated = this.file.properties(definition, body, owner, around, overrides, path);
    for (const { name, missing } of stated.unset) this.unsetFacts.set(`${owner}.${name}`, missing);
    const properties = new Map(defaultsOf(definition));
    for (const [name, property] of part?.properties ?? [])
      properties.set(name, { ...property, inheritedFrom: property.inheritedFrom ?? part!.name });
    for (const hole of stated.holes) properties.delete(hole.property);
    for (const [name, property] of stated.properties) properties.set(name, property);
    return { properties, holes: stated.holes };
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
    return { properties, ...(node ? { place: this.file.place(node), insert: this.insertion(node, node.body) } : {}) };
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
    if (!node?.value) return { practice: 'nec', origin: 'default' };
    const result = typeValue(
      node.value,
      node.more ?? [],
      propertyOf('design', 'basis')!,
      'design',
      this.file.valueContext(this.around, undefined),
    );
    if (result.kind !== 'typed' || result.value.type !== 'word') return { practice: 'nec', origin: 'default' };
    const edition = node.$type === 'Property' ? node.edition : undefined;
    return {
      practice: result.value.word as Practice,
      ...(edition === undefined ? {} : { edition: String(edition) }),
      origin: 'stated',
      place: this.file.place(node.value),
    };
  }

  private instance(node: ast.Instance): void {
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
      kind: node.kind,
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      ...(part ? { part } : {}),
      properties,
      holes,
      terminals: definition.terminals(properties),
      place: this.file.placeOf(node, 'name'),
      whole: this.file.place(node),
      insert: this.insertion(node, node.body),
    };
    this.things.set(node, instance);
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
    this.file.use(target);
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
    return this.file.part(target, true);
  }

  private stop(node: ast.RunStop, index: 'end' | 'middle', path: string): Stop | undefined {
    const name = node.element?.$refText;
    if (name === undefined) return undefined;
    const target = node.element.ref;
    const at = this.file.placeOf(node, 'element');
    const instance = target ? (this.things.get(target) as Instance | undefined) : undefined;
    if (!instance) {
      if (!target)
        this.report(
          node,
          { code: 'unknown-name', name, wanted: 'thing of this design', candidates: [...this.instances.keys()] },
          path,
          at,
        );
      return undefined;
    }
    const terminal = this.terminal(node, instance, index, path);
    if (terminal === 'unclear') return undefined;
    const value = node.distance ? new Evaluator(this.around).evaluate(node.distance) : undefined;
    if (
      value?.kind === 'known' &&
      typeof value.derivation.value === 'object' &&
      value.derivation.value.dimension !== DIMENSIONS.length
    ) {
      this.report(
        node,
        {
          code: 'wrong-dimension',
          what: 'the distance after `@`',
          expected: 'length (mm)',
          found: 'another quantity',
          text: textOf(node.distance),
          proposals: [],
        },
        path,
        this.file.place(node.distance!),
      );
    }
    const distance =
      value?.kind === 'known' &&
      typeof value.derivation.value === 'object' &&
      value.derivation.value.dimension === DIMENSIONS.length
        ? { ...value.derivation, name: `distance of ${name} along the run` }
        : undefined;
    return {
      instance,
      ...(terminal ? { terminal } : {}),
      ...(distance ? { distance } : {}),
      place: this.file.place(node),
    };
  }

  private terminal(
    node: ast.RunStop,
    instance: Instance,
    index: 'end' | 'middle',
    path: string,
  ): Terminal | 'unclear' | undefined {
    const { terminals } = instance;
    if (node.terminal) {
      const found = terminals.find((each) => each.name === node.terminal);
      if (found) return found;
      this.report(
        node,
        {
          code: 'unknown-name',
          name: node.terminal,
          wanted: `terminal of ${instance.name}`,
          candidates: terminals.map((each) => each.name),
        },
        path,
        this.file.placeOf(node, 'terminal'),
      );
      return 'unclear';
    }
    if (terminals.length === 1) return terminals[0];
    if (index === 'middle' && terminals.length === 0) return undefined;
    this.report(
      node,
      {
        code: 'unknown-name',
        name: instance.name,
        wanted: `terminal of ${instance.name}`,
        candidates: terminals.map((each) => `${instance.name}.${each.name}`),
        hint: `${instance.name} has several terminals`,
      },
      path,
      this.file.placeOf(node, 'element'),
    );
    return 'unclear';
  }

  private run(node: ast.Run): Run | undefined {
    const path = `${this.name}.${nameOf(node)}`;
    const definition = kindOf('run')!;
    const { properties, holes } = this.read(
      definition,
      node.body,
      `run ${nameOf(node)}`,
      path,
      this.overrides.get(node.name),
    );
    const stops = (node.stops ?? []).map((stop, index, all) =>
      this.stop(stop, index === 0 || index === all.length - 1 ? 'end' : 'middle', path),
    );
    const others = (node.others ?? []).map((stop) => this.stop(stop, 'end', path));
    if ((node.stops ?? []).length < 2) {
      if ((node.stops ?? []).length === 1)
        this.report(
          node,
          {
            code: 'wrong-type',
            what: `run ${nameOf(node)}`,
            expected: 'a path of at least two things joined by `->`',
            text: textOf(node.stops[0]),
            proposals: [],
          },
          path,
          this.file.placeOf(node, 'name'),
        );
      return undefined;
    }
    if ([...stops, ...others].some((stop) => stop === undefined)) return undefined;
    const known = stops as Stop[];
    const doc = this.file.comment(node);
    const run: Run = {
      kind: 'run',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      properties,
      holes,
      from: known[0]!,
      through: known.slice(1, -1),
      to: [known.at(-1)!, ...(others as Stop[])],
      carries: 'any',
      place: this.file.placeOf(node, 'name'),
      whole: this.file.place(node),
      insert: this.insertion(node, node.body),
    };
    this.things.set(node, run);
    return run;
  }

  private link(node: ast.Link): void {
    const path = `${this.name}.${nameOf(node)}`;
    const { properties, holes } = this.read(
      kindOf('link')!,
      node.body,
      `link ${nameOf(node)}`,
      path,
      this.overrides.get(node.name),
    );
    const ends = [node.from, node.to].map((stop) => {
      const target = stop?.element?.ref;
      if (stop?.element && !target)
        this.report(
          stop,
          {
            code: 'unknown-name',
            name: stop.element.$refText,
            wanted: 'thing of this design',
            candidates: [...this.instances.keys()],
          },
          path,
          this.file.placeOf(stop, 'element'),
        );
      return target ? (this.things.get(target) as Instance | undefined) : undefined;
    });
    if (!ends[0] || !ends[1]) return;
    const doc = this.file.comment(node);
    this.things.set(node, {
      kind: 'link',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      properties,
      holes,
      from: ends[0],
      to: ends[1],
      place: this.file.placeOf(node, 'name'),
      whole: this.file.place(node),
      insert: this.insertion(node, node.body),
    });
  }

  private control(node: ast.Control): Control | undefined {
    const path = `${this.name}.${nameOf(node)}`;
    const members = node.members ?? [];
    const { properties, holes } = this.read(
      kindOf('control')!,
      members.filter((member): member is ast.Property => member.$type === 'Property'),
      `control ${nameOf(node)}`,
      path,
      this.overrides.get(node.name),
    );
    const target = node.target?.ref ? (this.things.get(node.target.ref) as Instance | undefined) : undefined;
    if (!target) {
      if (node.target && !node.target.ref)
        this.report(
          node,
          {
            code: 'unknown-name',
            name: node.target.$refText,
            wanted: 'thing of this design',
            candidates: [...this.instances.keys()],
          },
          path,
          this.file.placeOf(node, 'target'),
        );
      return undefined;
    }
    const fallbacks = members.flatMap((member) => {
      if (member.$type !== 'Fallback') return [];
      const link = member.link?.ref ? (this.things.get(member.link.ref) as Link | undefined) : undefined;
      if (!link) {
        const links = (this.design.members ?? []).flatMap((each) => (each.$type === 'Link' ? [each.name] : []));
        if (member.link && !member.link.ref)
          this.report(
            member,
            { code: 'unknown-name', name: member.link.$refText, wanted: 'link of this design', candidates: links },
            path,
            this.file.placeOf(member, 'link'),
          );
        return [];
      }
      const rules = (member.members ?? []).flatMap((each) =>
        each.$type === 'Rule' ? (this.rule(each, path) ?? []) : [],
      );
      const stated = this.file.properties(
        kindOf('control')!,
        (member.members ?? []).filter((each): each is ast.Property => each.$type === 'Property'),
        `control ${nameOf(node)} without ${link.name}`,
        this.conditionsAround(path),
        undefined,
        path,
      );
      holes.push(...stated.holes);
      return [{ link, rules, properties: stated.properties, place: this.file.place(member) }];
    });
    const doc = this.file.comment(node);
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
      place: this.file.placeOf(node, 'name'),
      whole: this.file.place(node),
      insert: this.insertionAtEnd(node),
    };
    this.things.set(node, control);
    return control;
  }

  /** What properties of controls see: quiet hours rest on conditions. */
  private conditionsAround(path: string): Surroundings {
    return {
      ...this.around,
      report: (node, facts, at) => this.report(node, facts, path, at),
      readCondition: (node) => this.condition(node, path, 'what stands after `unless`'),
    };
  }

  private rule(node: ast.Rule, path: string): Rule | undefined {
    if (!['start', 'stop', 'on', 'off'].includes(node.verb)) {
      this.report(
        node,
        {
          code: 'unknown-name',
          name: node.verb ?? '',
          wanted: 'verb of a rule',
          candidates: ['start', 'stop', 'on', 'off'],
        },
        path,
        this.file.placeOf(node, 'verb'),
      );
      return undefined;
    }
    if (!node.condition) return undefined;
    const evaluator = new Evaluator({
      ...this.around,
      report: (node, facts, at) => this.report(node, facts, path, at),
    });
    const condition = evaluator.evaluate(node.condition);
    if (!isCondition(condition))
      this.report(
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
        this.report(
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
      condition.kind === 'pending' ? this.condition(node.condition, path, 'what stands after `when`') : undefined;
    if (condition.kind === 'known' && isCondition(condition))
      this.condition(node.condition, path, 'what stands after `when`');
    return {
      verb: node.verb as Rule['verb'],
      thresholds,
      joined,
      ...(read?.kind === 'condition' ? { condition: read.condition } : {}),
      ...(read?.kind === 'missing' ? { missing: read.missing } : {}),
      dwell,
      text: textOf(node),
      place: this.file.place(node),
      afterCondition: afterPlace(this.file.place(node.condition)),
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
    const of = target ? (this.things.get(target) as Instance | undefined) : undefined;
    if (call?.$type !== 'Call' || !STATE_SIGNALS.has(call.function) || !of || !limitNode) return 'other';
    const limit = new Evaluator(this.around).evaluate(limitNode);
    if (limit.kind !== 'known' || typeof limit.derivation.value !== 'object') return 'other';
    if (
      call.function === 'soc' &&
      isBareShare(limitNode, limit.derivation.value, (at, facts) => this.report(at, facts))
    )
      return 'other';
    const flip = { '<': '>', '<=': '>=', '>': '<', '>=': '<=' } as const;
    const comparison = node.operator as Threshold['comparison'];
    into.push({
      signal: call.function,
      of,
      comparison: flipped ? flip[comparison] : comparison,
      limit: limit.derivation.value,
      place: this.file.place(node),
      limitPlace: this.file.place(limitNode),
    });
    return 'single';
  }

  /** Reads what a rule or quiet hours rest on. The expression has been evaluated, so that its types are right. */
  private condition(node: ast.Expression, path: string, what: string): ReadCondition {
    const report: Surroundings['report'] = (at, facts, place) => this.report(at, facts, path, place);
    const evaluator = new Evaluator({ ...this.around, report });
    return new ConditionReader(
      {
        evaluate: (each) => evaluator.evaluate(each),
        report,
        place: (each) => this.file.place(each),
        thing: (each) => (each.root?.ref ? this.things.get(each.root.ref) : undefined),
        letOf: (each) => {
          const target = each.root?.ref;
          return target?.$type === 'Let' && target.$container === this.design ? target : undefined;
        },
        isComputed: (each) => this.isComputed(each),
      },
      what,
    ).read(node);
  }

  /** Whether a value is worked out from the whole design rather than stated. */
  private isComputed(node: ast.Path | ast.Call): boolean {
    if (node.$type === 'Call') {
      const first = node.arguments?.[0]?.value;
      const target = first?.$type === 'Path' && (first.steps ?? []).length === 0 ? first.root?.ref : undefined;
      return this.file.designFunctions.includes(node.function) && target !== undefined && this.things.has(target);
    }
    const thing = node.root?.ref && this.things.get(node.root.ref);
    const steps = node.steps ?? [];
    if (!thing || steps.length === 0 || propertyOf(thing.kind, steps[0]!)) return false;
    return this.file
      .quantityNames(thing.kind)
      .some((name) => name === steps[0] || name === steps.slice(0, 2).join('.'));
  }

  private scenario(node: ast.Scenario): Scenario {
    const path = `${this.name}.${nameOf(node)}`;
    const members = node.members ?? [];
    const owner = `scenario ${nameOf(node)}`;
    const { properties, holes } = this.read(
      kindOf('scenario')!,
      members.filter((member): member is ast.Property => member.$type === 'Property'),
      owner,
      path,
      this.overrides.get(node.name),
    );
    const unset = (kindOf('scenario')?.properties ?? []).flatMap(
      ({ name }) => this.unsetFacts.get(`${owner}.${name}`) ?? [],
    );
    const report: Surroundings['report'] = (at, facts, place) => this.report(at, facts, path, place);
    const evaluator = new Evaluator({ ...this.around, report });
    const { missing, ...stated } = new ScenarioReader({
      evaluate: (each) => evaluator.evaluate(each),
      report,
      place: (each) => this.file.place(each),
      thing: (each) => (each.root?.ref ? this.things.get(each.root.ref) : undefined),
      names: (kinds) =>
        [...this.things.values()]
          .filter(({ kind }) => kinds.length === 0 || kinds.includes(kind))
          .map(({ name }) => name),
      values: this.file.valueContext({ ...this.around, report }, undefined),
    }).read(members.filter((member): member is ast.InitialValue => member.$type === 'InitialValue'));
    const scenario: Scenario = {
      kind: 'scenario',
      name: nameOf(node),
      path,
      ...(node.label ? { label: node.label } : {}),
      properties,
      holes,
      ...scenarioSetting(properties),
      ...stated,
      missing: [...new Set([...unset, ...missing])],
      place: this.file.placeOf(node, 'name'),
    };
    this.things.set(node, scenario);
    return scenario;
  }

  private requirement(
    node: ast.Require,
    conditions: Map<Requirement, ast.Expression>,
    scenario?: ast.Scenario,
  ): Requirement {
    const requirement: Requirement = {
      ...(scenario ? { scenario: scenario.name } : {}),
      text: textOf(node.condition),
      ...(node.reason ? { reason: node.reason } : {}),
      ...(node.until ? { until: node.until } : {}),
      place: node.condition ? this.file.place(node.condition) : this.file.place(node),
      whole: this.file.place(node),
    };
    if (node.condition) conditions.set(requirement, node.condition);
    return requirement;
  }

  private accept(node: ast.Accept): Accept {
    const subject = node.subject ? textOf(node.subject) : undefined;
    const root = node.subject?.root;
    if (root && !root.ref && root.$refText !== 'site')
      this.report(
        node,
        {
          code: 'unknown-name',
          name: root.$refText,
          wanted: 'thing of this design',
          candidates: [...this.around.names(), 'site'],
        },
        this.name,
        this.file.placeOf(node.subject!, 'root'),
      );
    return {
      check: node.check ?? '',
      ...(subject ? { subject } : {}),
      ...(node.reason ? { reason: node.reason } : {}),
      ...(node.until ? { until: node.until } : {}),
      place: this.file.place(node),
      checkPlace: this.file.placeOf(node, 'check'),
    };
  }

  private reading(node: ast.Reading): Reading | undefined {
    const value =
      node.value && isExpressionNode(node.value) ? new Evaluator(this.around).evaluate(node.value) : undefined;
    if (!node.subject || value?.kind !== 'known' || typeof value.derivation.value !== 'object') {
      if (node.value && value?.kind !== 'bad')
        this.report(node.value, {
          code: 'wrong-type',
          what: 'a reading',
          expected: 'a quantity',
          text: textOf(node.value),
          proposals: [],
        });
      return undefined;
    }
    if (!node.subject.root?.ref)
      this.report(
        node.subject,
        {
          code: 'unknown-name',
          name: node.subject.root?.$refText ?? '',
          wanted: 'thing of this design',
          candidates: [...this.instances.keys()],
        },
        this.name,
        this.file.placeOf(node.subject, 'root'),
      );
    else this.checkReading(node.subject);
    return {
      subject: textOf(node.subject),
      value: value.derivation.value,
      ...(node.date ? { date: node.date } : {}),
      ...(node.note ? { note: node.note } : {}),
      place: this.file.place(node),
    };
  }

  /** A reading is of a property, a computed quantity, or a signal at a thing or terminal: Rect.dc.voltage. */
  private checkReading(subject: ast.Path): void {
    const last = subject.steps?.at(-1);
    if (last !== undefined && !STATE_SIGNALS.has(last)) new Evaluator(this.around).evaluate(subject);
  }

  private notEvaluated(system: System): void {
    const holes = [...system.instances, ...system.runs, ...system.links, ...system.controls].flatMap(
      (thing) => thing.holes,
    );
    if (holes.length > 0 && !this.variant) {
      const node = this.design;
      this.report(
        node,
        {
          code: 'not-evaluated',
          what: 'hole',
          count: holes.length,
          reason: 'values for `?` are not proposed yet; the design is checked around them',
        },
        this.name,
        holes[0]!.place,
      );
    }
    const scenarios = system.scenarios;
    if (scenarios.length > 0 && !this.variant) {
      this.report(
        this.design,
        {
          code: 'not-evaluated',
          what: 'scenario',
          count: scenarios.length,
          reason:
            'scenarios are read and their types checked, but they are not played yet; their requirements are neither passed nor failed',
        },
        this.name,
        scenarios[0]!.place,
      );
    }
  }

  private lookUp(path: ast.Path): Evaluated | undefined {
    const target = path.root?.ref;
    const steps = path.steps ?? [];
    const signal = target || steps.length > 0 ? undefined : PLAIN_SIGNALS.get(path.root?.$refText ?? '');
    if (signal) return pending(signal, `${path.root.$refText}, which only a scenario gives`);
    if (!target) return undefined;
    if (target.$type === 'Let' || target.$type === 'Part') {
      if (target.$type === 'Let' && steps.length === 0) return this.letIn(target);
      return this.file.lookUpNamed(path, this.around);
    }
    const thing = this.things.get(target);
    if (!thing) {
      // A thing that is read later in this design, or is faulty.
      if (target.$container === this.design && !this.busy.has(target) && target.$type === 'Instance') {
        this.busy.add(target);
        this.instance(target);
        this.busy.delete(target);
        return this.things.has(target) ? this.lookUp(path) : { kind: 'bad', reason: `${target.name} is faulty` };
      }
      return steps.length === 0
        ? { kind: 'thing', name: target.name, thingKind: target.$type.toLowerCase() }
        : pending(undefined, textOf(path));
    }
    if (steps.length === 0) return { kind: 'thing', name: thing.name, thingKind: thing.kind };
    return this.member(path, thing, steps);
  }

  /** A `let` may speak of computed quantities; it is worked out anew, once, when those are at hand. */
  private letIn(node: ast.Let): Evaluated {
    if (node.$container !== this.design) return this.file.letValue(node, this.file.fileSurroundings(node));
    let lets = this.values ? this.letsWith.get(this.values) : this.lets;
    if (!lets) this.letsWith.set(this.values!, (lets = new Map()));
    return this.file.letValue(node, this.around, lets);
  }

  private member(path: ast.Path, thing: Named, steps: readonly string[]): Evaluated {
    // A terminal may stand between: Rect.dc.current is the current at that terminal's side.
    const terminals = 'terminals' in thing ? thing.terminals.map((each) => each.name) : [];
    const atTerminal = steps.length > 1 && terminals.includes(steps[0]!);
    const name = atTerminal ? `${steps[0]}.${steps[1]}` : steps[0]!;
    const rest = steps.slice(atTerminal ? 2 : 1);
    const property = 'properties' in thing ? thing.properties.get(name) : undefined;
    const stated = property && derivationOfProperty(property, thing.name);
    const value = stated ? knownValue(stated) : this.values?.quantity(thing.name, name);
    if (value) return this.parts(path, value, rest);
    if (propertyOf(thing.kind, name))
      return pending(
        this.dimensionOf(thing.kind, name),
        ...(this.unsetFacts.get(`${thing.kind} ${thing.name}.${name}`) ?? [`${name} of ${thing.name}`]),
      );
    const quantities = this.file.quantityNames(thing.kind);
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
      this.file.placeOfStep(path, atTerminal ? 1 : 0),
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
          this.file.placeOfStep(path, path.steps.length - steps.length + index),
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
    const known = this.around.designFunctionNames.includes(name);
    const [first] = given;
    const word = first && known ? unresolvedWord(first.node) : undefined;
    if (first && word !== undefined) {
      const candidates = [...this.around.names()];
      this.around.report(first.node, { code: 'unknown-name', name: word, wanted: 'thing of this design', candidates });
      return { kind: 'bad', reason: `unknown name ${word}` };
    }
    const signal = typeSignalCall(call, given);
    if (signal) return signal;
    if (!known) return undefined;
    if (first?.value.kind !== 'thing') {
      // Some functions of a thing are also functions of plain values: chargeTime(capacity: 100 Ah, …).
      if (findFunction(name)) return undefined;
      if (first?.value.kind === 'bad' || first?.value.kind === 'pending') return first.value;
      const at = first?.node ?? call;
      const what = `the first argument of \`${name}\``;
      const text = textOf(at);
      this.around.report(at, { code: 'wrong-type', what, expected: 'a thing of this design', text, proposals: [] });
      return { kind: 'bad', reason: `${name} needs a thing` };
    }
    return this.values?.call(name, given) ?? pending(undefined, `${name}(${first.value.name}, …)`);
  }

  /** Where a property can be added to a thing with an optional body. */
  private insertion(node: AstNode, body: Body): InsertionPoint {
    const last = body?.properties?.at(-1);
    if (last?.$cstNode) return this.after(last.$cstNode, body!.$cstNode);
    const open = body && GrammarUtils.findNodeForKeyword(body.$cstNode, '{');
    const uri = AstUtils.getDocument(node).uri.toString();
    if (open)
      return {
        place: afterPlace(placeOfCst(open, uri)),
        before: ' ',
        after: /^\{\s/.test(body.$cstNode?.text ?? '') ? '' : ' ',
      };
    return { place: afterPlace(this.file.place(node)), before: ' { ', after: ' }' };
  }

  private insertionAtEnd(node: ast.Control): InsertionPoint {
    const last = node.members?.at(-1);
    if (last?.$cstNode) return { ...this.after(last.$cstNode, node.$cstNode) };
    const open = GrammarUtils.findNodeForKeyword(node.$cstNode, '{');
    return {
      place: afterPlace(placeOfCst(open ?? node.$cstNode, AstUtils.getDocument(node).uri.toString())),
      before: ' ',
      after: '',
    };
  }

  /** After the last member: on a line of its own where the members stand on lines, else behind it. */
  private after(last: CstNode, container: CstNode | undefined): InsertionPoint {
    const place = afterPlace(placeOfCst(last, this.around.uri));
    const lines = container ? container.range.end.line > container.range.start.line : false;
    return {
      place,
      before:
        lines && last.range.start.line > (container?.range.start.line ?? 0) ? `\n${' '.repeat(indentOf(last))}` : '   ',
      after: '',
    };
  }

  /** Where a new member of the design can be written: before the closing bracket. */
  private insertionInDesign(): InsertionPoint {
    const last = this.design.members?.at(-1);
    if (last?.$cstNode)
      return { place: afterPlace(placeOfCst(last.$cstNode, this.around.uri)), before: '\n  ', after: '' };
    const open = GrammarUtils.findNodeForKeyword(this.design.$cstNode, '{');
    return {
      place: afterPlace(placeOfCst(open ?? this.design.$cstNode, this.around.uri)),
      before: '\n  ',
      after: '\n',
    };
  }
}

/** Column of the first thing on the line a node starts on, so that an added line lines up. */
function indentOf(node: CstNode): number {
  const text = node.root.fullText;
  const lineStart = text.lastIndexOf('\n', node.offset - 1) + 1;
  return /^[ \t]*/.exec(text.slice(lineStart, node.offset))?.[0].length ?? 0;
}

/** Works out for every run whether it carries AC or DC, from the terminals it joins and through gear and busbars that take either. */
function settleCarries(runs: Run[]): void {
  const settled = new Map<Instance, Carries>();
  const sideOf = (stop: Stop): Carries =>
    stop.terminal && stop.terminal.carries !== 'any' ? stop.terminal.carries : (settled.get(stop.instance) ?? 'any');
  for (let changed = true; changed;) {
    changed = false;
    for (const [index, run] of runs.entries()) {
      const stops = [run.from, ...run.through, ...run.to];
      const carries = run.carries !== 'any' ? run.carries : (stops.map(sideOf).find((side) => side !== 'any') ?? 'any');
      if (carries === 'any') continue;
      if (run.carries === 'any') {
        runs[index] = { ...run, carries };
        changed = true;
      }
      for (const stop of stops) {
        if (stop.terminal?.carries !== 'any' || settled.has(stop.instance)) continue;
        settled.set(stop.instance, carries);
        changed = true;
      }
    }
  }
}
