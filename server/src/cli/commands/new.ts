import { mkdir, readdir } from 'node:fs/promises';
import path from 'node:path';
import { CallError, EXIT, reason } from '../call-error.js';
import { shownPath } from '../shown-path.js';
import { safeText } from '../output/safe-text.js';
import { STARTER_FILES } from '../starter.js';
import { writeAllWhole } from '../write-whole.js';

/** `wattwright new`: a small design that checks clean, in a new or empty folder. */
export async function writeStarter(asked: string): Promise<number> {
  const folder = path.resolve(asked);
  let entries: string[] = [];
  try {
    entries = await readdir(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT')
      throw new CallError(`cannot use ${asked}: ${reason(error)}; name a new folder`);
  }
  if (entries.length > 0) throw new CallError(`${asked} is not empty; name a new or empty folder`);
  try {
    await mkdir(folder, { recursive: true });
  } catch (error) {
    throw new CallError(`cannot make the folder ${asked}: ${reason(error)}`);
  }
  const files = new Map(STARTER_FILES.map(({ name, text }) => [path.join(folder, name), text]));
  await writeAllWhole(files);
  for (const file of files.keys()) process.stdout.write(`wrote ${safeText(shownPath(file))}\n`);
  const shown = safeText(shownPath(folder));
  process.stdout.write(`\nNext: \`wattwright check ${shown}\`, then open ${shown}/cabin.watt in an editor.\n`);
  return EXIT.clean;
}
