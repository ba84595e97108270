import type { Position } from 'vscode-languageserver';

/** What was being done, and where, when the tool failed: enough to do it again, without the text itself. */
export interface FaultPlace {
  readonly uri?: string;
  readonly version?: number;
  readonly position?: Position;
}

/** Faults beyond this number are no longer told apart, so that one that names ever new things cannot fill the memory. */
const MOST_TOLD = 200;
/** Lines of a stack that lead to the fault; the rest is the machinery around it. */
const STACK_LINES = 8;

/** Tells of faults of the tool itself, each once. */
export class FaultLog {
  private readonly told = new Set<string>();

  /** `write` takes a text to where the user finds it: the log of the editor, or standard error. */
  constructor(private readonly write: (text: string) => void) {}

  tell(during: string, fault: unknown, { uri, version, position }: FaultPlace = {}): void {
    const stack = stackOf(fault);
    const key = `${during}\n${stack}`;
    if (this.told.has(key) || this.told.size >= MOST_TOLD) return;
    this.told.add(key);
    const where = [
      uri === undefined ? '' : ` of ${uri}`,
      version === undefined ? '' : ` version ${version}`,
      position ? ` at line ${position.line + 1}, character ${position.character + 1}` : '',
    ].join('');
    this.write(`A fault of Wattwright, not of the design, in ${during}${where}: ${stack}`);
  }
}

export const messageOf = (fault: unknown): string => (fault instanceof Error ? fault.message : String(fault));

function stackOf(fault: unknown): string {
  if (!(fault instanceof Error)) return String(fault);
  return (fault.stack ?? fault.message).split('\n').slice(0, STACK_LINES).join('\n');
}
