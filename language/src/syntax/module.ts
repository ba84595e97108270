import {
  DefaultLinker,
  type DefaultSharedCoreModuleContext,
  type LangiumCoreServices,
  type LangiumDocument,
  type LangiumSharedCoreServices,
  type Module,
  type PartialLangiumCoreServices,
  type URI,
  createDefaultCoreModule,
  createDefaultSharedCoreModule,
  inject,
} from 'langium';
import { WattwrightGeneratedModule, WattwrightGeneratedSharedModule } from '../grammar/generated/module.js';
import { libraryFiles } from '../library/generated/library.js';
import { LibraryOnDemand } from './library.js';
import {
  MapScopeProvider,
  NO_NAMED_FOLDERS,
  type NamedFolders,
  type ProjectServices,
  TopLevelSymbols,
  drawnInBy,
  libraryUri,
} from './scope.js';
import { createSafeParser } from './parser.js';
import { UnitTokenBuilder } from './tokens.js';

/**
 * Resolves a reference when somebody asks for it. Most words of a design are plain words (`fuel: petrol`) that the model never looks up,
 * so walking the whole tree after each keystroke to resolve them all would be work for nothing.
 */
class LazyLinker extends DefaultLinker {
  override async link(): Promise<void> {
    // Nothing to do: `reference.ref` resolves and remembers by itself, and `unlink` forgets what was resolved.
  }
}

/** The services of the language that editor and command line share. */
export const SyntaxModule: Module<LangiumCoreServices, PartialLangiumCoreServices> = {
  parser: {
    TokenBuilder: () => new UnitTokenBuilder(),
    LangiumParser: (services) => createSafeParser(services),
  },
  references: {
    Linker: (services) => new LazyLinker(services),
    ScopeProvider: (services) => new MapScopeProvider(services),
    ScopeComputation: (services) => new TopLevelSymbols(services),
  },
};

export interface LanguageServices {
  readonly shared: LangiumSharedCoreServices;
  readonly wattwright: LangiumCoreServices;
}

/** What the services of the language need from outside. */
export interface LanguageContext extends DefaultSharedCoreModuleContext {
  /** Folders of parts that projects give names; none unless given. */
  readonly namedFolders?: NamedFolders;
}

/** The services that a project brings, for the command line and the editor alike. */
export const projectModule = (namedFolders: NamedFolders): Module<ProjectServices> => ({
  project: { NamedFolders: () => namedFolders },
});

/** Services without an editor, for the command line, tests and other programs. */
export function createLanguageServices(context: LanguageContext): LanguageServices {
  const shared = inject(
    createDefaultSharedCoreModule(context),
    WattwrightGeneratedSharedModule,
    projectModule(context.namedFolders ?? NO_NAMED_FOLDERS),
  );
  const wattwright = inject(createDefaultCoreModule({ shared }), WattwrightGeneratedModule, SyntaxModule);
  shared.ServiceRegistry.register(wattwright);
  return { shared, wattwright };
}

/** Adds the standard library to the documents, once and as a whole: for an editor, which shows and completes from it. */
export function addLibrary(shared: LangiumSharedCoreServices): LangiumDocument[] {
  const { LangiumDocuments, LangiumDocumentFactory } = shared.workspace;
  return libraryFiles.flatMap(({ name, text }) => {
    const uri = libraryUri(name);
    if (LangiumDocuments.hasDocument(uri)) return [];
    const document = LangiumDocumentFactory.fromString(text, uri);
    LangiumDocuments.addDocument(document);
    return [document];
  });
}

/** Offers the standard library, of which each part is parsed when a design names it. */
export function offerLibrary({ shared, wattwright }: LanguageServices): void {
  const { LangiumDocuments } = shared.workspace;
  for (const document of new LibraryOnDemand(wattwright).documents) LangiumDocuments.addDocument(document);
}

/** The most files one design may draw in through `use`, directly and indirectly. */
const MOST_USED_FILES = 1000;

/**
 * Loads every file reached through `use` from `documents` that `mayRead` allows; files that cannot be read are left out (the check
 * `unknown-name` reports them at their `use`). Cycles end by themselves because a document is loaded once.
 */
export async function loadUsed(
  shared: LangiumSharedCoreServices,
  documents: readonly LangiumDocument[],
  mayRead: (uri: URI, from: URI) => boolean,
): Promise<LangiumDocument[]> {
  const { LangiumDocuments } = shared.workspace;
  const loaded: LangiumDocument[] = [];
  const queue = [...documents];
  for (let next = queue.shift(); next; next = queue.shift()) {
    for (const uri of drawnInBy(shared, next)) {
      if (LangiumDocuments.hasDocument(uri) || !mayRead(uri, next.uri) || loaded.length >= MOST_USED_FILES) continue;
      try {
        const document = await LangiumDocuments.getOrCreateDocument(uri);
        loaded.push(document);
        queue.push(document);
      } catch {
        // Not there or not readable: the finding stands at the `use`, where it can be mended.
      }
    }
  }
  return loaded;
}

export { WattwrightGeneratedModule, WattwrightGeneratedSharedModule, libraryFiles };
