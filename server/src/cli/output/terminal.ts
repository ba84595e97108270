import picocolors from 'picocolors';

export type Colors = ReturnType<typeof picocolors.createColors>;

/** How text for people is laid out. */
export interface Terminal {
  readonly colors: Colors;
  /** Columns to wrap at; Infinity where lines are not wrapped. */
  readonly width: number;
  /** Whether a person reads along: cautions and hints are for them. */
  readonly interactive: boolean;
}

/** `--color` and `--no-color` lead; then NO_COLOR and FORCE_COLOR; else colour on a terminal that can show it. */
export function wantsColor(asked: boolean | undefined, environment: NodeJS.ProcessEnv, isTerminal: boolean): boolean {
  if (asked !== undefined) return asked;
  // Source: no-color.org — set and not empty, whatever its value.
  if (environment.NO_COLOR) return false;
  if (environment.FORCE_COLOR) return environment.FORCE_COLOR !== '0';
  return isTerminal && environment.TERM !== 'dumb';
}

/** Wide enough for any message, narrow enough to read. */
const NARROWEST = 40;

export function terminalOf(asked: boolean | undefined, stream: NodeJS.WriteStream = process.stdout): Terminal {
  const isTerminal = stream.isTTY === true;
  const stated = Number.parseInt(process.env.COLUMNS ?? '', 10);
  const width = stated > 0 ? stated : isTerminal && stream.columns > 0 ? stream.columns : Infinity;
  return {
    colors: picocolors.createColors(wantsColor(asked, process.env, isTerminal)),
    width: Math.max(NARROWEST, width),
    interactive: isTerminal,
  };
}
