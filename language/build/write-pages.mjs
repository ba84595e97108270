// Writes the reference pages language/*.md from the checks, functions, units and kinds. Needs the compiled language (`tsc -b`).
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { referencePages } from '../out/index.js';

const folder = path.resolve(import.meta.dirname, '..');
for (const { name, text } of referencePages()) {
  writeFileSync(path.join(folder, name), text);
  console.log(`wrote language/${name}`);
}
