import { type AstNode, DocumentState, type LangiumDocument, URI } from 'langium';
import { type Derivation, type Place, type Result, refused } from '../derivation/index.js';
import type * as ast from '../grammar/generated/ast.js';
import { isDesign, isFile, isLet, isVariant } from '../grammar/generated/ast.js';
import { asResult } from '../model/lower/evaluated.js';
import { isExpressionNode } from '../model/lower/values.js';
import { lowerFile } from '../model/lower/lower.js';
import { placeOfNode } from '../model/lower/place.js';
import type { Problem, ProblemFacts } from '../model/problems.js';
import { createContext } from '../quantities/context.js';
import type { LanguageServices } from '../syntax/module.js';
import { designValues } from './design-values.js';
import { wordProblems } from './findings.js';
import type { ProjectRules } from './project-rules.js';
import { type Reach, loweringServices } from './surroundings.js';
import type { Finding } from './types.js';

export interface EvaluateOptions {
  /** The file whose names the expression may use: its design, `let` values and parts. It must be linked and its used files loaded. */
  readonly document?: LangiumDocument;
  /** The design or variant of that file; its first design when not given. */
  readonly design?: string;
  /** Today as `YYYY-MM-DD`. */
  readonly today?: string;
  /** The folder that `use` must not leave; the file's own folder when not given. */
  readonly workspace?: URI;
  /** Decides instead of `workspace`. */
  readonly reach?: Reach;
  /** What the project of the file says of all its designs. */
  readonly project?: ProjectRules;
}

export interface EvaluatedText {
  readonly result: Result;
  /** What is wrong with the expression, at places inside it. Other faults of the file are left to `analyse`. */
  readonly findings: readonly Finding[];
}

/** The address places inside an expression carry. */
export const EXPRESSION_URI = 'wattwright-expression:/expression';

/** Name of the member that holds the expression; long enough to be nobody's own. */
const STAND_IN = 'expressionThatIsAsked';

/** Where the expression stands in the text that is read. */
interface Host {
  readonly text: string;
  readonly start: number;
  readonly end: number;
  readonly design: string;
}

function host(expression: string, options: EvaluateOptions): Host | undefined {
  const { document } = options;
  const file = document?.parseResult.value;
  const text = document?.textDocument.getText() ?? '';
  const declarations = isFile(file) ? file.declarations : [];
  const variant = declarations.filter(isVariant).find(({ name }) => name === options.design);
  const wanted = variant ? variant.base.$refText : options.design;
  const designs = declarations.filter(isDesign);
  const design = wanted === undefined ? designs[0] : designs.find(({ name }) => name === wanted);
  const insert = (at: number, before: string, after: string, name: string): Host => ({
    text: text.slice(0, at) + before + expression + after + text.slice(at),
    start: at + before.length,
    end: at + before.length + expression.length,
    design: name,
  });
  // In a variant it sees what the variant adds.
  if (variant?.$cstNode) return insert(variant.$cstNode.end - 1, `\nadd let ${STAND_IN} = `, '\n', variant.name);
  if (design?.$cstNode) return insert(design.$cstNode.end - 1, `\nlet ${STAND_IN} = `, '\n', design.name);
  if (options.design !== undefined) return undefined;
  return insert(text.length, `\ndesign ${STAND_IN} {\nlet ${STAND_IN} = `, '\n}\n', STAND_IN);
}

/**
 * Works out one expression as if it stood in a design: names, units, parts and functions mean what they mean there. Without a file the
 * expression sees the standard library and the functions. Reads a text of its own that no document of the workspace ever refers to, so
 * that nothing is left behind.
 */
