import type { PlainToken } from './completion-context.js';

/** A call around the cursor: its function, which argument is being written, and the name it is written for. */
export interface OpenCall {
  readonly name: string;
  readonly index: number;
  readonly named: string | undefined;
}

/** The innermost call that is open at the end of the tokens. */
export function openCall(tokens: readonly PlainToken[]): OpenCall | undefined {
  const open: { name: string | undefined; index: number; named: string | undefined }[] = [];
  tokens.forEach(({ text }, at) => {
    const previous = tokens[at - 1];
    const top = open.at(-1);
    if (text === '(') {
      const name = previous && /^[\p{L}_]/u.test(previous.text) ? previous.text : undefined;
      open.push({ name, index: 0, named: undefined });
    } else if (text === ')') open.pop();
    else if (text === ',' && top) [top.index, top.named] = [top.index + 1, undefined];
    else if (text === ':' && top && previous) top.named = previous.text;
    // A brace can stand in no call: one that was never closed ends here.
    else if (text === '{' || text === '}') open.length = 0;
  });
  const call = open.findLast((candidate) => candidate.name !== undefined);
  return call?.name === undefined ? undefined : { name: call.name, index: call.index, named: call.named };
}
