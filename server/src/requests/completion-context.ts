/*
 * Finds out what may be written at a place, from the tokens before it alone. A text that is being typed is rarely a whole design, so
 * nothing here relies on the tree.
 */

/** A token before the cursor; only its type and text count. */
export interface PlainToken {
  readonly type: string;
  readonly text: string;
}

/** What may be written at the cursor. */
export type CompletionContext =
  | { readonly at: 'declaration' }
  | { readonly at: 'member'; readonly design: string; readonly mayContinue: boolean }
  | {
      readonly at: 'property-name';
      /** The kind whose properties may follow. */
      readonly kind: string;
      readonly stated: readonly string[];
      readonly inControl: 'control' | 'fallback' | undefined;
    }
  | { readonly at: 'value'; readonly kind: string; readonly property: string; readonly first: boolean }
  | { readonly at: 'expression'; readonly isTimed?: boolean }
  /** The condition of a rule, or the exception to quiet hours. */
  | { readonly at: 'condition'; readonly verb?: string }
  | { readonly at: 'argument'; readonly call: string; readonly given: readonly string[]; readonly named?: string }
  | { readonly at: 'part-kind' }
  | { readonly at: 'part-of-kind'; readonly kind: string }
  | { readonly at: 'stop'; readonly started: boolean }
  | { readonly at: 'step'; readonly path: readonly string[]; readonly terminalsOnly: boolean }
  | { readonly at: 'name-of'; readonly what: 'Instance' | 'Link' | 'Design' }
  /** A thing of the design; what a check is accepted on. */
  | { readonly at: 'subject'; readonly check?: string }
  /** The beginning of what a variant changes. */
  | { readonly at: 'change' }
  | { readonly at: 'check' }
  | { readonly at: 'words'; readonly words: readonly string[] }
  | { readonly at: 'nothing' };

/** What is being written around the cursor, with what it states so far. */
export interface Owner {
  readonly kind: string;
  readonly name: string;
  /** The text of each property that is stated, without layout. */
  readonly values: ReadonlyMap<string, string>;
}

/** What may be written, and where in the file that is. */
export interface PlaceInText {
  readonly context: CompletionContext;
  /** The name of the design or variant around it. */
  readonly design?: string;
  /** The thing or part whose block is around it. */
  readonly owner?: Owner;
}

interface Frame {
  readonly type: 'file' | 'design' | 'body' | 'control' | 'fallback' | 'scenario' | 'variant' | 'table' | 'parenthesis';
  /** The kind whose properties the frame holds, or the property a table is for, or the function of a call. */
  readonly kind: string;
  readonly name: string;
  /** Properties or arguments that are named already. */
  readonly stated: string[];
  readonly values: Map<string, string>;
  /** Tokens of the member that is being written. */
  member: PlainToken[];
}

const OPERATORS = new Set([
  '+',
  '-',
  '*',
  '/',
  '^',
  '..',
  '±',
  '+/-',
  '<',
  '<=',
  '>',
  '>=',
  '==',
  '!=',
  'and',
  'or',
  'not',
  ',',
  '->',
  '@',
  '=',
  ':',
  '.',
  '(',
]);
/** Keywords after which something must follow, so that a word behind them does not begin a new member. */
const OPENERS = new Set([
  'assumed',
  'when',
  'for',
  'of',
  'extends',
  'on',
  'during',
  'until',
  'because',
  'unless',
  'without',
  'use',
]);
/** Words a member needs behind its first: `part KIND NAME`. */
const HEADER_WORDS: Readonly<Record<string, number>> = {
  part: 2,
  design: 1,
  variant: 1,
  profile: 1,
  let: 1,
  run: 1,
  link: 1,
  control: 1,
  scenario: 1,
  accept: 1,
};
/** Keywords that go on with a member, by the word the member begins with. */
const CONTINUATIONS: Readonly<Record<string, readonly string[]>> = {
  part: ['extends'],
  control: ['of'],
  variant: ['of'],
  accept: ['on', 'because', 'until'],
  require: ['during', 'because', 'until'],
  reading: ['on'],
};

const isWord = (token: PlainToken | undefined): boolean => token !== undefined && /^[\p{L}_]/u.test(token.text);

const frame = (type: Frame['type'], kind = '', name = ''): Frame => ({
  type,
  kind,
  name,
  stated: [],
  values: new Map(),
  member: [],
});

