import { type Finding, type Result, ast } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { CallError } from './call-error.js';
import type { SourceFile } from './files.js';
import { shownPath } from './shown-path.js';
import { requireName } from './selection.js';
import { Session, hasSyntaxErrors } from './session.js';

/** Refuses a file whose names cannot be used, and a design that is not in it or not singled out. */
function requireHost(
  document: LangiumDocument,
  file: SourceFile,
  design: string | undefined,
  variant: string | undefined,
): void {
  const name = shownPath(file.path);
  if (hasSyntaxErrors(document))
    throw new CallError(`${name} has syntax errors; \`wattwright check ${name}\` shows where`);
  const { declarations } = document.parseResult.value as ast.File;
  const designs = declarations.filter(ast.isDesign).map((declaration) => declaration.name);
  const variants = declarations.filter(ast.isVariant).map((declaration) => declaration.name);
  if (variant !== undefined) requireName('variant', variant, variants);
  if (design !== undefined) requireName('design', design, [...designs, ...variants]);
  else if (variant === undefined && designs.length > 1)
    throw new CallError(`${name} has several designs; say which with --design: ${designs.join(', ')}`);
}

/** The longest piece of an expression that a complaint repeats. */
const LONGEST_QUOTE = 40;

/** The words of the finding speak of the text around the expression, which nobody has written. */
function unreadable(expression: string, { place }: Finding): string {
  const rest = expression.slice(place.offset).trim().split('\n')[0]!;
  const where = rest
    ? `it cannot be read from \`${rest.slice(0, LONGEST_QUOTE)}${rest.length > LONGEST_QUOTE ? '…' : ''}\` on`
    : 'it ends too early';
  return `this is no expression of the language: ${where}; look at its brackets, names and units`;
}

/** Works out one expression, alone or with the names of a design of a file. */
export async function evaluateExpression(
  expression: string,
  options: { readonly file?: SourceFile; readonly design?: string; readonly variant?: string; readonly today: string },
): Promise<Result> {
  const { file, design, variant, today } = options;
  const wanted = variant ?? design;
  const session = await Session.open(file ? [file] : []);
  const [document] = session.documents;
  if (document && file) requireHost(document, file, design, variant);
  const { result, findings } = session.evaluate(expression, {
    today,
    ...(document ? { document } : {}),
    ...(wanted === undefined ? {} : { design: wanted }),
  });
  const fault = findings.find(({ severity }) => severity === 'error');
  if (fault) throw new CallError(fault.check === 'syntax-error' ? unreadable(expression, fault) : fault.message);
  return result;
}
