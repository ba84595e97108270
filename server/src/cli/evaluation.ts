import { type Derivation, type Place, type Result, ast, createLanguageServices } from '@wattwright/language';
import { EmptyFileSystem, type LangiumDocument, URI } from 'langium';
import path from 'node:path';
import { CallError } from './call-error.js';
import { type SourceFile, shownPath } from './files.js';
import { requireName } from './selection.js';
import { Session, hasSyntaxErrors } from './session.js';

/** Name under which the expression stands in the text that is read; long enough to be nobody's own. */
const STAND_IN = 'expressionOfTheCommandLine';

const fileOf = (document: LangiumDocument): ast.File => document.parseResult.value as ast.File;

/** Where the expression is to stand, and whose values it sees. */
interface Host {
  readonly design: string;
  readonly text: string;
  readonly offset: number;
  readonly before: string;
  readonly after: string;
}

/** Without a file, or in a file without designs, the expression stands in a design of its own. */
const ownDesign = (text: string): Host => ({
  design: STAND_IN,
  text,
  offset: text.length,
  before: `\ndesign ${STAND_IN} {\nlet ${STAND_IN} = `,
  after: '\n}\n',
});

/** The design of a file whose names the expression uses, with the place before its closing brace. */
function hostIn(file: SourceFile, wanted: string | undefined): Host {
  const { shared } = createLanguageServices(EmptyFileSystem);
  const document = shared.workspace.LangiumDocumentFactory.fromString(file.text, URI.file(file.path));
  const name = shownPath(file.path);
  if (hasSyntaxErrors(document))
    throw new CallError(`${name} has syntax errors; \`wattwright check ${name}\` shows where`);
  const { declarations } = fileOf(document);
  const designs = declarations.filter(ast.isDesign);
  const variants = declarations.filter(ast.isVariant);
  if (wanted === undefined && designs.length === 0) return ownDesign(file.text);
  if (wanted === undefined && designs.length > 1)
    throw new CallError(
      `${name} has several designs; say which with --design: ${designs.map((design) => design.name).join(', ')}`,
    );
  const chosen = wanted ?? designs[0]!.name;
  requireName(
    'design',
    chosen,
    [...designs, ...variants].map((declaration) => declaration.name),
  );
  const baseName = variants.find((variant) => variant.name === chosen)?.base.$refText ?? chosen;
  const end = designs.find((design) => design.name === baseName)?.$cstNode?.end;
  if (end === undefined) throw new CallError(`the design ${baseName} is in another file; name that file with --in`);
  return { design: chosen, text: file.text, offset: end - 1, before: `\nlet ${STAND_IN} = `, after: '\n' };
}

const standIn = (document: LangiumDocument): ast.Let | undefined =>
  fileOf(document)
    .declarations.filter(ast.isDesign)
    .flatMap((design) => design.members)
    .filter(ast.isLet)
    .find((member) => member.name === STAND_IN);

/** The derivation without the places that lie in the stand-in text, which nobody wrote. */
function withoutPlaces(derivation: Derivation, isStandIn: (place: Place) => boolean): Derivation {
  const done = new Map<Derivation, Derivation>();
  const visit = (step: Derivation): Derivation => {
    const before = done.get(step);
    if (before) return before;
    const { place, ...rest } = step;
    const after: Derivation = {
      ...rest,
      ...(place && !isStandIn(place) ? { place } : {}),
      inputs: step.inputs.map(visit),
      parts: Object.fromEntries(Object.entries(step.parts).map(([name, part]) => [name, visit(part)])),
    };
    done.set(step, after);
    return after;
  };
  return visit(derivation);
}

/**
 * Works out one expression as if it stood in a design: the one of a file, or an empty one. Names, units and functions mean what they
 * mean there. Throws CallError for what is no expression.
 */
export async function evaluateExpression(
  expression: string,
  options: { readonly file?: SourceFile; readonly design?: string; readonly today: string },
): Promise<Result> {
  const { file, design, today } = options;
  const host = file ? hostIn(file, design) : ownDesign('');
  const end = host.offset + host.before.length + expression.length;
  const text = host.text.slice(0, host.offset) + host.before + expression + host.after + host.text.slice(host.offset);
  const session = await Session.open([
    { path: file?.path ?? path.resolve('expression.watt'), text, isStandardInput: true },
  ]);
  const document = session.documents[0]!;
  const analysis = session.analyse(document, today);
  const isStandIn = (place: Place): boolean =>
    place.uri === analysis.uri && place.offset >= host.offset && place.offset <= end + host.after.length;
  const fault = analysis.findings.find(({ severity, place }) => severity === 'error' && isStandIn(place))?.message;
  const value = standIn(document)?.value;
  const isWhole = !hasSyntaxErrors(document) && value?.$cstNode && text.slice(value.$cstNode.end, end).trim() === '';
  if (!isWhole || !ast.isExpression(value))
    throw new CallError(`this is no expression of the language: ${fault ?? 'it does not end where it should'}`);
  if (fault) throw new CallError(fault);
  const result = analysis.designs.find(({ system }) => system.name === host.design)!.evaluate(value);
  return result.kind === 'known' ? { kind: 'known', derivation: withoutPlaces(result.derivation, isStandIn) } : result;
}