/** Reads the tokens up to the cursor and says what may come next. */
export const completionContext = (tokens: readonly PlainToken[]): CompletionContext => placeInText(tokens).context;

/** What may come next, and what is around it. */
export function placeInText(tokens: readonly PlainToken[]): PlaceInText {
  const frames: Frame[] = [frame('file')];
  for (const token of tokens) read(frames, token);
  const design = frames.findLast(({ type }) => type === 'design' || type === 'variant');
  const body = frames.findLast(({ type }) => type === 'body');
  return {
    context: classify(frames),
    ...(design ? { design: design.name } : {}),
    ...(body ? { owner: { kind: body.kind, name: body.name, values: body.values } } : {}),
  };
}

function read(frames: Frame[], token: PlainToken): void {
  const top = frames.at(-1)!;
  switch (token.text) {
    case '{':
      frames.push(opened(top));
      return;
    case '(':
      frames.push(frame('parenthesis', isCall(top) ? top.member.at(-1)!.text : ''));
      return;
    case '}':
    case ')':
      if (frames.length > 1) close(frames, token);
      return;
    case ',':
      if (top.type === 'table' || top.type === 'parenthesis') top.member = [];
      else top.member.push(token);
      return;
    case ':':
      readColon(top, token);
      return;
    default:
      if (isWord(token) && beginsMember(top)) top.member = continues(top, token) ? [...top.member, token] : [token];
      else top.member.push(token);
      noteValue(top);
  }
}

/** Keeps what a property of a block is, as far as it has been read. */
function noteValue({ type, member, values }: Frame): void {
  if (type === 'body' && member[1]?.text === ':' && member.length > 2)
    values.set(
      member[0]!.text,
      member
        .slice(2)
        .map(({ text }) => text)
        .join(' '),
    );
}

/** A word before a parenthesis calls a function, unless it is a word of the language that an expression follows. */
function isCall(top: Frame): boolean {
  const last = top.member.at(-1);
  return isWord(last) && !OPENERS.has(last!.text) && !OPERATORS.has(last!.text) && last!.text !== 'require';
}

/** The tokens of a member; in a variant without the `add` or `replace` before what would stand in a design. */
const ownTokens = ({ type, member }: Frame): readonly PlainToken[] =>
  type === 'variant' && (member[0]?.text === 'add' || member[0]?.text === 'replace') ? member.slice(1) : member;

/** A frame of a variant behind `add` or `replace`, as if it stood in the design. */
const asInDesign = (top: Frame): Frame =>
  ownTokens(top) === top.member ? top : { ...top, type: 'design', member: [...ownTokens(top)] };

function opened(around: Frame): Frame {
  const top = asInDesign(around);
  const [first, second, third] = top.member.map((token) => token.text);
  if (top.type === 'table' || (second === ':' && top.member.length <= 3 && top.type !== 'file'))
    return frame('table', top.kind, first);
  switch (first) {
    case 'design':
      return frame('design', 'design', second);
    case 'part':
      return frame('body', second, third);
    case 'run':
    case 'link':
    case 'site':
      return frame('body', first, second);
    case 'control':
      return frame('control', 'control', second);
    case 'without':
      return frame('fallback', 'control', second);
    case 'scenario':
      return frame('scenario', 'scenario', second);
    case 'variant':
      return frame('variant', 'design', second);
    case 'profile':
    case 'let':
      return frame('table');
    default:
      return frame('body', first ?? '', second ?? '');
  }
}

function close(frames: Frame[], token: PlainToken): void {
  const closed = frames.pop()!;
  const top = frames.at(-1)!;
  // A closed table or parenthesis is a value of its member; a closed block ends it.
  if (closed.type === 'table' || closed.type === 'parenthesis') top.member.push(token);
  else top.member = [];
}

function readColon(top: Frame, token: PlainToken): void {
  const name = top.member.at(-1);
  const isHeader = headerColon(top);
  if (isWord(name) && !isHeader) {
    if (top.type !== 'table') top.stated.push(name!.text);
    top.member = [name!, token];
  } else top.member.push(token);
}

/** Whether the colon belongs to `run Name:`, `link Name:` or `kind Name : Part`. */
function headerColon(top: Frame): boolean {
  const { type, member } = asInDesign(top);
  if (type !== 'design' || member.length < 2) return false;
  return member.slice(0, 2).every(isWord) && !member.some((token) => token.text === ':');
}

