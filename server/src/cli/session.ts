import {
  type Analysis,
  type AskForRuns,
  EXPRESSION_URI,
  type EvaluateOptions,
  type EvaluatedText,
  type Ground,
  type LanguageServices,
  type Place,
  type ProjectRules,
  type Reach as AnalysisReach,
  type ScenarioCache,
  analyse,
  createLanguageServices,
  evaluateText,
  loadUsed,
  offerLibrary,
  partsOfFile,
} from '@wattwright/language';
import { type LangiumDocument, URI } from 'langium';
import path from 'node:path';
import { type FileSource, filesOfMachine } from '../files/file-source.js';
import type { Projects } from '../project/projects.js';
import { DESIGN_FILE, type SourceFile } from './files.js';
import { projectsOfCall } from './projects.js';
import { shownPath } from './shown-path.js';

/** Parsed and linked design files, ready to be analysed. */
export class Session {
  private readonly services: LanguageServices;

  private constructor(
    /** The files that were asked for. */
    readonly documents: readonly LangiumDocument[],
    /** The files those draw in through `use`. */
    readonly used: readonly LangiumDocument[],
    private readonly source: FileSource,
    private readonly cache: ScenarioCache | undefined,
    private readonly rulesFor: (file: string) => ProjectRules | undefined,
  ) {
    this.services = createLanguageServices({ fileSystemProvider: source.provider, namedFolders: source.projects });
  }

  get shared(): LanguageServices['shared'] {
    return this.services.shared;
  }

  /** The projects of its files. */
  get projects(): Projects {
    return this.source.projects;
  }

  /** Reads the files, what they draw in through `use`, and the standard library. */
  static async open(
    files: readonly SourceFile[],
    source: FileSource = filesOfMachine(
      files.map(({ within }) => within),
      projectsOfCall(),
    ),
    cache?: ScenarioCache,
    rulesFor: (file: string) => ProjectRules | undefined = (file) => source.projects.rulesFor(file),
  ): Promise<Session> {
    const documents: LangiumDocument[] = [];
    const used: LangiumDocument[] = [];
    const session = new Session(documents, used, source, cache, rulesFor);
    const { shared } = session.services;
    const { LangiumDocuments, LangiumDocumentFactory, DocumentBuilder } = shared.workspace;
    offerLibrary(session.services);
    for (const file of files) {
      const document = LangiumDocumentFactory.fromString(file.text, URI.file(file.path));
      LangiumDocuments.addDocument(document);
      documents.push(document);
    }
    used.push(...(await loadUsed(shared, documents, (to, from) => session.mayRead(from, to))));
    await DocumentBuilder.build([...documents, ...used], { validation: false, eagerLinking: false });
    return session;
  }

  /** Works out an expression, within the design of a document where one is given. */
  evaluate(expression: string, options: EvaluateOptions): EvaluatedText {
    const project = options.document && this.rulesFor(options.document.uri.fsPath);
    return evaluateText(expression, this.services, {
      ...options,
      reach: this.analysisReach,
      ...(project ? { project } : {}),
    });
  }

  private mayRead(from: URI, to: URI): boolean {
    return to.scheme === 'file' && to.fsPath.endsWith(DESIGN_FILE) && this.source.allows(from.fsPath, to.fsPath);
  }

  private readonly analysisReach: AnalysisReach = {
    mayUse: (from, to) => to.scheme === 'file' && this.source.allows(from.fsPath, to.fsPath),
    howToAllow: (to) => `name \`${this.source.folderToName(to.fsPath)}\` on the command line as well`,
  };

  /** Scenarios are played only where somebody asks about their requirements. */
  analyse(
    document: LangiumDocument,
    today: string,
    scenarios: 'play' | 'leave' = 'leave',
    runsBeside?: AskForRuns,
  ): Analysis {
    const { options } = this.ground(document, today, scenarios);
    return analyse(document, this.services, runsBeside ? { ...options, runsBeside } : options);
  }

  /** The parts that a file declares, and those that it could use. */
  partsOf(document: LangiumDocument, today: string): ReturnType<typeof partsOfFile> {
    return partsOfFile(document, this.services, this.ground(document, today).options);
  }

  /** What changes of a document are tried on. */
  ground(document: LangiumDocument, today: string, scenarios: 'play' | 'leave' = 'leave'): Ground {
    const design = document.uri.fsPath;
    const project = this.rulesFor(design);
    return {
      document,
      services: this.services,
      options: {
        today,
        reach: this.analysisReach,
        ...(project ? { project } : {}),
        whyUnread: (uri) => {
          const missing = this.projects.whyMissing(design, uri.fsPath);
          if (missing !== undefined) return missing;
          const text = this.source.textBeside(uri.fsPath);
          return typeof text === 'object' ? text.unread : undefined;
        },
        ...(this.cache ? { cache: this.cache } : {}),
        scenarios,
        weatherText: (file) => this.weatherText(design, path.resolve(path.dirname(design), file)),
      },
    };
  }

  private weatherText(design: string, file: string): ReturnType<FileSource['textBeside']> {
    if (this.source.allows(design, file)) return this.source.textBeside(file);
    const folder = this.source.folderToName(file);
    return { unread: `lies outside the folders that may be read; name \`${folder}\` on the command line as well` };
  }

  /** The text a place lies in; undefined when it was not read. */
  textOf(uri: string): string | undefined {
    const { LangiumDocuments } = this.services.shared.workspace;
    const parsed = URI.parse(uri);
    return LangiumDocuments.hasDocument(parsed)
      ? LangiumDocuments.getDocument(parsed)?.textDocument.getText()
      : undefined;
  }
}

export const countSyntaxErrors = ({ parseResult }: LangiumDocument): number =>
  parseResult.lexerErrors.length + parseResult.parserErrors.length;

export const hasSyntaxErrors = (document: LangiumDocument): boolean => countSyntaxErrors(document) > 0;

/** The name of the file a place lies in, as output shows it. */
export function fileName(uri: string): string {
  if (uri === EXPRESSION_URI) return 'expression';
  const parsed = URI.parse(uri);
  return parsed.scheme === 'file' ? shownPath(parsed.fsPath) : `${parsed.scheme}${parsed.path}`;
}

export const pathOf = (uri: string): string => URI.parse(uri).fsPath;

/** Where a value stands in a file; undefined for a place in the expression that was asked for, which its reader has before them. */
export const writtenAt = (place: Place): string | undefined =>
  place.uri === EXPRESSION_URI ? undefined : placeText(place);

/** `site.watt:12:3`. */
export const placeText = (place: Place): string => `${fileName(place.uri)}:${place.line + 1}:${place.character + 1}`;
