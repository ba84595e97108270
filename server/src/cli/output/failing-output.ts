import { writeSync } from 'node:fs';
import { EXIT, reason } from '../call-error.js';
import { safeText } from './safe-text.js';

/** What is told when output could not be written. */
export const outputFault = (error: unknown): string =>
  `wattwright: cannot write the output: ${reason(error)}; what is there of it is not whole\n`;

/**
 * Ends the program where its output cannot be written: a full disk, a faulty device, a reader that has gone. Exit code 1 would mean
 * findings and 0 that there are none, so neither may stand for a report that nobody has got whole.
 */
export function endOnFailingOutput(): void {
  process.stdout.on('error', (error) => {
    try {
      // Not through the stream, which may be the next to fail.
      writeSync(2, safeText(outputFault(error).trimEnd()) + '\n');
    } catch {
      // There is no one left to tell.
    }
    process.exit(EXIT.unusable);
  });
  process.stderr.on('error', () => process.exit(EXIT.unusable));
}
