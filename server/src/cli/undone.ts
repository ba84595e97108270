const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** What is begun and would be left behind. */
const begun = new Set<() => void>();

/** A call that is interrupted or told to end takes along what it has begun, the last first: a program ends before its folder goes. */
function end(signal: NodeJS.Signals): void {
  for (const each of SIGNALS) process.off(each, end);
  for (const undo of [...begun].reverse())
    try {
      undo();
    } catch {
      // It was not made yet, or has already taken its place.
    }
  process.kill(process.pid, signal);
}

/** Undoes something where a signal ends this process before `stop` is called. `undo` waits for nothing. */
export function undoneOnSignal(undo: () => void): { readonly stop: () => void } {
  if (begun.size === 0) for (const signal of SIGNALS) process.on(signal, end);
  begun.add(undo);
  return {
    stop: () => {
      if (begun.delete(undo) && begun.size === 0) for (const signal of SIGNALS) process.off(signal, end);
    },
  };
}
