import { createLanguageServices, formatText } from '@wattwright/language';
import { EmptyFileSystem } from 'langium';
import { EXIT } from '../call-error.js';
import { sourceFiles } from '../files.js';
import { shownPath } from '../shown-path.js';
import { safeText } from '../output/safe-text.js';
import { writeWhole } from '../write-whole.js';

export interface FormatOptions {
  readonly check?: boolean;
  readonly quiet?: boolean;
  readonly stdinName: string;
}

/** `wattwright fmt`. A file with syntax errors is left as it is and makes the exit code 2. */
export async function formatFiles(paths: readonly string[], options: FormatOptions): Promise<number> {
  const files = await sourceFiles(paths, { standardInputName: options.stdinName, mayBeEmpty: true });
  const services = createLanguageServices(EmptyFileSystem).wattwright;
  let code: number = EXIT.clean;
  for (const file of files) {
    const name = safeText(shownPath(file.path));
    const result = formatText(file.text, services);
    if (result.kind !== 'formatted') {
      code = EXIT.unusable;
      process.stderr.write(
        `wattwright: ${name} has syntax errors and was left as it is; \`wattwright check\` shows where\n`,
      );
      if (file.isStandardInput && !options.check) process.stdout.write(file.text);
      continue;
    }
    const changed = result.text !== file.text;
    if (options.check) {
      if (!changed) continue;
      if (code === EXIT.clean) code = EXIT.findings;
      if (!options.quiet) process.stdout.write(`${name} is laid out otherwise\n`);
    } else if (file.isStandardInput) {
      process.stdout.write(result.text);
    } else if (changed) {
      await writeWhole(file.path, result.text);
      if (!options.quiet) process.stdout.write(`${name}\n`);
    }
  }
  return code;
}