/** Whether the member so far is complete, so that a word may begin the next one. */
function beginsMember(around: Frame): boolean {
  const top = asInDesign(around);
  if (top.type === 'table' || top.type === 'parenthesis') return false;
  const { member } = top;
  const last = member.at(-1);
  if (!last) return top === around;
  if (OPERATORS.has(last.text) || OPENERS.has(last.text))
    return last.text === 'on' && top.type === 'control' && member.length > 1;
  return !inHeader(top);
}

function inHeader({ type, member }: Frame): boolean {
  const first = member[0]!.text;
  const words = member.filter(isWord).length;
  if (type === 'file' || type === 'design') {
    const needed = HEADER_WORDS[first];
    if (needed !== undefined) return words <= needed;
    // kind Name: the name is still to come
    if (type === 'design') return member.length === 1 && first !== 'site' && first !== 'require';
  }
  return false;
}

function continues(top: Frame, token: PlainToken): boolean {
  const first = ownTokens(top)[0]?.text ?? '';
  if (top.type === 'control' || top.type === 'fallback')
    return ['when', 'for', 'unless'].includes(token.text) && top.member.length > 0;
  return top.member.length > 0 && (CONTINUATIONS[first]?.includes(token.text) ?? false);
}

function classify(frames: readonly Frame[]): CompletionContext {
  const top = frames.at(-1)!;
  const last = top.member.at(-1);
  if (last?.text === '.') return stepContext(frames);
  switch (top.type) {
    case 'parenthesis':
      return argumentContext(top, frames);
    case 'table':
      return { at: 'expression' };
    case 'file':
      return fileContext(top);
    case 'design':
      return designContext(top);
    case 'variant':
      return variantContext(top);
    default:
      return memberContext(top);
  }
}

function variantContext(top: Frame): CompletionContext {
  const inDesign = asInDesign(top);
  if (inDesign !== top) return designContext(inDesign);
  const last = top.member.at(-1)?.text;
  if (top.member.length === 0) return { at: 'change' };
  return last === '=' ? { at: 'expression' } : { at: 'subject' };
}

/** What stands before the dot, as far as it is a path. */
function stepContext(frames: readonly Frame[]): CompletionContext {
  const { type, member } = frames.at(-1)!;
  const path: string[] = [];
  let at = member.length - 1;
  while (member[at]?.text === '.' && isWord(member[at - 1])) {
    path.unshift(member[at - 1]!.text);
    at -= 2;
  }
  const first = member[0]?.text;
  const terminalsOnly = type === 'design' && (first === 'run' || first === 'link');
  return path.length > 0 ? { at: 'step', path, terminalsOnly } : { at: 'nothing' };
}

function argumentContext(top: Frame, frames: readonly Frame[]): CompletionContext {
  if (!top.kind) return valueOrExpression(frames);
  const named = top.member[1]?.text === ':' ? top.member[0]!.text : undefined;
  return { at: 'argument', call: top.kind, given: top.stated, ...(named ? { named } : {}) };
}

/** Inside a group in parentheses the value around it counts. */
function valueOrExpression(frames: readonly Frame[]): CompletionContext {
  const around = frames.findLast((candidate) => candidate.type !== 'parenthesis');
  const property = around?.member[1]?.text === ':' ? around.member[0]!.text : undefined;
  return around && property ? { at: 'value', kind: around.kind, property, first: false } : { at: 'expression' };
}

function fileContext({ member }: Frame): CompletionContext {
  const [first] = member.map((token) => token.text);
  const last = member.at(-1)?.text;
  if (first === undefined) return { at: 'declaration' };
  if (first === 'use') return { at: 'nothing' };
  if (first === 'part' && member.length === 1) return { at: 'part-kind' };
  if (last === 'extends') return { at: 'part-of-kind', kind: member[1]?.text ?? '' };
  if (last === 'of') return { at: 'name-of', what: 'Design' };
  const words = member.filter(isWord).length;
  if (words <= (HEADER_WORDS[first] ?? 0)) return { at: 'nothing' };
  if (first === 'let') return last === '=' || OPERATORS.has(last ?? '') ? { at: 'expression' } : { at: 'declaration' };
  if (first === 'part' && !member.some((token) => token.text === 'extends')) return { at: 'words', words: ['extends'] };
  return first === 'variant' && !member.some((token) => token.text === 'of')
    ? { at: 'words', words: ['of'] }
    : { at: 'nothing' };
}

