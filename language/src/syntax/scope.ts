import {
  AstUtils,
  type AstNode,
  type AstNodeDescription,
  DefaultScopeComputation,
  type LangiumCoreServices,
  type LangiumDocument,
  type LangiumDocuments,
  type LangiumSharedCoreServices,
  type LocalSymbols,
  MultiMap,
  type ReferenceInfo,
  type Scope,
  type ScopeProvider,
  type Stream,
  UriUtils,
  URI,
  stream,
} from 'langium';
import { type Design, type File, type Variant, isFile } from '../grammar/generated/ast.js';

export type Named = AstNode & { readonly name: string };

/** What can be named, by name: a map, or what stands for one. */
export interface Names extends Iterable<readonly [string, readonly Named[]]> {
  get(name: string): readonly Named[] | undefined;
  values(): Iterable<readonly Named[]>;
}

const hasName = (node: AstNode): node is Named => typeof (node as { name?: unknown }).name === 'string';

function group(nodes: Iterable<AstNode>): Names {
  const names = new Map<string, Named[]>();
  for (const node of nodes) {
    if (!hasName(node)) continue;
    const same = names.get(node.name);
    if (same) same.push(node);
    else names.set(node.name, [node]);
  }
  return names;
}

/** Things a design declares by name; a `Property` also has a name but is no thing. */
const membersOf = (design: Design): AstNode[] => design.members.filter((member) => member.$type !== 'Property');

// Invariant: what a design or a file holds never changes, since an edit makes new ones (graft.ts), so names can be kept for as long as they live.
// No design context is there yet that could keep them: names are looked up while the text is linked.
const memberNames = new WeakMap<Design, Names>();
const addedNames = new WeakMap<Variant, Names>();
const declarationNames = new WeakMap<File, Names>();

function namesIn(design: Design): Names {
  let names = memberNames.get(design);
  if (!names) memberNames.set(design, (names = group(membersOf(design))));
  return names;
}

function addedIn(variant: Variant): Names {
  let names = addedNames.get(variant);
  if (!names)
    addedNames.set(
      variant,
      (names = group(variant.changes.flatMap((change) => ('thing' in change && change.thing ? [change.thing] : [])))),
    );
  return names;
}

function declarationsIn(file: File): Names {
  let names = declarationNames.get(file);
  if (!names) declarationNames.set(file, (names = group(file.declarations)));
  return names;
}

/** Where a path leads that is relative to a file. Undefined when no address can be made of it, such as of half a character. */
export function resolveBeside(from: URI, path: string): URI | undefined {
  if (/\p{Surrogate}/u.test(path)) return undefined;
  try {
    return UriUtils.resolvePath(UriUtils.dirname(from), path);
  } catch {
    return undefined;
  }
}

/** Folders of parts that a project gives names, so that `use "stock/cells.watt"` means the same in all its files. */
export interface NamedFolders {
  /** The folder that a name stands for in a file; undefined where its project gives the name to none. */
  readonly folder: (from: URI, name: string) => URI | undefined;
  /** Files whose declarations a file sees without drawing them in: own wiring tables of its project. */
  readonly always: (from: URI) => readonly URI[];
}

/** For files of no project, and for paths that are never looked up by name. */
export const NO_NAMED_FOLDERS: NamedFolders = { folder: () => undefined, always: () => [] };

/** What the services of the language have besides those of the framework. */
export interface ProjectServices {
  readonly project: { readonly NamedFolders: NamedFolders };
}

const namedFoldersIn = (shared: LangiumSharedCoreServices): NamedFolders =>
  (shared as LangiumSharedCoreServices & Partial<ProjectServices>).project?.NamedFolders ?? NO_NAMED_FOLDERS;

/** The files that a file draws in: those that it names, then those that its project gives to all. Addresses that lead nowhere are left out. */
export function drawnInBy(shared: LangiumSharedCoreServices, document: LangiumDocument): URI[] {
  const file = document.parseResult.value;
  if (!isFile(file)) return [];
  const named = file.uses.flatMap(({ path }) =>
    typeof path === 'string' ? (useTarget(shared, document.uri, path) ?? []) : [],
  );
  const own = document.uri.toString();
  return [
    ...named,
    ...namedFoldersIn(shared)
      .always(document.uri)
      .filter((uri) => uri.toString() !== own),
  ];
}

/** Where a `use` path leads in the files of these services. */
export const useTarget = (shared: LangiumSharedCoreServices, from: URI, path: string): URI | undefined =>
  resolveUse(from, path, namedFoldersIn(shared));

/**
 * Where a `use` path leads: into the folder that its first step names, or relative to the file that says it. A path that begins with `./`
 * or `../` names no folder. Undefined when the path is not of this kind.
 */
export function resolveUse(from: URI, path: string, named: NamedFolders): URI | undefined {
  if (
    path === '' ||
    /^[a-z][a-z0-9+.-]*:/i.test(path) ||
    path.startsWith('/') ||
    path.includes('\\') ||
    path.includes('\0') ||
    // Half of a surrogate pair, which no address can hold.
    /[\uD800-\uDFFF]/u.test(path)
  )
    return undefined;
  const [first, ...rest] = path.split('/');
  const folder = rest.length > 0 && !first!.startsWith('.') ? named.folder(from, first!) : undefined;
  return folder ? UriUtils.joinPath(folder, ...rest) : resolveBeside(from, path);
}

