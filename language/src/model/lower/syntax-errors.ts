import type { LangiumDocument } from 'langium';
import { INSTANCE_KINDS } from '../../equipment/index.js';
import type { Problem } from '../problems.js';

/** Name of the error with which the parser leaves off. */
const TOO_DEEP = 'NestingTooDeep';

/** What the lexer and the parser could not read, in the words of the language. */
export function syntaxProblems(document: LangiumDocument): Problem[] {
  const problems: Problem[] = [];
  const uri = document.uri.toString();
  const { lexerErrors, parserErrors } = document.parseResult;
  const text = document.textDocument.getText();
  const add = (offset: number, end: number, message: string, endsReading = false): void => {
    const from = Math.min(Math.max(0, offset), text.length);
    const to = Math.min(Math.max(from, end), text.length);
    const start = document.textDocument.positionAt(from);
    const stop = document.textDocument.positionAt(to);
    const place = {
      uri,
      offset: from,
      end: to,
      line: start.line,
      character: start.character,
      endLine: stop.line,
      endCharacter: stop.character,
    };
    problems.push({ code: 'syntax-error', message, place, subject: '', ...(endsReading ? { endsReading } : {}) });
  };
  for (const error of lexerErrors)
    add(
      error.offset,
      error.offset + error.length,
      `\`${text.slice(error.offset, error.offset + Math.min(error.length, 20))}\` does not belong here`,
    );
  for (const error of parserErrors) {
    const { token } = error;
    const atEnd = token.tokenType.name === 'EOF' || !Number.isFinite(token.startOffset);
    const offset = atEnd && !Number.isFinite(token.startOffset) ? text.trimEnd().length : token.startOffset;
    const end = atEnd ? offset : (token.endOffset ?? offset) + 1;
    const before = text.slice(text.lastIndexOf('\n', offset - 1) + 1, offset);
    const beginsLine = atEnd || before.trim() === '';
    const inComparison = /\b(?:require|when)\b/.test(before);
    const inVariant = error.context.ruleStack.at(-1)?.startsWith('Variant') ?? false;
    const message = wordSyntaxError(error.name, error.message, token.image, { beginsLine, inVariant, inComparison });
    add(offset, end, message, error.name === TOO_DEEP);
  }
  return problems;
}

/** What the reader of the tree finds where the parser went on behind a slip. */
const FOLLOWING: readonly Problem['code'][] = ['unknown-name', 'wrong-type', 'duplicate-name'];

const endsReading = (problem: Problem): boolean => problem.code === 'syntax-error' && problem.endsReading === true;

/**
 * One message for one slip. What stands behind a syntax error on its line is what the parser made of the rest; a value of the wrong
 * sort before it on the line says the same in better words, and stands alone. That the rest of a text is not read is always told.
 */
export function oneForEachSlip(problems: readonly Problem[]): Problem[] {
  const slips = new Map<number, Problem>();
  const syntax = problems.filter(({ code }) => code === 'syntax-error');
  for (const each of [...syntax].sort((left, right) => left.place.offset - right.place.offset))
    if (!slips.has(each.place.line)) slips.set(each.place.line, each);
  const isFollowing = ({ code }: Problem): boolean => FOLLOWING.includes(code);
  const better = new Map<Problem, Problem>();
  for (const each of problems) {
    const slip = slips.get(each.place.endLine);
    if (each.code === 'wrong-type' && slip && !endsReading(slip) && each.place.end <= slip.place.offset)
      better.set(slip, each);
  }
  return problems.filter((each) => {
    const slip = slips.get(each.place.line);
    if (!slip || slip.place.uri !== each.place.uri) return true;
    if (endsReading(each)) return true;
    if (each.code === 'syntax-error') return each === slip && !better.has(slip);
    return !isFollowing(each) || each.place.offset < slip.place.offset || better.get(slip) === each;
  });
}

/** Words that begin a member of a design; a variant says whether it adds, removes or replaces one. */
const MEMBERS = ['run', 'link', 'control', 'scenario', 'site', 'require', 'reading', 'accept'];

/** Words that people write at the top of a file and that say something of one design. */
const IN_DESIGNS: ReadonlySet<string> = new Set([...MEMBERS, 'basis', ...INSTANCE_KINDS.map(({ kind }) => kind)]);

/** The parser's message in the words of the language. */
function wordSyntaxError(
  name: string,
  message: string,
  image: string,
  { beginsLine, inVariant, inComparison }: Record<'beginsLine' | 'inVariant' | 'inComparison', boolean>,
): string {
  const found = image ? `\`${image.slice(0, 30)}\`` : 'the end of the text';
  const expected =
    /Expecting token of type '([^']+)'/.exec(message)?.[1] ??
    /Expecting: one of these possible Token sequences:/.exec(message)?.[0];
  if (name === TOO_DEEP) return message;
  if (name === 'MismatchedTokenException' && expected === 'EOF' && IN_DESIGNS.has(image))
    return `\`${image}\` belongs in a design: \`design Name { ${image}${MEMBERS.includes(image) ? ' …' : image === 'basis' ? ': nec' : ' …'} }\``;
  if (name === 'MismatchedTokenException' && expected === 'EOF')
    return `${found} does not start a declaration; use, part, profile, let, design or variant stand here`;
  if (inComparison && image === '=') return '`=` compares nothing: write `==`, or `>=` or `<=`';
  if (inVariant && MEMBERS.includes(image)) return `a variant adds things with \`add\`: \`add ${image} …\``;
  // Where a body goes on in the same line, the word is out of place and no bracket is missing.
  if (name === 'MismatchedTokenException' && expected === '}' && !beginsLine) return `${found} does not fit here`;
  if (name === 'MismatchedTokenException' && expected)
    return `${SPOKEN_TOKENS[expected] ?? `\`${expected}\``} is missing before ${found}`;
  if (name === 'NotAllInputParsedException')
    return `${found} does not belong here; a bracket may be missing or one too many`;
  if (name === 'NoViableAltException' || name === 'EarlyExitException') return `${found} does not fit here`;
  return `${found} is not expected here`;
}

const SPOKEN_TOKENS: Readonly<Record<string, string>> = {
  WORD: 'a name',
  STRING: 'a text in double quotes',
  NUMBER: 'a number',
  QUANTITY: 'a number with its unit',
  DATE: 'a date such as 2027-01-15',
  TIME: 'a time of day',
  ':': '`:`',
};

/** Problems of values that are worked out later, without those that stand on the line of a slip: what it leaves there is no statement. */
export const besideSlips = (problems: readonly Problem[], read: readonly Problem[]): Problem[] => {
  const lines = new Set(read.flatMap(({ code, place }) => (code === 'syntax-error' ? [place.line] : [])));
  return problems.filter(({ code, place }) => !FOLLOWING.includes(code) || !lines.has(place.line));
};
