import {
  type AstNode,
  DocumentState,
  type LangiumCoreServices,
  type LangiumDocument,
  type ParseResult,
  TextDocument,
} from 'langium';
import type { File } from '../grammar/generated/ast.js';
import { libraryFiles } from '../library/generated/library.js';
import { LIBRARY_SCHEME, type LibraryDocument, type Named, type Names, libraryUri } from './scope.js';

/** Where a part of the library begins, with the comment that describes it. */
const PART = /^(?:\/\*\*(?:[^*]|\*(?!\/))*\*\/\s*)?part\s+[\w-]+\s+([\w-]+)/gm;

interface Declared {
  readonly document: LangiumDocument;
  readonly start: number;
  readonly end: number;
}

/**
 * The standard library, of which only the parts are parsed that somebody names: a design names a dozen of its hundreds, and a program that
 * reads one design and ends would spend more on the others than on the design.
 */
export class LibraryOnDemand implements Names {
  readonly documents: readonly LangiumDocument[];
  private readonly declared = new Map<string, Declared>();
  private readonly parsed = new Map<string, readonly Named[]>();

  constructor(private readonly services: LangiumCoreServices) {
    this.documents = libraryFiles.map(({ name, text }) => {
      const document = this.documentOf(name, text);
      const starts = [...text.matchAll(PART)];
      starts.forEach((match, index) =>
        this.declared.set(match[1]!, { document, start: match.index, end: starts[index + 1]?.index ?? text.length }),
      );
      return document;
    });
  }

  get(name: string): readonly Named[] | undefined {
    const kept = this.parsed.get(name);
    if (kept) return kept;
    const found = this.declared.get(name);
    if (!found) return undefined;
    const nodes = this.parse(found);
    this.parsed.set(name, nodes);
    return nodes;
  }

  *values(): Generator<readonly Named[]> {
    for (const name of this.declared.keys()) yield this.get(name)!;
  }

  *[Symbol.iterator](): Generator<[string, readonly Named[]]> {
    for (const name of this.declared.keys()) yield [name, this.get(name)!];
  }

  /** One part as it stands in its file: blanks stand for what is before it, so that every place is right. */
  private parse({ document, start, end }: Declared): readonly Named[] {
    const text = document.textDocument.getText();
    const blank = text.slice(0, start).replace(/[^\n]/g, ' ');
    const { value } = this.services.parser.LangiumParser.parse<File>(blank + text.slice(start, end));
    (value as { $document?: LangiumDocument }).$document = document;
    return value.declarations as AstNode[] as Named[];
  }

  /** A file of the library, parsed as a whole only where somebody asks for that. */
  private documentOf(name: string, text: string): LibraryDocument {
    const uri = libraryUri(name);
    let whole: ParseResult | undefined;
    const { LangiumParser } = this.services.parser;
    const document: LibraryDocument = {
      uri,
      library: this,
      state: DocumentState.Linked,
      references: [],
      textDocument: TextDocument.create(uri.toString(), LIBRARY_SCHEME, 0, text),
      get parseResult() {
        if (!whole) {
          whole = LangiumParser.parse(text);
          (whole.value as { $document?: LangiumDocument }).$document = document;
        }
        return whole;
      },
    };
    return document;
  }
}