/** The library files carry this scheme, so that they can never be mistaken for a user's file. */
export const LIBRARY_SCHEME = 'wattwright-library';
export const libraryUri = (name: string): URI => URI.parse(`${LIBRARY_SCHEME}:/${name}`);

/** The file of the library with parts that keep designs of former versions as they were: they are understood, and proposed nowhere. */
export const FORMER_PARTS = libraryUri('former.watt').toString();

/** A file of the standard library that is not parsed as a whole, with the table in which the parts of all such files are found. */
export interface LibraryDocument extends LangiumDocument {
  readonly library: Names;
}

const isOnDemand = (document: LangiumDocument): document is LibraryDocument => 'library' in document;

/** Which documents a document sees: its own, the ones it uses, and the standard library, in this order. */
export class VisibleDocuments {
  private libraryNames: Names | undefined;
  private readonly documents: LangiumDocuments;

  constructor(private readonly shared: LangiumSharedCoreServices) {
    this.documents = shared.workspace.LangiumDocuments;
  }

  /** Where a `use` path of a file leads. */
  target(from: URI, path: string): URI | undefined {
    return useTarget(this.shared, from, path);
  }

  used(document: LangiumDocument): LangiumDocument[] {
    return drawnInBy(this.shared, document).flatMap((uri) => {
      const found = this.documents.hasDocument(uri) ? this.documents.getDocument(uri) : undefined;
      return found ? [found] : [];
    });
  }

  byUri(uri: string): LangiumDocument | undefined {
    const parsed = URI.parse(uri);
    return this.documents.hasDocument(parsed) ? this.documents.getDocument(parsed) : undefined;
  }

  /** The name tables to search for a reference inside `node`, nearest first. */
  tables(node: AstNode): Names[] {
    const tables: Names[] = [];
    let root = node;
    for (let at: AstNode | undefined = node; at; at = at.$container) {
      root = at;
      if (at.$type === 'Design') tables.push(namesIn(at as Design));
      // A variant speaks of the things of its base design; the base itself is looked up in the file.
      // What it adds, and puts in place of things of the base, goes before those; what it removes is of the base.
      const base = at.$type === 'Variant' && node !== at ? (at as Variant).base?.ref : undefined;
      if (base) tables.push(...(node.$type === 'Removed' ? [] : [addedIn(at as Variant)]), namesIn(base));
    }
    if (!isFile(root)) return tables;
    tables.push(declarationsIn(root));
    for (const used of this.used(AstUtils.getDocument(root))) {
      const file = used.parseResult.value;
      if (isFile(file)) tables.push(declarationsIn(file));
    }
    tables.push(this.library());
    return tables;
  }

  /** All declarations of the standard library. Its documents are added once and never change. */
  private library(): Names {
    if (this.libraryNames) return this.libraryNames;
    const documents = this.documents.all.filter(({ uri }) => uri.scheme === LIBRARY_SCHEME).toArray();
    const onDemand = documents.find(isOnDemand);
    if (onDemand) return (this.libraryNames = onDemand.library);
    const files = documents.map((document) => document.parseResult.value);
    if (files.length === 0) return new Map();
    return (this.libraryNames = group(files.filter(isFile).flatMap((file) => file.declarations)));
  }
}

class TableScope implements Scope {
  constructor(
    private readonly tables: readonly Names[],
    private readonly fits: (node: Named) => boolean,
    private readonly describe: (node: Named) => AstNodeDescription,
  ) {}

  getElement(name: string): AstNodeDescription | undefined {
    for (const table of this.tables) {
      const found = table.get(name)?.find(this.fits);
      if (found) return this.describe(found);
    }
    return undefined;
  }

  getElements(name: string): Stream<AstNodeDescription> {
    const found = this.getElement(name);
    return stream(found ? [found] : []);
  }

  getAllElements(): Stream<AstNodeDescription> {
    const seen = new Map<string, Named>();
    for (const table of this.tables) {
      for (const [name, nodes] of table) {
        const fitting = nodes.find(this.fits);
        if (fitting && !seen.has(name)) seen.set(name, fitting);
      }
    }
    return stream([...seen.values()].map(this.describe));
  }
}

/** Looks names up in maps per tree: the design, its file, the files it uses, the standard library. */
export class MapScopeProvider implements ScopeProvider {
  private readonly visible: VisibleDocuments;

  constructor(private readonly services: LangiumCoreServices) {
    this.visible = new VisibleDocuments(services.shared);
  }

  getScope(context: ReferenceInfo): Scope {
    const { AstReflection } = this.services.shared;
    const wanted = AstReflection.getReferenceType(context);
    const descriptions = this.services.workspace.AstNodeDescriptionProvider;
    return new TableScope(
      this.visible.tables(context.container),
      (node) => AstReflection.isSubtype(node.$type, wanted),
      (node) => descriptions.createDescription(node, node.name),
    );
  }
}

/** Exports top-level declarations for workspace symbols; scopes themselves come from `MapScopeProvider`. */
export class TopLevelSymbols extends DefaultScopeComputation {
  override async collectExportedSymbols(document: LangiumDocument): Promise<AstNodeDescription[]> {
    const file = document.parseResult.value;
    if (!isFile(file)) return [];
    return file.declarations
      .filter(hasName)
      .map((node) => this.descriptions.createDescription(node, node.name, document));
  }

  override async collectLocalSymbols(): Promise<LocalSymbols> {
    return new MultiMap<AstNode, AstNodeDescription>();
  }
}
