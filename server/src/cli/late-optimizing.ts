/** The engine of Node whose switches are known here: each has its own, and complains of those that it does not know. */
const KNOWN = '13.6.';
/** Calls of a function before it is worth the slowest and best of the compilers; 3,000 unless said. */
const CALLS = 100_000;
/** Calls of a function before it is worth the faster of the optimizing compilers; 400 unless said. */
const CALLS_FOR_THE_FASTER = 1600;

/**
 * Has functions compiled by the best of the compilers later than usual. A call lasts a second: what that compiler takes for all that runs some
 * thousand times is more than it gives back within it, while a long simulation comes to it all the same. Measured on Node 24: a sixth of the
 * processor time of `check` of the examples with rules. What anything comes to does not depend on it.
 */
export function optimizeLate(engine = process.versions.v8): void {
  if (!engine.startsWith(KNOWN)) return;
  // An import of it would be paid for by `--version` as well.
  process
    .getBuiltinModule('node:v8')
    .setFlagsFromString(
      `--invocation-count-for-turbofan=${CALLS} --invocation-count-for-maglev=${CALLS_FOR_THE_FASTER}`,
    );
}
