import type { Case } from './trial.js';

type Fails = (one: Case) => Promise<boolean>;

/** Takes ever smaller pieces out of a list while what is left still fails. Answers when nothing more can go or `isOver`. */
async function fewer<T>(
  items: readonly T[],
  fails: (left: readonly T[]) => Promise<boolean>,
  isOver: () => boolean,
): Promise<readonly T[]> {
  let left = items;
  for (let size = Math.ceil(left.length / 2); size >= 1; size = size === 1 ? 0 : Math.ceil(size / 2)) {
    for (let at = 0; at < left.length && !isOver();) {
      const without = [...left.slice(0, at), ...left.slice(at + size)];
      if (await fails(without)) left = without;
      else at += size;
    }
  }
  return left;
}

/** A smaller case that fails as well. */
export async function shrunk(one: Case, fails: Fails, isOver: () => boolean): Promise<Case> {
  if (one.kind === 'protocol') {
    const steps = await fewer(one.steps, (left) => fails({ ...one, steps: left }), isOver);
    return { ...one, steps };
  }
  let best: Exclude<Case, { kind: 'protocol' }> = one;
  if (best.kind === 'call' || best.kind === 'process') {
    const call = best;
    best = { ...call, args: await fewer(call.args, (args) => fails({ ...call, args }), isOver) };
  }
  const [asked, ...others] = Object.keys(best.files);
  const withFiles = (files: Readonly<Record<string, unknown>>): typeof best => ({ ...best, files }) as typeof best;
  for (const name of others) {
    const { [name]: _, ...without } = best.files as Record<string, unknown>;
    if (!isOver() && (await fails(withFiles(without)))) best = withFiles(without);
  }
  for (const name of Object.keys(best.files)) {
    for (const split of [/(?<=\n)/, /(?<=[\s{}(),:])/, '']) {
      const text = (best.files as Record<string, unknown>)[name];
      // By single letters only what is short already, or it takes too long.
      if (typeof text !== 'string' || (split === '' && text.length > 300)) continue;
      const other = best.files;
      const pieces = await fewer(
        text.split(split),
        (left) => fails(withFiles({ ...other, [name]: left.join('') })),
        isOver,
      );
      best = withFiles({ ...other, [name]: pieces.join('') });
    }
  }
  return asked === undefined ? one : best;
}