export function evaluateText(
  expression: string,
  services: LanguageServices,
  options: EvaluateOptions = {},
): EvaluatedText {
  const place = host(expression, options);
  if (!place) return { result: refused(`there is no design ${options.design} in this file`), findings: [] };
  const uri = options.document?.uri ?? URI.parse('wattwright-expression:/expression.watt');
  const document = services.shared.workspace.LangiumDocumentFactory.fromString(place.text, uri);
  // References are resolved when they are asked for; the scopes of the language need no preparation.
  document.state = DocumentState.ComputedScopes;

  const lowered = lowerFile(
    document,
    loweringServices(document, services, {
      today: options.today ?? '',
      ...(options.workspace ? { workspace: options.workspace } : {}),
      ...(options.reach ? { reach: options.reach } : {}),
      ...(options.project ? { project: options.project } : {}),
    }),
  );
  const member = standIn(document.parseResult.value as ast.File);
  const reported: Problem[] = [...lowered.problems];
  const toExpression = mapping(document, place);
  const value = member?.value;
  const design = lowered.designs.find(({ system }) => system.name === place.design);
  const behind = value?.$cstNode ? place.text.slice(value.$cstNode.end, place.end) : '';
  const stopsEarly = behind.replace(/\/\/[^\n\r]*|\/\*[\s\S]*?\*\//g, '').trim() !== '';
  if (
    value?.$cstNode &&
    stopsEarly &&
    !reported.some(({ code, place: at }) => code === 'syntax-error' && toExpression(at))
  )
    reported.push({
      code: 'syntax-error',
      message: 'the expression ends before this text',
      place: span(document, value.$cstNode.end, place.end),
      subject: '',
    });

  let result: Result = refused('this is no expression of the language');
  if (value && !stopsEarly && isExpressionNode(value) && design) {
    const context = createContext(design.system, options.today ?? '', lowered.partsOf);
    const report = (node: AstNode, facts: ProblemFacts, at?: Place): void => {
      reported.push({ ...facts, place: at ?? placeOfNode(node, uri.toString()), subject: '' });
    };
    result = asResult(design.evaluate(value, designValues(context), report));
  }
  const seen = new Set<string>();
  const problems = reported.flatMap((problem): Problem[] => {
    const at = toExpression(problem.place);
    const key = `${problem.code} ${problem.place.offset} ${problem.place.end}`;
    if (!at || problem.code === 'not-evaluated' || seen.has(key)) return [];
    seen.add(key);
    return [
      problem.code === 'unknown-name'
        ? { ...problem, place: at, candidates: problem.candidates.filter((name) => name !== STAND_IN) }
        : { ...problem, place: at },
    ];
  });
  const findings = wordProblems(problems);
  const fault = findings.find(({ severity }) => severity === 'error');
  if (fault && result.kind !== 'refused') result = refused(fault.message);
  return {
    result: result.kind === 'known' ? { ...result, derivation: moved(result.derivation, toExpression, uri) } : result,
    findings,
  };
}

const standIn = (file: ast.File): ast.Let | undefined =>
  file.declarations
    .flatMap((each): readonly unknown[] =>
      isDesign(each)
        ? each.members
        : isVariant(each)
          ? each.changes.flatMap((change) => ('thing' in change ? [change.thing] : []))
          : [],
    )
    .filter(isLet)
    .find(({ name }) => name === STAND_IN);

function span(document: LangiumDocument, offset: number, end: number): Place {
  const { textDocument } = document;
  const [from, to] = [textDocument.positionAt(offset), textDocument.positionAt(end)];
  return {
    uri: document.uri.toString(),
    offset,
    end,
    line: from.line,
    character: from.character,
    endLine: to.line,
    endCharacter: to.character,
  };
}

/** From a place in the text that was read to one in the expression; undefined for places outside it. */
function mapping(document: LangiumDocument, { start, end }: Host): (place: Place) => Place | undefined {
  const origin = document.textDocument.positionAt(start);
  const uri = document.uri.toString();
  const column = (line: number, character: number): number =>
    line === origin.line ? character - origin.character : character;
  return (place) => {
    // A fault at the end of the expression stands on the line after it.
    if (place.uri !== uri || place.offset < start || place.offset > end + 2) return undefined;
    const within = span(document, Math.min(place.offset, end), Math.min(place.end, end));
    return {
      uri: EXPRESSION_URI,
      offset: within.offset - start,
      end: within.end - start,
      line: within.line - origin.line,
      character: column(within.line, within.character),
      endLine: within.endLine - origin.line,
      endCharacter: column(within.endLine, within.endCharacter),
    };
  };
}

/** A derivation with its places moved back: those in the expression into it, those behind it to where they stand in the file. */
function moved(derivation: Derivation, toExpression: (place: Place) => Place | undefined, uri: URI): Derivation {
  const done = new Map<Derivation, Derivation>();
  const visit = (step: Derivation): Derivation => {
    const before = done.get(step);
    if (before) return before;
    const { place, ...rest } = step;
    const at = place && (place.uri === uri.toString() ? (toExpression(place) ?? place) : place);
    const after: Derivation = {
      ...rest,
      ...(at ? { place: at } : {}),
      inputs: step.inputs.map(visit),
      parts: Object.fromEntries(Object.entries(step.parts).map(([name, part]) => [name, visit(part)])),
    };
    done.set(step, after);
    return after;
  };
  return visit(derivation);
}
