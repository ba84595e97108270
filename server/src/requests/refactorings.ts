import { type Analysis, ast, openFacts, propertyOf, useTarget } from '@wattwright/language';
import { type AstNode, AstUtils, type LangiumDocument, type URI } from 'langium';
import {
  type CodeAction,
  CodeActionKind,
  type CreateFile,
  type Range,
  type TextDocumentEdit,
  type TextEdit,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import { locationOf } from '../convert/to-lsp.js';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { otherUnits } from './conversions.js';
import { documentNamed, spotAt } from './locate.js';
import { referenceIndexOf } from './references.js';

/** Changes of form that leave the meaning of a design as it is, each worked out when it is chosen. */
export const REFACTORINGS = {
  'extract-part': CodeActionKind.RefactorExtract,
  'inline-part': CodeActionKind.RefactorInline,
  'move-part': `${CodeActionKind.Refactor}.move`,
  'convert-unit': CodeActionKind.RefactorRewrite,
  'add-missing': CodeActionKind.RefactorRewrite,
  'organize-uses': CodeActionKind.SourceOrganizeImports,
} as const;

export type RefactoringName = keyof typeof REFACTORINGS;

/** What an action carries until its change is worked out. */
export interface RefactoringData {
  readonly refactoring: RefactoringName;
  readonly uri: string;
  readonly version: number;
  readonly offset: number;
  /** The unit a value is converted to, as the whole text. */
  readonly text?: string;
}

/** A place at which changes are asked for. */
interface Site {
  readonly document: LangiumDocument;
  readonly offset: number;
}

/** The changes of form that a place allows; their edits come when one is chosen. */
export function refactoringsAt(
  document: LangiumDocument,
  range: Range,
  analysis: Analysis | undefined,
  wanted: (kind: string) => boolean,
): CodeAction[] {
  const offset = document.textDocument.offsetAt(range.start);
  const node = spotAt(document, offset)?.node;
  const action = (title: string, refactoring: RefactoringName, text?: string): CodeAction[] => {
    const kind = REFACTORINGS[refactoring];
    if (!wanted(kind)) return [];
    const { version, uri } = document.textDocument;
    return [{ title, kind, data: { refactoring, uri, version, offset, ...(text === undefined ? {} : { text }) } }];
  };
  const thing = node && AstUtils.getContainerOfType(node, ast.isInstance);
  const part = node && AstUtils.getContainerOfType(node, ast.isPart);
  const literal = node && AstUtils.getContainerOfType(node, ast.isQuantityLiteral);
  return [
    ...(thing && (thing.body?.properties.length ?? 0) > 0 && !thing.part
      ? action(`Make a part of ${thing.name}`, 'extract-part')
      : []),
    ...(thing?.part?.ref ? action(`Write out ${thing.part.$refText} in ${thing.name}`, 'inline-part') : []),
    ...(part ? action(`Move ${part.name} to a file of its own`, 'move-part') : []),
    ...(literal?.$cstNode && !literal.$cstNode.text.includes('AWG')
      ? otherUnits(literal.$cstNode.text)
          .filter((text) => /^[\d.]+ \S+$/.test(text))
          .slice(0, 3)
          .flatMap((text) => action(`Write as ${text}`, 'convert-unit', text))
      : []),
    ...(thing && lackingOf(thing, analysis).length > 0
      ? action(`Add the properties that ${thing.name} needs`, 'add-missing')
      : []),
    ...(ast.isFile(document.parseResult.value) && document.parseResult.value.uses.length > 0
      ? action('Sort out the files in use', 'organize-uses')
      : []),
  ];
}

/** Works out the change of an action; undefined where the text is another by now, or nothing would change. */
export async function refactored(
  data: RefactoringData,
  services: WattwrightServices,
): Promise<WorkspaceEdit | undefined> {
  const document = documentNamed(services.shared, data.uri);
  if (!document || document.textDocument.version !== data.version) return undefined;
  const site = { document, offset: data.offset };
  switch (data.refactoring) {
    case 'extract-part':
      return extractPart(site);
    case 'inline-part':
      return inlinePart(site);
    case 'move-part':
      return movePart(site, services);
    case 'convert-unit':
      return convertUnit(site, data.text ?? '');
    case 'add-missing':
      return addMissing(site, services.analysis.Analyses.of(document));
    case 'organize-uses':
      await referenceIndexOf(services).complete(document.uri);
      return organizeUses(document, services);
  }
}

const nodeAt = <T extends AstNode>({ document, offset }: Site, is: (node: AstNode) => node is T): T | undefined => {
  const node = spotAt(document, offset)?.node;
  return node && AstUtils.getContainerOfType(node, is);
};

const changing = (document: LangiumDocument, edits: TextEdit[]): WorkspaceEdit => ({
  changes: { [document.textDocument.uri]: edits },
});

/** What a thing states becomes a part before its design; the thing is one of it. */
function extractPart(site: Site): WorkspaceEdit | undefined {
  const thing = nodeAt(site, ast.isInstance);
  const design =
    thing &&
    AstUtils.getContainerOfType(
      thing,
      (node): node is ast.Design | ast.Variant => ast.isDesign(node) || ast.isVariant(node),
    );
  const body = thing?.body?.$cstNode;
  if (!thing || !body || !design?.$cstNode) return undefined;
  const name = freeName(`${thing.name}Part`, site.document);
  const start = beforeComment(design, site.document);
  return changing(site.document, [
    { range: { start, end: start }, newText: `part ${thing.kind} ${name} ${outdented(body.text)}\n\n` },
    { range: body.range, newText: `: ${name}` },
  ]);
}

/** The place before a declaration and the comment that belongs to it. */
function beforeComment(node: AstNode, { textDocument }: LangiumDocument): Range['start'] {
  const offset = node.$cstNode?.offset ?? 0;
  const comment = /\/\*\*(?:[^*]|\*(?!\/))*\*\/\s*$/.exec(textDocument.getText().slice(0, offset));
  return textDocument.positionAt(comment ? comment.index : offset);
}

/** A block as it stands one level further out. */
const outdented = (text: string): string => text.replaceAll(/\n {2}/g, '\n');

function freeName(wished: string, document: LangiumDocument): string {
  const taken = new Set(
    AstUtils.streamAllContents(document.parseResult.value).flatMap((node) => {
      const { name } = node as { readonly name?: string };
      return name ? [name] : [];
    }),
  );
  let name = wished;
  for (let count = 2; taken.has(name); count += 1) name = `${wished}${count}`;
  return name;
}

/** What a part states, and what it extends states, is written into the thing; what the thing states itself stays as it is. */
function inlinePart(site: Site): WorkspaceEdit | undefined {
  const thing = nodeAt(site, ast.isInstance);
  const reference = thing?.part?.$refNode;
  const text = site.document.textDocument.getText();
  if (!thing?.$cstNode || !reference) return undefined;
  const own = thing.body?.properties ?? [];
  const stated = new Map<string, string>(own.map((property) => [property.name, property.$cstNode?.text ?? '']));
  const seen = new Set<ast.Part>();
  for (let part = thing.part?.ref; part && !seen.has(part); part = part.base?.ref) {
    seen.add(part);
    for (const property of part.body?.properties ?? [])
      if (!stated.has(property.name)) stated.set(property.name, property.$cstNode?.text ?? '');
  }
  const colon = text.lastIndexOf(':', reference.offset);
  const end = thing.body?.$cstNode?.end ?? reference.end;
  const { positionAt } = site.document.textDocument;
  const at = (offset: number): Range['start'] => positionAt.call(site.document.textDocument, offset);
  const lines = [...stated.values()].map((each) => `    ${each}`);
  return changing(site.document, [
    { range: { start: at(colon), end: at(end) }, newText: `{\n${lines.join('\n')}\n  }` },
  ]);
}

/** A part goes to a file beside this one, which then uses it; parts and values that it needs must be reachable from there. */
function movePart(site: Site, services: WattwrightServices): WorkspaceEdit | undefined {
  const part = nodeAt(site, ast.isPart);
  const { document } = site;
  if (!part?.$cstNode) return undefined;
  const needed = neededBy(part);
  // What it needs of this file could not be found from the new one.
  if (needed.some((node) => AstUtils.getDocument(node) === document)) return undefined;
  const file = `${part.name.replace(/([a-z\d])([A-Z])/g, '$1-$2').toLowerCase()}.watt`;
  const target = useTarget(services.shared, document.uri, file);
  if (!target || services.shared.workspace.LangiumDocuments.hasDocument(target)) return undefined;
  const start = beforeComment(part, document);
  const { textDocument } = document;
  const offset = textDocument.offsetAt(start);
  const rest = textDocument.getText().slice(part.$cstNode.end);
  const blank = /^[ \t]*\n?\n?/.exec(rest)?.[0].length ?? 0;
  const text = textDocument.getText().slice(offset, part.$cstNode.end);
  const uses = usesFor(needed, document, services);
  const first = { line: 0, character: 0 };
  const edits: TextEdit[] = [
    { range: { start: first, end: first }, newText: `use "${file}"\n${startsWithUse(document) ? '' : '\n'}` },
    { range: { start, end: textDocument.positionAt(part.$cstNode.end + blank) }, newText: '' },
  ];
  const created: CreateFile = { kind: 'create', uri: target.toString(), options: { overwrite: false } };
  const filled: TextDocumentEdit = {
    textDocument: { uri: target.toString(), version: null },
    edits: [{ range: { start: first, end: first }, newText: `${uses}${text}\n` }],
  };
  return {
    documentChanges: [
      created,
      filled,
      { textDocument: { uri: textDocument.uri, version: textDocument.version }, edits },
    ],
  };
}

const startsWithUse = ({ textDocument }: LangiumDocument): boolean => /^use\b/.test(textDocument.getText());

/** What a part names: parts that it extends and refers to, and `let`s. */
const neededBy = (part: ast.Part): AstNode[] =>
  AstUtils.streamAst(part)
    .flatMap((node) =>
      AstUtils.streamReferences(node).flatMap(({ reference }) =>
        'ref' in reference && reference.ref ? [reference.ref] : [],
      ),
    )
    .filter((node) => node !== part && AstUtils.getContainerOfType(node, ast.isPart) !== part)
    .toArray();

/** The lines of `use` that a new file beside a document needs for some nodes. */
function usesFor(nodes: readonly AstNode[], document: LangiumDocument, services: WattwrightServices): string {
  const file = document.parseResult.value;
  if (!ast.isFile(file)) return '';
  const homes = new Set(nodes.map((node) => AstUtils.getDocument(node).uri.toString()));
  const lines = file.uses.filter(
    ({ path }) =>
      typeof path === 'string' && homes.has(useTarget(services.shared, document.uri, path)?.toString() ?? ''),
  );
  return lines.length > 0 ? `${lines.map(({ path }) => `use "${path}"`).join('\n')}\n\n` : '';
}

function convertUnit(site: Site, text: string): WorkspaceEdit | undefined {
  const literal = nodeAt(site, ast.isQuantityLiteral)?.$cstNode;
  return literal && text ? changing(site.document, [{ range: literal.range, newText: text }]) : undefined;
}

/** Properties that checks ask of a thing and that it does not state. */
function lackingOf(thing: ast.Instance, analysis: Analysis | undefined): string[] {
  if (!analysis) return [];
  const stated = new Set((thing.body?.properties ?? []).map(({ name }) => name));
  const names = openFacts(analysis.questions).flatMap(({ fact }) => {
    const [, property, of] = /^(\w+) of (\S+?)[,(]?(?:\s|$)/.exec(`${fact} `) ?? [];
    return property !== undefined && of === thing.name ? [property] : [];
  });
  return [...new Set(names)].filter(
    (name) => !stated.has(name) && propertyOf(thing.kind, name)?.type.type === 'quantity',
  );
}

function addMissing(site: Site, analysis: Analysis | undefined): WorkspaceEdit | undefined {
  const thing = nodeAt(site, ast.isInstance);
  const instance = analysis?.designs
    .flatMap(({ system }) => system.instances)
    .find(({ name, place }) => name === thing?.name && place.uri === site.document.uri.toString());
  const lacking = thing ? lackingOf(thing, analysis) : [];
  if (!instance || lacking.length === 0) return undefined;
  const { place, before, after } = instance.insert;
  const newText = `${before}${lacking.map((name) => `${name}: ?`).join('   ')}${after}`;
  return changing(site.document, [{ range: locationOf(place).range, newText }]);
}

/** Files in use once each, in order, without those of which nothing is used. */
function organizeUses(document: LangiumDocument, services: WattwrightServices): WorkspaceEdit | undefined {
  const file = document.parseResult.value;
  if (!ast.isFile(file) || document.parseResult.parserErrors.length > 0) return undefined;
  const nodes = file.uses.flatMap((use) => use.$cstNode ?? []);
  const [first, last] = [nodes[0], nodes.at(-1)];
  if (!first || !last) return undefined;
  const { textDocument } = document;
  const stretch = textDocument.getText().slice(first.offset, last.end);
  // A comment between them belongs to one of them, and which one only its writer knows.
  if (/\/[/*]/.test(stretch.replace(/"[^"]*"/g, ''))) return undefined;
  const wanted = homesOf(document);
  const isWanted = (path: string): boolean => {
    const uri = useTarget(services.shared, document.uri, path);
    const used = uri && services.shared.workspace.LangiumDocuments.getDocument(uri);
    // What is not there cannot be judged; what passes on other files may be used for them.
    return !used || wanted.has(used.uri.toString()) || passesOn(used.parseResult.value);
  };
  const paths = [...new Set(file.uses.flatMap(({ path }) => (typeof path === 'string' ? [path] : [])))].filter(
    isWanted,
  );
  const newText = paths
    .sort()
    .map((path) => `use "${path}"`)
    .join('\n');
  if (newText === stretch) return undefined;
  return changing(document, [
    { range: { start: textDocument.positionAt(first.offset), end: textDocument.positionAt(last.end) }, newText },
  ]);
}

const passesOn = (root: AstNode): boolean => ast.isFile(root) && root.uses.length > 0;

/** The files that hold what a document speaks of. */
const homesOf = (document: LangiumDocument): ReadonlySet<string> =>
  new Set(
    AstUtils.streamAst(document.parseResult.value)
      .flatMap((node) => AstUtils.streamReferences(node))
      .flatMap(({ reference }) => {
        const target = 'ref' in reference ? reference.ref : undefined;
        const home: URI | undefined = target && AstUtils.getDocument(target).uri;
        return home && !isLibrary(home) ? [home.toString()] : [];
      })
      .toArray(),
  );
