/** The end of work that is done in steps, for whoever has nothing else to do in between. */
export function finished<T>(work: Generator<unknown, T>): T {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
  }
}
