import {
  type Analysis,
  EXPRESSION_URI,
  type EvaluateOptions,
  type EvaluatedText,
  type LanguageServices,
  type Place,
  addLibrary,
  analyse,
  createLanguageServices,
  evaluateText,
  loadUsed,
} from '@wattwright/language';
import { type LangiumDocument, URI } from 'langium';
import { NodeFileSystem } from 'langium/node';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { DESIGN_FILE, type SourceFile, isReallyInside, shownPath, workspaceOf } from './files.js';

/** Parsed and linked design files, ready to be analysed. */
export class Session {
  private readonly services: LanguageServices = createLanguageServices(NodeFileSystem);

  private constructor(
    /** The files that were asked for. */
    readonly documents: readonly LangiumDocument[],
    /** The files those draw in through `use`. */
    readonly used: readonly LangiumDocument[],
  ) {}

  /** Reads the files, what they draw in through `use`, and the standard library. */
  static async open(files: readonly SourceFile[]): Promise<Session> {
    const documents: LangiumDocument[] = [];
    const used: LangiumDocument[] = [];
    const session = new Session(documents, used);
    const { shared } = session.services;
    const { LangiumDocuments, LangiumDocumentFactory, DocumentBuilder } = shared.workspace;
    const library = addLibrary(shared);
    for (const file of files) {
      const document = LangiumDocumentFactory.fromString(file.text, URI.file(file.path));
      LangiumDocuments.addDocument(document);
      documents.push(document);
    }
    const workspaces = [...new Set(files.map((file) => workspaceOf(file.path)))];
    const mayRead = (uri: URI): boolean =>
      uri.scheme === 'file' &&
      uri.fsPath.endsWith(DESIGN_FILE) &&
      workspaces.some((workspace) => isReallyInside(workspace, uri.fsPath));
    used.push(...(await loadUsed(shared, documents, mayRead)));
    await DocumentBuilder.build([...library, ...documents, ...used], { validation: false });
    return session;
  }

  /** Works out an expression, within the design of a document where one is given. */
  evaluate(expression: string, options: EvaluateOptions): EvaluatedText {
    const folder = options.document && URI.file(workspaceOf(options.document.uri.fsPath));
    return evaluateText(expression, this.services, { ...options, ...(folder ? { workspace: folder } : {}) });
  }

  /** Scenarios are played only where somebody asks about their requirements. */
  analyse(document: LangiumDocument, today: string, scenarios: 'play' | 'leave' = 'leave'): Analysis {
    const workspace = workspaceOf(document.uri.fsPath);
    return analyse(document, this.services, {
      today,
      workspace: URI.file(workspace),
      scenarios,
      weatherText: (file) => besideText(workspace, document.uri.fsPath, file),
    });
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

/** The text of a file that a design names by its path beside itself; undefined when it cannot be read or lies outside the workspace. */
function besideText(workspace: string, design: string, file: string): string | undefined {
  const absolute = path.resolve(path.dirname(design), file);
  if (!isReallyInside(workspace, absolute)) return undefined;
  try {
    return readFileSync(absolute, 'utf8');
  } catch {
    return undefined;
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