function designContext(top: Frame): CompletionContext {
  const { member, name } = top;
  const first = member[0]?.text;
  const last = member.at(-1)?.text ?? '';
  const start: CompletionContext = { at: 'member', design: name, mayContinue: false };
  if (first === undefined) return start;
  if (first === 'run' || first === 'link') return stopContext(member);
  if (first === 'control') return controlContext(member);
  if (first === 'accept') return acceptContext(member, name);
  if (first === 'reading') return readingContext(member, name);
  if (first === 'scenario') return { at: 'nothing' };
  if (first === 'let') return member.length === 1 ? { at: 'nothing' } : expressionOrMember(last, start);
  if (first === 'require')
    return last === 'because' || last === 'until' ? { at: 'nothing' } : requireContext(member, start);
  if (member[1]?.text === ':') return propertyContext(top, start);
  if (member.length === 1) return first === 'site' ? { at: 'nothing' } : { at: 'nothing' };
  if (last === ':') return { at: 'part-of-kind', kind: first };
  return start;
}

const expressionOrMember = (last: string, start: CompletionContext): CompletionContext =>
  OPERATORS.has(last) || OPENERS.has(last) ? { at: 'expression' } : start;

const requireContext = (member: readonly PlainToken[], start: CompletionContext): CompletionContext =>
  member.length === 1 ? { at: 'expression' } : expressionOrMember(member.at(-1)!.text, start);

function stopContext(member: readonly PlainToken[]): CompletionContext {
  const last = member.at(-1)!.text;
  if (!member.some((token) => token.text === ':')) return { at: 'nothing' };
  if (last === '@') return { at: 'expression' };
  if (last === ':') return { at: 'stop', started: false };
  return last === '->' || last === ',' ? { at: 'stop', started: true } : { at: 'nothing' };
}

function controlContext(member: readonly PlainToken[]): CompletionContext {
  if (member.at(-1)!.text === 'of') return { at: 'name-of', what: 'Instance' };
  return member.length >= 2 && !member.some((token) => token.text === 'of')
    ? { at: 'words', words: ['of'] }
    : { at: 'nothing' };
}

function acceptContext(member: readonly PlainToken[], design: string): CompletionContext {
  const last = member.at(-1)!.text;
  if (member.length === 1) return { at: 'check' };
  if (last === 'on') return { at: 'subject', check: member[1]!.text };
  return OPENERS.has(last) ? { at: 'nothing' } : { at: 'member', design, mayContinue: true };
}

function readingContext(member: readonly PlainToken[], design: string): CompletionContext {
  const last = member.at(-1)!.text;
  if (member.length === 1) return { at: 'subject' };
  if (last === '=') return { at: 'expression' };
  return last === 'on' ? { at: 'nothing' } : { at: 'member', design, mayContinue: false };
}

/** After `name:`, and after a complete value where the next name may follow. */
function propertyContext(top: Frame, otherwise: CompletionContext): CompletionContext {
  const { member, kind } = top;
  const last = member.at(-1)!.text;
  const property = member[0]!.text;
  if (last === 'unless') return { at: 'condition' };
  if (member.length === 2 || last === ',') return { at: 'value', kind, property, first: member.length === 2 };
  return OPERATORS.has(last) || OPENERS.has(last) ? { at: 'value', kind, property, first: false } : otherwise;
}

function memberContext(top: Frame): CompletionContext {
  const { member, kind, stated, type } = top;
  const inControl = type === 'control' || type === 'fallback' ? type : undefined;
  const names: CompletionContext = { at: 'property-name', kind, stated, inControl };
  const first = member[0]?.text;
  const last = member.at(-1)?.text ?? '';
  if (first === undefined) return names;
  if (member[1]?.text === ':') return propertyContext(top, names);
  if (first === 'without') return member.length === 1 ? { at: 'name-of', what: 'Link' } : { at: 'nothing' };
  if (type === 'scenario' && first === 'require') {
    const required = requireContext(member, names);
    return required.at === 'expression' ? { at: 'expression', isTimed: true } : required;
  }
  if (inControl && member.length === 1) return { at: 'words', words: ['when'] };
  if (inControl && ['when', 'unless', 'and', 'or', 'not'].includes(last)) return { at: 'condition', verb: first };
  if (OPERATORS.has(last) || OPENERS.has(last)) return { at: 'expression' };
  return names;
}
