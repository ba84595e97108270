import { type AstNode, AstUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import { FORMER_PARTS, LIBRARY_SCHEME } from '../../syntax/scope.js';
import { CATALOGUE_KINDS, INSTANCE_KINDS } from '../../equipment/index.js';
import type { Part } from '../types.js';
import type { FileReader } from './file-reader.js';
import { nameOf } from './wording.js';

const partKinds = new Map([...INSTANCE_KINDS, ...CATALOGUE_KINDS].map((definition) => [definition.kind, definition]));

/** Parts that may wait for one another's base at once, so that no text can exhaust the stack. */
const MOST_BASES = 200;

/** Parts of the standard library, for all designs: they never change while the tool runs. */
const libraryParts = new WeakMap<ast.Part, Part>();

/** Reads the parts that a file states or draws in, each once. */
export class PartReader {
  private readonly parts = new Map<ast.Part, Part | 'busy'>();
  /** Parts that wait for their base. */
  private openParts = 0;
  private readonly usedParts = new Set<ast.Part>();

  constructor(private readonly file: FileReader) {}

  unusedParts(file: ast.File): void {
    for (const declaration of file.declarations ?? []) {
      if (declaration.$type !== 'Part' || !declaration.name || this.usedParts.has(declaration)) continue;
      this.file.report(
        declaration,
        { code: 'unused-part', name: declaration.name, whole: this.file.place(declaration) },
        '',
        this.file.placeOf(declaration, 'name'),
      );
    }
  }

  /** Finds a part by name among the visible files; the nearest one of a fitting kind. */
  readonly findPart = (node: AstNode, name: string, kinds: readonly string[]): Part | undefined => {
    for (const table of this.file.services.visible.tables(node)) {
      for (const candidate of table.get(name) ?? []) {
        if (candidate.$type !== 'Part' || !kinds.includes((candidate as unknown as ast.Part).kind)) continue;
        return this.part(candidate as unknown as ast.Part, true);
      }
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
      this.file.report(node, { code: 'extends-loop', chain: basesOf(node) }, '', this.file.placeOf(node, 'base'));
      return undefined;
    }
    if (known) return known;
    const definition = partKinds.get(node.kind);
    if (!definition) {
      if (node.kind !== undefined)
        this.file.report(
          node,
          { code: 'unknown-name', name: node.kind, wanted: 'kind of part', candidates: [...partKinds.keys()] },
          '',
          this.file.placeOf(node, 'kind'),
        );
      return undefined;
    }
    this.parts.set(node, 'busy');
    this.openParts += 1;
    const base = this.baseOf(node);
    this.openParts -= 1;
    const own = this.file.statements.properties(
      definition,
      node.body,
      `part ${nameOf(node)}`,
      this.file.names.fileSurroundings(node),
      undefined,
    );
    const isLibrary = AstUtils.getDocument(node).uri.scheme === LIBRARY_SCHEME;
    const inherited = new Map(
      [...(base?.properties ?? [])].map(([name, property]) => [
        name,
        { ...property, inheritedFrom: property.inheritedFrom ?? base!.name },
      ]),
    );
    const doc = this.file.comment(node);
    const part: Part = {
      kind: node.kind,
      name: nameOf(node),
      ...(node.label ? { label: node.label } : {}),
      ...(doc ? { doc } : {}),
      library: isLibrary,
      ...(base ? { base } : {}),
      place: this.file.placeOf(node, 'name'),
      properties: new Map([...inherited, ...own.properties]),
      wrong: [...new Set([...(base?.wrong ?? []), ...own.wrong])].filter((name) => !own.properties.has(name)),
    };
    this.parts.set(node, part);
    if (isLibrary) libraryParts.set(node, part);
    return part;
  }

  private baseOf(node: ast.Part): Part | undefined {
    if (!node.base) return undefined;
    const target = node.base.ref;
    if (!target) {
      this.file.report(
        node,
        {
          code: 'unknown-name',
          name: node.base.$refText,
          wanted: `part of kind ${node.kind}`,
          candidates: this.file.partNames(node, [node.kind]),
        },
        '',
        this.file.placeOf(node, 'base'),
      );
      return undefined;
    }
    if (target.kind !== node.kind) {
      this.file.report(
        node,
        {
          code: 'wrong-type',
          what: `the base of part ${node.name}`,
          expected: `a ${node.kind}; ${target.name} is a ${target.kind}`,
          text: node.base.$refText,
          proposals: [],
        },
        '',
        this.file.placeOf(node, 'base'),
      );
      return undefined;
    }
    if (this.openParts > MOST_BASES) {
      this.file.report(
        node,
        {
          code: 'value-out-of-range',
          what: `part ${nameOf(node)}`,
          text: `extends ${target.name}`,
          reason: `more than ${MOST_BASES} parts that extend one another are open here`,
        },
        '',
        this.file.placeOf(node, 'base'),
      );
      return undefined;
    }
    return this.part(target, true);
  }

  partsOf(file: ast.File, kind: string): Part[] {
    const names = [...new Set(this.file.partNames(file, [kind]))];
    const parts = names.flatMap((name) => this.findPart(file, name, [kind]) ?? []);
    return parts.filter(({ place }) => place.uri !== FORMER_PARTS);
  }

  use(part: ast.Part | undefined): void {
    if (part) this.usedParts.add(part);
  }
}

/** The names of a part and those it extends, up to the first that comes again. */
function basesOf(node: ast.Part): string[] {
  const seen = new Set<ast.Part>();
  const chain: string[] = [];
  for (let at: ast.Part | undefined = node; at; at = at.base?.ref) {
    chain.push(nameOf(at));
    if (seen.has(at)) break;
    seen.add(at);
  }
  return chain;
}
